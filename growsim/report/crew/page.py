"""The page about the crew: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, summaries
from growsim.report.crew import figures as figures_crew
from growsim.report.crew import tables as crew_tables
from growsim.report.frame import Answer, model_section, picture
from growsim.report.page import Block, Bullets, Caution, Command, Grid, Page, Section, Text
from growsim.report.words import counted, listed, number, rehearsals, short_date
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.study.crew.answer import CrewStudy

CHANGE_FILE = BY_NAME["crew"].change_file
_ABOUT_PEOPLE = (
    "Every sign-up is a place with its own luck: whoever fills it comes or stays away week by week, with the month's "
    "chance and a leaning of their own; learns with every shift; and one day leaves the place to a beginner. The luck "
    "of a place does not change when others are added or taken away, so crews are compared under the same luck. A "
    "place that is filled in some months only is reckoned as filled by somebody who knows the work: allow for teaching "
    "those who join for the summer."
)


def compose(study: CrewStudy, answer: Answer, figure_folder: Path) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario, plan = study.scenario, study.plan
    last = summaries.last_day(scenario, plan.days)
    return answer.page(
        (
            f"{rehearsals(study.years, plan.days, 'possible')} lived through on a computer with crews of many sizes, "
            f"from {short_date(scenario.room.start_date)} to {short_date(last)}"
        ),
        (
            _sign_ups(study, figure_folder),
            _gives(study, figure_folder),
            _one_less(study, figure_folder),
            _late(study, figure_folder),
            _how_sure(study),
            model_section(_ABOUT_PEOPLE),
        ),
        facts=[("possible years rehearsed in all", number(study.years))],
    )


def _sign_ups(study: CrewStudy, folder: Path) -> Section:
    alone = any(people <= 1 for each in study.seasons for people in each.sign_up)
    dangers = (*(("alone",) if alone else ()), "lifting", "hot room")
    return Section(
        "sign-ups",
        "How many, when",
        (
            picture(
                figures_crew.sign_ups(study),
                folder,
                "sign-ups",
                "Large: volunteers to sign up for each shift, week by week of that month, besides the lead. Small: how "
                "many more (+) or fewer (-) than are signed up today.",
            ),
            Grid(crew_tables.sign_ups(study)),
            picture(
                figures_crew.by_month(study),
                folder,
                "by-month",
                "Hatched: volunteers to sign up in a week of each month, all shifts together. Filled: how many of them "
                "may be expected to come. Red line: signed up today.",
            ),
            Caution(cautions.beside(dangers, study.scenario.room.region)),
            Text(
                f"{CHANGE_FILE}, beside this page, is a CHANGE file with this sign-up. What it changes all round, "
                "`growsim compare` says:"
            ),
            Command(f"growsim compare ROOM {CHANGE_FILE}"),
            Text("To have it in your room, as a new one:"),
            Command(f"growsim keep ROOM {CHANGE_FILE}"),
        ),
    )


def _gives(study: CrewStudy, folder: Path) -> Section:
    blocks: list[Block] = [
        picture(
            figures_crew.frontier(study),
            folder,
            "frontier",
            "Each point is a crew kept up all year, from the smallest to as many as fit into the room. Where the line "
            "is flat, more hands bring nothing more. Averages; beneath the goal line the goal is missed.",
            crew_tables.crews(study),
        ),
        Grid(crew_tables.goals(study)),
    ]
    return Section("gives", "What that gives, and what more or fewer would", tuple(blocks))


def _one_less(study: CrewStudy, folder: Path) -> Section:
    if not study.one_less:
        return Section("one-less", "One person less", (Text("No shift has a person to take away."),))
    return Section(
        "one-less",
        "One person less",
        (
            picture(
                figures_crew.one_less(study),
                folder,
                "one-less",
                "What changes when one person less is signed up for that shift all year round, the others as in the "
                "answer. Mark: average difference; line: its range. Left of zero: worse.",
            ),
            Grid(crew_tables.one_less(study)),
        ),
    )


def _late(study: CrewStudy, folder: Path) -> Section:
    return Section(
        "late",
        "What is late first",
        (
            picture(
                figures_crew.late_tasks(study),
                folder,
                "late-tasks",
                "Of each task's jobs, how many are late with crews of every size. Work is taken up by the priorities "
                "of the room file, so what stands last there is late first; give it a lower number there if it "
                "should not be.",
                crew_tables.late(study),
            ),
        ),
    )


def _how_sure(study: CrewStudy) -> Section:
    points = number(100 * study.zone, 1).removesuffix(".0")
    wider = max((each.zone_reached for each in study.seasons), default=study.zone)
    tried = sum(each.tried for each in study.seasons)
    fresh = study.outcomes
    said = [
        f"The goals were tested in {rehearsals(len(fresh), study.plan.days)} that the search had not seen "
        f"(replications {fresh[0].replication} to {fresh[-1].replication}): a crew that in truth misses "
        "a goal would pass with a chance of at most 5%, for all goals and months together.",
        f"The search rehearsed {counted(tried, 'sign-up')} by season in {number(study.years_searched)} years, more "
        "where the choice was close, all under the same luck. A smaller sign-up among those tried that clears "
        f"every goal by {points} points is passed over with a chance of at most 5%.",
        _what_was_tried(study),
    ]
    if wider > study.zone + 1e-9:
        said.append(
            f"Where a year varies most, so close a call would take too many years; there the {points} points become "
            f"{number(100 * wider, 1)}."
        )
    said += [
        f"No fewer than {counted(study.at_least, 'person', 'people')} on a shift was looked at.",
        "It rests on more hands never doing harm: what is smaller than a sign-up found wanting was not rehearsed.",
        "Hours of work by shift on paper, from which the search began: "
        + listed(
            [
                f"{shift.name} {number(hours, 1)} h"
                for shift, hours in zip(study.scenario.crew.shifts, study.hours_on_paper, strict=True)
            ]
        )
        + ".",
        "Methods: fully sequential selection with an indifference zone (Kim and Nelson, ACM TOMACS 11(3), 2001) in the "
        "form that checks goals (Andradóttir and Kim, Naval Research Logistics 57, 2010); for the proof t-tests at "
        "several looks (Bonferroni), corrected for skewed years (Hall, J. R. Statist. Soc. B 54, 1992); paired "
        "differences with Bonferroni's ranges (NIST/SEMATECH e-Handbook, 7.4.7.3).",
    ]
    return Section("how-sure", "How sure this is", (Bullets(tuple(said)),))


def _what_was_tried(study: CrewStudy) -> str:
    ways = {each.refused for each in study.seasons}
    if ways == {"all"}:
        return "Every sign-up of one place fewer was tried and found wanting, so no smaller one is enough."
    if "some" in ways:
        return "The search stopped at its limit while sign-ups of a place fewer were still found to be enough."
    return (
        "Of the sign-ups of one place fewer, those that looked likeliest by all years rehearsed were tried and found "
        "wanting, not every one there is: a sign-up as good and a place smaller may have been missed."
    )
