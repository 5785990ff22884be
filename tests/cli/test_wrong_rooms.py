"""Every wrong room is refused in plain sentences: file, key, what is wrong, what would be right."""

from __future__ import annotations

from pathlib import Path

import pytest
from wrong_rooms import WRONG_ROOMS, Edits, Faults, edited

from growsim.cli import main


@pytest.mark.parametrize(("edits", "faults"), [case[1:] for case in WRONG_ROOMS], ids=[case[0] for case in WRONG_ROOMS])
def test_a_wrong_room_is_answered_with_one_sentence_a_fault(
    edits: Edits, faults: Faults, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2; one line for each fault, in plain words; nothing on stdout, nothing written."""
    monkeypatch.chdir(tmp_path)
    Path("room.toml").write_text(edited(edits), encoding="utf-8")

    code = main(["check", "room.toml"])

    out, err = capsys.readouterr()
    lines = err.splitlines()
    assert (code, out) == (2, "")
    assert len(faults) == len(lines), err
    for key, problem, remedy in faults:
        opening = f"room.toml, {key}: " if key else "room.toml: "
        (line,) = [line for line in lines if line.startswith(opening)]
        said, _, advice = line.removeprefix(opening).partition("; ")
        assert problem in said
        assert remedy in advice
        assert line.endswith(".")
    assert not any(
        word in err for word in ("Traceback", "pydantic", "Input should", "validation error", "ctx", "NoneType")
    )
    assert [found.name for found in tmp_path.iterdir()] == ["room.toml"]


def test_there_are_at_least_sixty_wrong_rooms() -> None:
    """The collection stays large, and no case has the name of another."""
    assert len(WRONG_ROOMS) >= 60
    assert len({case[0] for case in WRONG_ROOMS}) == len(WRONG_ROOMS)


def test_a_change_file_in_place_of_a_room_is_called_one(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, with the command that was meant; not a line for every table that a room needs."""
    monkeypatch.chdir(tmp_path)
    Path("two more.toml").write_text('[change]\nname = "two more"\n\n[crew]\nstay_weeks = 30\n', encoding="utf-8")

    assert main(["rehearse", "two more.toml"]) == 2

    assert capsys.readouterr().err == (
        "two more.toml, change: this is a CHANGE file, not a room; name the room first: "
        "`growsim compare ROOM 'two more.toml'`.\n"
    )
