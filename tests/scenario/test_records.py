"""A room's own record: every row is used or set aside by line; what makes a table unsure is refused in a sentence."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from growsim.errors import RoomFileError
from growsim.report.record_templates import write_templates
from growsim.scenario.load import load_scenario
from growsim.scenario.record.cells import UnreadableError, read_date, read_number
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import AttendanceRow, FaultRow, PlantingRow, Records
from growsim.scenario.record.rows import reasons
from growsim.scenario.record.tables import TABLES
from growsim.scenario.spreadsheets import workbook_bytes

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario
PLANTINGS = (
    "sown,crop,cells,seeds_per_cell,emerged,transplanted,harvested,harvest_number,plants_harvested,grams,lost,why\n"
)
GOOD_TRAY = "2031-03-03,small head,60,1,55,2031-03-17,2031-04-07,,54,5832,1,transplanting\n"
HEAD = PLANTINGS + GOOD_TRAY
ATTENDANCE = "date,shift,signed_up,came\n"
WORK = "date,task,units,people,minutes\n"
FAULTS = "machine,where,down,noticed,repaired\n"


def read(folder: Path, **tables: str | bytes) -> Records:
    """The record made of these tables."""
    for name, text in tables.items():
        (folder / f"{name}.csv").write_bytes(text.encode() if isinstance(text, str) else text)
    return read_records(folder, TINY)


def test_all_four_tables_are_read(tmp_path: Path) -> None:
    """Every kind of row, by its file and line; names in any case come out as the room file has them."""
    records = read(
        tmp_path,
        plantings=PLANTINGS + "2031-03-03,Small Head,60,,55,,2031-04-07,,,5832,1,1 handling\n",
        attendance=ATTENDANCE + "2031-03-03,monday,4,3\n",
        work=WORK + "2031-03-03,top up,1,,8\n",
        faults=FAULTS + "pump,,2031-03-08 03:00,2031-03-08 20:30,2031-03-08 21:40\n",
    )

    (tray,), (visit,), (work,), (fault,) = records.plantings, records.attendance, records.work, records.faults
    assert tray == PlantingRow(
        "plantings.csv", 2, dt.date(2031, 3, 3), "small head",
        60, None, 55, None, dt.date(2031, 4, 7), 1, None, 5832.0, 1,
        (("transplanting", 1),),
    )  # fmt: skip
    assert tray.plants == 54
    assert visit == AttendanceRow("attendance.csv", 2, dt.date(2031, 3, 3), TINY.crew.shifts[0].name, 4, 3)
    assert (work.task, work.person_minutes) == ("top up", 8.0)
    assert fault == FaultRow(
        "faults.csv", 2, "pump", "reservoir", dt.datetime(2031, 3, 8, 3), dt.datetime(2031, 3, 8, 20, 30),
        dt.datetime(2031, 3, 8, 21, 40), True,
    )  # fmt: skip
    assert (records.first, records.last) == (dt.date(2031, 3, 3), dt.date(2031, 4, 7))


def test_a_second_move_is_read_where_the_crop_has_one(tmp_path: Path) -> None:
    """Between the first move and the harvest, or the row is set aside; a record without the column is as good
    as ever.
    """
    room = load_scenario(Path(__file__).parents[2] / "scenarios" / "millrace").scenario
    (tmp_path / "plantings.csv").write_text(
        "sown,crop,transplanted,transplanted_again,harvested\n"
        "2032-03-04,butterhead,2032-03-18,2032-03-27,2032-04-12\n"
        "2032-03-11,butterhead,2032-03-25,,2032-04-19\n"
        "2032-03-18,butterhead,2032-04-01,2032-03-30,2032-04-26\n"
        "2032-03-25,butterhead,2032-04-08,2032-05-05,2032-05-03\n"
    )
    records = read_records(tmp_path, room)

    assert [row.transplanted_again for row in records.plantings] == [dt.date(2032, 3, 27), None]
    assert [aside.line for aside in records.set_aside] == [4, 5]
    assert ["is before transplanted" in aside.reason for aside in records.set_aside] == [True, True]


# What is wrong with one row sets that row aside, by line, with the reason; the good row beside it is used.
BAD_ROWS: list[tuple[str, str, str, str]] = [
    ("no date at all", "plantings", HEAD + ",small head,60,,,,,,,,,\n", "sown is empty"),
    ("no such day", "plantings", HEAD + "2031-02-30,small head,60,,,,,,,,,\n", "no date of the calendar"),
    ("words for a date", "plantings", HEAD + "Easter,small head,60,,,,,,,,,\n", "which is no date"),
    ("a spreadsheet's count of days", "plantings", HEAD + "47910,small head,60,,,,,,,,,\n", "format the column"),
    ("a year long gone", "plantings", HEAD + "1031-03-03,small head,60,,,,,,,,,\n", "give a year from"),
    ("no crop", "plantings", HEAD + "2031-03-03,,60,,,,,,,,,\n", "crop is empty"),
    ("a crop misspelled", "plantings", HEAD + "2031-03-03,smal hed,60,,,,,,,,,\n", "did you mean 'small head'"),
    ("a crop nobody grows", "plantings", HEAD + "2031-03-03,rhubarb,60,,,,,,,,,\n", "is no crop of this room"),
    ("half a cell", "plantings", HEAD + "2031-03-03,small head,60.5,,,,,,,,,\n", "give a whole number"),
    ("fewer than none", "plantings", HEAD + "2031-03-03,small head,-60,,,,,,,,,\n", "give a number from 1"),
    ("a number in words", "plantings", HEAD + "2031-03-03,small head,sixty,,,,,,,,,\n", "which is no number"),
    ("a unit in the cell", "plantings", HEAD + "2031-03-03,small head,60,1,55,,2031-04-07,,54,5.8 kg,1,\n",
     "without its unit"),
    ("a comma that could be two", "plantings", HEAD + '2031-03-03,small head,60,1,55,,2031-04-07,,54,"5,832",,\n',
     "could be two numbers"),
    ("more up than sown", "plantings", HEAD + "2031-03-03,small head,60,1,61,,,,,,,\n", "more than cells 60"),
    ("more lost than up", "plantings", HEAD + "2031-03-03,small head,60,1,55,,,,,,56,\n", "more than emerged 55"),
    ("more harvested than up", "plantings", HEAD + "2031-03-03,small head,60,1,55,,2031-04-07,,56,9,,\n",
     "more than emerged 55"),
    ("harvested and lost do not add up", "plantings", HEAD + "2031-03-03,small head,60,1,55,,2031-04-07,,55,9,1,\n",
     "are more than emerged 55"),
    ("reasons do not add up", "plantings", HEAD + "2031-03-03,small head,60,1,55,,,,,,3,2 heat 2 handling\n",
     "why counts 4 plants, and lost says 3"),
    ("harvested before it was sown", "plantings", HEAD + "2031-03-03,small head,60,1,55,,2031-02-07,,54,9,,\n",
     "is before sown"),
    ("moved after it was harvested", "plantings", HEAD + "2031-03-03,small head,60,1,55,2031-05-01,2031-04-07,,9,9,,\n",
     "is before transplanted"),
    ("a second move of a crop with one", "plantings",
     "sown,crop,transplanted,transplanted_again\n2031-03-03,small head,2031-03-17,\n2031-03-04,small "
     "head,2031-03-17,2031-03-24\n",
     "has small head moved once at most"),
    ("grams and no harvest", "plantings", HEAD + "2031-03-03,small head,60,1,55,,,,,5832,,\n", "harvested is empty"),
    ("harvested once too often", "plantings", HEAD + "2031-03-03,small head,,,,,2031-04-07,2,50,9,,\n",
     "is harvested 1 times"),
    ("kilograms for grams", "plantings", HEAD + "2031-03-03,small head,60,1,55,,2031-04-07,,54,5.8,1,handling\n",
     "give grams, not kilograms"),
    ("a zero too many", "plantings", HEAD + "2031-03-03,small head,60,1,55,,2031-04-07,,54,583200,1,handling\n",
     "10,800 g each"),
    ("a cell too many", "plantings", HEAD + "2031-03-03,small head,60,1,55,,2031-04-07,,54,5,832,1,handling\n",
     "has 13 cells for 12 columns"),
    ("the same sowing twice", "plantings",
    PLANTINGS + GOOD_TRAY * 2, "says the same as plantings.csv line 2"),
    ("more came than signed up", "attendance", ATTENDANCE + "2031-03-03,,4,3\n2031-03-04,,4,5\n",
    "more than signed_up 4"),
    ("a shift unknown", "attendance", ATTENDANCE + "2031-03-03,,4,3\n2031-03-04,Sunday school,4,3\n",
     "is no shift of this room"),
    ("a shift twice", "attendance", ATTENDANCE + "2031-03-03,Monday,4,3\n2031-03-03,Monday,4,4\n", "says the same as"),
    ("nobody counted", "attendance", ATTENDANCE + "2031-03-03,,4,3\n2031-03-04,,4,\n", "came is empty"),
    ("work unknown", "work", WORK + "2031-03-03,sow,60,,9\n2031-03-03,singing,60,,9\n", "is no kind of work"),
    ("nothing done", "work", WORK + "2031-03-03,sow,60,,9\n2031-03-03,sow,0,,9\n", "give how much was done"),
    ("no minutes", "work", WORK + "2031-03-03,sow,60,,9\n2031-03-03,sow,60,,0\n", "minutes is"),
    ("a machine unknown", "faults", FAULTS + "pump,,2031-03-08,,\nkettle,,2031-03-08,,\n", "is no machine of a room"),
    ("a reservoir unknown", "faults", FAULTS + "pump,,2031-03-08,,\npump,bathtub,2031-03-09,,\n", "is no reservoir"),
    ("repaired before it failed", "faults", FAULTS + "pump,,2031-03-08,,\npump,,2031-03-09,,2031-03-08\n",
     "is before down"),
    ("repaired before it was noticed", "faults",
     FAULTS + "pump,,2031-03-08,,\npump,,2031-03-09,2031-03-12,2031-03-11\n", "is before noticed"),
    ("repaired earlier that day", "faults",
     FAULTS + "pump,,2031-03-08,,\npump,,2031-03-09 06:00,2031-03-09 08:00,2031-03-09 07:10\n",
     "2031-03-09 07:10 is before noticed 2031-03-09 08:00"),
    ("down while it was down", "faults",
     FAULTS + "pump,,2031-03-09,,2031-03-12\npump,,2031-03-11,,2031-03-14\n", "to 2031-03-12 in faults.csv line 2"),
    ("no time of day", "faults", FAULTS + "pump,,2031-03-08,,\npump,,2031-03-09 25:10,,\n", "is no time of day"),
]  # fmt: skip

# What makes a whole table unsure is refused, with the file and the line.
BAD_TABLES: list[tuple[str, dict[str, bytes], str]] = [
    ("nothing in it", {"plantings": b""}, "plantings.csv: is empty"),
    ("a heading and no row", {"plantings": PLANTINGS.encode()}, "has no row in any table yet"),
    ("a column misspelled", {"plantings": b"sown,crop,emergd\n2031-03-03,small head,4\n"}, "did you mean 'emerged'"),
    ("a column missing", {"plantings": b"sown,cells\n2031-03-03,60\n"}, "the column 'crop' is missing"),
    ("a column twice", {"plantings": b"sown,crop,sown\n"}, "the column 'sown' stands twice"),
    (
        "a quote never closed",
        {"plantings": (PLANTINGS + '"2031-03-03,small head\n').encode()},
        "plantings.csv, line 2: cannot be read",
    ),
    ("no text", {"plantings": b"\0\1\2"}, "is not a text file"),
    (
        "two dates in one",
        {"attendance": (ATTENDANCE + "3/4/2031,,4,3\n").encode()},
        "'3/4/2031' could be 3 April or 4 March 2031",
    ),
    (
        "dates both ways",
        {"attendance": (ATTENDANCE + "25/3/2031,,4,3\n3/25/2031,,4,3\n").encode()},
        "the month first in line 3",
    ),
    ("no row of use", {"attendance": (ATTENDANCE + "2031-03-03,,four,3\n").encode()}, "its only row cannot be used"),
    ("nothing of ours", {"poems": b"title,verse\nroses,red\n"}, "has no table of a record in it; there is poems.csv"),
]


def test_there_are_forty_ways_to_go_wrong() -> None:
    """And more: bad rows and bad tables together."""
    assert len(BAD_ROWS) + len(BAD_TABLES) >= 40


@pytest.mark.parametrize(("name", "text", "said"), [case[1:] for case in BAD_ROWS], ids=[case[0] for case in BAD_ROWS])
def test_a_bad_row_is_set_aside_by_line_and_the_others_are_used(
    name: str, text: str, said: str, tmp_path: Path
) -> None:
    """Rows read = used + set aside; the reason is said; the row is kept as it was written."""
    records = read(tmp_path, **{name: text})
    (table,) = records.tables
    (aside,) = records.set_aside

    assert (table.rows, table.used, table.set_aside) == (2, 1, 1)
    assert (aside.file, aside.line) == (f"{name}.csv", 3)
    assert said in aside.reason
    assert ",".join(aside.written).replace('"', "") in text.replace('"', "")


@pytest.mark.parametrize(("tables", "said"), [case[1:] for case in BAD_TABLES], ids=[case[0] for case in BAD_TABLES])
def test_a_bad_table_is_refused_in_a_sentence(tables: dict[str, bytes], said: str, tmp_path: Path) -> None:
    """The file, what is wrong, and what would be right."""
    with pytest.raises(RoomFileError) as refusal:
        read(tmp_path, **tables)

    assert said in str(refusal.value)
    assert "; " in str(refusal.value)


@pytest.mark.parametrize(
    ("given", "meant"),
    [
        ("2031-03-25", dt.date(2031, 3, 25)),
        ("2031/3/5", dt.date(2031, 3, 5)),
        ("25/3/2031", dt.date(2031, 3, 25)),
        ("3/25/2031", dt.date(2031, 3, 25)),
        ("25.3.31", dt.date(2031, 3, 25)),
        ("4/4/2031", dt.date(2031, 4, 4)),
        ("25 March 2031", dt.date(2031, 3, 25)),
        ("Mar 25th, 2031", dt.date(2031, 3, 25)),
        ("Tue 25-Mar-2031", dt.date(2031, 3, 25)),
        (dt.datetime(2031, 3, 25), dt.date(2031, 3, 25)),
    ],
)
def test_a_date_that_can_only_be_one_is_read(given: Any, meant: dt.date) -> None:
    """Whatever the style."""
    assert read_date(given).date(None) == meant


def test_a_date_that_could_be_two_needs_telling() -> None:
    """Day first or month first; with neither it is refused, and an impossible one is no date."""
    read = read_date("3/4/2031 2:30 pm")

    assert (read.date("day-first"), read.date("month-first")) == (dt.date(2031, 4, 3), dt.date(2031, 3, 4))
    assert read.time == dt.time(14, 30)
    with pytest.raises(UnreadableError):
        read.date(None)
    with pytest.raises(UnreadableError, match="no date with the month first"):
        read_date("25/3/2031").date("month-first")


def test_saying_how_dates_are_meant_reads_them_all(tmp_path: Path) -> None:
    """One that cannot be meant so is set aside by line."""
    (tmp_path / "attendance.csv").write_text(ATTENDANCE + "3/4/2031,,4,3\n25/3/2031,,4,3\n")

    day_first = read_records(tmp_path, TINY, order="day-first")
    month_first = read_records(tmp_path, TINY, order="month-first")

    assert [row.date for row in day_first.attendance] == [dt.date(2031, 4, 3), dt.date(2031, 3, 25)]
    assert [row.date for row in month_first.attendance] == [dt.date(2031, 3, 4)]
    assert [aside.line for aside in month_first.set_aside] == [3]


def test_rows_that_can_be_one_date_only_tell_how_the_others_are_meant(tmp_path: Path) -> None:
    """25/3 proves the day first, whatever the region; without such a row the region decides, and without one nobody."""
    file = tmp_path / "attendance.csv"
    us = TINY.model_copy(update={"room": TINY.room.model_copy(update={"region": "US"})})
    file.write_text(ATTENDANCE + "3/4/2031,,4,3\n25/3/2031,,4,3\n")
    for room in (TINY, us):
        found = [row.date for row in read_records(tmp_path, room).attendance]
        assert found == [dt.date(2031, 4, 3), dt.date(2031, 3, 25)]

    file.write_text(ATTENDANCE + "3/4/2031,,4,3\n")
    assert [row.date for row in read_records(tmp_path, us).attendance] == [dt.date(2031, 3, 4)]
    with pytest.raises(RoomFileError, match="could be 3 April or 4 March 2031"):
        read_records(tmp_path, TINY)


@settings(max_examples=200, deadline=None)
@given(st.dates(dt.date(1990, 1, 1), dt.date(2200, 12, 31)), st.sampled_from("/.-"))
def test_every_date_comes_back_in_either_order(date: dt.date, mark: str) -> None:
    """Written day first and read day first, or month first and month first, any date is itself."""
    parts = (str(date.day), str(date.month), str(date.year))

    assert read_date(mark.join(parts)).date("day-first") == date
    assert read_date(mark.join((parts[1], parts[0], parts[2]))).date("month-first") == date
    assert read_date(date.isoformat()).date(None) == date


@pytest.mark.parametrize(
    ("given", "meant"),
    [("12,5", 12.5), ("1,234.5", 1234.5), ("1 234", 1234.0), (" 7 ", 7.0), (3, 3.0), ("+4", 4.0), (".5", 0.5)],
)
def test_numbers_as_people_write_them(given: Any, meant: float) -> None:
    """Decimal commas, thousands with a point after them, blanks."""
    assert read_number(given, 0, 1e6) == meant


@pytest.mark.parametrize("given", ["", "x", "1,234", "nan", "inf", "1e3", "--3", True, "1/2"])
def test_what_is_no_number_is_none(given: Any) -> None:
    """Nor is what could be two."""
    with pytest.raises(UnreadableError):
        read_number(given, -1e6, 1e6)


@pytest.mark.parametrize(
    ("lost", "why", "meant"),
    [
        (3, "transplanting", (("transplanting", 3),)),
        (5, "2 handling, 3 too small", (("transplanting", 2), ("too small", 3))),
        (5, "2x broken and 3 wilted", (("transplanting", 2), ("dried out", 3))),
        (5, "heat: 5", (("heat", 5),)),
        (0, None, ()),
        (None, "2 mold", (("other", 2),)),
        (4, None, None),
        (4, "heat, handling", None),
        (4, "=1+1", None),
        (5, "2 heat", None),  # of three nobody says why
        (4, "on shelf 3", None),
        (None, None, None),
    ],
)
def test_why_plants_were_lost(lost: int | None, why: str | None, meant: object) -> None:
    """One reason for all, or reasons with their counts; what is not said is not guessed."""
    assert reasons(lost, why) == meant


def test_a_workbook_and_csv_files_say_the_same(tmp_path: Path) -> None:
    """Sheets by name; other sheets are named as not read."""
    records = read(tmp_path, plantings=PLANTINGS + GOOD_TRAY, attendance=ATTENDANCE + "2031-03-03,Monday,4,3\n")
    book = {
        "Plantings 2031": [PLANTINGS.strip().split(","), [dt.date(2031, 3, 3), "small head",
        60, 1, 55, dt.date(2031, 3, 17),
                       dt.date(2031, 4, 7), None, 54, 5832, 1, "transplanting"]],
        "attendance": [ATTENDANCE.strip().split(","), [dt.date(2031, 3, 3), "Monday", 4, 3]],
        "recipes": [["a", "a"]],
    }  # fmt: skip
    (tmp_path / "book.xlsx").write_bytes(workbook_bytes(book))
    from_book = read_records(tmp_path / "book.xlsx", TINY)

    assert [{**vars(row), "file": ""} for row in from_book.rows] == [{**vars(row), "file": ""} for row in records.rows]
    assert from_book.not_read == ("book.xlsx, sheet recipes",)


def test_templates_are_read_as_they_are_and_hold_no_row(tmp_path: Path) -> None:
    """Examples stand behind a #; an empty record is refused with how to go on."""
    for folder, workbook in (("csv", False), ("xlsx", True)):
        (tmp_path / folder).mkdir()
        write_templates(tmp_path / folder, workbook=workbook)
        with pytest.raises(RoomFileError, match="has no row in any table yet"):
            read_records(tmp_path / folder, TINY)


def test_a_template_filled_in_below_its_examples_is_read(tmp_path: Path) -> None:
    """Every table, with the examples left where they are; columns of one's own are named and not read."""
    write_templates(tmp_path)
    for table in TABLES:
        path = tmp_path / f"{table.name}.csv"
        text = path.read_text("utf-8")
        rows = {"plantings": GOOD_TRAY.replace("03-17,", "03-17,,").replace("\n", ",\n"),
                "attendance": "2031-03-03,Monday,4,3,1\n", "work": "2031-03-03,sow,60,,9\n",
                "faults": "pump,reservoir,2031-03-08,,\n",
                "deliveries": "2031-04-14,trial pantry,any,2\n",
                "readings": "2031-04-14,reservoir,,1.6,5.9\n"}  # fmt: skip
        path.write_text(text.replace("\n", ",weather\n", 1) + rows[table.name].replace("\n", ",sunny\n"), "utf-8")
    records = read_records(tmp_path, TINY)

    assert (len(records.rows), records.rows_read, records.set_aside) == (6, 6, ())
    assert {table.not_read for table in records.tables} == {("weather",)}
    assert "how to keep a record.txt" in records.not_read


def test_rows_outside_the_time_asked_for_are_set_aside(tmp_path: Path) -> None:
    """With the reason, so that the sum still holds."""
    (tmp_path / "attendance.csv").write_text(ATTENDANCE + "2031-03-03,,4,3\n2031-03-10,,4,3\n2031-03-17,,4,3\n")
    records = read_records(tmp_path, TINY, since=dt.date(2031, 3, 5), until=dt.date(2031, 3, 12))

    assert [row.line for row in records.attendance] == [3]
    assert [str(aside) for aside in records.set_aside] == [
        "attendance.csv line 2: is from before 2031-03-05",
        "attendance.csv line 4: is from after 2031-03-12",
    ]


CELLS = st.sampled_from(
    ["", "2031-03-03", "2031-04-07", "small head", "cutting leaf", "60", "55", "1", "0", "-1", "x", "5832",
     "transplanting",
     "2 heat", "=1+1", "3,5", "nan", "Monday", "4"]
)  # fmt: skip


@settings(max_examples=150, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=1, max_size=14), min_size=1, max_size=8))
def test_no_row_is_ever_lost(rows: list[list[str]]) -> None:
    """Whatever the cells: every row that is not blank is used or set aside, once, by its own line."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plantings.csv"
        path.write_text(HEAD + "".join(f"{','.join(f'{chr(34)}{c}{chr(34)}' for c in r)}\n" for r in rows))
        records = read_records(path, TINY)

    lines = [row.line for row in records.rows] + [aside.line for aside in records.set_aside]
    filled = [2, *(line for line, row in enumerate(rows, start=3) if any(row))]
    assert sorted(lines) == filled
    assert sum(table.rows for table in records.tables) == len(filled)
