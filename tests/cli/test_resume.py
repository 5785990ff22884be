"""What is stopped, or killed outright, goes on where it was and ends as if it had not been; questions share years."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from growsim.cli import main
from growsim.errors import Interrupted
from growsim.run import drawer, rehearsers
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.outage.question import study_outages
from growsim.study.outage.trials import Trials

ROOT = Path(__file__).parents[2]
TINY = str(ROOT / "scenarios" / "tiny")
REHEARSE = ["rehearse", TINY, "--days", "56", "--seed", "11", "--replications", "40"]
COMPARE = ["compare", TINY, "change.toml", "--days", "56", "--replications", "20", "--no-why", "--precision", "0.01"]
CHANGE = """
[change]
name = "one more on Thursdays"

[[crew.shifts]]
name = "Thursday"
people = 7
"""
KEEP_ALL_AT_ONCE = """
import sys
from growsim.run import drawer, rehearsers
drawer.KEEP_SECONDS = drawer.KEEP_SHARE = 0
from growsim.cli import main
if __name__ == "__main__":
    sys.exit(main())
"""


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports go to ./reports of an empty folder, years into ./years."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("GROWSIM_YEARS", str(tmp_path / "years"))


def same_files(one: Path, other: Path) -> None:
    """Every table and summary of two reports, byte for byte."""
    names = sorted(path.relative_to(one) for path in one.rglob("*") if path.suffix in (".json", ".csv", ".svg"))
    assert Path("summary.json") in names and sum(name.suffix == ".csv" for name in names) >= 2
    for name in names:
        assert (one / name).read_bytes() == (other / name).read_bytes(), name


@pytest.fixture
def killed(tmp_path: Path) -> Iterator[subprocess.Popen[bytes]]:
    """A rehearsal with two workers, killed with SIGKILL when some of its years are kept and others are not."""
    script = tmp_path / "keeps_all.py"
    script.write_text(KEEP_ALL_AT_ONCE, "utf-8")
    process = subprocess.Popen(
        [sys.executable, str(script), *REHEARSE, "--workers", "2", "--out", "stopped"],
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        start_new_session=True,
    )
    until = time.monotonic() + 60
    while len(list(tmp_path.glob("years/*.years"))) < 2 and process.poll() is None:
        assert time.monotonic() < until
        time.sleep(0.005)
    os.killpg(process.pid, signal.SIGKILL)
    process.communicate()
    yield process


@pytest.fixture
def lived(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """A 1 for every year that is really lived through in this process."""
    really, counted = rehearsers.rehearse_one, list[int]()

    def one(*args: Any) -> Any:
        counted.append(1)
        return really(*args)

    monkeypatch.setattr(rehearsers, "rehearse_one", one)
    return counted


def without_years(words: list[str], monkeypatch: pytest.MonkeyPatch) -> int:
    """The same with an empty drawer."""
    with monkeypatch.context() as empty:
        empty.setenv("GROWSIM_YEARS", "none")
        return main(words)


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is POSIX")
def test_a_killed_rehearsal_goes_on(
    killed: subprocess.Popen[bytes], lived: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """kill -9 in mid-run: no report; then the same takes the whole years, passes by a damaged file, ends the same."""
    assert killed.returncode == -signal.SIGKILL
    assert not Path("stopped").exists()
    kept = sorted(Path("years").glob("*.years"))
    kept[0].write_bytes(kept[0].read_bytes()[:-20])
    before = len(drawer.Drawer(Path("years"))._places)
    assert before >= 1

    assert main([*REHEARSE, "--workers", "1", "--out", "stopped"]) == 0
    of_all = sum(lived)
    lived.clear()
    assert without_years([*REHEARSE, "--workers", "1", "--out", "whole"], monkeypatch) == 0

    assert of_all == sum(lived) - before
    same_files(Path("whole"), Path("stopped"))


def stop_after(rounds: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C when so many rounds of rehearsals are over; years are kept at once."""
    run, calls = Rehearsers.run, 0

    def counted(self: Rehearsers, *args: object) -> object:
        nonlocal calls
        if calls == rounds:
            raise Interrupted("Stopped before the end; nothing was kept.")
        calls += 1
        return run(self, *args)  # type: ignore[arg-type]

    monkeypatch.setattr(Rehearsers, "run", counted)
    monkeypatch.setattr(drawer, "KEEP_SECONDS", 0.0)


def test_a_stopped_comparison_goes_on(
    capsys: pytest.CaptureFixture[str], lived: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ctrl-C after the first round; the same rehearses that round no more and gives the files of a whole run."""
    Path("change.toml").write_text(CHANGE, "utf-8")
    with monkeypatch.context() as stopping:
        stop_after(1, stopping)
        assert main([*COMPARE, "--out", "stopped", "--workers", "1"]) == 130
    assert capsys.readouterr().err == (
        "Stopped before the end; no report was written. 20 finished years are kept: the same command goes on from "
        "there.\n"
    )
    assert sum(lived) == 20
    assert main([*COMPARE, "--out", "stopped", "--workers", "1"]) == 0
    assert sum(lived) == 40
    assert without_years([*COMPARE, "--out", "whole", "--workers", "1"], monkeypatch) == 0

    same_files(Path("whole"), Path("stopped"))


def test_a_question_begins_with_the_years_of_another(lived: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    """After a rehearsal nothing of today's room is simulated again by a comparison, which is the same byte for
    byte, or a study of outages."""
    Path("change.toml").write_text(CHANGE, "utf-8")
    words = [*COMPARE, "--seed", "11", "--workers", "1"]
    assert without_years([*words, "--out", "whole"], monkeypatch) == 0
    of_all = sum(lived)
    assert main([*REHEARSE, "--replications", "10", "--workers", "1", "--no-why", "--out", "rehearsed"]) == 0
    lived.clear()
    assert main([*words, "--out", "compared"]) == 0
    assert (of_all, sum(lived)) == (20, 10)
    same_files(Path("whole"), Path("compared"))

    few = Trials(hours=(30.0,), start_hours=(6.0,), plant_replications=1, kg_replications=1)
    found = drawer.Drawer(Path("years"))
    with drawer.arranged(drawer=found):
        room = load_scenario(Path(TINY)).scenario
        study_outages(room, seed=11, replications=5, plan=RunPlan(56, room.rehearsal.warm_up_days), trials=few)
    assert found.taken == 5


def test_years_of_another_room_are_not_used(lived: list[int], monkeypatch: pytest.MonkeyPatch) -> None:
    """The room file was changed by one digit: everything is rehearsed again."""
    Path("room.toml").write_text(Path(TINY, "room.toml").read_text("utf-8"), "utf-8")
    words = ["rehearse", "room.toml", "--days", "28", "--replications", "3", "--workers", "1", "--no-why"]
    assert main([*words, "--out", "first"]) == 0
    of_all = sum(lived)
    changed = Path("room.toml").read_text("utf-8").replace("floor_area_m2 = 12", "floor_area_m2 = 13")
    Path("room.toml").write_text(changed, "utf-8")
    lived.clear()

    assert main([*words, "--out", "mine"]) == 0
    assert sum(lived) == of_all
    lived.clear()
    assert main([*words, "--out", "once more"]) == 0
    assert sum(lived) == 0
    assert without_years([*words, "--out", "again"], monkeypatch) == 0
    same_files(Path("again"), Path("mine"))
    same_files(Path("again"), Path("once more"))


@pytest.mark.parametrize("letters", ["x" * 201, "é" * 101, "x" * 300])
def test_a_name_too_long_for_its_folder_is_refused_at_once(letters: str, capsys: pytest.CaptureFixture[str]) -> None:
    """While it is built a folder's name is longer than it: found out before the work, not at its end."""
    assert main([*REHEARSE, "--out", letters]) == 2
    told = "...: the folder's name is too long; give a shorter one with --out.\n"
    assert capsys.readouterr().err == letters[:40] + told
    assert not any(Path().iterdir())
