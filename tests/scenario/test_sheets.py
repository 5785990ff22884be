"""Tables that people keep: whatever a spreadsheet has saved, the same rows come out, each with its line."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from growsim.errors import RoomFileError
from growsim.scenario.spreadsheets import Cell, read_csv, read_sheet, read_sheets, workbook_bytes

PLAIN = "Sown,Seeds per cell,why\n2031-03-03,2,café\n\n2031-03-06,1,\n"
ROWS: list[tuple[int, dict[str, Cell]]] = [
    (2, {"sown": "2031-03-03", "seeds_per_cell": "2", "why": "café"}),
    (4, {"sown": "2031-03-06", "seeds_per_cell": "1", "why": None}),
]


def rows_of(path: Path) -> list[tuple[int, dict[str, Cell]]]:
    """Line numbers and cells."""
    return [(row.line, row.cells) for row in read_sheet(path).rows]


@pytest.mark.parametrize(
    "content",
    [
        PLAIN.encode(),
        PLAIN.encode("utf-8-sig"),
        PLAIN.encode("windows-1252"),
        PLAIN.encode("utf-16"),
        PLAIN.replace("\n", "\r\n").encode(),
        PLAIN.replace(",", ";").encode(),
        PLAIN.replace(",", "\t").replace("\n", "\r\n").encode("utf-16"),
        PLAIN.replace("\n", "\r").encode(),
    ],
    ids=[
        "UTF-8",
        "with a mark",
        "Windows-1252",
        "UTF-16",
        "Windows line ends",
        "semicolons",
        "Unicode text",
        "old Mac",
    ],
)
def test_however_it_was_saved_the_rows_are_the_same(content: bytes, tmp_path: Path) -> None:
    """Encodings, line ends and separators of common spreadsheets; blank lines count as lines but are no rows."""
    (tmp_path / "plantings.csv").write_bytes(content)

    assert rows_of(tmp_path / "plantings.csv") == ROWS


def test_a_workbook_gives_what_its_cells_are(tmp_path: Path) -> None:
    """Dates are dates, numbers numbers, and texts texts, whatever they begin with."""
    (tmp_path / "book.xlsx").write_bytes(
        workbook_bytes(
            {"trays": [["sown", "cells", "why"], [dt.date(2031, 3, 3), 72, "=1+1"], [None] * 3, [None, 2.5]]}
        )
    )

    assert rows_of(tmp_path / "book.xlsx") == [
        (2, {"sown": dt.datetime(2031, 3, 3), "cells": 72, "why": "=1+1"}),
        (4, {"sown": None, "cells": 2.5, "why": None}),
    ]


def test_lines_are_those_an_editor_shows(tmp_path: Path) -> None:
    """A cell with a line break in it, remarks and blank lines shift nothing: a row has the line it begins on."""
    (tmp_path / "x.csv").write_text('# how to fill this in\na,b\n"two\nlines",1\n#x,2\n\n3,4\n')
    sheet = read_csv(tmp_path / "x.csv")

    assert [(row.line, row.cells["a"]) for row in sheet.rows] == [(3, "two\nlines"), (7, "3")]
    assert (sheet.heading_line, sheet.remarks) == (2, 2)


def test_a_row_too_long_is_kept_and_says_so(tmp_path: Path) -> None:
    """Nothing is cut off in silence: what the row holds is there to be shown, with what is wrong with it."""
    (tmp_path / "x.csv").write_text("a,b\n1,2,3\n1,2,,\n")
    long, padded = read_csv(tmp_path / "x.csv").rows

    assert (long.problem, long.written) == ("has 3 cells for 2 columns", ("1", "2", "3"))
    assert padded.problem == ""


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("x.csv", b"", "is empty"),
        ("x.csv", b"\n \n", "is empty"),
        ("x.csv", b"# only a remark\n", "has no heading"),
        ("x.csv", b"a,a\n1,2\n", "line 1: the column 'a' stands twice"),
        ("x.csv", b'a,b\n1,2\n"3,4\n5,6\n', "line 3: cannot be read as a line of a table"),
        ("x.csv", b"a,b\n\0,1\n", "is not a text file"),
        ("x.csv", b"PK\x03\x04....", "is a workbook or an archive"),
        ("x.xlsx", b"", "is empty"),
        ("x.xlsx", b"a,b\n1,2\n", "is no workbook, whatever its name says"),
        ("x.xlsx", b"\xd0\xcf\x11\xe0 an old one", "is an old or a locked workbook"),
        ("x.xlsx", b"PK\x05\x06" + bytes(18), "is no .xlsx workbook"),
        ("y.csv", None, "there is no such file"),
    ],
)
def test_what_is_no_table_is_refused_in_a_sentence(name: str, content: bytes | None, said: str, tmp_path: Path) -> None:
    """The file, what is wrong with it, and what would be right."""
    if content is not None:
        (tmp_path / name).write_bytes(content)

    with pytest.raises(RoomFileError) as refusal:
        read_sheets(tmp_path / name)

    assert str(refusal.value).startswith(str(tmp_path / name))
    assert said in str(refusal.value)
    assert ";" in str(refusal.value)


def test_a_formula_that_was_never_worked_out_is_told(tmp_path: Path) -> None:
    """It is no value and no blank."""
    from openpyxl import Workbook

    book = Workbook()
    assert book.active is not None
    book.active.append(["a"])
    book.active.append(["=1+1"])
    book.save(tmp_path / "x.xlsx")

    assert rows_of(tmp_path / "x.xlsx") == [(2, {"a": "formula =1+1"})]


def test_sheets_nobody_asked_for_are_named(tmp_path: Path) -> None:
    """They come back unread, so that a reader can say so."""
    (tmp_path / "x.xlsx").write_bytes(workbook_bytes({"notes": [["a", "a"]], "trays": [["sown"], ["x"]]}))
    notes, trays = read_sheets(tmp_path / "x.xlsx", lambda name: name == "trays")

    assert (notes.name, notes.unread, notes.rows) == ("notes", True, ())
    assert (trays.unread, len(trays.rows)) == (False, 1)


TEXTS = (
    st.text(st.characters(blacklist_categories=["Cs", "Cc"]), min_size=1, max_size=12)
    .map(str.strip)
    .filter(lambda text: text and not text.startswith(("#", "'")))
)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.sampled_from(["=", "+", "-", "@", ""]).flatmap(lambda mark: TEXTS.map(lambda t: mark + t)), min_size=1)
)
def test_any_text_comes_back_from_a_workbook_as_it_went_in(texts: list[str]) -> None:
    """No text acts as a formula, and none is changed on the way."""
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "x.xlsx"
        path.write_bytes(workbook_bytes({"t": [["a"], *([text] for text in texts)]}))

        assert [cells["a"] for _, cells in rows_of(path)] == texts
