"""The front door: commands, misspelled words, exit codes, and how it ends when something goes wrong."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import growsim
from growsim.__main__ import main
from growsim.cli import check
from growsim.errors import Interrupted
from growsim.vocabulary.questions import COMMANDS

ROOT = Path(__file__).parents[2]
TINY = ROOT / "scenarios" / "tiny"
HEAVY = ("pydantic", "numpy", "pandas", "matplotlib", "scipy", "simpy", "jinja2", "tqdm")


def run_growsim(*arguments: str, **environment: str) -> subprocess.CompletedProcess[str]:
    """`python -m growsim ...` as a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "growsim", *arguments],
        cwd=ROOT,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def raising(fault: BaseException, monkeypatch: pytest.MonkeyPatch) -> None:
    """Make `growsim check` meet this."""

    def run(_: object) -> int:
        raise fault

    monkeypatch.setattr(check, "run", run)


@pytest.mark.parametrize("arguments", [[], ["--help"]])
def test_help_lists_every_command_with_its_question(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Alone, growsim says what it can be asked."""
    assert main(arguments) == 0

    text = " ".join(capsys.readouterr().out.split())
    for question in COMMANDS:
        assert question.name in text
        assert question.asks in text


def test_help_imports_nothing_heavy() -> None:
    """`growsim --help` is quick because nothing of weight is loaded."""
    look = (
        "import sys\nfrom growsim.__main__ import main\nassert main(['rehearse', '--help']) == 0\n"
        f"print([name for name in {HEAVY!r} if name in sys.modules], file=sys.stderr)"
    )
    told = subprocess.run([sys.executable, "-c", look], cwd=ROOT, capture_output=True, text=True, check=True)

    assert told.stderr.strip() == "[]"


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    """Its own version, and what it runs as; tests/architecture/test_compiled.py asks the other kind."""
    assert main(["--version"]) == 0
    assert capsys.readouterr().out in (
        f"growsim {growsim.__version__}, plain Python\n",
        f"growsim {growsim.__version__}, machine code\n",
    )


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["chekc", "x"], "growsim: there is no command 'chekc'; did you mean `growsim check`; see `growsim --help`."),
        (["sing"], "growsim: there is no command 'sing'; the commands are new, check, rehearse"),
        (["check"], "growsim check: missing: ROOM; see `growsim check --help`."),
        (["check", "a", "b"], "growsim: not understood: b; see `growsim --help`."),
        (
            ["rehearse", "a", "--seed", "-3"],
            "growsim rehearse: --seed: '-3' is not possible; give a whole number from 0",
        ),
        (["rehearse", "a", "--seed", "1.5"], "growsim rehearse: --seed: '1.5' is not possible; give a whole number"),
        (["rehearse", "a", "--replications", "0"], "growsim rehearse: --replications: '0' is not possible"),
        (["rehearse", "a", "--days", "many"], "growsim rehearse: --days: 'many' is not possible"),
        (["rehearse", "a", "--workers", "0"], "growsim rehearse: --workers: '0' is not possible"),
        (["rehearse", "a", "--precision", "nan"], "growsim rehearse: --precision: 'nan' is not possible"),
        (["rehearse", "a", "--precision", "-2"], "growsim rehearse: --precision: '-2' is not possible"),
        (["rehearse", "a", "--replication", "9" * 30], "growsim rehearse: --replication: '999"),
        (["rehearse", "a", "--seeds", "3"], "growsim: not understood: --seeds 3"),
    ],
)
def test_a_wrong_command_line_is_refused_in_one_sentence(
    arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2; what is wrong; where to look."""
    assert main(arguments) == 2

    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(said)
    assert err.count("\n") == 1


def test_what_is_our_fault_is_called_so(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 1, one sentence, no traceback."""
    raising(ZeroDivisionError("division\nby zero"), monkeypatch)

    assert main(["check", "x"]) == 1

    err = capsys.readouterr().err
    assert err.startswith(
        "This is our fault, not yours: growsim met something unforeseen (ZeroDivisionError: division by"
    )
    assert err.count("\n") == 1


def test_developers_can_see_where(monkeypatch: pytest.MonkeyPatch) -> None:
    """With GROWSIM_DEBUG=1 the fault itself comes through."""
    raising(ZeroDivisionError(), monkeypatch)
    monkeypatch.setenv("GROWSIM_DEBUG", "1")

    with pytest.raises(ZeroDivisionError):
        main(["check", "x"])


@pytest.mark.parametrize("stop", [KeyboardInterrupt(), Interrupted("Stopped before the end; nothing was kept.")])
def test_ctrl_c_ends_quietly(
    stop: BaseException, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 130 (128 + SIGINT, as shells have it; common practice) and one sentence."""
    raising(stop, monkeypatch)

    assert main(["check", "x"]) == 130
    assert capsys.readouterr().err == "Stopped before the end; nothing was kept.\n"


def test_a_reader_who_has_seen_enough_is_no_fault() -> None:
    """`growsim check ROOM | head -1` ends in peace."""
    piped = subprocess.run(
        f"{sys.executable} -m growsim check scenarios/tiny --json | head -c 1; exit ${{PIPESTATUS[0]}}",
        shell=True,
        executable="/bin/bash",
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )

    assert (piped.returncode, piped.stdout, piped.stderr) == (0, "{", "")


def test_a_terminal_without_degree_signs_is_no_fault() -> None:
    """Where only plain letters can be shown, the rest becomes '?'."""
    told = run_growsim("check", "scenarios/tiny", PYTHONIOENCODING="ascii", PYTHONUTF8="0")

    assert told.returncode == 0
    assert "3.8 m? to grow on" in told.stdout


def test_check_tells_the_size_of_a_sound_room(capsys: pytest.CaptureFixture[str]) -> None:
    """The first sentence is the answer; nothing on stderr."""
    assert main(["check", str(TINY)]) == 0

    out, err = capsys.readouterr()
    assert out.startswith("Tiny trial room: the description is complete and possible.\nRoom: 1 rack")
    assert err == ""


def test_check_prints_warnings_after_the_size(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A room that is possible but odd: exit code 0, and each oddity a sentence."""
    odd = (
        (TINY / "room.toml")
        .read_text("utf-8")
        .replace("kg = 1.8", "kg = 18")
        .replace("cooling_kw = 2", "cooling_kw = 0.1")
    )
    (tmp_path / "room.toml").write_text(odd, "utf-8")

    assert main(["check", str(tmp_path)]) == 0

    size, _, odds = capsys.readouterr().out.partition("\n\n")
    assert "complete and possible" in size
    assert odds.startswith("Possible, but surely not meant (2):\n")
    assert len(odds.splitlines()) == 3


def test_check_as_json(capsys: pytest.CaptureFixture[str]) -> None:
    """The same answer for scripts, and nothing else on stdout."""
    assert main(["check", str(TINY), "--json"]) == 0

    summary = json.loads(capsys.readouterr().out)
    assert summary["command"] == "check"
    assert summary["answer"][0].endswith("complete and possible.")
    assert (summary["size"]["slots"], summary["warnings"]) == (16, [])
    assert summary["air"]["lit_ppm"] < summary["air"]["reckoned_ppm"] == 420.0
    assert any(f"About {summary['air']['lit_ppm']:.0f} ppm is left" in said for said in summary["answer"])
    assert re.fullmatch("[0-9a-f]{64}", summary["room_sha256"])
