"""Every sentence about the crew: how many people, when; what that gives; what one less costs; what is late first."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim.report import holds_back
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.words import counted, listed, number, percent, rehearsals, short_day, upper_first
from growsim.scenario.checks.closings import MANY_DAYS, closings
from growsim.study.crew.goals import ON_TIME, ORDERS
from growsim.study.rota import months_of_weeks, people_today
from growsim.study.to_try import PEOPLE
from growsim.study.trials import untried
from growsim.study.tried import Held
from growsim.vocabulary.days import MONTHS
from growsim.vocabulary.obstacles import parts_of
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    from growsim.scenario.people import Shift
    from growsim.study.crew.answer import CrewStudy, SeasonAnswer
    from growsim.study.crew.kept import SetAside, Why

KG = "kg_handed_out_per_week"
GOAL_NAMES = {ON_TIME: "of the tasks done in time", ORDERS: "of the ordered greens handed out"}
NEXT_TO_NONE = 0.1  # of the orders of a month
NOT_TRIED = "`growsim rehearse` tries what would bring more."
WHY_KEPT: dict[Why, str] = {
    "fewer orders": "would fill fewer orders",
    "not surely as many orders": "may fill fewer orders",
    "no more": "would bring no more for certain",
}
BRINGS = {ON_TIME: "do {share} of the tasks in time", ORDERS: "fill {share} of orders"}


def front(study: CrewStudy, held: Held | None = None) -> Front:
    """The page of the answer: how many people, what to do, the sign-up by month and shift, how sure this is.

    held: what holds the room back, and what was tried against it; told where people are not what is short.
    """
    said, why = headline(study), why_so_many(study)
    advice: tuple[str, ...] = (recruit(study),)
    if study.set_aside is not None:
        advice = (keep_today(study, study.set_aside),)
    if study.out_of_reach:
        days, held = study.plan.days, held or untried(study.outcomes_today, study.scenario)
        no_people = tuple(each for each in held.best if all(trial.kind != PEOPLE for trial in each.trials))
        held = dataclasses.replace(held, best=no_people)
        first = today_does(study) if study.set_aside is None else advice[0]
        said, advice = out_of_reach(study), (first, holds_back.tried_advice(held) or NOT_TRIED)
        others = tuple(
            cause for cause in held.causes if "people" not in {part.lift for part in parts_of(cause.held_up)}
        )
        why = holds_back.why(dataclasses.replace(held, causes=others), study.scenario, days)
        why = " ".join(part for part in (empty_months(study), why) if part)
    return Front(said, advice, sign_up_table(study), sure(study), why)


def headline(study: CrewStudy) -> str:
    """How many people a week, and what they bring."""
    totals = [sum(each.sign_up) for each in study.seasons]
    parts = []
    for key in (ON_TIME, ORDERS):
        if key in study.targets and key in study.estimates:
            parts.append(BRINGS[key].format(share=percent(study.estimates[key].mean)))
    orders = study.estimates.get(ORDERS)
    kept = f" ({known(orders.mean_low, orders.mean_high, 'to')})" if orders is not None else ""
    return f"{_people(min(totals), max(totals))} a week, plus the leads, {listed(parts)}{kept}."


def _people(low: int, high: int) -> str:
    return counted(low, "volunteer") if low == high else f"{number(low)} to {number(high)} volunteers"


def sign_up_table(study: CrewStudy) -> AnswerTable:
    """A row for the months that ask for the same people: how many are needed and signed up today, shift by shift too,
    and what the last of them are there for."""
    shifts = study.scenario.crew.shifts
    answer, now = "the answer", "the room as it is"
    rows = []
    for months, each in alike(study):
        total, low, high = sum(each[0].sign_up), min(s.low for s in each), max(s.high for s in each)
        cells = [
            Cell.ranged(float(total), low, high, number, "people"),
            _people_cell(_today(months, *shifts)),
            *(_of_shift(shift, people, months) for shift, people in zip(shifts, each[0].sign_up, strict=True)),
            Cell(_there_for(max(each, key=lambda season: season.last))),
        ]
        rows.append(Row(months_said(months), tuple(cells)))
    columns = (
        Column("needed", answer),
        Column("today", now),
        *(Column(shift.name, f"{answer}; in brackets {now}, where it differs") for shift in shifts),
        Column("the last are for", answer),
    )
    note = "Without the leads. In brackets: what nine answers in ten would say, had chance fallen otherwise."
    if len(counted_months(study)) < len(MONTHS):
        note += " Other months were not simulated."
    return AnswerTable("Volunteers to sign up each week", columns, tuple(rows), note, "months")


def _people_cell(people: float, more: str = "") -> Cell:
    return Cell(f"{number(people, 0 if people == round(people) else 1)}{more}", people, unit="people")


def _of_shift(shift: Shift, people: int, months: Sequence[int]) -> Cell:
    """ "4", or "4 (today 3)"."""
    today = _today(months, shift)
    if not any(shift.is_held(month) for month in months):
        return Cell("not held")
    return _people_cell(float(people), "" if today == people else f" (today {_people_cell(today).text})")


def _there_for(each: SeasonAnswer) -> str:
    """ "2 for washing trays"."""
    return f"{number(each.last)} for {TASKS[each.last_tasks[0][0]].doing}" if each.last and each.last_tasks else "–"


def alike(study: CrewStudy) -> list[tuple[tuple[int, ...], list[SeasonAnswer]]]:
    """Months that ask for the same people, shift by shift, with the seasons they are of."""
    found: dict[tuple[int, ...], list[SeasonAnswer]] = {}
    for each in study.seasons:
        found.setdefault(tuple(each.sign_up), []).append(each)
    parts = [(counted_in(study, *seasons), seasons) for seasons in found.values()]
    return [(months, seasons) for months, seasons in parts if months]


def counted_months(study: CrewStudy) -> frozenset[int]:
    """The months (0 for January) that were simulated."""
    return frozenset(months_of_weeks(study.scenario, study.plan.days))


def counted_in(study: CrewStudy, *seasons: SeasonAnswer) -> tuple[int, ...]:
    """Of the months of seasons those that were simulated."""
    counted = counted_months(study)
    return tuple(sorted(month for each in seasons for month in each.season.months if month in counted))


def _today(months: Sequence[int], *shifts: Shift) -> float:
    """Signed up today a week, on average over these months."""
    return sum(people_today(shift)[month] for shift in shifts for month in months) / len(months)


def months_said(months: Sequence[int]) -> str:
    """Months (0 for January) at the head of a row: "October to May", "June, September and December", "all year"."""
    if len(set(months)) == 12:
        return "all year"
    parts: list[str] = []
    for run in _runs(months):
        names = [MONTHS[month] for month in run]
        parts += names if len(names) < 3 else [f"{names[0]} to {names[-1]}"]
    return listed(parts)


def in_months(months: Sequence[int]) -> str:
    """Months as they stand in a sentence: "from October to May and in July", "in July and August", "all year"."""
    if len(set(months)) == 12:
        return "all year"
    runs = _runs(months)
    long = [f"from {MONTHS[run[0]]} to {MONTHS[run[-1]]}" for run in runs if len(run) > 2]
    short = [MONTHS[month] for run in runs if len(run) <= 2 for month in run]
    return listed([*long, *([f"in {listed(short)}"] if short else [])])


def _runs(months: Sequence[int]) -> list[list[int]]:
    """Months in runs of neighbors, December next to January."""
    runs: list[list[int]] = []
    for month in sorted(set(months)):
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 0 and runs[-1][-1] == 11:
        runs[0] = runs.pop() + runs[0]
    return runs


def known(low: float | None, high: float | None, joined: str = "") -> str:
    """The range of an average that is a share: "average between 84% and 85%", or "84% to 85%"."""
    if low is None or high is None:
        return "range unknown"
    for decimals in (0, 1):
        one, other = percent(low, decimals), percent(high, decimals)
        if one != other:
            return f"{one} {joined} {other}" if joined else f"average between {one} and {other}"
    return "average known to 0.1%"


def sure(study: CrewStudy) -> str:
    """What may be said with 95 % confidence of the year."""
    hangs = any(target.below_ample is not None for target in study.targets.values())
    what = (
        f"this sign-up comes within {_points(study.margin)} in 100 of what as many people as fit bring"
        if hangs
        else ("the goals of the year are met")
    )
    if study.end == "proven":
        return f"With 95% confidence {what}, in {rehearsals(len(study.outcomes), study.plan.days)} new to the search."
    if study.end == "as ample":
        return "Chance is too large to promise the goals; as many people as fit into the room would do no better."
    if study.set_aside is not None:
        return f"No sign-up that was tried is better all round. That {what} could not be confirmed."
    return f"That {what} could not be confirmed, though people were added: ask for more years."


def _points(share: float) -> str:
    return number(100 * share, 1).removesuffix(".0")


def out_of_reach(study: CrewStudy) -> str:
    """That no number of people brings the goal, and what as many as fit bring."""
    reached = [
        f"{BRINGS[key].format(share=percent(study.ample[key].mean))}, short of the {percent(study.wanted[key])} wanted"
        for key in study.out_of_reach
    ]
    return f"More people alone do not bring it: as many as fit into the room {listed(reached)}."


def empty_months(study: CrewStudy) -> str:
    """The months in which as many people as fit fill next to no orders, and when the room is closed in them."""
    said = []
    for each in study.seasons:
        filled, months = each.with_ample.get(ORDERS, (1.0,))[0], counted_in(study, each)
        if filled > NEXT_TO_NONE or not months:
            continue
        shut = [spell for spell in closings(study.scenario) if (spell[1] - spell[0]).days >= MANY_DAYS]
        here = [f"{short_day(a)} to {short_day(b)}" for a, b in shut if {a.month - 1, b.month - 1} & {*months}]
        because = f": the room is closed from {listed(here)}" if here else ""
        said.append(f"{upper_first(in_months(months))} even they fill {percent(filled)} of orders{because}.")
    return " ".join(said)


def today_does(study: CrewStudy) -> str:
    """What to sign up, and what that brings, beside today's."""
    brings = [
        f"{BRINGS[key].format(share=percent(study.estimates[key].mean))} (today's {percent(study.today[key].mean)})"
        for key in study.targets
        if key in study.estimates and key in study.today
    ]
    return f"{recruit(study)} Those of the table {listed(brings)}."


def keep_today(study: CrewStudy, aside: SetAside) -> str:
    """Why today's sign-up is the answer: what the one found brings, and today's, in the same years."""
    key = ORDERS if ORDERS in aside.values else ON_TIME
    found, today = BRINGS[key].format(share=percent(aside.values[key])), percent(aside.today[key])
    return (
        f"Keep today's sign-up: {_people(aside.fewest, aside.most)} {WHY_KEPT[aside.why]}. In the same years they "
        f"{found}, those of today {today}."
    )


def hanging(study: CrewStudy) -> str:
    """Which goals luck leaves open, and what was asked for instead; "" where there are none."""
    said = []
    for key, target in study.targets.items():
        if target.below_ample is not None and not target.out_of_reach:
            said.append(
                f"Chance leaves open whether any number of people brings {percent(target.wanted)} {GOAL_NAMES[key]}. "
                f"As "
                f"many as fit into the room reach {percent(target.ample, 1)}. This crew lies no more than "
                f"{_points(target.below_ample)} in 100 below that."
            )
    return " ".join(said)


def recruit(study: CrewStudy) -> str:
    """What to sign up otherwise than today: most more, else most fewer; the table has the rest."""
    shifts = study.scenario.crew.shifts
    gaps = {months: round(sum(each[0].sign_up) - _today(months, *shifts)) for months, each in alike(study)}
    most, least = max(gaps, key=gaps.__getitem__), min(gaps, key=gaps.__getitem__)
    if gaps[most] > 0:
        return f"Sign up {number(gaps[most])} more than today {in_months(most)}."
    if gaps[least] < 0:
        return f"No month needs more than today; {number(-gaps[least])} fewer do {in_months(least)}."
    return "Sign up as many as today."


def _hardest_first(study: CrewStudy) -> list[SeasonAnswer]:
    return sorted(study.seasons, key=lambda each: -sum(each.sign_up) * each.hard)


def why_so_many(study: CrewStudy) -> str:
    """Why the hardest season asks for so many: its work and who comes; and what its last people are there for."""
    hardest = _hardest_first(study)[0]
    months = counted_in(study, hardest)
    when = "The work" if len(months) == len(counted_months(study)) else f"Work {in_months(months)}"
    hours = [outcome.weeks["crew_hours_needed"][week] for outcome in study.outcomes for week in hardest.season.weeks]
    work = f"takes {number(math.fsum(hours) / len(hours))} hours a week, and" if hours else "waits, and"
    said = f"{when} {work} {percent(hardest.chance)} of those signed up come."
    return " ".join([said, *last_people(study)[:1]])


def last_people(study: CrewStudy) -> list[str]:
    """For which tasks, on which shifts, the last people of each season are, the hardest to recruit for first."""
    said = []
    for each in _hardest_first(study):
        if each.last < 1:
            continue
        shifts = study.scenario.crew.shifts
        fewer = [shift.name for shift, people in zip(shifts, each.last_by_shift, strict=True) if people]
        who = "The last person" if each.last == 1 else f"The last {number(each.last)} people"
        on = f" ({listed(fewer)})" if 0 < len(fewer) < len(shifts) else ""
        them = "that one" if each.last == 1 else "them"
        when = in_months(counted_in(study, each))
        if not each.last_tasks:
            said.append(f"{upper_first(when)} no task is clearly later without {who.lower()}.")
            continue
        task, now, without = each.last_tasks[0]
        said.append(
            f"{who} {when}{on} {'is' if each.last == 1 else 'are'} there for {TASKS[task].doing}: without {them} "
            f"{percent(without)} of it is late, not {percent(now)}."
        )
    return said
