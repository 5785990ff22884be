"""Every sentence about the crew: how many people, when; what that gives; what one less costs; what is late first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim import units
from growsim.report import holds_back
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.words import amount, counted, listed, mass_cell, number, percent, rehearsals
from growsim.study.causes import causes_of
from growsim.study.crew.goals import GOAL_KEYS, ON_TIME, ORDERS
from growsim.study.crew.late import CLEARLY_MORE
from growsim.study.rota import people_today
from growsim.study.trials import Held
from growsim.vocabulary.days import MONTHS, SHORT_MONTHS
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    from growsim.run.intervals import Difference
    from growsim.study.crew.answer import CrewStudy, OneLess, SeasonAnswer
    from growsim.study.crew.kept import SetAside, Why

KG = "kg_handed_out_per_week"
GOAL_NAMES = {ON_TIME: "of the tasks done in time", ORDERS: "of the ordered greens handed out"}
NOT_TRIED = "`growsim rehearse` tries what would bring more."
WHY_KEPT: dict[Why, str] = {
    "fewer orders": "would fill fewer orders",
    "not surely as many orders": "may fill fewer orders",
    "no more": "would bring no more than chance",
}
BRINGS = {ON_TIME: "do {share} of the tasks in time", ORDERS: "fill {share} of the orders"}


def front(study: CrewStudy, held: Held | None = None) -> Front:
    """The page of the answer: how many people, what to do, the sign-up by month and shift, how sure this is.

    held: what holds the room back, and what was tried against it; told where people are not what is short.
    """
    said, advice, why = headline(study), (recruit(study), *last_people(study)[:1]), ""
    if study.set_aside is not None:
        advice = (keep_today(study, study.set_aside),)
    if study.out_of_reach:
        days, held = study.plan.days, held or Held(causes_of(study.outcomes_today, study.scenario))
        first = today_does(study) if study.set_aside is None else advice[0]
        said, advice = out_of_reach(study), (first, holds_back.tried_advice(held, days) or NOT_TRIED)
        why = holds_back.first_cause(held, study.scenario, days)
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
    return f"{_people(min(totals), max(totals))} a week besides the leads {listed(parts)}{kept}."


def _people(low: int, high: int) -> str:
    return counted(low, "volunteer") if low == high else f"{number(low)} to {number(high)} volunteers"


def sign_up_table(study: CrewStudy) -> AnswerTable:
    """A row for the months that ask for the same people, a column a shift; beside them all shifts, and today's."""
    shifts = study.scenario.crew.shifts
    answer, now = "the answer", "the room as it is"
    rows = []
    for months, each in alike(study):
        cells = []
        for place, shift in enumerate(shifts):
            held = any(shift.is_held(month) for month in months)
            people = each[0].sign_up[place]
            cells.append(Cell(number(people), float(people), unit="people") if held else Cell("not held"))
        total, low, high = sum(each[0].sign_up), min(s.low for s in each), max(s.high for s in each)
        luck = f" ({low} to {high})" if low < high else ""
        cells.append(Cell(f"{total}{luck}", float(total), float(low), float(high), "people"))
        today = _today(study, months)
        cells.append(Cell(number(today, 0 if today == round(today) else 1), today, unit="people"))
        rows.append(Row(months_said(months), tuple(cells)))
    columns = (*(Column(shift.name, answer) for shift in shifts), Column("all shifts", answer), Column("today", now))
    note = "Besides the leads. In brackets: what nine answers in ten would say with other luck."
    return AnswerTable("Volunteers to sign up each week", columns, tuple(rows), note, "months")


def alike(study: CrewStudy) -> list[tuple[tuple[int, ...], list[SeasonAnswer]]]:
    """Months that ask for the same people, shift by shift, with the seasons they are of."""
    found: dict[tuple[int, ...], list[SeasonAnswer]] = {}
    for each in study.seasons:
        found.setdefault(tuple(each.sign_up), []).append(each)
    return [(tuple(sorted(m for each in seasons for m in each.season.months)), seasons) for seasons in found.values()]


def _today(study: CrewStudy, months: Sequence[int]) -> float:
    people = [people_today(shift)[month] for shift in study.scenario.crew.shifts for month in months]
    return sum(people) / len(months)


def months_said(months: Sequence[int]) -> str:
    """Months (0 for January) at the head of a row: "Oct to May", "Jun, Sep and Dec", "all year"."""
    if len(set(months)) == 12:
        return "all year"
    parts: list[str] = []
    for run in _runs(months):
        names = [SHORT_MONTHS[month] for month in run]
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


def in_season(each: SeasonAnswer) -> str:
    """The months of a season as they stand in a sentence."""
    return in_months(each.season.months)


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


def gives(study: CrewStudy) -> str:
    """Tasks on time and orders with that crew, beside today's."""
    parts = []
    for key in GOAL_KEYS:
        if key in study.estimates:
            each = study.estimates[key]
            now = f"; today {percent(study.today[key].mean)}" if key in study.today else ""
            parts.append(f"{percent(each.mean)} {GOAL_NAMES[key]} ({known(each.mean_low, each.mean_high)}{now})")
    years = rehearsals(len(study.outcomes), study.plan.days)
    return f"Over {years} the search had not seen: {listed(parts)}."


def known(low: float | None, high: float | None, joined: str = "") -> str:
    """The range of an average that is a share: "average between 84% and 85%", or "84% to 85%"."""
    if low is None or high is None:
        return "range unknown"
    for decimals in (0, 1):
        one, other = percent(low, decimals), percent(high, decimals)
        if one != other:
            return f"{one} {joined} {other}" if joined else f"average between {one} and {other}"
    return "average known to 0.1 points"


def sure(study: CrewStudy) -> str:
    """What may be said with 95 % confidence of the year."""
    hangs = any(target.below_ample is not None for target in study.targets.values())
    what = (
        f"the year lies no more than {_points(study.margin)} points below as many people as fit"
        if hangs
        else ("the goals of the year are met")
    )
    if study.end == "proven":
        return f"With 95% confidence {what}, over {rehearsals(len(study.outcomes), study.plan.days)}."
    if study.end == "as ample":
        return "Luck is too large to promise the goals, and as many people as fit into the room would do no better."
    if study.set_aside is not None:
        return f"That {what} could not be proven, and no sign-up that was tried is better all round."
    return f"That {what} could not be proven, though people were added; ask for more replications."


def _points(share: float) -> str:
    return number(100 * share, 1).removesuffix(".0")


def out_of_reach(study: CrewStudy) -> str:
    """That no number of people brings the goal, and what as many as fit bring."""
    reached = [
        f"{percent(study.ample[key].mean)} {GOAL_NAMES[key]}, not {percent(study.wanted[key])}"
        for key in study.out_of_reach
    ]
    return f"People are not what is short: as many as fit into the room bring {listed(reached)}."


def today_does(study: CrewStudy) -> str:
    """What the sign-up of the table brings, beside today's."""
    pairs = [
        (f"{percent(study.estimates[key].mean)} {GOAL_NAMES[key]}", percent(study.today[key].mean))
        for key in study.targets
        if key in study.estimates and key in study.today
    ]
    brings = "; ".join(f"{found} (today's sign-up {now})" for found, now in pairs)
    return f"The sign-up below comes within {_points(study.margin)} points of that: {brings}."


def keep_today(study: CrewStudy, aside: SetAside) -> str:
    """Why today's sign-up is the answer: what the one found brings, and today's, in the same years."""
    found, today = (
        listed([BRINGS[key].format(share=percent(values[key])) for key in GOAL_KEYS if key in values])
        for values in (aside.values, aside.today)
    )
    return (
        f"Keep today's sign-up: {_people(aside.fewest, aside.most)} {WHY_KEPT[aside.why]}. In the same "
        f"{rehearsals(aside.years, study.plan.days)} they {found}; those of today {today}."
    )


def hanging(study: CrewStudy) -> str:
    """Which goals luck leaves open, and what was asked for instead; "" where there are none."""
    said = []
    for key, target in study.targets.items():
        if target.below_ample is not None and not target.out_of_reach:
            said.append(
                f"Luck leaves open whether any number of people brings {percent(target.wanted)} {GOAL_NAMES[key]}. As "
                f"many as fit into the room reach {percent(target.ample, 1)}. This crew lies no more than "
                f"{_points(target.below_ample)} points below that."
            )
    return " ".join(said)


def recruit(study: CrewStudy) -> str:
    """Against today's sign-ups, by season."""
    return f"Against today that is {from_today(study)}."


def from_today(study: CrewStudy) -> str:
    """More or fewer than today's sign-ups, by season; all shifts together."""
    turns: dict[str, list[int]] = {}
    for each in study.seasons:
        months = each.season.months
        gap = round(sum(each.sign_up) - _today(study, months))
        turn = "as many" if gap == 0 else f"{abs(gap)} {'more' if gap > 0 else 'fewer'}"
        turns.setdefault(turn, []).extend(months)
    return "; ".join(f"{turn} {in_months(months)}" for turn, months in turns.items())


def last_people(study: CrewStudy) -> list[str]:
    """For which tasks the last people of each season are, the hardest season to recruit for first."""
    said = []
    for each in sorted(study.seasons, key=lambda each: -sum(each.sign_up) * each.hard):
        if each.last < 1:
            continue
        who = "The last person" if each.last == 1 else f"The last {number(each.last)} people"
        does, them = ("is", "that one") if each.last == 1 else ("are", "them")
        if not each.last_tasks:
            said.append(f"{_upper(in_season(each))} no task is clearly later without {who.lower()}.")
            continue
        told = each.last_tasks[:2]
        tasks = listed([TASKS[task].doing for task, _, _ in told])
        with_all, without = listed([percent(now) for _, now, _ in told]), listed([percent(less) for _, _, less in told])
        said.append(
            f"{who} {in_season(each)} {does} there for {tasks}. "
            f"Without {them}, {without} of that is late, not {with_all}."
        )
    return said


def one_less(study: CrewStudy) -> str:
    """What one person less costs, the dearest day first."""
    rows = [less for less in study.one_less if KG in less.differences]
    if not rows:
        return "No shift has a person to take away."
    ranked = sorted(rows, key=_cost)
    said = f"All year round it costs most on {ranked[0].shift}: {_costs(ranked[0], study)}"
    if len(ranked) > 1:
        said += f". It costs least on {ranked[-1].shift}: {_costs(ranked[-1], study)}"
    return f"{said}."


def _cost(less: OneLess) -> float:
    """Goals only: points of tasks in time and of orders together."""
    return math.fsum(less.differences[key].mean for key in GOAL_KEYS if key in less.differences)


def _costs(less: OneLess, study: CrewStudy) -> str:
    if all(found.low == found.high == 0.0 for found in less.differences.values()):
        return "nothing at all"
    if all(_hidden(key, edge) for key, found in less.differences.items() for edge in (found.low, found.high)):
        return "nothing that would show"
    parts = [_lost(key, less.differences[key], study) for key in (KG, ON_TIME, ORDERS) if key in less.differences]
    return listed(parts)


def _hidden(key: str, edge: float | None) -> bool:
    """Whether it is zero as it would be written: kilograms to two decimals, points to one."""
    return edge is not None and abs(edge) < (0.005 if key == KG else 0.0005)


def _lost(key: str, found: Difference, study: CrewStudy) -> str:
    """ "0.4 kg of greens a week (range 0.20 to 0.60 kg)"."""
    names = {KG: "of greens a week", ON_TIME: "of the tasks in time", ORDERS: "of the orders"}
    said = f"{amount(key, abs(found.mean), study.scenario.prices.currency)} {names[key]}"
    said += " gained" if found.mean > 0 else ""
    if found.low is None or found.high is None:
        return said
    worst, best = -found.low, -found.high
    if best > 0 or worst < 0:
        low, high = sorted((abs(worst), abs(best)))
        return f"{said} (range {_ends(key, low, high)})"
    return f"{said} (not certain: from {_ends(key, worst)} lost to {_ends(key, -best)} gained)"


def _ends(key: str, *ends: float) -> str:
    """ "0.20 to 0.60 kg"; "0.20 kg"; points of a share without their unit: "1.2 to 3.4"."""
    if key != KG:
        return " to ".join(number(100.0 * end, 1) for end in ends)
    return f"{' to '.join(mass_cell(end, 2) for end in ends)} {units.unit('kg')}"


def late_first(study: CrewStudy) -> str:
    """The task whose late share rises first as the crew shrinks, and how late it is with the answer."""
    first = study.late_first
    if first.task is None or first.rung is None or first.share is None:
        return (
            "No kind of work is clearly late more often with the smallest crew tried than with as many people as fit."
        )
    task = TASKS[first.task].doing
    hours = number(study.rungs[first.rung].hours)
    said = (
        f"As the crew shrinks, {task} is late first: with as many people as fit "
        f"{percent(first.share_with_ample or 0.0)} of it is late, with {hours} volunteer hours a week "
        f"{percent(first.share)}."
    )
    answer = study.answer_rung
    now, on_time = answer.late.get(first.task), answer.on_time
    if not now:
        return said
    said += f" With the sign-up above ({number(answer.hours)} hours) {percent(now)} of it is late"
    if on_time is None or now - (1.0 - on_time) < CLEARLY_MORE:
        return f"{said}."
    return f"{said}, which the {percent(on_time)} of all tasks that are done in time do not show."


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
