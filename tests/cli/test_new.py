"""`growsim new DIR`: a room to start from, and nobody's files lost."""

from __future__ import annotations

import datetime as dt
import json
import re
import shlex
from pathlib import Path

import pytest

from growsim.cli import main
from growsim.scenario.checks.closings import without_effect
from growsim.scenario.load import load_scenario
from growsim.scenario.schema import json_schema


@pytest.mark.parametrize("folder", ["mine", "deep/er/mine", "a room"])
def test_a_new_room_passes_check(
    folder: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The starter is there with the schema its first line points to, and is sound as it stands."""
    monkeypatch.chdir(tmp_path)

    assert main(["new", folder]) == 0
    assert main(["check", folder]) == 0

    assert sorted(file.name for file in Path(folder).iterdir()) == ["room.schema.json", "room.toml"]
    assert Path(folder, "room.toml").read_text("utf-8").startswith("#:schema ./room.schema.json\n")
    assert json.loads(Path(folder, "room.schema.json").read_text("utf-8")) == json_schema()
    assert "surely not meant" not in capsys.readouterr().out


def test_the_commands_it_names_can_be_typed_as_they_stand(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A folder with a space in its name is one word to the shell."""
    monkeypatch.chdir(tmp_path)

    assert main(["new", "my room"]) == 0
    typed = [shlex.split(line) for line in capsys.readouterr().out.splitlines()[1:]]

    assert typed == [["growsim", "check", "my room"], ["growsim", "rehearse", "my room"]]
    assert main(typed[0][1:]) == 0


def test_it_is_short(tmp_path: Path) -> None:
    """At most 80 lines, and what it says once stands in it once."""
    assert main(["new", str(tmp_path / "mine")]) == 0
    text = (tmp_path / "mine" / "room.toml").read_text("utf-8")

    assert len(text.splitlines()) <= 80
    assert len(re.findall(r"^\[\[racks\]\]", text, re.MULTILINE)) == 1
    assert len(load_scenario(tmp_path / "mine").scenario.racks) == 2


def test_an_empty_folder_is_filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even the one somebody stands in."""
    monkeypatch.chdir(tmp_path)

    assert main(["new", "."]) == 0
    assert (tmp_path / "room.toml").is_file()


def test_a_folder_with_something_in_it_is_left_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2; the file in it is as it was."""
    (tmp_path / "room.toml").write_text("mine")

    assert main(["new", str(tmp_path)]) == 2

    assert capsys.readouterr().err == f"{tmp_path}: exists already and is not empty; give a new folder.\n"
    assert [file.read_text() for file in tmp_path.iterdir()] == ["mine"]


def test_a_file_is_no_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nor is it written over."""
    (tmp_path / "notes").write_text("mine")

    assert main(["new", str(tmp_path / "notes")]) == 2
    assert main(["new", str(tmp_path / "notes" / "room")]) == 2

    assert (tmp_path / "notes").read_text() == "mine"
    assert "is not a folder; give a new folder." in capsys.readouterr().err


def test_a_place_that_cannot_be_written_is_said_without_options_that_new_lacks(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """`new` takes the folder itself; there is no --out to give."""
    (tmp_path / "notes").write_text("mine")

    for words in (["new"], ["new", "--records"]):
        assert main([*words, str(tmp_path / "notes" / "deep" / "room")]) == 2
        said = capsys.readouterr().err
        assert "cannot be written (" in said
        assert said.endswith("); give another folder.\n")


def test_a_room_of_ones_own_says_nothing_of_another_and_its_year_is_to_come(tmp_path: Path) -> None:
    """Its folder's name, what counts as invented as long as it stands there, closings inside the rehearsed year."""
    assert main(["new", str(tmp_path / "Mill Street")]) == 0
    scenario = load_scenario(tmp_path / "Mill Street").scenario

    assert (scenario.room.name, scenario.room.note) == ("Mill Street", "")
    assert scenario.about.startswith("Begun from growsim's invented starter")
    assert 0 <= (scenario.room.start_date - dt.date.today()).days < 8 and scenario.room.start_date.weekday() == 0
    assert scenario.room.closed_days and without_effect(scenario) == {}
