"""Every sentence about the crew: how many people, when; what that gives; what one less costs; what is late first."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim.report.signed import amount, sizes
from growsim.report.words import MONTHS, counted, listed, number, percent, rehearsals
from growsim.study.crew_goals import GOAL_KEYS, ON_TIME, ORDERS

if TYPE_CHECKING:
    from growsim.run.intervals import Difference
    from growsim.study.crew import CrewStudy
    from growsim.study.crew_asking import OneLess, SeasonAnswer
    from growsim.study.crew_goals import Target

KG = "kg_handed_out_per_week"
GOAL_NAMES = {ON_TIME: "of the tasks done in time", ORDERS: "of the ordered kilograms handed out"}


def answer(study: CrewStudy) -> list[tuple[str, str]]:
    """(head, sentence): what the report opens with."""
    said = [("People", people(study)), ("What that gives", gives(study))]
    reach = out_of_reach(study)
    said += [("What hands cannot mend", reach)] if reach else []
    said.append(("Whom to look for", recruit(study)))
    said.append(("One person less", one_less(study)))
    said.append(("Late first", late_first(study)))
    return said


def months_said(months: Sequence[int]) -> str:
    """Months (0 for January) as one says them: "October to May", "June, September and December", "all year"."""
    chosen = sorted(set(months))
    if len(chosen) == 12:
        return "all year"
    runs: list[list[int]] = []
    for month in chosen:
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 0 and runs[-1][-1] == 11:
        runs[0] = runs.pop() + runs[0]
    parts: list[str] = []
    for run in runs:
        names = [MONTHS[month] for month in run]
        parts += names if len(names) < 3 else [f"{names[0]} to {names[-1]}"]
    return listed(parts)


def in_season(each: SeasonAnswer) -> str:
    """The months of a season as they stand in a sentence: "in July and August"; "all year"."""
    said = months_said(each.season.months)
    return said if said == "all year" else f"in {said}"


def shift_counts(study: CrewStudy, sign_up: Sequence[int]) -> str:
    """ "4 for Monday morning, 2 for Tuesday evening"."""
    shifts = study.scenario.crew.shifts
    return ", ".join(f"{people} for {shift.name}" for people, shift in zip(sign_up, shifts, strict=True))


def people(study: CrewStudy) -> str:
    """How many volunteers, by shift and season."""
    parts = [
        f"{in_season(each)} {counted(sum(each.sign_up), 'volunteer')} a week ({shift_counts(study, each.sign_up)})"
        for each in study.seasons
    ]
    counted_in = "no-shows, beginners and the room's limit reckoned in; leads come on top"
    first = f"Sign up {parts[0]}"
    if len(parts) == 1:
        return f"{first}; {counted_in}."
    rest = "; ".join(parts[1:])
    return f"{first}; {rest}. That is the smallest sign-up found that is enough, {counted_in}."


def gives(study: CrewStudy) -> str:
    """Tasks on time, orders and greens with that crew, beside today's; whether the goals are met for certain."""
    found = study.estimates
    parts = []
    for key in GOAL_KEYS:
        if key in found:
            each = found[key]
            known = ""
            if each.mean_low is not None and each.mean_high is not None:
                known = f"; the average is known to within {percent(each.mean_low)} to {percent(each.mean_high)}"
            today = f"today {percent(study.today[key].mean)}" if key in study.today else ""
            parts.append(f"{percent(each.mean)} {GOAL_NAMES[key]} ({today}{known})")
    years = rehearsals(len(study.outcomes), study.plan.days)
    return f"With them, over {years} the search had not seen: {listed(parts)}. {certainty(study)}"


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
        said.append(f"With 95% confidence {what} met {listed([in_season(each) for each in fine])}")
    if luck:
        said.append(
            f"{listed([in_season(each) for each in luck])} luck is too large to promise the goals, but ample hands "
            "would do no better"
        )
    if short:
        said.append(
            f"{listed([in_season(each) for each in short])} it could not be proven, though people were added; ask for "
            "more replications"
        )
    return "; ".join(_upper(each) if i == 0 else each for i, each in enumerate(said)) + "."


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
        reached = f"{percent(ample.mean)} over the year"
        if ample.mean_low is not None and ample.mean_high is not None:
            reached += f" (average known to within {percent(ample.mean_low)} to {percent(ample.mean_high)})"
        if len(never) == len(hang):
            sentences.append(
                f"No number of hands brings {goal} {GOAL_NAMES[key]}{where}: even with as many people as fit into the "
                f"room it is {reached}. Something else is short ({_look_elsewhere(key)}). The crew asked for here "
                f"is one with which, on average, the year lies no more than {margin} points below that"
            )
        else:
            sentences.append(
                f"Whether {goal} {GOAL_NAMES[key]} can be had{where} even with as many people as fit into the room "
                f"({reached}) luck leaves open, so the crew asked for is one with which the year lies no more than "
                f"{margin} points below that"
            )
    return ". ".join(sentences) + "." if sentences else ""


def _look_elsewhere(key: str) -> str:
    if key == ORDERS:
        return "slots, the sowing plan, cutting days or machines: `growsim rehearse` says which"
    return "leads, or shifts on the right days: `growsim rehearse` says more"


def recruit(study: CrewStudy) -> str:
    """Extra sign-ups in the months in which fewer come, and against today's."""
    easy = min(study.seasons, key=lambda each: sum(each.sign_up))
    hard = max(study.seasons, key=lambda each: sum(each.sign_up))
    sentences = []
    if sum(hard.sign_up) > sum(easy.sign_up):
        more = sum(hard.sign_up) - sum(easy.sign_up)
        why = (
            f", because of 100 who sign up {number(100 * hard.chance)} come rather than {number(100 * easy.chance)}"
            if hard.chance < easy.chance - 0.005
            else ""
        )
        sentences.append(f"{_upper(in_season(hard))} it takes {more} more sign-ups than {in_season(easy)}{why}")
    added, spare = changes_from_today(study)
    if added:
        sentences.append(f"Against today's sign-ups, look for {added}")
    if spare:
        sentences.append(f"{'Against today’s sign-ups there' if not added else 'There'} are more than needed: {spare}")
    if not added and not spare:
        sentences.append("That is what is signed up today")
    return ". ".join(sentences) + "."


def changes_from_today(study: CrewStudy) -> tuple[str, str]:
    """People to add, and people to spare, by season and shift against today's sign-ups; "" for none."""
    from growsim.study.crew_rota import people_today

    adds, spares = [], []
    for each in study.seasons:
        plus, minus = [], []
        for shift, needed in zip(study.scenario.crew.shifts, each.sign_up, strict=True):
            today = people_today(shift)
            gap = round(needed - sum(today[m] for m in each.season.months) / len(each.season.months))
            if gap > 0:
                plus.append(f"{gap} for {shift.name}")
            if gap < 0:
                minus.append(f"{-gap} for {shift.name}")
        adds += [f"{in_season(each)} {listed(plus)}"] if plus else []
        spares += [f"{in_season(each)} {listed(minus)}"] if minus else []
    return "; ".join(adds), "; ".join(spares)


def one_less(study: CrewStudy) -> str:
    """What one person less costs, the dearest day first."""
    rows = [less for less in study.one_less if KG in less.differences]
    if not rows:
        return "No shift has a person to take away."
    ranked = sorted(rows, key=_cost)
    dear = ranked[0]
    cost = "; ".join(
        _lost(key, dear.differences[key], study) for key in (KG, ON_TIME, ORDERS) if key in dear.differences
    )
    said = f"One person less on {dear.shift}, all year round, costs most: {cost}"
    if len(ranked) > 1:
        light = ranked[-1]
        kg, on_time = light.differences[KG], light.differences.get(ON_TIME)
        points = f" and {_points(on_time)} of the tasks in time" if on_time is not None else ""
        said += f". It costs least on {light.shift}: {_size(kg, study)} of greens a week{points}"
    return f"{said}."


def _cost(less: OneLess) -> float:
    """Goals first: points of tasks in time and of orders together."""
    return sum(less.differences[key].mean for key in GOAL_KEYS if key in less.differences)


def _lost(key: str, found: Difference, study: CrewStudy) -> str:
    names = {KG: "of greens a week", ON_TIME: "of the tasks in time", ORDERS: "of the orders"}
    currency = study.scenario.prices.currency
    turn = "fewer" if found.mean <= 0 else "more"
    said = f"{amount(key, abs(found.mean), currency)} {turn} {names[key]}"
    if found.low is None or found.high is None:
        return said
    if found.low <= 0 <= found.high:
        return f"{said} (no more than luck may make)"
    low, high = sorted((abs(found.low), abs(found.high)))
    return f"{said} (range {sizes(key, low, high, currency)})"


def _size(found: Difference, study: CrewStudy) -> str:
    return amount(KG, abs(found.mean), study.scenario.prices.currency)


def _points(found: Difference) -> str:
    return f"{number(100 * abs(found.mean), 1)} points"


def late_first(study: CrewStudy) -> str:
    """The task whose late share rises first as the crew shrinks, and the one that does at the answer."""
    first = study.late_first
    worst = max(study.answer_rung.late.items(), key=lambda item: item[1], default=None)
    now = f" With the sign-up above, {percent(worst[1])} of it is late" if worst and worst[0] == first.task else ""
    if worst and worst[0] != first.task and worst[1] >= 0.02:
        now = f" With the sign-up above, '{worst[0]}' is late most often ({percent(worst[1])} of its jobs)"
    if first.task is None or first.rung is None or first.share is None:
        return f"No task is clearly late more often with the smallest crew tried than with ample hands.{_dot(now)}"
    rung = study.rungs[first.rung]
    return (
        f"As the crew shrinks, '{first.task}' is late first: with {number(rung.hours)} volunteer hours a week "
        f"{percent(first.share)} of its jobs are late, with ample hands "
        f"{percent(first.share_with_ample or 0.0)}.{_dot(now)}"
    )


def _dot(text: str) -> str:
    return f"{text}." if text else ""


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
