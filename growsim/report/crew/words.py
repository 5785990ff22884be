"""Every sentence about the crew: how many people, when; what that gives; what one less costs; what is late first."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.words import amount, listed, mass_cell, number, percent, rehearsals
from growsim.study.crew.goals import GOAL_KEYS, ON_TIME, ORDERS
from growsim.study.crew.late import CLEARLY_MORE
from growsim.study.rota import people_today
from growsim.vocabulary.days import MONTHS, SHORT_MONTHS
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    from growsim.run.intervals import Difference
    from growsim.scenario.people import Shift
    from growsim.study.crew.answer import CrewStudy, OneLess, SeasonAnswer
    from growsim.study.crew.goals import Target

KG = "kg_handed_out_per_week"
GOAL_NAMES = {ON_TIME: "of the tasks done in time", ORDERS: "of the ordered greens handed out"}


def answer(study: CrewStudy) -> list[tuple[str, str]]:
    """(head, sentence): what the report opens with."""
    said = [("People", people(study)), ("What that gives", gives(study))]
    reach = out_of_reach(study)
    said += [("What hands cannot repair", reach)] if reach else []
    said.append(("Whom to look for", recruit(study)))
    said.append(("One person less", one_less(study)))
    said.append(("Late first", late_first(study)))
    return said


def months_said(months: Sequence[int]) -> str:
    """Months (0 for January) at the head of a column: "Oct to May", "Jun, Sep and Dec", "all year"."""
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


def people(study: CrewStudy) -> str:
    """How many volunteers a week: in all by season, then by shift."""
    alike: dict[tuple[int, ...], list[int]] = {}
    for each in study.seasons:
        alike.setdefault(tuple(each.sign_up), []).extend(each.season.months)
    totals = [f"{number(sum(sign_up))} {in_months(months)}" for sign_up, months in alike.items()]
    order = ", in the same order of months" if len(totals) > 1 else ""
    shifts = [
        f"{shift.name} {', '.join(_of_shift(shift, sign_up[i], months) for sign_up, months in alike.items())}"
        for i, shift in enumerate(study.scenario.crew.shifts)
    ]
    return (
        f"Volunteers to sign up each week, besides the leads: {'; '.join(totals)}. By shift{order}: "
        f"{'; '.join(shifts)}. That is the smallest sign-up found to be enough, no-shows and beginners reckoned in."
    )


def _of_shift(shift: Shift, people: int, months: Sequence[int]) -> str:
    return number(people) if any(shift.is_held(month) for month in months) else "not held"


def gives(study: CrewStudy) -> str:
    """Tasks on time and orders with that crew, beside today's; whether the goals are met for certain."""
    found = study.estimates
    parts = []
    for key in GOAL_KEYS:
        if key in found:
            each = found[key]
            range_said = known(each.mean_low, each.mean_high)
            now = f"; today {percent(study.today[key].mean)}" if key in study.today else ""
            parts.append(f"{percent(each.mean)} {GOAL_NAMES[key]} ({range_said}{now})")
    years = rehearsals(len(study.outcomes), study.plan.days)
    return f"With them, over {years} the search had not seen: {listed(parts)}. {certainty(study)}"


def known(low: float | None, high: float | None) -> str:
    """The range of an average that is a share."""
    if low is None or high is None:
        return "range unknown"
    for decimals in (0, 1):
        one, other = percent(low, decimals), percent(high, decimals)
        if one != other:
            return f"average between {one} and {other}"
    return "average known to 0.1 points"


def certainty(study: CrewStudy) -> str:
    """What may be said with 95 % confidence, season by season."""
    short = [each for each in study.seasons if each.end == "short"]
    luck = [each for each in study.seasons if each.end == "as ample"]
    seasons = "in every season" if len(study.seasons) > 1 else "all year"
    what = "the goals are" if not any(t.below_ample is not None for t in targets(study)) else "what is asked for is"
    said = []
    if not short and not luck:
        return f"With 95% confidence {what} met {seasons}."
    fine = [each for each in study.seasons if each.end == "proven"]
    if fine:
        said.append(f"With 95% confidence {what} met {'; '.join(in_season(each) for each in fine)}")
    if luck:
        said.append(
            f"{_upper(listed([in_season(each) for each in luck]))} luck is too large for that promise, and ample hands "
            "would do no better"
        )
    if short:
        said.append(
            f"{_upper(listed([in_season(each) for each in short]))} it could not be proven, though people were added; "
            "ask for more replications"
        )
    return ". ".join(said) + "."


def targets(study: CrewStudy) -> list[Target]:
    """Every target of every season."""
    return [target for each in study.seasons for target in each.targets.values()]


def out_of_reach(study: CrewStudy) -> str:
    """Which goals no crew reaches, and what was asked for instead; "" where all were asked for as they stand."""
    sentences = []
    for key in GOAL_KEYS:
        hang = [each for each in study.seasons if key in each.targets and each.targets[key].below_ample is not None]
        if not hang:
            continue
        goal, margin = percent(study.wanted[key]), number(100 * study.margin, 1).removesuffix(".0")
        where = "" if len(hang) == len(study.seasons) else f" {listed([in_season(each) for each in hang])}"
        never = [each for each in hang if each.targets[key].out_of_reach]
        ample = study.ample[key]
        reached = f"{percent(ample.mean)} over the year ({known(ample.mean_low, ample.mean_high)})"
        if len(never) == len(hang):
            sentences.append(
                f"No number of hands brings {goal} {GOAL_NAMES[key]}{where}: even with as many people as fit into the "
                f"room it is {reached}. Something else is short ({_look_elsewhere(key)}). The crew asked for here "
                f"is one with which, on average, the year lies no more than {margin} points below that"
            )
        else:
            sentences.append(
                f"Luck leaves open whether any number of hands brings {goal} {GOAL_NAMES[key]}{where}: with as many "
                f"people as fit into the room it is {reached}. So the crew asked for is one with which the year lies "
                f"no more than {margin} points below that"
            )
    return ". ".join(sentences) + "." if sentences else ""


def _look_elsewhere(key: str) -> str:
    if key == ORDERS:
        return "slots, the sowing plan, harvest days or machines: `growsim rehearse` says which"
    return "leads, or shifts on the right days: `growsim rehearse` says more"


def recruit(study: CrewStudy) -> str:
    """Extra sign-ups in the months in which fewer come, and against today's."""
    easy = min(study.seasons, key=lambda each: sum(each.sign_up))
    hard = max(study.seasons, key=lambda each: sum(each.sign_up))
    sentences = []
    if sum(hard.sign_up) > sum(easy.sign_up):
        why = ""
        if hard.chance < easy.chance - 0.005:
            come = f"of 100 who sign up {number(100 * hard.chance)} come, not {number(100 * easy.chance)}"
            why = f": {come}"
        more = sum(hard.sign_up) - sum(easy.sign_up)
        sentences.append(f"{_upper(in_season(hard))} it takes {more} more than {in_season(easy)}{why}")
    sentences.append(f"Against today's sign-ups: {from_today(study)}")
    return ". ".join(sentences) + "."


def from_today(study: CrewStudy) -> str:
    """More or fewer than today's sign-ups, by season; all shifts together."""
    turns: dict[str, list[int]] = {}
    for each in study.seasons:
        months = each.season.months
        today = sum(people_today(shift)[month] for shift in study.scenario.crew.shifts for month in months)
        gap = round(sum(each.sign_up) - today / len(months))
        turn = "as many" if gap == 0 else f"{abs(gap)} {'more' if gap > 0 else 'fewer'}"
        turns.setdefault(turn, []).extend(months)
    return "; ".join(f"{turn} {in_months(months)}" for turn, months in turns.items())


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
        return "No kind of work is clearly late more often with the smallest crew tried than with ample hands."
    task = TASKS[first.task].doing
    hours = number(study.rungs[first.rung].hours)
    said = (
        f"As the crew shrinks, {task} is late first: with ample hands {percent(first.share_with_ample or 0.0)} of it "
        f"is late, with {hours} volunteer hours a week {percent(first.share)}."
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
