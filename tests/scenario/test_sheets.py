"""Tables that people keep: whatever a spreadsheet has saved, the same rows come out, each with its line."""

from __future__ import annotations

import datetime as dt
import io
import time
import tracemalloc
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from growsim.errors import RoomFileError
from growsim.scenario.spreadsheets import Cell, SheetRow, read_csv, read_sheet, read_sheets, workbook_bytes

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


@pytest.mark.parametrize(("told", "mark"), [("sep=;", ";"), ('"sep=|"', "|"), ("SEP=,", ","), ("sep=\t", "\t")])
def test_the_separator_may_be_told_in_the_first_line(told: str, mark: str, tmp_path: Path) -> None:
    """Some spreadsheets do, and read it so; the line counts as a line and is no heading."""
    (tmp_path / "x.csv").write_text(f"{told}\n{PLAIN.replace(',', mark)}")

    assert rows_of(tmp_path / "x.csv") == [(line + 1, cells) for line, cells in ROWS]


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


def with_sheet(path: Path, inside: bytes) -> Path:
    """A workbook whose one sheet has a heading, a row, and then these rows of XML."""
    plain = workbook_bytes({"t": [["a", "b"], [1, 2]]})
    with zipfile.ZipFile(io.BytesIO(plain)) as given, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        for name in given.namelist():
            content = given.read(name)
            if name == "xl/worksheets/sheet1.xml":
                content = content.replace(b"</sheetData>", inside + b"</sheetData>")
            made.writestr(name, content)
    return path


@pytest.mark.parametrize("lost", ["xl/worksheets/sheet1.xml", "xl/worksheets/sheet2.xml"])
def test_a_workbook_that_lacks_a_sheet_is_told(lost: str, tmp_path: Path) -> None:
    """The library goes on without it, as if it had never been there."""
    whole = workbook_bytes({"plantings": [["a"], [1]], "work": [["b"], [2]]})
    with zipfile.ZipFile(io.BytesIO(whole)) as given, zipfile.ZipFile(tmp_path / "x.xlsx", "w") as made:
        for name in given.namelist():
            if name != lost:
                made.writestr(name, given.read(name))

    with pytest.raises(RoomFileError, match="lacks a sheet that it names"):
        read_sheets(tmp_path / "x.xlsx")


def read_within(path: Path, *, seconds: float, megabytes: float = 0) -> list[SheetRow] | str:
    """The rows, or what is said instead, in at most so much of this processor's time and, if said, Python's memory."""
    if megabytes:
        tracemalloc.start()
    began = time.thread_time()
    try:
        found: list[SheetRow] | str = list(read_sheet(path).rows)
    except RoomFileError as refusal:
        (fault,) = refusal.faults
        found = str(fault)
    took, held = time.thread_time() - began, tracemalloc.get_traced_memory()[1] if megabytes else 0
    tracemalloc.stop()
    assert took < seconds
    assert held <= megabytes * 1e6
    return found


@pytest.mark.parametrize("cell", ["A1048576", "XFD1048576"])
def test_a_blank_far_away_costs_nothing(cell: str, tmp_path: Path) -> None:
    """Someone has once pressed a key in the last row or column. It held 600 MB and more, of a file of 5 kB."""
    row = f'<row r="{cell.lstrip("AXFD")}"><c r="{cell}" t="n"></c></row>'.encode()
    rows = read_within(with_sheet(tmp_path / "x.xlsx", row), seconds=15, megabytes=50)  # watching slows it

    assert [each.cells for each in rows if not isinstance(each, str)] == [{"a": 1, "b": 2}]


@pytest.mark.parametrize(
    ("inside", "said"),
    [
        (b"<row><c><v>1</v></c></row>" * 400_000, "has too much in it"),
        (b"<row>" + b"<c/>" * 100_000 + b"</row>", "has too much in it"),
        (b"<row><c><v>1</v></c></row>" * 2_000_000, "unpacks to 5"),
        (b'<row><c t="inlineStr"><is><t>' + b"x" * 40_000 + b"</t></is></c></row>", "has a cell of 40,000 letters"),
    ],
    ids=["rows", "cells in a row", "megabytes", "letters"],
)
def test_a_workbook_too_large_is_refused_before_it_is_held(inside: bytes, said: str, tmp_path: Path) -> None:
    """In a sentence, in seconds, whatever a file of a few kilobytes unpacks to."""
    assert said in str(read_within(with_sheet(tmp_path / "x.xlsx", inside), seconds=10, megabytes=150))


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a,b\n" + "1,2\n" * 60_000, "has more than 50,000 rows"),
        ("a,b\n" + "1," * 1_000_000, "has more than 250,000 cells"),
        ("\n" * 4_000_000 + "a,b\n1,2\n", ""),
        ("a,b\n1,2\n" + ",\n" * 1_000_000, ""),
    ],
    ids=["rows", "cells", "blank lines", "lines of commas"],
)
def test_a_long_csv_file_is_read_or_refused_soon(text: str, said: str, tmp_path: Path) -> None:
    """Blank lines cost next to nothing; what is too much is said."""
    (tmp_path / "x.csv").write_text(text)
    found = read_within(tmp_path / "x.csv", seconds=10)

    assert said in found if isinstance(found, str) else not said


@pytest.mark.parametrize("place", [40, 900, 2500, -1200])
def test_a_damaged_workbook_is_told(place: int, tmp_path: Path) -> None:
    """Bytes that a bad disk or a broken download has changed: rows as they were, or one sentence."""
    whole = workbook_bytes({"t": [["a", "b"], [1, 2]]})
    (tmp_path / "x.xlsx").write_bytes(whole[:place] + b"\xff\xff\xff\xff" + whole[place:][4:])
    found = read_within(tmp_path / "x.xlsx", seconds=5, megabytes=50)

    assert found[0].cells == {"a": 1, "b": 2} if isinstance(found, list) else "workbook" in found or "damaged" in found


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
