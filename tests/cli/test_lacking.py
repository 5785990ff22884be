"""Rooms in which nobody works, or nothing is sown: one sentence instead of a page of zeros."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest

import growsim
from growsim.cli import main
from growsim.errors import RoomFileError
from growsim.scenario.toml.text import toml_text

TINY = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"
ROOM: dict[str, Any] = tomllib.loads(TINY.read_text(encoding="utf-8"))
NO_HANDS = {**ROOM, "crew": {key: value for key, value in ROOM["crew"].items() if key != "shifts"}}
NO_PLAN: dict[str, Any] = {**ROOM, "sowing": []}  # left out, the plan follows from the promises
SHELVES = "lot,crop,stage,sown,plants,rack\nheads,small head,head,2031-01-13,28,rack\n"
SHORT = ["--replications", "9", "--workers", "1"]
COMMANDS = {
    "rehearse": ["rehearse", "room.toml", "--days", "14", *SHORT],
    "compare": ["compare", "room.toml", "warmer.toml", "--days", "14", "--no-why", *SHORT],
    "crew": ["crew", "room.toml", *SHORT],
    "sheet": ["sheet", "room.toml", *SHORT],
    "outage": ["outage", "room.toml", *SHORT],
    "funder": ["funder", "room.toml", *SHORT],
    "promise": ["promise", "room.toml", "--shelves", "today.csv", "--date", "2031-02-10", *SHORT],
    "sow": ["sow", "room.toml", *SHORT],
}


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With a change, and a count of the shelves."""
    monkeypatch.chdir(tmp_path)
    Path("warmer.toml").write_text("[climate]\nair_temperature_c = 22\n", encoding="utf-8")
    Path("today.csv").write_text(SHELVES, encoding="utf-8")


def a_room(tables: dict[str, Any]) -> None:
    """The room, written down."""
    Path("room.toml").write_text(toml_text(tables), encoding="utf-8")


@pytest.mark.parametrize("command", sorted(COMMANDS))
def test_without_shifts_nothing_can_be_rehearsed(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """One line, with the key that is missing; exit code 2; nothing is written."""
    a_room(NO_HANDS)

    assert main(COMMANDS[command]) == 2

    (said,) = capsys.readouterr().err.splitlines()
    assert "crew.shifts: nobody ever comes to " in said
    assert said.endswith("add a [[crew.shifts]].")
    assert not Path("reports").exists()


@pytest.mark.parametrize("command", sorted(COMMANDS.keys() - {"sow", "promise"}))
def test_without_a_sowing_nothing_comes_of_it(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The same, and where a plan is to be had."""
    a_room(NO_PLAN)

    assert main(COMMANDS[command]) == 2

    (said,) = capsys.readouterr().err.splitlines()
    assert said == (
        "room.toml, sowing: nothing is ever sown, so it cannot be rehearsed: there would be nothing to harvest and "
        "hand "
        "out; add a [[sowing]] line, or let `growsim sow` find a plan."
    )
    assert not Path("reports").exists()


def test_what_stands_on_the_shelves_can_be_promised_and_planned(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is sown, but heads stand there: that is told, and told that nothing comes after them."""
    a_room(NO_PLAN)

    assert main(COMMANDS["promise"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "The room file sows nothing: only what stands there now is counted." in told
    assert main([*COMMANDS["sheet"], "--shelves", "today.csv", "--date", "2031-02-10"]) == 0
    Path("first.csv").write_text(SHELVES.replace("2031-01-13", "2030-12-13"), encoding="utf-8")
    assert main(["rehearse", "room.toml", "--start", "first.csv", "--days", "14", *SHORT]) == 0


def test_a_change_that_brings_the_sowings_is_compared(capsys: pytest.CaptureFixture[str]) -> None:
    """Today nothing comes of the room; with the plan it does."""
    a_room(NO_PLAN)
    Path("plan.toml").write_text(toml_text({"sowing": ROOM["sowing"]}), encoding="utf-8")

    assert main(["compare", "room.toml", "plan.toml", "--days", "70", "--no-why", *SHORT]) == 0
    assert "more greens a week are handed out" in " ".join(capsys.readouterr().out.split())


@pytest.mark.parametrize("tables", [NO_HANDS, NO_PLAN], ids=["no hands", "no plan"])
def test_check_says_it_and_is_no_failure(tables: dict[str, Any], capsys: pytest.CaptureFixture[str]) -> None:
    """A room file may well be half written; the first sentence says that it is."""
    a_room(tables)

    assert main(["check", "room.toml"]) == 0

    out = capsys.readouterr().out
    assert "the description is possible, but not complete: it cannot be rehearsed yet." in out.splitlines()[0]
    assert "so it cannot be rehearsed: " in out


def test_from_python_it_is_the_same_sentence() -> None:
    """As an error that names the key."""
    a_room(NO_PLAN)

    for ask in (lambda: growsim.rehearse("room.toml"), lambda: growsim.outage("room.toml")):
        with pytest.raises(RoomFileError, match="nothing is ever sown") as refused:
            ask()
        assert [fault.key for fault in refused.value.faults] == ["sowing"]
