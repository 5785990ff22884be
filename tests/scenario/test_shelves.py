"""Shelves files: what stands in the room today, read line by line, every slip with its line."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path

import pytest

from growsim.errors import RoomFileError
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import ShelfLot, StoredGreens
from growsim.scenario.shelves import load_shelves
from growsim.scenario.spreadsheets import Cell, workbook_bytes

ROOT = Path(__file__).parents[2]
ROOM = load_scenario(ROOT / "scenarios" / "tiny").scenario
HEADING = "lot,crop,stage,days_since_sowing,plants,rack\n"


def read(tmp_path: Path, text: str) -> tuple[ShelfLot, ...]:
    """What a shelves file with this text says."""
    file = tmp_path / "today.csv"
    file.write_text(text, encoding="utf-8")
    return load_shelves(file, ROOM).lots


def faults(tmp_path: Path, text: str) -> list[str]:
    """What is said of a shelves file that is refused, without the file's name."""
    with pytest.raises(RoomFileError) as refused:
        read(tmp_path, text)
    return [line.removeprefix(f"{tmp_path / 'today.csv'}, ") for line in str(refused.value).splitlines()]


def test_lots_are_read_in_order(tmp_path: Path) -> None:
    """Two lots; the second may stand on any rack."""
    lots = read(tmp_path, HEADING + "a,small head,head,20,30,rack\nb,cutting leaf,seedling,5,58,\n")

    assert lots == (
        ShelfLot("a", "small head", "head", 20, 30, "rack"),
        ShelfLot("b", "cutting leaf", "seedling", 5, 58, ""),
    )


@pytest.mark.parametrize(
    "text",
    [
        "lot;crop;stage;days_since_sowing;plants;rack\na;small head;head;20;30;rack\n",
        "\ufeffLot, Crop, Stage, Days since sowing, Plants, Rack\r\na, small head, head, 20, 30, rack\r\n\r\n",
        'rack,plants,days_since_sowing,stage,crop,lot\nrack,30,20,head,"small head",a\n',
        "lot\tcrop\tstage\tdays_since_sowing\tplants\track\na\tsmall head\thead\t20\t30\track\n",
    ],
    ids=["semicolons", "spreadsheet", "other order", "tabs"],
)
def test_files_as_spreadsheets_save_them(text: str, tmp_path: Path) -> None:
    """Separators, capitals, blanks, byte order mark and the order of columns do not matter."""
    assert read(tmp_path, text) == (ShelfLot("a", "small head", "head", 20, 30, "rack"),)


def test_names_with_other_capitals_are_the_same_names(tmp_path: Path) -> None:
    """As somebody writes them on a clipboard; the record is read so too."""
    lots = read(tmp_path, HEADING + "a,Small Head,HEAD,20,30,Rack\n")

    assert lots == (ShelfLot("a", "small head", "head", 20, 30, "rack"),)


def test_the_cooler_may_be_written_large(tmp_path: Path) -> None:
    """A line of packed greens."""
    file = tmp_path / "today.csv"
    file.write_text(HEADING.rstrip() + ",kg\nfridge,Small head,COOLER,,,,1.5\n", encoding="utf-8")

    assert [(greens.crop, greens.grams) for greens in load_shelves(file, ROOM).cooler] == [("small head", 1500)]


def test_rack_may_be_left_out_altogether(tmp_path: Path) -> None:
    """Who does not note the rack leaves the column out."""
    assert read(tmp_path, "lot,crop,stage,days_since_sowing,plants\na,small head,head,20,30\n")[0].rack == ""


@pytest.mark.parametrize(
    "text",
    [
        "lot,crop,stage,sown,plants,rack\na,small head,head,2030-12-17,30,rack\n",
        "Tray,Crop,Stage,Sown,Days since sowing,Plants,Where\na,small head,head,2030-12-17,,30,rack\n",
        "lot,crop,stage,sown,days_since_sowing,plants,rack\na,small head,head,,20,30,rack\n",
        "lot,crop,stage,date sown,days since sowing,plants,rack\na,small head,head,2030-12-17,20,30,rack\n",
    ],
    ids=["date", "tray label", "days", "both"],
)
def test_age_by_date_or_by_days(text: str, tmp_path: Path) -> None:
    """A date of sowing counts up to today (the room's first day, 2031-01-06, where nothing else is said)."""
    assert read(tmp_path, text) == (ShelfLot("a", "small head", "head", 20, 30, "rack"),)


@pytest.mark.parametrize("sown", ["12/17/2030", "17/12/2030", "17 Dec 2030", "Dec 17, 2030", "17.12.2030"])
def test_dates_as_people_write_them(sown: str, tmp_path: Path) -> None:
    """Day or month first is told by what can be a date."""
    text = f'lot;crop;stage;sown;plants\na;small head;head;"{sown}";30\n'

    assert read(tmp_path, text)[0].days_since_sowing == 20


def test_the_other_lines_tell_how_a_date_is_meant(tmp_path: Path) -> None:
    """Of 1/5/2031 and 12/20/2030 the second has the month first, so the first is the 5th of January."""
    lines = "a,small head,head,12/20/2030,30\nb,cutting leaf,seedling,1/5/2031,60\n"

    assert [lot.days_since_sowing for lot in read(tmp_path, "lot,crop,stage,sown,plants\n" + lines)] == [17, 1]


def test_a_date_that_could_be_two_is_asked_about(tmp_path: Path) -> None:
    """The 2nd of January or the 1st of February, both in the last year."""
    (told,) = faults(tmp_path, "lot,crop,stage,sown,plants\na,small head,head,11/12/2030,30\n")

    assert told == "line 2, sown: could be two dates; give year, month and day, such as 2031-01-06."


def test_a_workbook_is_as_good(tmp_path: Path) -> None:
    """The first sheet, dates as dates, numbers as numbers, a column of notes left alone."""
    heading: list[Cell] = ["Tray", "Crop", "Stage", "Sown", "Plants", "Where", "kg", "Notes"]
    heads: list[Cell] = ["a", "small head", "head", dt.date(2030, 12, 17), 30, "rack", None, "a little pale"]
    greens: list[Cell] = ["b", "cutting leaf", "cooler", None, None, None, 1.5, None]

    file = tmp_path / "today.xlsx"
    file.write_bytes(workbook_bytes({"today": [heading, heads, greens]}))

    today = load_shelves(file, ROOM)

    assert today.lots == (ShelfLot("a", "small head", "head", 20, 30, "rack"),)
    assert [(greens.lot, greens.grams) for greens in today.cooler] == [("b", 1500)]


def test_today_may_be_another_day(tmp_path: Path) -> None:
    """The same line, counted nine days later."""
    file = tmp_path / "today.csv"
    file.write_text("lot,crop,stage,sown,plants\na,small head,head,2030-12-17,30\n", encoding="utf-8")

    (lot,) = load_shelves(file, ROOM, dt.date(2031, 1, 15)).lots

    assert lot.days_since_sowing == 29


@pytest.mark.parametrize(
    ("cells", "said"),
    [
        ("2031-01-07,", "line 2, sown: is 2031-01-07, and today is 2031-01-06; give a date within the ten years"),
        ("2030-02-30,", 'line 2, sown: is "2030-02-30", which is no date of the calendar; give year, month and day'),
        ("last week,", 'line 2, sown: is "last week", which is no date; give a date such as '),
        (",", "line 2, sown: is empty; give the date of sowing, such as 2031-01-06."),
        ("2030-12-17,21", "line 2, days_since_sowing: is 21, and 2030-12-17 is 20 days ago; give one of the two."),
    ],
)
def test_a_slip_in_a_date_is_said(cells: str, said: str, tmp_path: Path) -> None:
    """A sowing to come, a day that does not exist, two ages that differ."""
    (told,) = faults(tmp_path, f"lot,crop,stage,sown,days_since_sowing,plants\na,small head,head,{cells},30\n")

    assert told.startswith(said)


def test_plants_cut_already_are_told_by_the_line_or_by_their_age(tmp_path: Path) -> None:
    """Leaf that is harvested twice: what would be overgrown by now must have been harvested once, whatever the line
    leaves out.
    """
    leaf = ROOM.crops[0].model_copy(
        update={"harvests": 2, "regrowth_days": 10.0}
    )  # 25 days to the harvest, overgrown after 8
    room = ROOM.model_copy(update={"crops": (leaf, *ROOM.crops[1:])})
    file = tmp_path / "today.csv"
    lines = "a,30,50,\nb,34,50,\nc,60,50,\nd,27,50,1\n"
    heading = "lot,days_since_sowing,plants,harvests,crop,stage\n"
    file.write_text(heading + lines.replace("\n", ",cutting leaf,leaf\n"), encoding="utf-8")

    assert [lot.harvests for lot in load_shelves(file, room).lots] == [0, 1, 1, 1]


def test_greens_in_the_cold_store(tmp_path: Path) -> None:
    """Packed and still here on Saturday 11 January: harvested on Thursday, the last harvest day, two days ago."""
    file = tmp_path / "today.csv"
    text = "lot,crop,stage,sown,plants,kg\na,small head,head,2030-12-17,30,\nb,cutting leaf,cooler,,,1.25\n"
    file.write_text(text, encoding="utf-8")

    today = load_shelves(file, ROOM, dt.date(2031, 1, 11))

    assert [lot.lot for lot in today.lots] == ["a"]
    assert today.cooler == (StoredGreens("b", "cutting leaf", 1250, 2),)


@pytest.mark.parametrize("kg", ["", "some", "-1", "0", "1,500", "nan"])
def test_greens_need_kilograms(kg: str, tmp_path: Path) -> None:
    """How much is what the line is for."""
    said = f"is '{kg}'" if kg else "is empty"

    told = faults(tmp_path, f"lot;crop;stage;sown;plants;kg\na;small head;cooler;;;{kg}\n")

    assert told == [f"line 2, kg: {said}; give the kilograms in the cooler, such as 3.5."]


@pytest.mark.parametrize("line", ["head,1", "head,x", "seedling,1"])
def test_cuts_that_cannot_be_are_refused(line: str, tmp_path: Path) -> None:
    """A head is harvested once, and then it is gone."""
    (told,) = faults(tmp_path, f"lot,crop,days_since_sowing,plants,stage,harvests\na,small head,20,30,{line}\n")

    assert told.startswith("line 2, harvests: ")


def test_stages_that_share_shelves_must_fit_all_at_once(tmp_path: Path) -> None:
    """Leaf and heads share the twelve lower slots, leaf and seedlings the four above; 17 trays are too many."""
    heads, leaves, seedlings = (
        "a,small head,head,20,132\n",
        "b,cutting leaf,leaf,20,120\n",
        "c,small head,seedling,5,{}\n",
    )

    assert len(read(tmp_path, HEADING.replace(",rack", "") + heads + leaves + seedlings.format(180))) == 3
    (told,) = faults(tmp_path, HEADING.replace(",rack", "") + heads + leaves + seedlings.format(240))
    assert told.startswith("line 4, plants: with the lines above on the shelves, no slot is left for 1 of its trays")


def test_the_shipped_shelves_fit_the_shipped_room() -> None:
    """Millrace Table on Monday 3 May 2032, invented like the room."""
    folder = ROOT / "scenarios" / "millrace"
    today = load_shelves(folder / "shelves-2032-05-03.csv", load_scenario(folder).scenario, dt.date(2032, 5, 3))

    assert len(today.lots) > 20
    assert {lot.crop for lot in today.lots} == {"loose-leaf mix", "butterhead", "basil", "pak choi"}


def test_bare_shelves_are_possible(tmp_path: Path) -> None:
    """A heading and no lines: nothing stands there."""
    assert read(tmp_path, HEADING) == ()


@pytest.mark.parametrize(
    ("line", "said"),
    [
        (
            "a,smal head,head,20,30,rack",
            "line 2, crop: 'smal head' is no crop of this room; did you mean 'small head'.",
        ),
        ("a,small head,leaf,20,30,rack", "line 2, stage: 'leaf' is no stage of small head; "),
        ("a,small head,head,20,30,rakc", "line 2, rack: 'rakc' is no rack of this room; did you mean 'rack'."),
        ("a,small head,head,20.5,30,rack", "line 2, days_since_sowing: is '20.5'; give a whole number from 0 to 3650."),
        ("a,small head,head,-1,30,rack", "line 2, days_since_sowing: is '-1'; give a whole number from 0 to 3650."),
        ("a,small head,head,20,0,rack", "line 2, plants: is '0'; give a whole number from 1 to 1000000."),
        ("a,small head,head,20,many,rack", "line 2, plants: is 'many'; give a whole number"),
        ("a,small head,head,20,,rack", "line 2, plants: is empty; give a whole number"),
        ("a,small head,head,20,٣٠,rack", "line 2, plants: is '٣٠'; give a whole number"),
        (",small head,head,20,30,rack", "line 2, lot: is empty; give the lot a label"),
        ("a,small head,head,20", "line 2, plants: is empty; give a whole number from 1 to 1000000."),
        ("a,small head,head,20,145,rack", "line 2, plants: with this line 13 trays of the head stage stand on rack"),
        (
            "a,small head,head,20,30,rack\na,small head,head,21,30,rack",
            "line 3, lot: 'a' has another crop or age in line 2; give each sowing its own label.",
        ),
        (
            "a,small head,head,20,30,rack\na,small head,head,20,12,rack",
            "line 3, lot: 'a' stands there in line 2 too; add the two together.",
        ),
    ],
)
def test_a_slip_is_said_with_its_line(line: str, said: str, tmp_path: Path) -> None:
    """Line, column, what is wrong, what would be right."""
    (told,) = faults(tmp_path, HEADING + line + "\n")

    assert told.startswith(said)


def test_all_slips_are_said_at_once(tmp_path: Path) -> None:
    """Three bad lines, three sentences."""
    text = HEADING + "a,x,head,20,30,\nb,small head,head,x,30,\nc,small head,head,20,x,\n"

    assert [line.split(":")[0] for line in faults(tmp_path, text)] == [
        "line 2, crop",
        "line 3, days_since_sowing",
        "line 4, plants",
    ]


@pytest.mark.parametrize(
    ("heading", "said"),
    [
        (
            "lot,crop,stage,days_since_sowin,plants,rack",
            "line 1: 'days_since_sowin' is no column of a shelves file; did",
        ),
        ("lot,crop,stages,sown,plants,rack", "line 1: 'stages' is no column of a shelves file; did you mean 'stage'."),
        (
            "lot,crop,stage,plants,rack",
            "line 1: the column 'sown' (or 'days_since_sowing') is missing; the columns are lot, crop",
        ),
        ("lot,crop,stage,days_since_sowing,plants,rack,rack", "line 1: the column 'rack' stands twice; keep one"),
    ],
)
def test_a_wrong_heading_is_said(heading: str, said: str, tmp_path: Path) -> None:
    """The first line names the columns."""
    assert faults(tmp_path, heading + "\n")[0].startswith(said)


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    """Nothing at all is not the same as bare shelves."""
    with pytest.raises(RoomFileError, match="is empty"):
        read(tmp_path, "")


def test_a_sowing_to_come_is_refused_with_the_day_of_the_count(tmp_path: Path) -> None:
    """The usual slip is a count of another year, taken for today's; one long ago is another matter."""
    head = "lot,crop,stage,sown,plants,rack\n"
    (ahead,) = faults(tmp_path, head + "a,small head,head,2031-02-01,30,rack\n")
    (long_ago,) = faults(tmp_path, head + "a,small head,head,2011-02-01,30,rack\n")

    assert ahead.endswith("within the ten years before today, or the day on which you counted (--date).")
    assert long_ago.endswith("within the ten years before today.")


def test_a_whole_number_may_have_a_point(tmp_path: Path) -> None:
    """Spreadsheets write 40.0, or 40,0, where 40 is meant."""
    rows = "a,small head,head,20.0,30.0,rack\n"
    assert read(tmp_path, HEADING + rows) == read(tmp_path, HEADING + rows.replace(".0", ""))


def test_a_great_many_lots_are_told_soon(tmp_path: Path) -> None:
    """In time that grows with the lines, not with their square; after fifty faults nobody reads on."""
    began = time.thread_time()
    full = faults(tmp_path, HEADING + "".join(f"l{n},small head,head,20,12,rack\n" for n in range(40_000)))
    slips = faults(tmp_path, HEADING + "".join(f"l{n},small heat {n},head,20,12,rack\n" for n in range(40_000)))

    assert len(full) <= 2
    assert len(slips) == 50
    assert time.thread_time() - began < 20


@pytest.mark.parametrize("label", ["x" * 30_000, '"two\nlines"'])
def test_a_label_is_short_and_on_one_line(label: str, tmp_path: Path) -> None:
    """And what is said of it is short, too."""
    (told,) = faults(tmp_path, HEADING + f"{label},small head,head,20,12,rack\n")

    assert "give it on one line, in up to 60 letters" in told
    assert len(told) < 200


def test_the_same_cause_in_many_lines_is_told_once(tmp_path: Path) -> None:
    """A count of March 10 read as one of March 1: thirty lines, one sentence."""
    lines = [f"lot {number},cutting leaf,seedling,2031-03-{5 + number % 3:02d},10" for number in range(30)]
    file = tmp_path / "today.csv"
    file.write_text("lot,crop,stage,sown,plants\n" + "\n".join(lines), encoding="utf-8")

    with pytest.raises(RoomFileError) as refused:
        load_shelves(file, ROOM, dt.date(2031, 3, 1))

    (fault,) = refused.value.faults
    assert fault.key == "lines 2, 3 and 28 more, sown"
    assert fault.problem == "is 2031-03-05, and today is 2031-03-01, and so on"
    assert fault.remedy.endswith("or the day on which you counted (--date)")
