"""The page of an answer: what stands on it, in which order, and that every door shows the same table."""

from __future__ import annotations

import csv
import json
import re
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from growsim.cli.answering import told
from growsim.report.frame import Answer
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.page import render
from growsim.report.provenance import Provenance

TABLE = AnswerTable(
    "A year of the hut",
    (Column("today", "the room as it is"), Column("with a rack", "the room with a rack")),
    (
        Row("orders filled", (Cell("81% (78 to 84)", 0.81, 0.78, 0.84, "fraction"), Cell("over 99%", 0.995))),
        Row("greens, kg a week", (Cell("4.1 (4.0 to 4.2)", 4.1, 4.0, 4.2, "kg/week"), Cell("none"))),
    ),
    "From 20 years.",
    "what",
)
FRONT = Front("A rack fills 19 of 20 orders.", ("Add the rack.", "Sow 4 trays more."), TABLE, "Sure: 20 years.")


def test_a_table_comes_back_from_its_entry() -> None:
    """What summary.json keeps is the whole table."""
    assert AnswerTable.of_entry(json.loads(json.dumps(TABLE.entry()))) == TABLE


def test_a_row_has_a_cell_for_each_column() -> None:
    """Else the wrong figure would stand under a head."""
    with pytest.raises(ValueError, match="'orders' has 1 cells; it needs 2"):
        AnswerTable("T", TABLE.columns, (Row("orders", (Cell("1"),)),))


def test_three_pieces_of_advice_are_one_too_many() -> None:
    """The two that bring most are said."""
    with pytest.raises(ValueError, match="3 pieces of advice"):
        Front("H", ("a", "b", "c"), TABLE, "S")


def test_words_and_numbers_before_the_table_are_counted() -> None:
    """A number is a number with its decimals and thousands; one inside a word is none."""
    front = Front("It gives 1,204.5 kg, -3 to +4, in 2031.", ("CO2 is at 420 ppm.",), TABLE, "S")
    assert front.spent() == (14, 5)


def test_a_page_says_what_fits_the_most_important_first() -> None:
    """The kept sentences, why and the first advice in any case; then the rest as far as 120 words and 15 numbers go."""
    long = " ".join(["word"] * 60)
    made = Front.within(("Kept.", "Kept too.", long, "1 2 3 4", "12 numbers: 1 2 3 4 5 6 7 8 9 10 11 12"), (
        "Do.", "Then do.", "Never said."), TABLE, "S", why=long, kept=2,
    )  # fmt: skip
    assert made.headline == "Kept. Kept too. 1 2 3 4"  # 60 words more would be 130
    assert made.advice == ("Do.", "Then do.")
    assert made.fits and not replace(made, why=f"{long} {long}").fits


def test_a_middle_lies_in_its_range_as_shown() -> None:
    """An average beyond eight cases in ten widens them; what reads alike has no range, nor has what has none."""

    def told(value: float) -> str:
        return f"{value:.1f}"

    assert Cell.ranged(2.34, 2.36, 2.44, told, "h").text == "2.3 (2.3 to 2.4)"
    assert Cell.ranged(2.04, 2.01, 2.03, told, "h").text == "2.0"
    assert Cell.ranged(2.04, 2.01, None, told, "h").text == "2.0"
    assert Cell.between(2.0, 2.5, 3.0, told, "h").text == "2.0 to 3.0"
    assert Cell.between(2.0, 2.0, 2.0, told, "h").text == "2.0"


def test_a_wide_terminal_shows_it_side_by_side() -> None:
    """Labels to the left, cells to the right under their heads."""
    assert TABLE.lines(80) == [
        "A year of the hut",
        "what                          today  with a rack",
        "orders filled        81% (78 to 84)     over 99%",
        "greens, kg a week  4.1 (4.0 to 4.2)         none",
        "From 20 years.",
    ]


def test_a_narrow_terminal_shows_it_one_under_the_other() -> None:
    """Every cell keeps the head it belongs to."""
    assert TABLE.lines(30)[1:7] == [
        "orders filled",
        "  today: 81% (78 to 84)",
        "  with a rack: over 99%",
        "greens, kg a week",
        "  today: 4.1 (4.0 to 4.2)",
        "  with a rack: none",
    ]


@pytest.fixture
def answer(made_up: ModuleType) -> Answer:
    """An answer with a page."""
    origin = Provenance("compare", "growsim compare hut", "ab" * 32)
    return Answer(origin, made_up.tiny_room(), 7, 20, 364, 56, front=FRONT)


def test_terminal_summary_report_and_csv_show_the_same_cells(answer: Answer, tmp_path: Path) -> None:
    """One table, four doors."""
    summary = answer.summary({})
    answer.write(tmp_path / "out", summary, lambda _: answer.page("under", ()), lambda _: None, replace=False)
    page = (tmp_path / "out" / "report.html").read_text(encoding="utf-8")
    with (tmp_path / "out" / "answer.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    terminal = "\n".join(told(summary))

    assert json.loads((tmp_path / "out" / "summary.json").read_text(encoding="utf-8"))["table"] == TABLE.entry()
    assert [row["text"] for row in rows] == [cell.text for row in TABLE.rows for cell in row.cells]
    assert rows[0] == {
        "row": "orders filled", "column": "today", "of": "the room as it is", "text": "81% (78 to 84)",
        "mean": "0.81", "low": "0.78", "high": "0.84", "unit": "fraction",
    }  # fmt: skip
    assert re.findall(r'<td role="cell" data-label="([^"]+)">([^<]+)</td>', page) == [
        ("today", "81% (78 to 84)"),
        ("with a rack", "over 99%"),
        ("today", "4.1 (4.0 to 4.2)"),
        ("with a rack", "none"),
    ]
    assert all(cell.text in terminal for row in TABLE.rows for cell in row.cells)


def test_the_page_says_it_in_order(answer: Answer) -> None:
    """Headline, why, advice, table, how sure, each under its name; then the rest. The terminal likewise."""
    heads = ("Why:", "What to do:", "How sure:")
    page = render(replace(answer, front=replace(FRONT, why="It is full.")).page("under", ()))
    assert re.findall(r"<b>([^<]+)</b>", page) == [*heads]
    assert [line.split(": ")[0] + ":" for line in FRONT.lines(100) if ": " in line][:2] == ["What to do:", "How sure:"]
    summary = answer.summary({})
    assert summary["answer"] == [FRONT.headline, *FRONT.advice, FRONT.sure]
    assert summary["answer_heads"] == ["", "What to do", "", "How sure"]
    said = "\n".join(told(summary, 100))
    places = [said.index(each) for each in (FRONT.headline, *FRONT.advice, TABLE.title, FRONT.sure)]
    assert places == sorted(places)
