"""The page about the crew: which figure, table and caution stands where, and what is said beside it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions, holds_back, summaries
from growsim.report.crew import figures as figures_crew
from growsim.report.crew import tables as crew_tables
from growsim.report.crew import words as crew_words
from growsim.report.frame import Answer, model_section, picture
from growsim.report.page import Block, Bullets, Caution, Command, Grid, Page, Section, Text
from growsim.report.words import counted, listed, number, rehearsals, short_date
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.study.crew.answer import CrewStudy
    from growsim.study.trials import Held

CHANGE_FILE = BY_NAME["crew"].change_file
_ABOUT_PEOPLE = (
    "Every sign-up is a place with its own luck: whoever fills it comes or stays away week by week, with the month's "
    "chance and a leaning of their own; learns with every shift; and one day leaves the place to a beginner. The luck "
    "of a place does not change when others are added or taken away, so crews are compared under the same luck. A "
    "place that is filled in some months only is reckoned as filled by somebody who knows the work: allow for teaching "
    "those who join for the summer."
)


def compose(study: CrewStudy, answer: Answer, figure_folder: Path, held: Held | None = None) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario, plan = study.scenario, study.plan
    last = summaries.last_day(scenario, plan.days)
    return answer.page(
        (
            f"{rehearsals(study.years, plan.days, 'possible')} lived through on a computer with crews of many sizes, "
            f"from {short_date(scenario.room.start_date)} to {short_date(last)}"
        ),
        (
            _sign_ups(study),
            *([] if held is None else [holds_back.section(held, study.scenario, study.plan.days)]),
            _gives(study, figure_folder),
            _one_less(study, figure_folder),
            _late(study, figure_folder),
            _how_sure(study),
            model_section(_ABOUT_PEOPLE),
        ),
        shows=picture(
            lambda: figures_crew.by_month(study),
            figure_folder,
            "by-month",
            "Hatched: volunteers to sign up in a week of each month, all shifts together. Filled: how many of them "
            "may be expected to come. Thick line: signed up today.",
        ),
        facts=[("possible years rehearsed in all", number(study.years))],
    )


def _sign_ups(study: CrewStudy) -> Section:
    alone = any(people <= 1 for each in study.seasons for people in each.sign_up)
    dangers = (*(("alone",) if alone else ()), "lifting", "hot room")
    return Section(
        "sign-ups",
        "How many, when",
        (
            Text(crew_words.recruit(study)),
            *([] if study.set_aside is None else [Text(crew_words.keep_today(study, study.set_aside))]),
            *([Bullets(tuple(last))] if (last := crew_words.last_people(study)) else []),
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
            lambda: figures_crew.frontier(study),
            folder,
            "frontier",
            "Each point is a crew kept up all year, from the smallest to as many as fit into the room. Where the line "
            "is flat, more people bring nothing more. Averages; beneath the goal line the goal is missed.",
            crew_tables.crews(study),
        ),
        Text(crew_words.gives(study)),
        *([Text(left_open)] if (left_open := crew_words.hanging(study)) else []),
        Grid(crew_tables.goals(study)),
        Grid(crew_tables.seasons(study)),
    ]
    return Section("gives", "What that gives, and what more or fewer would", tuple(blocks))


def _one_less(study: CrewStudy, folder: Path) -> Section:
    if not study.one_less:
        return Section("one-less", "One person less", (Text("No shift has a person to take away."),))
    return Section(
        "one-less",
        "One person less",
        (
            Text(crew_words.one_less(study)),
            picture(
                lambda: figures_crew.one_less(study),
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
            Text(crew_words.late_first(study)),
            picture(
                lambda: figures_crew.late_tasks(study),
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
    fresh = study.outcomes
    said = (
        f"The goals were tested in {rehearsals(len(fresh), study.plan.days)} that the search had not seen "
        f"(replications {fresh[0].replication} to {fresh[-1].replication}). A crew that in truth misses a goal of the "
        "year would pass with a chance of at most 5%.",
        f"The search took {number(study.years_searched)} years, all crews under the same luck, more years near the "
        f"answer. It aims {number(100 * study.aim, 1)} points above the goals, so that luck seldom fails the proof.",
        "Of crews that are enough, the easiest to find is taken: first by its hardest months (people times the effort "
        "to find one), then by all months together. In between, people follow the month's work and how many come.",
        f"No season may fill fewer orders than {number(100 * study.margin, 1)} points below what is asked of the year, "
        "or of what is possible in it. Work that may wait is judged over the whole year.",
        "The range behind a number of people: the years of the search drawn again 200 times, 9 in 10 answers in it. A "
        "person on the next shift, or in the next month, may do as well.",
        f"No fewer than {counted(study.at_least, 'person', 'people')} on a shift was looked at.",
        "It rests on more people never doing harm. So today's sign-up is a candidate: it is kept where what was found "
        "is no easier to recruit and does no more for certain, fills fewer orders than today's, or, where the goal for "
        "orders is out of reach, may do so.",
        "Hours of work by shift on paper, by which people are spread over the shifts: "
        + listed(
            [
                f"{shift.name} {number(hours, 1)} h"
                for shift, hours in zip(study.scenario.crew.shifts, study.hours_on_paper, strict=True)
            ]
        )
        + ".",
        "Methods: isotonic least squares (Barlow and others, 1972); bootstrap (Efron, Annals of Statistics 7, 1979); "
        "for the proof t-tests at several looks (Bonferroni), corrected for skewed years (Hall, J. R. Statist. Soc. B "
        "54, 1992); paired differences with Bonferroni's ranges (NIST/SEMATECH e-Handbook, 7.4.7.3).",
    )
    return Section("how-sure", "How sure this is", (Bullets(said),))
