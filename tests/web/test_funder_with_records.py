"""The funder's question on the page, with the record kept with the room: what is on record is told first."""

from __future__ import annotations

import csv
import datetime as dt
import os
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import httpx
import pytest
from kept_records import as_csv, kept
from page_served import TINY, answered, folder_with_tiny, pretender, served, wait_for

from growsim.cli import main
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.web.ask.likely_time import funder_days, likely_seconds

ASK = "/rooms/tiny/ask/funder"
ATTENDANCE = "date,shift,signed_up,came\n2031-01-06,Monday,2,2\n2031-01-13,Monday,2,3\n"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """The tiny room with a record of two attendance (invented)."""
    home = folder_with_tiny(tmp_path) / "tiny"
    (home / "records").mkdir()
    (home / "records" / "attendance.csv").write_text(ATTENDANCE, encoding="utf-8")
    return tmp_path


@pytest.fixture
def client(folder: Path) -> Iterator[httpx.Client]:
    """A page over it whose commands only pretend."""
    with served(folder, begin_child=pretender()) as client:
        yield client


def wrong(page: httpx.Response) -> dict[str, str]:
    """What the page says beside its fields."""
    found = re.findall(r'id="f-(\w+)-wrong"><strong>Wrong:</strong> (.*?)</p>', page.text)
    return {name: unescape(said) for name, said in found}


def test_what_is_on_record_is_told_first(tmp_path: Path) -> None:
    """Asked for real: kilograms of the answer are those of the table; the record's copy goes with the question."""
    home = folder_with_tiny(tmp_path) / "tiny"
    scenario = load_scenario(TINY).scenario
    as_csv(kept(trace(prepare(scenario), 41, 0, RunPlan(days=140, warm_up_days=56)), scenario), home / "records")
    with (home / "records" / "plantings.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if "2031-02-03" <= row["harvested"] <= "2031-05-04"]
    kilograms = sum(float(row["grams"] or 0) for row in rows) / 1000.0
    with served(tmp_path, workers=1) as client:
        form = client.get(ASK).text
        asked = client.post(
            ASK, data={"records": "records", "from": "2031-02-03", "until": "2031-05-04", "replications": "5"}
        )
        address = asked.headers["location"]
        state = answered(client, address)
        answer = client.get(f"/rooms/tiny/answers/{Path(address).name}").text

    assert "the record kept under “Records” (4 tables)" in form
    assert state == "answered"
    told = re.search(r"the record shows ([\d.]+) kg", answer)
    assert told is not None
    assert told[1] == f"{kilograms:.1f}"
    assert told.start() < answer.index("rehearsals of ten")
    assert (home / "answers" / Path(address).name / "asked" / "records" / "plantings.csv").read_bytes() == (
        home / "records" / "plantings.csv"
    ).read_bytes()


@pytest.mark.parametrize(
    ("data", "options"),
    [
        ({}, []),
        ({"period": "quarter"}, ["--period", "quarter"]),
        ({"records": "records", "until": "2031-01-09"}, ["--records", "COPY", "--until", "2031-01-09"]),
    ],
)
def test_the_options_are_the_commands(folder: Path, data: dict[str, str], options: list[str]) -> None:
    """What is left empty is not said to the command."""
    children = pretender()
    with served(folder, begin_child=children) as client:
        client.post(ASK, data=data)
        words = wait_for(lambda: children.begun and children.begun[0].words, 10)
    copy = "tiny/answers/0001-funder/asked/records"

    assert words[:2] == ["funder", "tiny/answers/0001-funder/asked/tiny"]
    assert words[2 : words.index("--out")] == [copy if word == "COPY" else word for word in options]
    assert (folder / copy / "attendance.csv").is_file() == ("records" in data)


@pytest.mark.parametrize(
    ("field", "days"),
    [
        ("from", {"from": "soon"}),
        ("until", {"until": "2031-02-30"}),
        ("until", {"from": "2031-01-10", "until": "2031-01-08"}),
        ("from", {"from": "2032-01-01", "until": "2032-02-01"}),
    ],
)
def test_wrong_days_are_refused_in_the_commands_sentence(
    client: httpx.Client, folder: Path, capsys: pytest.CaptureFixture[str], field: str, days: dict[str, str]
) -> None:
    """Beside their field; what was filled in stays."""
    given = [word for name, day in days.items() for word in (f"--{name}", day)]
    code = main(["funder", str(folder / "tiny"), "--records", str(folder / "tiny" / "records"), *given])
    said = capsys.readouterr().err
    page = client.post(ASK, data={"records": "records", **days})

    assert code == 2
    assert page.status_code == 400
    assert list(wrong(page)) == [field]
    assert wrong(page)[field] in said
    assert all(f'value="{day}"' in page.text for day in days.values())


def test_answers_that_do_not_go_together(client: httpx.Client, folder: Path) -> None:
    """Days without a record, a period beside a record, a record that is not there or cannot be read."""
    assert "choose the record too" in wrong(client.post(ASK, data={"dates": "day-first"}))["dates"]
    short = {"from": "2031-01-06", "until": "2031-01-07"}
    assert "less than a week" in wrong(client.post(ASK, data=short))["until"]
    twice = {"until": "2031-03-31", "period": "quarter"}
    assert "leave one of the two empty" in wrong(client.post(ASK, data=twice))["period"]
    assert (
        "the time is the record's" in wrong(client.post(ASK, data={"records": "records", "period": "year"}))["period"]
    )
    assert "no such record" in wrong(client.post(ASK, data={"records": "../tiny"}))["records"]
    table = folder / "tiny" / "records" / "attendance.csv"
    table.write_text(ATTENDANCE.replace("2031-01-06", "3/4/2031"), encoding="utf-8")
    said = wrong(client.post(ASK, data={"records": "records"}))["records"]
    assert "could be 3 April or 4 March 2031" in said
    assert str(folder) not in said
    assert client.post(ASK, data={"records": "records", "dates": "day-first"}).status_code == 303

    table.unlink()
    assert "none is kept under “Records” yet" in client.get(ASK).text
    assert "no such record" in wrong(client.post(ASK, data={"records": "records"}))["records"]


DAYS = (dt.date(2031, 1, 6), dt.date(2032, 1, 4))  # 364 days


@pytest.mark.parametrize(
    ("given", "days"),
    [
        ({}, 364),
        ({"period": "year"}, 364),
        ({"period": "quarter"}, 91),
        ({"records": "records"}, 364),
        ({"records": "records", "from": "2031-12-08"}, 28),
        ({"records": "records", "until": "2031-02-02"}, 28),
        ({"records": "records", "from": "2031-03-01", "until": "2031-03-31"}, 31),
        ({"records": "records", "from": "2031-03-01", "until": "2031-03-02"}, 7),
        ({"records": "", "from": "2031-03-01"}, 364),
    ],
)
def test_the_likely_time_is_that_of_the_days_asked_for(given: dict[str, str], days: int) -> None:
    """Years lived through are as long as the days told of, by hand; pages and pictures (8 s) come on top."""
    scenario = load_scenario(TINY).scenario
    form = {name: (value,) for name, value in given.items()}
    seconds = likely_seconds("funder", scenario, form, (), record=lambda: DAYS)
    a_year = likely_seconds("funder", scenario, {}, ())

    assert funder_days(form, lambda: DAYS) == days
    warm_up = scenario.rehearsal.warm_up_days
    assert (seconds - 8.0) / (a_year - 8.0) == pytest.approx((days + warm_up) / (364 + warm_up))


def test_the_form_tells_the_time_of_the_days_asked_for(client: httpx.Client, monkeypatch: pytest.MonkeyPatch) -> None:
    """So many rehearsals that a year each takes minutes; eight days of the record take fewer."""
    monkeypatch.setattr(os, "getloadavg", lambda: (0.0, 0.0, 0.0))
    asked = {"replications": "50000", "dates": "sideways"}
    whole = client.post(ASK, data=asked)
    eight_days = client.post(ASK, data={**asked, "records": "records"})

    def minutes(page: httpx.Response) -> int:
        told = re.search(r"Likely to take about (\d+) minutes", page.text)
        assert told is not None
        return int(told[1])

    assert eight_days.status_code == 400
    assert minutes(eight_days) < minutes(whole)
