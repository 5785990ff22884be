"""The printed sheets and the calendar file of a week."""

from __future__ import annotations

import datetime as dt
import json
import re
from dataclasses import replace
from pathlib import Path

import icalendar
import pytest
from one_system import foreign
from plain_words import of_answer

from growsim.report.provenance import Provenance
from growsim.report.week.answer import write_sheets
from growsim.report.week.rows import rows_of
from growsim.report.week.words import cautions_for, how_sure
from growsim.scenario.load import load_scenario
from growsim.study.week.question import week_plan

ROOMS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """(the week, the folder it was written to)."""
    room = load_scenario(ROOMS / "tiny")
    start = room.scenario.room.start_date
    week = week_plan(room, week=start + dt.timedelta(days=14), seed=3, replications=3)
    out = tmp_path_factory.mktemp("sheets") / "out"
    write_sheets(week, out, provenance=Provenance("sheet", "growsim sheet scenarios/tiny", room.sha256))
    return week, out


def test_every_shift_has_a_sheet_with_its_tasks_and_a_box_to_tick(written):
    """One section a shift, one box a task, and the caution."""
    week, out = written
    page = (out / "report.html").read_text()
    rows = sum(len(rows_of(sheet.lines, week.scenario)) for sheet in week.sheets)

    assert page.count('<section class="sheet">') == len(week.sheets) + 2  # and the wall page, and the supplies
    assert page.count('class="box"') == rows + len(week.supplies)
    assert (
        page.count('<tr role="row"><td role="cell"><span class="box">') == rows
    )  # first of its line, so that a phone shows it
    assert foreign(page, but_for=("kg ______",)) == []  # a line to write the record into, which is kept in kg
    assert page.count("licensed professional") == 1
    for sheet, text in zip(week.sheets, page.split("<h2>")[1:], strict=False):
        for caution in cautions_for(sheet, week.scenario):
            assert text.index(caution) < text.index("in this order")
    assert not re.search(r'(src|href)="https?:', page)


def test_the_calendar_file_is_read_back_by_a_calendar_library(written):
    """RFC 5545: every shift and pick-up with its time, lines of at most 75 octets, line ends CRLF."""
    week, out = written
    content = (out / "week.ics").read_bytes()
    events = [part for part in icalendar.Calendar.from_ical(content).walk() if part.name == "VEVENT"]

    assert len(events) == len(week.sheets) + len(week.pick_ups)
    assert max(len(line) for line in content.split(b"\r\n")) <= 75
    assert content.count(b"\n") == content.count(b"\r\n")
    assert len({str(event["uid"]) for event in events}) == len(events)
    first = week.sheets[0]
    begins = dt.datetime.combine(first.date, dt.time()) + dt.timedelta(hours=first.shift.start_hour)
    assert begins in {event["dtstart"].dt for event in events}


def test_the_summary_keeps_the_contract(written):
    """The keys that every command states, and plain sentences."""
    week, out = written
    summary = json.loads((out / "summary.json").read_text())

    assert {"growsim", "command", "room", "room_sha256", "seed", "replications", "days", "warm_up_days", "repeat_with",
            "answer", "measures"} <= summary.keys()  # fmt: skip
    assert all(sentence.endswith(".") for sentence in summary["answer"])
    assert summary["answer"][-1].startswith("As planned: nobody counted the shelves. ")
    assert "nobody" not in how_sure(replace(week, counted=week.monday))
    assert {"label", "unit", "mean", "mean_low", "mean_high", "p10", "p50", "p90", "n"} <= summary["measures"][
        "crew_hours_needed"
    ].keys()


def test_small_tasks_of_a_kind_share_a_row_and_no_minute_is_lost(written):
    """Rows hold the minutes of their tasks."""
    week, _ = written

    for sheet in week.sheets:
        rows = rows_of(sheet.lines, week.scenario)
        assert sum(row.minutes for row in rows) == sheet.minutes
        assert len([row for row in rows if row.what.startswith("Wash")]) <= 1


def test_every_sentence_is_plain(written):
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(written[1]) == []
