"""Files in the words of before are answered with the words of today: one sentence for each, and nothing read wrong."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from wrong_rooms import TINY

from growsim.errors import RoomFileError
from growsim.scenario.change import change_from
from growsim.scenario.load import load_scenario, scenario_from
from growsim.scenario.names import in_words_of_today
from growsim.scenario.record.files import read_records
from growsim.scenario.record.tables import BY_NAME
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import COLUMNS, load_shelves
from growsim.vocabulary.old_words import OLD_WORDS, is_now
from growsim.vocabulary.tasks import TASK_WORDS, TASKS

ROOM = load_scenario(TINY).scenario
NOT_OF_A_ROOM = ("shelves file", "shelves file, stage", "record", "plantings", "work, task")
OF_A_ROOM = [(where, old, new) for where, words in OLD_WORDS.items() if where not in NOT_OF_A_ROOM
             for old, new in words.items()]  # fmt: skip


def nested(where: str, inside: dict[str, Any]) -> dict[str, Any]:
    """A room file's table of that name with something inside, and nothing else."""
    for key in reversed(where.split(".") if where else []):
        inside = {key: inside}
    return inside


@pytest.mark.parametrize(("where", "old", "new"), OF_A_ROOM)
def test_an_old_word_in_a_room_file_is_told_with_the_new_one(where: str, old: str, new: str) -> None:
    """Keys and choices: by where they stand, in a room and in a CHANGE file."""
    table, _, key = where.rpartition(".")
    is_key = key not in ("name", "machine")
    raw = nested(where, {old: 1}) if is_key else nested(table, {key: old})
    shown, said = (
        (f"{where}.{old}".lstrip("."), f"is now called {new}") if is_key else (where, f'"{old}" is now called "{new}"')
    )

    today, findings = in_words_of_today(raw)
    with pytest.raises(RoomFileError) as refused:
        change_from(raw, Path("bigger.toml"), "")

    assert findings == [(shown, said, "rename it")]
    assert in_words_of_today(today) == (today, [])
    assert f"bigger.toml, {shown}: {said}; rename it." in str(refused.value).splitlines()


def test_the_tiny_room_in_old_words_is_told_once_a_word_with_its_other_faults() -> None:
    """What stands in many tables is one sentence; a figure that cannot be is told beside it."""
    text = TINY.read_text(encoding="utf-8")
    for new, old in (
        ("[[reservoirs]]", "[[tubs]]"), ("[reservoirs.", "[tubs."), ("reservoir = ", "tub = "),
        ("warm_up_days", "run_in_days"), ('"transplant"', '"move"'), ("change_every_weeks", "renew_every_weeks"),
        ("height_m = 2.5", "height_m = 0"),
    ):  # fmt: skip
        assert new in text
        text = text.replace(new, old)

    with pytest.raises(RoomFileError) as refused:
        scenario_from(tomllib.loads(text), "my-room/room.toml")

    assert sorted(str(refused.value).splitlines()) == [
        'my-room/room.toml, crew.tasks.name: "move" is now called "transplant"; rename it.',
        "my-room/room.toml, racks.tub: is now called reservoir; rename it.",
        "my-room/room.toml, rehearsal.run_in_days: is now called warm_up_days; rename it.",
        "my-room/room.toml, room.height_m: is 0, which is not possible; give a number above 1.5 and up to 30 (m).",
        "my-room/room.toml, tubs.renew_every_weeks: is now called change_every_weeks; rename it.",
        "my-room/room.toml, tubs: is now called reservoirs; rename it.",
    ]


def test_many_of_a_kind_are_one_sentence_and_old_beside_new_is_one_too_many() -> None:
    """Three racks with a tub; a table that has the old word and the new."""
    _, racks = in_words_of_today({"racks": [{"tub": "a"}, {"tub": "b"}, {"tub": "c"}]})
    _, both = in_words_of_today({"power": {"cuts_per_year": 1, "outages_per_year": 2}})

    assert racks == [("racks.tub", "is now called reservoir", "rename it, in all 3 places")]
    assert both == [("power.cuts_per_year", "is now called outages_per_year", "keep one of the two")]


def test_new_words_are_those_of_today() -> None:
    """No row leads to a word that files do not know."""
    from growsim.scenario.dictionary import entries

    known = {entry.key.replace("[]", "") for entry in entries()}
    choices = {entry.key.replace("[]", ""): entry.allowed for entry in entries(Scenario)}
    astray = [
        (where, new)
        for where, _, new in OF_A_ROOM
        if f"{where}.{new}".lstrip(".") not in known and new not in choices.get(where, "")
    ]

    assert astray == []
    assert set(OLD_WORDS["shelves file"].values()) <= set(COLUMNS)
    assert set(OLD_WORDS["record"].values()) <= set(BY_NAME)
    assert set(OLD_WORDS["plantings"].values()) <= {column.name for column in BY_NAME["plantings"].columns}
    assert set(OLD_WORDS["work, task"].values()) <= set(TASKS)
    assert set(OLD_WORDS["work, task"]) & set(TASK_WORDS) == set()


@pytest.mark.parametrize(("old", "new"), OLD_WORDS["plantings"].items())
def test_an_old_column_of_a_record_refuses_the_table(old: str, new: str, tmp_path: Path) -> None:
    """By file and line."""
    file = tmp_path / "plantings.csv"
    file.write_text(f"sown,crop,cells,{old}\n2031-03-03,small head,60,\n", encoding="utf-8")

    with pytest.raises(RoomFileError) as refused:
        read_records(tmp_path, ROOM)

    assert str(refused.value) == f"{file}, line 1: '{old}' is now called '{new}'; rename it."


@pytest.mark.parametrize(("old", "new"), OLD_WORDS["record"].items())
def test_an_old_table_of_a_record_is_refused_by_name(old: str, new: str, tmp_path: Path) -> None:
    """Even where its columns are those of today, as a file or as a sheet of a workbook."""
    from growsim.scenario.spreadsheets import workbook_bytes

    heading = {
        "trays": ["sown", "crop", "moved"],
        "visits": ["date", "shift", "signed_up", "came"],
    }[old]
    file, book = tmp_path / f"{old}-2031.csv", tmp_path / "book.xlsx"
    file.write_text(",".join(heading) + "\n", encoding="utf-8")
    book.write_bytes(workbook_bytes({f"{old.title()} 2031": [heading]}))

    said = []
    for path in (file, book):
        with pytest.raises(RoomFileError) as refused:
            read_records(path, ROOM)
        said.append(str(refused.value).splitlines()[0])

    assert said == [
        f"{file}: the table {old} is now called {new}; rename it.",
        f"{book}, sheet {old.title()} 2031: the table {old} is now called {new}; rename it.",
    ]


@pytest.mark.parametrize(("old", "new"), OLD_WORDS["work, task"].items())
def test_a_row_of_work_in_an_old_word_is_set_aside(old: str, new: str, tmp_path: Path) -> None:
    """With the reason; the other rows are used."""
    rows = f"date,task,units,minutes\n2031-03-03,sow,144,14\n2031-03-06,{old},66,21\n"
    (tmp_path / "work.csv").write_text(rows, encoding="utf-8")

    records = read_records(tmp_path, ROOM)

    assert [row.task for row in records.work] == ["sow"]
    assert [(aside.line, aside.reason) for aside in records.set_aside] == [
        (3, f"task '{old}' is now called '{new}'; rename it")
    ]


def test_old_words_of_a_shelves_file_are_told_once_with_its_other_faults(tmp_path: Path) -> None:
    """A column, and a stage on two lines; a crop that is none is told beside them."""
    file = tmp_path / "today.csv"
    file.write_text(
        "lot,crop,stage,days_since_sowing,plants,cuts,kg\n"
        "fridge,small head,cold store,,,,1.5\n"
        "fridge,cutting leaf,Cold Store,,,,1.5\n"
        "a,tall head,head,20,30,,\n",
        encoding="utf-8",
    )

    with pytest.raises(RoomFileError) as refused:
        load_shelves(file, ROOM)

    assert str(refused.value).splitlines()[:2] == [
        f"{file}, line 1: 'cuts' is now called 'harvests'; rename it.",
        f"{file}, line 2, stage: 'cold store' is now called 'cooler'; rename it wherever it stands.",
    ]
    assert [fault.key for fault in refused.value.faults[2:]] == ["line 4, crop"]
    assert (is_now("shelves file", "cuts"), is_now("shelves file, stage", "cold store")) == ("harvests", "cooler")
