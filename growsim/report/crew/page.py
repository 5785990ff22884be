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
from growsim.report.words import counted, number, rehearsals, short_date
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.study.crew.answer import CrewStudy
    from growsim.study.tried import Held

CHANGE_FILE = BY_NAME["crew"].change_file
_ABOUT_PEOPLE = (
    "Each sign-up is a place. Whoever fills it comes or stays away by chance, learns with every shift, and one day "
    "leaves it to a new volunteer. Crews are compared with the same people coming. A place that is filled in some "
    "months only is taken as filled by somebody who knows the work."
)


def compose(study: CrewStudy, answer: Answer, figure_folder: Path, held: Held | None = None) -> Page:
    """Draw every figure into `figure_folder` and put the page together."""
    scenario, plan = study.scenario, study.plan
    last = summaries.last_day(scenario, plan.days)
    return answer.page(
        f"Crews of many sizes, from {short_date(scenario.room.start_date)} to {short_date(last)}",
        (
            _sign_ups(study),
            *([] if held is None else [holds_back.section(held, study.scenario, study.plan.days)]),
            _gives(study, figure_folder),
            _one_less(study, figure_folder),
            _late(study),
            _how_sure(study),
            model_section(_ABOUT_PEOPLE),
        ),
        shows=picture(
            lambda: figures_crew.by_month(study),
            figure_folder,
            "by-month",
            "Hatched: volunteers to sign up in a week of each month, all shifts together. Filled: how many of them "
            "may be expected to come. Dashed line: signed up today.",
        ),
        facts=[("years rehearsed in all", number(study.years))],
    )


def _sign_ups(study: CrewStudy) -> Section:
    alone = any(people <= 1 for each in study.seasons for people in each.sign_up)
    dangers = (*(("alone",) if alone else ()), "lifting", "hot room")
    return Section(
        "sign-ups",
        "How many, when",
        (
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


def _late(study: CrewStudy) -> Section:
    said = "Work is taken up by the priorities of the room file: what stands last there is late first."
    return Section("late", "What is late first", (Text(said), Grid(crew_tables.late(study))))


def _how_sure(study: CrewStudy) -> Section:
    fresh = study.outcomes
    said = (
        f"The answer was confirmed in {rehearsals(len(fresh), study.plan.days)} that the search had not seen "
        f"(replications {fresh[0].replication} to {fresh[-1].replication}). A crew that in truth misses a goal would "
        "pass with a chance of at most 5%.",
        f"The search took {number(study.years_searched)} years and aims {number(100 * study.aim, 1)} in 100 above the "
        "goals.",
        "Of crews that are enough, the easiest to find is taken: in its hardest months first, then in all months.",
        f"No season may fill fewer orders than {number(100 * study.margin, 1)} in 100 below what is asked of the year.",
        "The range behind a number of people holds 9 in 10 answers, from the years of the search drawn again 200 times "
        "(bootstrap). A person on the next shift may do as well.",
        f"No fewer than {counted(study.at_least, 'person', 'people')} on a shift was looked at. Today's sign-up is "
        f"kept "
        "where nothing easier surely fills as many orders.",
    )
    return Section("how-sure", "How sure this is", (Bullets(said),))
