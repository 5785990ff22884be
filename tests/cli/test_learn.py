"""`growsim learn` at the command line: from tables to a CHANGE file that `growsim check` and `compare` accept."""

from __future__ import annotations

import json
import shutil
import subprocess
from pathlib import Path

import pytest
from kept_records import Tables, as_csv, as_workbook, kept

from growsim.cli import main
from growsim.report.record_templates import workbook_of, write_templates
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.record.tables import TABLES

ROOM = Path(__file__).parents[2] / "scenarios" / "tiny"
TINY = load_scenario(ROOM).scenario


@pytest.fixture(scope="module")
def tables() -> Tables:
    """Twenty weeks of the tiny room."""
    return kept(trace(prepare(TINY), 41, 0, RunPlan(days=140, warm_up_days=56)), TINY)


def run(*words: object) -> int:
    """One command line."""
    return main([str(word) for word in words])


def test_from_a_record_to_a_changed_room(tables: Tables, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The answer on the screen, the CHANGE file on disk; the room with it made passes every check."""
    from growsim.scenario.change import changed_room, load_change

    as_csv(tables, tmp_path / "record")

    assert run("learn", ROOM, tmp_path / "record", "--out", tmp_path / "out") == 0
    said = capsys.readouterr().out
    summary = json.loads((tmp_path / "out" / "summary.json").read_text("utf-8"))
    assert " ".join(said.split()).startswith(summary["answer"][0])
    assert "your record (8 in 10)" in said
    assert f"The CHANGE file: {tmp_path / 'out' / 'learned.toml'}" in said
    assert f"  growsim keep {ROOM} {tmp_path / 'out' / 'learned.toml'}\n" in said
    room = changed_room(load_scenario(ROOM), load_change(tmp_path / "out" / "learned.toml"))
    assert room.scenario.crops[0].growth_pace.source.startswith("learned from")

    assert run("keep", ROOM, tmp_path / "out" / "learned.toml", "--out", tmp_path / "kept") == 0
    assert load_scenario(tmp_path / "kept").scenario == room.scenario


def test_json_is_all_that_is_printed(tables: Tables, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """--json prints summary.json on stdout; the command in it does the same again."""
    book = as_workbook(tables, tmp_path / "record.xlsx")

    assert run("learn", ROOM, book, "--out", tmp_path / "out", "--json", "--forecast-last", "4w", "--replications", 20,
               "--workers", 1) == 0  # fmt: skip
    summary = json.loads(capsys.readouterr().out)
    assert summary == json.loads((tmp_path / "out" / "summary.json").read_text("utf-8"))
    assert summary["repeat_with"] == f"growsim learn {ROOM} {book} --forecast-last 4w --replications 20"
    assert summary["forecast_check"]["series"]["kg_packed"]["weeks"] == 4


def test_a_row_set_aside_is_named_on_the_screen(
    tables: Tables, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By file and line, with the reason."""
    record = as_csv(tables, tmp_path / "record")
    with (record / "attendance.csv").open("a", encoding="utf-8") as page:
        page.write("2031-06-01,Monday,3,9\n")

    assert run("learn", ROOM, record, "--out", tmp_path / "out") == 0
    line = len(tables["attendance"]) + 2
    assert f"skipped: attendance.csv line {line}: came is 9, more than signed_up 3" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            ("--forecast-last", "0w"),
            "--forecast-last: '0w' is not possible; give a number of weeks from 1 to 52, such as 8w",
        ),
        (("--forecast-last", "soon"), "'soon' is not possible"),
        (("--from", "yesterday"), "'yesterday' is no date of the calendar; give one such as 2031-01-06"),
        (("--dates", "backwards"), "--dates: invalid choice: 'backwards'"),
        (("--from", "2040-01-01"), "has no row in any table yet"),
    ],
)
def test_a_wrong_command_line_is_refused_in_a_sentence(
    words: tuple[str, str], said: str, tables: Tables, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2, nothing written."""
    as_csv(tables, tmp_path / "record")

    assert run("learn", ROOM, tmp_path / "record", "--out", tmp_path / "out", *words) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_no_record_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The path, and how to begin one."""
    (tmp_path / "empty").mkdir()

    assert run("learn", ROOM, tmp_path / "empty", "--out", tmp_path / "out") == 2
    assert run("learn", ROOM, tmp_path / "nowhere.csv", "--out", tmp_path / "out") == 2
    said = capsys.readouterr().err
    assert "has no table of a record in it; name files plantings, attendance, work, faults" in said
    assert "nowhere.csv: there is no such file; check the name; `growsim new --records DIR` writes tables" in said


@pytest.mark.parametrize("flag", [(), ("--xlsx",)])
def test_new_records_writes_tables_to_fill_in(
    flag: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """CSV files or one workbook; never over anything."""
    assert run("new", "--records", tmp_path / "record", *flag) == 0
    assert "growsim learn ROOM" in capsys.readouterr().out
    names = sorted(path.name for path in (tmp_path / "record").iterdir())
    expected = (
        ["records.xlsx"] if flag else sorted(["how to keep a record.txt", *(f"{table.name}.csv" for table in TABLES)])
    )
    assert names == expected
    assert run("new", "--records", tmp_path / "record", *flag) == 2
    assert run("new", tmp_path / "other", "--xlsx") == 2


@pytest.mark.slow
@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
@pytest.mark.parametrize(("given", "saved_as"), [("csv", "xlsx"), ("xlsx", "csv"), ("xlsx", "ods-xlsx")])
def test_a_record_survives_a_spreadsheet(given: str, saved_as: str, tables: Tables, tmp_path: Path) -> None:
    """Opened and saved again by LibreOffice, every row comes back as it was, texts with = + - @ too.

    `apt-get install libreoffice-calc`, then `pytest -m slow tests/cli/test_learn.py`.
    """
    tables = {name: [list(row) for row in rows] for name, rows in tables.items()}
    kinds = {table.name: table for table in TABLES if table.name in tables}
    why = [column.name for column in kinds["plantings"].columns].index("why")
    for row, mark in zip(tables["plantings"], "=+-@", strict=False):
        row[why] = f"{mark}1+1"
    before = read_records(as_csv(tables, tmp_path / "before"), TINY)
    there, back = tmp_path / "there", tmp_path / "back"
    if given == "csv":
        write_templates(there_made(there))
        for name in kinds:
            path = there / f"{name}.csv"
            rows = (tmp_path / "before" / path.name).read_text("utf-8").split("\n", 1)[1]
            path.write_text(path.read_text("utf-8") + rows, "utf-8")
            convert(path, back, "xlsx")
    elif saved_as == "csv":
        for name, rows in tables.items():
            book = as_workbook({name: rows}, there_made(there) / f"{name}.xlsx")
            convert(book, back, "csv:Text - txt - csv (StarCalc):44,34,76,1")
    else:
        book = there_made(there) / "records.xlsx"
        book.write_bytes(workbook_of(tuple(tables.items())))
        convert(book, tmp_path / "ods", "ods")
        convert(tmp_path / "ods" / "records.ods", back, "xlsx")
    after = read_records(back, TINY, order="month-first")

    assert after.set_aside == ()
    assert [{**vars(row), "file": "", "line": 0} for row in after.rows] == [
        {**vars(row), "file": "", "line": 0} for row in before.rows
    ]


def there_made(folder: Path) -> Path:
    """The folder, made."""
    folder.mkdir(exist_ok=True)
    return folder


def convert(path: Path, folder: Path, kind: str) -> None:
    """Open a file in LibreOffice without a screen, and save it as something else."""
    subprocess.run(
        ["soffice", "--headless", f"-env:UserInstallation=file://{folder.parent}/profile", "--convert-to", kind,
         "--outdir", str(folder), str(path)],
        check=True, capture_output=True, timeout=180,
    )  # fmt: skip
