"""`growsim outage` at the command line."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from growsim.cli import main

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
ONE = [
    "--machine",
    "pump",
    "--date",
    "2031-02-03",
    "--hour",
    "20",
    "--hours",
    "24",
    "--replications",
    "2",
    "--days",
    "56",
]


def outage(*words: str, out: Path) -> int:
    """Run it on the tiny room."""
    return main(["outage", str(TINY), *words, "--workers", "1", "--out", str(out)])


def test_one_given_outage(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The answer first, then where the report lies; the only reservoir need not be named."""
    assert outage(*ONE, out=tmp_path / "out") == 0
    said = capsys.readouterr().out

    assert " ".join(said.split()).startswith(
        "A failed pump (reservoir) from Monday 3 February 2031, 20:00, for 24 hours, kills "
    )
    assert (tmp_path / "out" / "report.html").exists()
    assert "wall" not in said


def test_a_night_with_the_door_open(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What, when, how long, as for any machine; it belongs to the room, so no place is named."""
    words = ["--machine", "door", *ONE[2:]]
    assert outage(*words, out=tmp_path / "out") == 0
    assert "An open door from Monday 3 February 2031, 20:00, for 24 hours" in capsys.readouterr().out

    assert outage(*words, "--where", "reservoir", out=tmp_path / "no") == 2
    assert "the open door serves the whole room; leave `where` out" in capsys.readouterr().err


def test_the_command_that_repeats_it_gives_the_same_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """`repeat_with` is a command line of ours, and its numbers are the same."""
    assert outage(*ONE, "--json", out=tmp_path / "one") == 0
    first = json.loads(capsys.readouterr().out)
    words = shlex.split(first["repeat_with"])
    assert words[0] == "growsim"

    assert main([*words[1:], "--json", "--out", str(tmp_path / "two")]) == 0
    assert json.loads(capsys.readouterr().out) == first


def test_all_outages_of_a_short_time(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without --machine: everything, and two pages to print."""
    import growsim.study.outage.question as study
    from growsim.study.outage.trials import Trials

    small = Trials(hours=(12.0,), start_hours=(0.0,), plant_replications=2, kg_replications=2)
    monkeypatch.setattr(study, "Trials", lambda: small)

    assert outage("--replications", "2", "--days", "28", out=tmp_path / "out") == 0
    said = capsys.readouterr().out
    assert "With a failed pump 1 plant in 20 is dead after" in " ".join(said.split())
    assert "What is lost to outages in a year, and what helps" in said
    assert f"For the wall, to print: {tmp_path / 'out' / 'wall.html'}" in said
    assert (tmp_path / "out" / "what-to-do-first.html").exists()


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--machine", "pump"), "say when, either with --date (e.g. --date 2031-04-06) or with --day"),
        (("--machine", "pump", "--day", "3", "--date", "2031-02-03"), "say when"),
        (("--machine", "pump", "--date", "2030-02-03"), "is before the first counted day, 2031-01-06"),
        (("--hours", "3"), "--hours: say which machine with --machine"),
        (
            ("--machine", "pump", "--where", "pond", "--day", "3"),
            "a pump belongs to a reservoir; name the reservoir: reservoir",
        ),
        (("--machine", "power", "--day", "4000"), "the counted time ends with day 181"),
        (("--machine", "kettle", "--day", "4"), "'kettle' is nothing that can fail; give one of pump, timer"),
        (("--machine", "pmp", "--day", "4"), "did you mean 'pump'"),
        (("--machine", "pump", "--date", "soon"), "'soon' is no date"),
        (("--machine", "pump", "--day", "4", "--hours", "0"), "'0' is not possible"),
        (("--replications", "1"), "--replications"),
    ],
)
def test_what_cannot_be_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], words: tuple[str, ...], said: str
) -> None:
    """Exit code 2, one sentence, nothing written."""
    assert outage(*words, out=tmp_path / "out") == 2

    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
