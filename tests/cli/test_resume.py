"""A study that is stopped, or killed outright, goes on where it was, and ends as if it had never been stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from growsim.cli import main
from growsim.errors import Interrupted
from growsim.run import drawer
from growsim.run.rehearsers import Rehearsers

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
from growsim.run import drawer
drawer.KEEP_SECONDS = drawer.KEEP_SHARE = 0
from growsim.cli import main
if __name__ == "__main__":
    sys.exit(main())
"""


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports go to ./reports of an empty folder."""
    monkeypatch.chdir(tmp_path)


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
    while len(list(tmp_path.glob(".stopped-unfinished/*.years"))) < 2 and process.poll() is None:
        assert time.monotonic() < until
        time.sleep(0.005)
    os.killpg(process.pid, signal.SIGKILL)
    process.communicate()
    yield process


@pytest.mark.skipif(os.name != "posix", reason="SIGKILL is POSIX")
def test_a_killed_rehearsal_goes_on(killed: subprocess.Popen[bytes], capsys: pytest.CaptureFixture[str]) -> None:
    """kill -9 in mid-run: no report; then --resume takes the whole years, passes by a damaged file, ends the same."""
    assert killed.returncode == -signal.SIGKILL
    assert not Path("stopped").exists()
    kept = sorted(Path(".stopped-unfinished").glob("*.years"))
    kept[0].write_bytes(kept[0].read_bytes()[:-20])
    before = len(drawer.Drawer(Path(".stopped-unfinished"), resume=True)._found)
    assert 1 <= before < 48  # 40 years and 8 to judge the warm-up

    assert main([*REHEARSE, "--workers", "1", "--out", "stopped", "--resume"]) == 0
    said = capsys.readouterr().err.splitlines()
    assert main([*REHEARSE, "--workers", "1", "--out", "whole"]) == 0

    assert "a file of finished years is damaged and not used" in said[0]
    assert "from before, and not lived through again." in said[1]
    same_files(Path("whole"), Path("stopped"))
    assert not Path(".stopped-unfinished").exists()


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


def test_a_stopped_comparison_goes_on(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C after the first round; --resume rehearses that round no more and gives the files of a whole run."""
    Path("change.toml").write_text(CHANGE, "utf-8")
    with monkeypatch.context() as stopping:
        stop_after(1, stopping)
        assert main([*COMPARE, "--out", "stopped", "--workers", "1"]) == 130
    assert capsys.readouterr().err == (
        "Stopped before the end; no report was written. 20 finished years are kept: the same command with --resume "
        "goes on from there.\n"
    )
    assert main([*COMPARE, "--out", "stopped", "--workers", "1", "--resume"]) == 0
    assert capsys.readouterr().err == "20 finished years were there from before, and not lived through again.\n"
    assert main([*COMPARE, "--out", "whole", "--workers", "1"]) == 0

    same_files(Path("whole"), Path("stopped"))
    assert not Path(".stopped-unfinished").exists()


def test_years_of_another_room_are_not_used(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The room file was changed meanwhile: said so, everything rehearsed again, the old years left where they lie."""
    Path("room.toml").write_text(Path(TINY, "room.toml").read_text("utf-8"), "utf-8")
    words = ["rehearse", "room.toml", "--days", "28", "--replications", "3", "--workers", "1", "--out", "mine"]
    with monkeypatch.context() as stopping:
        stop_after(1, stopping)
        assert main(words) == 130
    changed = Path("room.toml").read_text("utf-8").replace("floor_area_m2 = 12", "floor_area_m2 = 13")
    Path("room.toml").write_text(changed, "utf-8")
    capsys.readouterr()

    assert main([*words, "--resume"]) == 0
    assert capsys.readouterr().err == (
        ".mine-unfinished: none of the years kept there is of this room, seed, plan and growsim; none was used.\n"
    )
    assert main([*words, "--out", "again"]) == 0
    same_files(Path("again"), Path("mine"))
    assert Path(".mine-unfinished").exists()


def test_what_lies_there_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    """--resume where nothing is kept says so; who forgets --resume where something is, is told of it."""
    words = ["rehearse", TINY, "--days", "28", "--replication", "0", "--out", "mine"]
    assert main([*words, "--resume"]) == 0
    assert capsys.readouterr().err == (
        ".mine-unfinished: no finished years are kept there, so this study starts from the beginning.\n"
    )
    assert list(Path().iterdir()) == []
    Path(".mine-unfinished").mkdir()
    Path(".mine-unfinished", "0.years").touch()
    assert main(words) == 0
    assert capsys.readouterr().err == (
        ".mine-unfinished: years of a study that was stopped are kept there; --resume would go on from them.\n"
    )


def test_a_program_that_attends_leaves_no_years_behind(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """What the page starts and stops is not gone on with: nothing is kept beside its folder."""
    monkeypatch.setenv("GROWSIM_ATTENDED", str(tmp_path / "progress.json"))
    monkeypatch.setattr("growsim.run.progress.attend", lambda: None)
    stop_after(1, monkeypatch)
    words = ["rehearse", TINY, "--days", "28", "--replications", "3", "--workers", "1", "--out", "mine"]
    assert main(words) == 130
    assert capsys.readouterr().err == "Stopped before the end; nothing was kept.\n"
    assert not Path(".mine-unfinished").exists()
