"""The report about people: what it leaves behind, its contract, its sentences and its CHANGE file."""

from __future__ import annotations

import csv
import datetime as dt
import json
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import crew_fakes
import figure_boxes
import pytest
from one_system import foreign
from plain_words import of_answer

from growsim.report.crew import tables
from growsim.report.crew import words as crew_words
from growsim.report.crew.answer import sign_up_change, write_crew
from growsim.report.crew.words import in_months, months_said
from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.provenance import Provenance
from growsim.run.intervals import Difference
from growsim.scenario.change import apply_change
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
from growsim.study.causes import Cause, Share
from growsim.study.crew.answer import CrewStudy, OneLess
from growsim.study.crew.goals import ON_TIME, ORDERS
from growsim.study.crew.kept import SetAside
from growsim.study.crew.question import crew
from growsim.study.pay_back import Range
from growsim.study.to_try import Trial
from growsim.study.tried import Held, Tried

FILES = {
    ".growsim.json",
    "report.html",
    "summary.json",
    "crew.toml",
    "crew.csv",
    "seasons.csv",
    "one_less.csv",
    "crews.csv",
    "late_tasks.csv",
    "measures.csv",
    "weeks.csv",
    "answer.csv",
    "figures",
}
FIGURES = {"by-month", "frontier", "one-less"}
KG = "kg_handed_out_per_week"


@pytest.fixture(scope="module")
def study() -> CrewStudy:
    """A study by a rule that is known."""
    return crew(
        crew_fakes.tiny(),
        plan=RunPlan(crew_fakes.DAYS),
        seed=3,
        goals={ON_TIME: 0.8, ORDERS: 0.6},
        replications=12,
        work=crew_fakes.lived,
    )


@pytest.fixture(scope="module")
def written(study: CrewStudy, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, Any]]:
    """Its report, and the summary."""
    out = tmp_path_factory.mktemp("crew") / "out"
    return out, write_crew(study, out, provenance=Provenance("crew", "growsim crew tiny --seed 3", "0" * 64))


def test_everything_is_there(written: tuple[Path, dict[str, Any]]) -> None:
    """Page, summary, CHANGE file, tables, each figure as SVG and PNG."""
    out, _ = written

    assert {path.name for path in out.iterdir()} == FILES
    assert {path.name for path in (out / "figures").iterdir()} == {
        f"{name}{end}" for name in FIGURES for end in figure_boxes.FILES
    }


def test_the_summary_keeps_the_contract(written: tuple[Path, dict[str, Any]], study: CrewStudy) -> None:
    """What scripts rely on is there, and the file says what was returned."""
    out, summary = written
    needed = {"growsim", "command", "room", "room_sha256", "seed", "replications", "days", "warm_up_days"}
    needed |= {"repeat_with", "answer", "table", "measures"}
    wanted = {"label", "unit", "mean", "mean_low", "mean_high", "p10", "p50", "p90", "n"}

    assert needed <= summary.keys()
    assert json.loads((out / "summary.json").read_text(encoding="utf-8")) == summary
    assert all(wanted <= found.keys() for found in summary["measures"].values())
    assert summary["people_by_month"]["Monday"]["needed"] == list(study.people(0))
    assert len(summary["answer"]) == len(summary["answer_heads"]) >= 2


def test_the_csv_by_shift_and_month(written: tuple[Path, dict[str, Any]], study: CrewStudy) -> None:
    """One row a shift and month."""
    out, _ = written
    rows = list(csv.DictReader((out / "crew.csv").read_text(encoding="utf-8").splitlines()))
    thursday = [int(row["people_needed"]) for row in rows if row["shift"] == "Thursday"]

    assert len(rows) == 24
    assert thursday == list(study.people(1))


def test_the_page_stands_on_its_own(written: tuple[Path, dict[str, Any]]) -> None:
    """Every answer and figure is in it, nothing is fetched, and the cautions are there."""
    out, summary = written
    page = (out / "report.html").read_text(encoding="utf-8")
    plain = page.replace("&#39;", "'")

    assert all(sentence in plain for sentence in summary["answer"])
    assert all(f'<figure id="{name}">' in page for name in FIGURES)
    assert foreign(page) == []
    assert "Lifting." in page and "Heat." in page
    assert not re.search(r'(src|href)="(?!#)', page)
    assert "nan" not in re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL).lower().split()


def test_the_change_file_makes_the_room_that_was_found(study: CrewStudy) -> None:
    """Merged into the room it gives a valid room with just those sign-ups."""
    room = crew_fakes.tiny()
    merged = apply_change(room.raw, {k: v for k, v in tomllib.loads(sign_up_change(study)).items() if k != "change"})
    shifts = scenario_from(merged, "room.toml")[0].crew.shifts

    assert [shift.people_by_month for shift in shifts] == [study.people(0), study.people(1)]
    assert [shift.lead for shift in shifts] == [shift.lead for shift in room.scenario.crew.shifts]


@pytest.mark.parametrize(
    ("months", "head", "sentence"),
    [
        (range(12), "all year", "all year"),
        ((6, 7), "July and August", "in July and August"),
        ((9, 10, 11, 0, 1), "October to February", "from October to February"),
        ((0, 1, 2, 3, 5), "January to April and June", "from January to April and in June"),
        ((5, 8, 11), "June, September and December", "in June, September and December"),
        (
            (0, 1, 2, 6, 7, 8),
            "January to March and July to September",
            "from January to March and from July to September",
        ),
    ],
)  # fmt: skip
def test_months_are_said_as_one_says_them(months: tuple[int, ...], head: str, sentence: str) -> None:
    """Runs of three and more from the first to the last; December is followed by January."""
    assert (months_said(months), in_months(months)) == (head, sentence)


def test_the_table_has_every_shift_and_month(study: CrewStudy) -> None:
    """A row for months that ask for the same: needed, today, the range, a column a shift with today's where it is
    another, and what the last of them do."""
    table = crew_words.sign_up_table(study)

    assert [column.label for column in table.columns] == [
        "needed", "today", "Monday", "Thursday", "the last are for",
    ]  # fmt: skip
    season = replace(study.seasons[0], sign_up=(3, 2), low=5, high=6, last=2, last_tasks=(("wash", 0.1, 0.2),))
    (row,) = crew_words.sign_up_table(replace(study, seasons=(season,))).rows
    assert [cell.text for cell in row.cells] == [
        "5 (5 to 6)", "4", "3 (today 2)", "2", "2 for washing trays",
    ]  # fmt: skip
    for row, (months, (each, *_)) in zip(table.rows, crew_words.alike(study), strict=True):
        assert row.label == months_said(months)
        total = float(sum(each.sign_up))
        assert [cell.mean for cell in row.cells] == [total, 4.0, *map(float, each.sign_up), None]


def test_the_page_is_short_and_its_sentences_too(study: CrewStudy) -> None:
    """At most 120 words and 15 numbers before the table; at most 25 words a sentence, everywhere an answer is told."""
    front = crew_words.front(study)
    words, numbers = front.spent()
    said = [front.headline, *front.advice, front.sure, crew_words.hanging(study), *crew_words.last_people(study)]

    assert words <= MOST_WORDS
    assert numbers <= MOST_NUMBERS
    for text in said:
        assert all(len(sentence.split()) <= 25 for sentence in re.split(r"(?<=[.:;]) ", text)), text


def test_no_share_is_over_all(study: CrewStudy) -> None:
    """The range of an average near the end of the scale is cut there."""
    season = replace(study.seasons[0], values={ORDERS: (0.999, 0.997, 1.003), ON_TIME: (0.001, -0.1, 0.01)})
    row = tables.seasons(replace(study, seasons=(season,))).rows[0]

    assert row[-2:] == ("99.9% (99.7% to 100.0%)", "0.1% (0.0% to 1.0%)")


def test_one_person_less_has_its_range_in_the_table(study: CrewStudy) -> None:
    """Greens, tasks and orders, each with its range beside it; what was not measured is a dash."""
    found = {
        KG: Difference(KG, -0.42, -0.61, -0.22, 0.1, 20),
        ON_TIME: Difference(ON_TIME, -0.03, -0.04, 0.02, 0.0, 20),
    }
    table = tables.one_less(replace(study, one_less=(OneLess("Monday", found),)))

    assert table.rows == (("Monday", "-0.42", "-0.61 to -0.22", "-3.0", "-4.0 to +2.0", "–", "–"),)


def test_a_goal_out_of_reach_is_said_first(study: CrewStudy) -> None:
    """Whose fault it is not, what a full room reaches, what this crew is, and where to look."""
    target = replace(study.targets[ORDERS], wanted=0.95, ample=0.9, ample_high=0.91, below_ample=0.03)
    front = crew_words.front(replace(study, targets={ORDERS: target}, wanted={ORDERS: 0.95}))

    assert front.headline.startswith("More people alone do not bring it: as many as fit into the room ")
    assert front.headline.endswith("% of orders, short of the 95% wanted.")
    assert front.advice[0].startswith(f"{crew_words.recruit(study)} Those of the table ")
    assert "% of orders (today's " in front.advice[0]
    assert front.advice[1] == "`growsim rehearse` tries what would bring more."
    assert study.out_of_reach == ()


def test_a_month_that_no_crew_could_fill_is_told(study: CrewStudy) -> None:
    """With the days on which the room is closed in it; of other months nothing is said."""
    season = study.seasons[0]
    month = crew_words.counted_in(study, season)[0]
    shut = tuple(dt.date(2031, month + 1, day) for day in range(2, 20))
    room = study.scenario.room.model_copy(update={"closed_days": shut})
    empty = replace(
        study,
        room=replace(study.room, scenario=study.scenario.model_copy(update={"room": room})),
        seasons=(replace(season, with_ample={ORDERS: (0.014, None, None)}),),
    )
    said = crew_words.empty_months(empty)

    assert "even they fill 1% of orders: the room is closed from 2 " in said
    assert " to 19 " in said
    assert crew_words.empty_months(study) == ""


def test_what_was_tried_is_told_where_people_are_not_short(study: CrewStudy) -> None:
    """In the words of the rehearsal, which tries the same things."""
    target = replace(study.targets[ORDERS], wanted=0.95, ample=0.9, ample_high=0.91, below_ample=0.03)
    beyond = replace(study, targets={ORDERS: target}, wanted={ORDERS: 0.95})
    more = Range(0.5, 0.3, 0.7)
    best = Tried((Trial("harvest on Tuesdays too", "harvest days", {}),), more, more, Range(0.1, 0.05, 0.15), 24)
    people = replace(best, trials=(Trial("2 more people on every shift", "people", {}),))  # as many as fit do not help
    lost = Cause("no harvest day", 12.0, (Share("small head", "overgrown", 100.0, 12.0),), 0.0)
    busy = replace(lost, held_up="people busy", kg=40.0)  # heavier, and no reason where people are not short
    front = crew_words.front(beyond, Held((busy, lost), True, (best,), (people, best)))

    assert front.advice[1].startswith("Harvest on Tuesdays too: ")
    assert front.why.endswith(" because no harvest day comes in time.")
    assert front.spent()[0] <= MOST_WORDS


def test_where_todays_sign_up_is_kept_it_is_said_why(study: CrewStudy) -> None:
    """What the other would bring, and today's, in the same years; no recruiting."""
    aside = SetAside(6, 12, {ON_TIME: 0.9, ORDERS: 0.51}, {ON_TIME: 0.78, ORDERS: 0.54}, 60, "fewer orders")
    kept = replace(study, set_aside=aside, end="short")
    front = crew_words.front(kept)

    assert front.advice[0] == (
        "Keep today's sign-up: 6 to 12 volunteers would fill fewer orders. In the same years they fill 51% of orders, "
        "those of today 54%."
    )
    assert "fewer orders" not in crew_words.keep_today(kept, replace(aside, why="no more"))
    assert front.sure.startswith("No sign-up that was tried is better all round. That ")
    assert front.spent() <= (MOST_WORDS, MOST_NUMBERS)


def test_a_goal_that_chance_leaves_open_is_said_to_be(study: CrewStudy) -> None:
    """Neither reached for certain nor out of reach."""
    target = replace(study.targets[ORDERS], wanted=0.95, ample=0.952, ample_high=0.96, below_ample=0.03)
    said = crew_words.hanging(replace(study, targets={ORDERS: target}))

    assert said.startswith("Chance leaves open whether any number of people brings 95%")
    assert said.endswith("no more than 3 in 100 below that.")
    assert crew_words.hanging(study) == ""


def test_what_could_not_be_confirmed_is_said(study: CrewStudy) -> None:
    """What it is, and what to do about it."""
    assert "could not be confirmed" in crew_words.sure(replace(study, end="short"))
    assert "would do no better" in crew_words.sure(replace(study, end="as ample"))
    assert crew_words.sure(study).startswith(
        "With 95% confidence the goals of the year are met, in 12 rehearsals of 182 days new to the search."
    )


def test_seasons_that_need_the_same_people_are_one(study: CrewStudy) -> None:
    """Two seasons with the same sign-up, shift by shift, are one row and one breath."""
    whole = study.seasons[0]
    halves = [replace(whole, season=replace(whole.season, months=months)) for months in (range(4), range(4, 12))]
    same = replace(study, seasons=tuple(halves))
    apart = replace(study, seasons=(halves[0], replace(halves[1], sign_up=tuple(n + 1 for n in whole.sign_up))))

    year, parted = (replace(each, plan=RunPlan(364)) for each in (same, apart))
    assert [row.label for row in crew_words.sign_up_table(year).rows] == ["all year"]
    assert [row.label for row in crew_words.sign_up_table(parted).rows] == ["January to April", "May to December"]
    months = crew_words.sign_up_table(replace(same, plan=RunPlan(91)))
    assert [row.label for row in months.rows] == ["January to April"]  # 13 weeks from 6 January: not "all year"
    assert months.note.endswith(" Other months were not simulated.")
    total = sum(whole.sign_up)
    assert crew_words.headline(apart).startswith(f"{total} to {total + 2} volunteers a week, plus the leads, do ")


def test_the_last_people_have_their_tasks(study: CrewStudy) -> None:
    """For the season that is hardest to fill first: what is late without them."""
    tasks = (("wash", 0.1, 0.2), ("change solution", 0.4, 0.6), ("sow", 0.0, 0.02))
    easy = replace(study.seasons[0], hard=1.0, last=1, last_tasks=())
    hard = replace(study.seasons[0], hard=3.0, last=2, last_tasks=tasks, last_by_shift=(0, 2))
    said = crew_words.last_people(replace(study, seasons=(easy, hard)))

    assert said[0].startswith("The last 2 people ")
    assert said[0].endswith(" (Thursday) are there for washing trays: without them 20% of it is late, not 10%.")
    assert "no task is clearly later without the last person" in said[1]


def test_every_sentence_is_plain(written: tuple[Path, dict[str, Any]]) -> None:
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(written[0]) == []


def test_why_so_many_is_the_work_and_who_comes_in_the_hardest_months(study: CrewStudy) -> None:
    """Hours of work a week of the answer's own years, by hand over those weeks, and who comes of those signed up; of
    few months they are named."""
    year = study.seasons[0]
    weeks = tuple(range(4))
    hard = replace(year, season=replace(year.season, months=(0,), weeks=weeks), hard=9.0, chance=0.6, last=0)
    rest = replace(year, season=replace(year.season, months=tuple(range(1, 12))), hard=1.0, last=0)
    hours = {"crew_hours_needed": [10.0, 20.0, 30.0, 40.0, *[99.0] * 22]}
    lived = tuple(replace(each, weeks=each.weeks | hours) for each in study.outcomes)
    said = crew_words.why_so_many(replace(study, seasons=(rest, hard), outcomes=lived))
    assert said == "Work in January takes 25 hours a week, and 60% of those signed up come."
    alone = replace(hard, season=replace(hard.season, months=tuple(range(12))))
    assert crew_words.why_so_many(replace(study, seasons=(alone,))).startswith("The work takes ")


def test_what_to_sign_up_is_the_largest_difference_from_today(study: CrewStudy) -> None:
    """More where more is asked for; fewer where nothing is; four a week are signed up today."""
    year = replace(study.seasons[0], season=replace(study.seasons[0].season, months=tuple(range(12))))

    def said(*sign_up: int) -> str:
        return crew_words.recruit(replace(study, plan=RunPlan(364), seasons=(replace(year, sign_up=sign_up),)))

    assert said(4, 3) == "Sign up 3 more than today all year."
    assert said(1, 1) == "No month needs more than today; 2 fewer do all year."
    assert said(2, 2) == "Sign up as many as today."
