"""The funder's page and workbook: the same numbers as the rehearsal, in a funder's words."""

from __future__ import annotations

import csv
import dataclasses
import datetime as dt
import json
import re
from pathlib import Path

import pytest
from kept_records import as_csv, kept
from one_system import foreign
from openpyxl import load_workbook
from plain_words import of_answer

from growsim.cli import main
from growsim.report.front import MOST_NUMBERS, MOST_WORDS, front_of
from growsim.report.funder import record as funder_record
from growsim.report.funder import words as funder_words
from growsim.report.funder.words import protections
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.causes import Lacking
from growsim.study.funder.record import CropSums, RecordSums
from growsim.study.pay_back import Range
from growsim.study.to_try import Trial
from growsim.study.tried import Held, Tried

TINY = Path(__file__).parents[2] / "scenarios" / "tiny"


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """The folder of a quarter of the tiny room, six rehearsals."""
    out = tmp_path_factory.mktemp("funder") / "out"
    words = ["funder", str(TINY), "--period", "quarter", "--replications", "6", "--workers", "1", "--out", str(out)]
    assert main(words) == 0
    return out


def test_the_headline_and_the_table_say_the_same_of_the_whole_time(written):
    """Total = average a week x 13 weeks, with its range; each cell holds the number behind its text."""
    summary = json.loads((written / "summary.json").read_text())
    handed_out, filled = (summary["measures"][key] for key in ("kg_handed_out_per_week", "orders_filled_fraction"))
    rows = {row["label"]: row["cells"] for row in summary["table"]["rows"]}
    total = rows["Greens handed out, kg"][0]

    assert summary["days"] == 91
    assert summary["answer"][0].startswith("A forecast, not a record: in the 91 days from 6 January 2031 ")
    assert f"hand out {handed_out['mean'] * 13:.1f} kg of greens (" in summary["answer"][0]
    assert f"It can be expected to fill {100 * filled['mean']:.0f}% of partners' orders (" in summary["answer"][0]
    assert (total["mean"], total["low"]) == (handed_out["mean"] * 13, handed_out["mean_low"] * 13)
    assert total["text"].startswith(f"{handed_out['mean'] * 13:.1f} ({handed_out['mean_low'] * 13:.1f} to ")
    assert rows["Cost per kilogram handed out, USD"][0]["mean"] == summary["measures"]["cost_per_kg"]["mean"]
    assert [column["label"] for column in summary["table"]["columns"]] == ["expected (range)", "8 rehearsals in 10"]
    of_them = rows["of them to partners' orders, kg"][0]
    assert of_them["mean"] == summary["measures"]["kg_to_partners_per_week"]["mean"] * 13 < total["mean"]
    worked, there = (summary["measures"][f"crew_hours_{key}_per_week"]["mean"] for key in ("worked", "present"))
    assert rows["Part of people's hours in which they had work"][0]["mean"] == pytest.approx(worked / there, abs=0.02)
    front = front_of(summary)
    assert front.spent()[0] <= MOST_WORDS and front.spent()[1] <= MOST_NUMBERS


def test_the_workbook_opens_and_its_numbers_are_the_summarys(written):
    """Read back with openpyxl: numbers are numbers, and equal."""
    summary = json.loads((written / "summary.json").read_text())
    book = load_workbook(written / "funder.xlsx")
    rows = {row[0]: row for row in book["Figures"].iter_rows(min_row=2, values_only=True)}
    handed_out = summary["measures"]["kg_handed_out_per_week"]

    assert rows[handed_out["label"]][2] == pytest.approx(handed_out["mean"])
    assert book["Weeks"].max_row == 14
    assert [row[1] for row in book["In words"].iter_rows(min_row=2, values_only=True)] == summary["answer"]


def test_the_page_is_whole_and_careful(written):
    """Self-contained, with cautions and the command to make it again."""
    page = (written / "report.html").read_text()

    assert "licensed professional" in page
    assert foreign(page) == []
    assert "growsim funder" in page
    assert 'src="http' not in page


def test_what_is_done_about_losses_is_read_from_the_room():
    """A second pump, a battery and a walk-through are told of when they are there, and only then."""
    room = load_scenario(TINY).scenario
    reservoir = room.reservoirs[0]
    bare = room.model_copy(
        update={
            "crew": room.crew.model_copy(update={"attendance": ()}),
            "reservoirs": tuple(
                each.model_copy(update={"pump": each.pump.model_copy(update={"count": 1})}) for each in room.reservoirs
            ),
            "power": room.power.model_copy(update={"battery_pump_hours": 0.0}),
        }
    )
    better = bare.model_copy(
        update={
            "power": bare.power.model_copy(update={"battery_pump_hours": 3.0}),
            "reservoirs": (reservoir.model_copy(update={"pump": reservoir.pump.model_copy(update={"count": 2})}),),
        }
    )

    assert not any("battery" in said or "second pump" in said for said in protections(bare))
    assert any("battery keeps the pumps going for 3.0 hours" in said for said in protections(better))
    assert any(said == f"{reservoir.name} has a second pump." for said in protections(better))


@pytest.fixture(scope="module")
def with_record(tmp_path_factory):
    """The folder of a funder's page with a record: 20 weeks of the tiny room, thirteen of them told of."""
    folder = tmp_path_factory.mktemp("kept")
    scenario = load_scenario(TINY).scenario
    as_csv(kept(trace(prepare(scenario), 41, 0, RunPlan(days=140, warm_up_days=56)), scenario), folder / "record")
    words = ["funder", str(TINY), "--records", str(folder / "record"), "--from", "2031-02-03", "--until", "2031-05-04"]
    assert main([*words, "--replications", "10", "--workers", "1", "--out", str(folder / "out")]) == 0
    return folder


def test_what_is_on_record_is_told_first(with_record):
    """Kilograms of the page, the workbook and the table itself are the same; the command to repeat names the record."""
    summary = json.loads((with_record / "out" / "summary.json").read_text())
    with (with_record / "record" / "plantings.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if "2031-02-03" <= row["harvested"] <= "2031-05-04"]
    kilograms = sum(float(row["grams"] or 0) for row in rows) / 1000.0
    book = load_workbook(with_record / "out" / "funder.xlsx")["On record"]
    by_month = [
        row[2] for row in book.iter_rows(values_only=True) if row[0] == "harvested" and str(row[1])[:4] == "2031"
    ]

    assert summary["days"] == 91
    assert summary["answer"][0].startswith(
        f"From 3 Feb 2031 to 4 May 2031 the record shows {kilograms:.1f} kg of greens harvested, "
    )
    assert sum(by_month) == pytest.approx(kilograms)
    assert "first sowing on record" not in summary["answer"][1]
    assert summary["table"]["columns"][0] == {
        "label": "on record", "of": "what was written down, 3 Feb 2031 to 4 May 2031",
    }  # fmt: skip
    rows = {row["label"]: row["cells"] for row in summary["table"]["rows"]}
    assert rows["Greens harvested and packed, kg"][0]["mean"] == pytest.approx(kilograms)
    hours = [row[2] for row in book.iter_rows(values_only=True) if row[0] == "volunteer hours"]
    assert [rows["Volunteers' hours, without the lead"][0]["mean"]] == hours
    assert rows["Running costs, USD"][0]["text"] == rows["Orders filled"][0]["text"] == "not recorded"
    in_eight = rows["Greens harvested and packed, kg"][2]["text"]
    assert f"were to be expected ({in_eight} kg in eight rehearsals of ten): " in summary["answer"][0]
    front = front_of(summary)
    assert front.spent()[0] <= MOST_WORDS and front.spent()[1] <= MOST_NUMBERS
    assert "--records" in summary["repeat_with"] and "--until 2031-05-04" in summary["repeat_with"]
    assert "What the record shows" in (with_record / "out" / "report.html").read_text()
    assert foreign((with_record / "out" / "report.html").read_text()) == []


def test_a_record_that_begins_with_its_first_sowing_is_not_called_short_without_saying_so(with_record, tmp_path):
    """Trays sown before are left out: what they gave cannot be on record, and the sentence says from when on it is."""
    with (with_record / "record" / "plantings.csv").open(newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["sown"] >= "2031-02-03"]
    (tmp_path / "record").mkdir()
    with (tmp_path / "record" / "plantings.csv").open("w", newline="") as file:
        table = csv.DictWriter(file, rows[0])
        table.writeheader()
        table.writerows(rows)
    first = dt.date.fromisoformat(min(row["sown"] for row in rows))
    ripe = first + dt.timedelta(days=max(crop.typical_days for crop in load_scenario(TINY).scenario.crops))
    words = ["funder", str(TINY), "--records", str(tmp_path / "record"), "--from", "2031-02-03"]

    assert main([*words, "--replications", "10", "--workers", "1", "--out", str(tmp_path / "out")]) == 0
    summary = json.loads((tmp_path / "out" / "summary.json").read_text())

    said = dict(zip(summary["answer_heads"], summary["answer"], strict=True))
    assert "the record lies below that." in said[""]
    assert said["Why"].startswith("The first sowing on record is of ")
    assert said["Why"].endswith(f"but are in what is expected, until {ripe.day} {ripe:%b} 2031.")


def test_what_cannot_be_used_of_a_record_is_said_beside_its_kilograms(with_record, tmp_path):
    """One weight in words and one visit of nobody: the totals lack them, and a funder must not find that out alone."""
    (tmp_path / "record").mkdir()
    for name, column in (("plantings", "grams"), ("attendance", "came")):
        with (with_record / "record" / f"{name}.csv").open(newline="") as file:
            rows = list(csv.DictReader(file))
        next(row for row in rows if row[column])[column] = "a lot"
        with (tmp_path / "record" / f"{name}.csv").open("w", newline="") as file:
            table = csv.DictWriter(file, rows[0])
            table.writeheader()
            table.writerows(rows)
    words = ["funder", str(TINY), "--records", str(tmp_path / "record"), "--replications", "10", "--workers", "1"]

    assert main([*words, "--out", str(tmp_path / "out")]) == 0
    note = json.loads((tmp_path / "out" / "summary.json").read_text())["table"]["note"]

    assert "Not in the record's figures: " in note
    assert "1 row of plantings that cannot be used" in note
    assert "1 row of attendance that cannot be used" in note


LEAF, HEAD = "cutting leaf", "small head"  # of the tiny room


def on_record(rehearsed, leaf, head):
    """Sums of a made-up record of as many days; each crop: (kg, plants) against what was to be expected."""

    def of_crop(name, kg, plants):
        means = (funder_record._expected_of(what, name, empty, rehearsed) for what in ("kg_packed", "plants_harvested"))
        expected, heads = means
        return CropSums(name, 9, kg * expected, round(plants * heads), 0)

    first = rehearsed.scenario.room.start_date
    last = first + dt.timedelta(days=rehearsed.plan.days - 1)
    empty = RecordSums(first, last, (), {}, 0, 0, 0, 0.0, 0, (0, 0), {}, (), first - dt.timedelta(days=99))
    crops = (of_crop(LEAF, *leaf), *([of_crop(HEAD, *head)] if head else []))
    return dataclasses.replace(empty, crops=crops)


@pytest.mark.parametrize(
    ("leaf", "head", "says"),
    [
        ((1.0, 1.0), (0.6, 0.75), r"Most of the difference is small head: [\d.]+ kg less than expected\. "
         r"25% fewer plants were harvested and a plant weighed 20% less\."),
        ((1.8, 1.5), (1.0, 1.0), r"Most of the difference is cutting leaf: [\d.]+ kg more than expected\. "
         r"50% more plants were harvested and a plant weighed 20% more\."),
        ((1.0, 1.0), None, r"Most of the difference is small head: [\d.]+ kg less than expected, for none is on "
         r"record\."),
    ],
)  # fmt: skip
def test_why_a_record_is_not_as_expected(rehearsed, leaf, head, says):
    """The crop that differs most, by how many plants it is and by what they weigh: 0.6 = 0.75 x 0.8 of the kilograms.
    Nothing published to hold it against: the shares are put in."""
    assert re.fullmatch(says, funder_words.why(rehearsed, Held(()), on_record(rehearsed, leaf, head)))


def test_a_record_as_expected_leaves_why_to_what_partners_lack(rehearsed):
    """And so does no record: the cause that weighs most, and what brought more in the same years."""
    lacking = (Lacking(HEAD, 100.0, 20.0, 20.0),)
    more = Tried((Trial("harvest on Tuesdays too", "harvest days", {}),), *[Range(0.5, 0.3, 0.7)] * 2,
                 Range(0.05, 0.03, 0.07), 24)  # fmt: skip
    held = Held((), True, (), (more,), lacking)
    front = funder_words.front(rehearsed, held)

    assert funder_words.why(rehearsed, held, on_record(rehearsed, (1.0, 1.0), (1.0, 1.0))) == front.why
    assert front.why.startswith("Small head comes unevenly: 20.0 kg is missing a year,")
    assert front.advice[0].startswith("Harvest on Tuesdays too: +0.50 kg a week (+0.30 to +0.70)")
    assert front.fits


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["--dates", "day-first"], "give --records RECORDS with it"),
        (["--records", "r", "--days", "91"], "the time is the record's"),
        (["--records", "r", "--period", "year"], "the time is the record's"),
    ],
)
def test_options_that_make_no_sense_together_are_refused(words, says, tmp_path, capsys):
    """One sentence, exit code 2, nothing written."""
    assert main(["funder", str(TINY), *words, "--out", str(tmp_path / "out")]) == 2
    assert says in capsys.readouterr().err
    assert not (tmp_path / "out").exists()


def test_every_sentence_is_plain(written, with_record):
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert [*of_answer(written), *of_answer(with_record / "out")] == []
