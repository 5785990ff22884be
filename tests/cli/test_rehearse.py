"""`growsim rehearse ROOM`: what is printed, what is left behind, and what is refused."""

from __future__ import annotations

import csv
import datetime as dt
import json
import shlex
from argparse import Namespace
from pathlib import Path
from typing import Any

import pytest

from growsim.cli import main, options
from growsim.cli.rehearse import plan_of
from growsim.scenario.load import load_scenario
from growsim.scenario.starter import starter_text

ROOT = Path(__file__).parents[2]
TINY = str(ROOT / "scenarios" / "tiny")
SHORT = ["--days", "28", "--workers", "1", "--replications", "2"]


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Reports go to ./reports of an empty folder."""
    monkeypatch.chdir(tmp_path)


def summary(folder: str) -> dict[str, Any]:
    """The summary.json a command left behind."""
    found = json.loads(Path(folder, "summary.json").read_text("utf-8"))
    assert isinstance(found, dict)
    return found


def test_the_answer_is_printed_and_the_report_lies_in_reports(capsys: pytest.CaptureFixture[str]) -> None:
    """Sentences on stdout, the report in reports/<room>-rehearse, nothing else anywhere."""
    assert main(["rehearse", TINY, *SHORT]) == 0

    out, err = capsys.readouterr()
    left = summary("reports/tiny-rehearse")
    assert " ".join(out.split()).startswith(left["answer"][0])
    assert all(cell["text"] in out for row in left["table"]["rows"] for cell in row["cells"])
    assert out.endswith("The whole report: reports/tiny-rehearse/report.html\n")
    assert err == ""
    assert [path.name for path in Path().iterdir()] == ["reports"]
    assert [path.name for path in Path("reports").iterdir()] == ["tiny-rehearse"]
    assert (left["command"], left["replications"], left["days"], left["seed"]) == ("rehearse", 2, 28, 7)


def test_an_earlier_report_is_not_written_over(capsys: pytest.CaptureFixture[str]) -> None:
    """Refused before the work begins; with --replace it gives way; a folder of other things never does."""
    assert main(["rehearse", TINY, *SHORT, "--out", "mine"]) == 0
    first = summary("mine")
    capsys.readouterr()

    assert main(["rehearse", TINY, *SHORT, "--out", "mine", "--seed", "8"]) == 2
    assert capsys.readouterr().err == "mine: exists already; give another folder with --out, or say --replace.\n"
    assert summary("mine") == first

    assert main(["rehearse", TINY, *SHORT, "--out", "mine", "--seed", "8", "--replace"]) == 0
    assert summary("mine")["seed"] == 8

    Path("holiday").mkdir()
    Path("holiday", "photo.jpg").write_text("x")
    assert main(["rehearse", TINY, *SHORT, "--out", "holiday", "--replace"]) == 2
    assert [path.name for path in Path("holiday").iterdir()] == ["photo.jpg"]


def test_json_prints_the_summary_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    """stdout is summary.json."""
    assert main(["rehearse", TINY, *SHORT, "--json"]) == 0

    assert json.loads(capsys.readouterr().out) == summary("reports/tiny-rehearse")


def test_the_printed_command_gives_the_same_numbers() -> None:
    """repeat_with, typed again with two workers, repeats every measure."""
    assert main(["rehearse", TINY, *SHORT, "--seed", "11", "--out", "once"]) == 0
    words = shlex.split(summary("once")["repeat_with"])
    assert words[:4] == ["growsim", "rehearse", TINY, "--seed"]

    assert main([*words[1:], "--workers", "2", "--out", "twice"]) == 0

    once, twice = summary("once"), summary("twice")
    assert once["measures"] == twice["measures"]
    assert once["repeat_with"] == twice["repeat_with"]


def test_one_replication_alone_with_its_log_book(capsys: pytest.CaptureFixture[str]) -> None:
    """The year asked for by number, every happening a line; seeds sown in the book are seeds sown in the summary."""
    arguments = ["rehearse", TINY, "--days", "28", "--replication", "1", "--trace", "--out", "year one"]
    assert main(arguments) == 0

    out = capsys.readouterr().out
    assert out.startswith("Tiny trial room, replication 1 alone: one possible run of 28 days, not an average.\n")
    assert out.endswith("The log book: year one/logbook.csv\n")
    rows = list(csv.DictReader(Path("year one", "logbook.csv").read_text("utf-8").splitlines()))
    sown = [row for row in rows if row["happening"] == "sown" and int(row["minute"]) >= 0]
    seeds = sum(int(row["details"].split("seeds ")[1].split(";")[0]) for row in sown)
    assert seeds == summary("year one")["measures"]["seeds_sown"]["value"] > 0
    assert {dt.date.fromisoformat(row["date"]).strftime("%a") for row in sown} <= {
        "Mon",
        "Thu",
    }  # the days with a shift


def test_one_replication_is_the_same_alone_and_in_a_batch(capsys: pytest.CaptureFixture[str]) -> None:
    """Replication 0 of one is the batch of one."""
    assert main(["rehearse", TINY, "--days", "28", "--replication", "0", "--json"]) == 0
    alone = json.loads(capsys.readouterr().out)
    assert main(["rehearse", TINY, "--days", "28", "--replications", "1", "--json"]) == 0
    batch = json.loads(capsys.readouterr().out)

    assert alone["measures"]["seeds_sown"]["value"] == batch["measures"]["seeds_sown"]["mean"]
    assert alone["measures"]["kg_packed_per_week"]["value"] == batch["measures"]["kg_packed_per_week"]["mean"]
    assert not Path("reports", "tiny-rehearse", "logbook.csv").exists()


def test_a_log_book_is_of_one_replication(capsys: pytest.CaptureFixture[str]) -> None:
    """--trace without a number is refused."""
    assert main(["rehearse", TINY, "--trace"]) == 2
    assert "say which with --replication N" in capsys.readouterr().err


@pytest.mark.parametrize("start", ["empty", "today.csv"])
def test_where_it_starts_from(start: str) -> None:
    """A bare room, or what stands on the shelves today."""
    Path("today.csv").write_text(
        "lot,crop,stage,days_since_sowing,plants,rack\na,small head,head,30,24,rack\n", encoding="utf-8"
    )

    assert main(["rehearse", TINY, *SHORT, "--start", start, "--out", "out"]) == 0

    left = summary("out")
    assert f"--start {start}" in left["repeat_with"]
    assert left["warm_up_days"] == 0


def test_a_wrong_shelves_file_is_refused_before_the_work(capsys: pytest.CaptureFixture[str]) -> None:
    """Line and column, and nothing is written."""
    Path("today.csv").write_text("lot,crop,stage,days_since_sowing,plants,rack\na,chard,head,30,24,rack\n")

    assert main(["rehearse", TINY, *SHORT, "--start", "today.csv"]) == 2

    assert capsys.readouterr().err.startswith("today.csv, line 2, crop: 'chard' is no crop of this room")
    assert [path.name for path in Path().iterdir()] == ["today.csv"]


def test_a_wrong_room_is_refused_before_the_work(capsys: pytest.CaptureFixture[str]) -> None:
    """As by check, and nothing is written."""
    Path("room.toml").write_text("[room]\n")

    assert main(["rehearse", "."]) == 2

    assert "room.toml, room.name: is missing" in capsys.readouterr().err
    assert [path.name for path in Path().iterdir()] == ["room.toml"]


def test_ctrl_c_leaves_nothing_behind(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    """Stopped in the middle: exit code 130 and no half report."""

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("growsim.report.csv_files.write_tables", stop)

    assert main(["rehearse", TINY, *SHORT]) == 130

    assert capsys.readouterr().err == "Stopped before the end; nothing was kept.\n"
    assert not any(Path().rglob("*.*"))


def test_warnings_are_pointed_to(capsys: pytest.CaptureFixture[str]) -> None:
    """What check would say is not lost on those who never ran it."""
    text = Path(TINY, "room.toml").read_text("utf-8").replace("kg = 1.8", "kg = 18")
    Path("room.toml").write_text(text, "utf-8")

    assert main(["rehearse", "room.toml", *SHORT, "--out", "out"]) == 0
    assert capsys.readouterr().err == "`growsim check room.toml` has one thing to say about this room.\n"


@pytest.mark.parametrize(
    ("room", "label"),
    [("scenarios/tiny", "tiny"), ("a/room.toml", "a"), ("my room.toml", "my-room"), ("x/é b", "é-b"), ("/", "room")],
)
def test_the_report_is_named_after_the_room(room: str, label: str) -> None:
    """The folder's name, or the file's, fit for a folder."""
    assert options.room_label(Path(room)) == label


def test_workers_are_modest() -> None:
    """Two at most unless more are asked for."""
    assert options.modest_workers() in (1, 2)


def test_an_empty_room_by_its_file_begins_empty(tmp_path: Path) -> None:
    """The file says how it begins; the command line goes over it."""
    text = starter_text().replace('start = "filled"', 'start = "empty"')
    (tmp_path / "room.toml").write_text(text, encoding="utf-8")
    room = load_scenario(tmp_path / "room.toml")

    said = {start: plan_of(Namespace(days=None, start=start), room).start for start in (None, "filled", "empty")}

    assert said == {None: "empty", "filled": "filled", "empty": "empty"}
