"""`promise` and `sheet` begin with what the record beside the room says; a count that is given still wins."""

from __future__ import annotations

import datetime as dt
import json
import shutil
from pathlib import Path

import pytest

from growsim.cli.door import main
from growsim.run.prepare import prepare_room
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.study.standing import standing_on
from growsim.web.ask.files import table_by_record
from growsim.web.folder import Folder
from tests.kept_records import as_csv, kept

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"
QUICK = ["--replications", "20", "--workers", "1", "--seed", "3"]
DAYS = 70


@pytest.fixture
def morning(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """The morning after ten weeks of a made-up record, kept beside the room."""
    shutil.copytree(TINY, tmp_path / "tiny")
    room = load_scenario(tmp_path / "tiny")
    book = trace(prepare_room(room), 11, 0, RunPlan(DAYS, 0, "empty"))
    as_csv(kept(book, room.scenario), tmp_path / "tiny" / "records")
    monkeypatch.chdir(tmp_path)
    return (room.scenario.room.start_date + dt.timedelta(days=DAYS)).isoformat()


def summary(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, object]:
    """The numbers of an answer, but for where they come from."""
    assert main([*words, *QUICK, "--json", "--replace"]) == 0
    told = json.loads(capsys.readouterr().out)
    return {key: value for key, value in told.items() if key in ("measures", "table", "answer")}


def test_the_record_promises_what_a_count_of_the_same_plants_does(
    morning: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Number by number; and the page's own table of it too."""
    by_record = summary(capsys, "promise", "tiny", "--date", morning, "--no-rescue")
    room = Folder(Path()).room("tiny")
    table = room.home / table_by_record(room, dt.date.fromisoformat(morning))
    by_count = summary(capsys, "promise", "tiny", "--date", morning, "--shelves", str(table), "--no-rescue")
    assert by_record["measures"] == by_count["measures"]
    assert main(["promise", "tiny", "--date", morning, *QUICK, "--no-rescue", "--replace"]) == 0
    said = capsys.readouterr().out
    scenario = load_scenario(TINY).scenario
    records = read_records(Path("tiny/records"), scenario)
    plants = sum(each.plants for each in standing_on(records, scenario, dt.date.fromisoformat(morning)).batches)
    assert f"By the record, {plants} plants stand there" in said


def test_a_count_that_is_given_wins(morning: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The sheet of one lot in a table asks for other work than that of the record."""
    Path("today.csv").write_text("lot,crop,stage,sown,plants\nx,cutting leaf,leaf,2031-02-24,20\n")
    by_record = summary(capsys, "sheet", "tiny", "--date", morning)
    given = summary(capsys, "sheet", "tiny", "--date", morning, "--shelves", "today.csv")
    assert by_record["measures"] != given["measures"]
    assert main(["sheet", "tiny", "--shelves", "today.csv", "--records", "tiny/records", *QUICK]) == 2
    assert "give one of the two" in capsys.readouterr().err


def test_a_record_that_is_too_young_or_too_old_promises_nothing(
    morning: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What nobody wrote down and nobody counted is not guessed."""
    early = load_scenario(TINY).scenario.room.start_date + dt.timedelta(days=9)
    assert main(["promise", "tiny", "--date", early.isoformat(), *QUICK]) == 2
    assert "no record beside the room tells what stands on the shelves" in capsys.readouterr().err
    assert main(["promise", "tiny", "--date", "2031-09-01", *QUICK]) == 2
    assert main(["promise", "tiny", "--date", early.isoformat(), "--records", "tiny/records", *QUICK]) == 2
    assert "count them once" in capsys.readouterr().err
