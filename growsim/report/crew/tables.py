"""Tables about the crew, ready to be shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim import units
from growsim.report.crew.words import KG, months_said
from growsim.report.tables import Table, between, shown
from growsim.report.words import hour_of_day, mass_plus, number, percent, plus, sensible
from growsim.study.crew.goals import GOAL_KEYS, ON_TIME, ORDERS
from growsim.study.rota import people_today

if TYPE_CHECKING:
    from growsim.study.crew.answer import CrewStudy

GOAL_HEADS = {ON_TIME: "tasks in time", ORDERS: "orders filled"}
ENDS = {"proven": "yes", "as ample": "no, but as good as ample hands", "short": "no"}


def sign_ups(study: CrewStudy) -> Table:
    """Shift by shift: people in each season, today's in brackets where they differ."""
    rows = []
    for number_of, shift in enumerate(study.scenario.crew.shifts):
        cells = []
        for each in study.seasons:
            today = [people_today(shift)[month] for month in each.season.months]
            now = number(sum(today) / len(today), 0 if len(set(today)) == 1 else 1)
            needed = number(each.sign_up[number_of])
            if not any(shift.is_held(month) for month in each.season.months):
                cells.append("not held")
                continue
            cells.append(needed if now == needed else f"{needed} (today {now})")
        when = f"{shift.weekday.title()} {hour_of_day(shift.start_hour)}, {sensible(shift.hours)} h"
        rows.append((shift.name, when, "yes" if shift.lead else "no", *cells))
    totals = [f"{sum(each.sign_up)} (today {number(_today(study, i), 0)})" for i, each in enumerate(study.seasons)]
    rows.append(("all shifts", "", "", *totals))
    rows.append(("of 100 signed up come", "", "", *(number(100 * each.chance) for each in study.seasons)))
    return Table(
        "Volunteers to sign up each week",
        ("shift", "when", "lead there", *(months_said(each.season.months) for each in study.seasons)),
        tuple(rows),
        "Besides the lead. Months that need about the same (within a fifth) are taken together: closer than that the "
        "rehearsals cannot tell them apart.",
    )


def _today(study: CrewStudy, season: int) -> float:
    months = study.seasons[season].season.months
    return sum(people_today(shift)[m] for shift in study.scenario.crew.shifts for m in months) / len(months)


def goals(study: CrewStudy) -> Table:
    """Season by season: what was asked for, what comes of it, whether it is proven."""
    rows = []
    for each in study.seasons:
        for key in GOAL_KEYS:
            if key not in each.targets:
                continue
            target = each.targets[key]
            mean, low, high = each.values.get(key, (None, None, None))
            asked = percent(target.asked, 1)
            if target.below_ample is not None:
                asked = f"{asked} ({number(100 * target.below_ample, 1)} points below ample hands)"
            rows.append(
                (
                    months_said(each.season.months),
                    GOAL_HEADS[key],
                    percent(target.wanted),
                    percent(target.ample, 1),
                    asked,
                    "–" if mean is None else percent(mean, 1),
                    "–" if low is None or high is None else f"{percent(low, 1)} to {percent(high, 1)}",
                    ENDS[each.end],
                )
            )
    return Table(
        "The goals, season by season",
        ("months", "goal", "yours", "with ample hands", "asked for", "with the answer", "range of the average (95%)",
         "season proven"),
        tuple(rows),
        "Ample hands: so many sign-ups on every shift that nine times in ten the room is full. Proven: with 95% "
        "confidence for all goals and months together, in years the search had not seen.",
    )  # fmt: skip


def one_less(study: CrewStudy) -> Table:
    """What one person less on each shift costs, with ranges."""
    rows = []
    for less in study.one_less:
        cells: list[str] = []
        for key in (KG, ON_TIME, ORDERS):
            found = less.differences.get(key)
            say = _kilograms if key == KG else _points
            lies = "–"
            if found is not None and found.low is not None and found.high is not None:
                lies = f"{say(found.low)} to {say(found.high)}"
            cells += ["–" if found is None else say(found.mean), lies]
        rows.append((less.shift, *cells))
    return Table(
        "One person less, the whole year round",
        (
            "shift",
            f"greens a week, {units.unit('kg')}",
            "range",
            "tasks in time, points",
            "range",
            "orders filled, points",
            "range",
        ),
        tuple(rows),
        "Differences from the answer, year by year under the same luck; all ranges hold at once with 95% confidence.",
    )


def _kilograms(value: float) -> str:
    return mass_plus(value, 2)


def _points(value: float) -> str:
    return plus(100.0 * value, 1)


def crews(study: CrewStudy) -> Table:
    """Crews of every size: sign-ups, hours, orders, tasks on time, greens."""
    currency = study.scenario.prices.currency
    rows = [
        (
            name,
            " / ".join(str(places) for places in rung.places),
            number(rung.hours, 1),
            shown(ORDERS, rung.orders, currency),
            shown(ON_TIME, rung.on_time, currency),
            "–" if rung.kg is None else between(KG, rung.kg, rung.kg, currency),
            number(rung.years),
        )
        for name, rung in sorted(study.named_rungs(), key=lambda pair: pair[1].hours)
    ]
    seasons = " / ".join(months_said(each.season.months) for each in study.seasons)
    return Table(
        "Crews of every size, the whole year round",
        (
            "crew",
            "sign-ups a week",
            "hours that come",
            "orders filled",
            "tasks in time",
            f"{units.unit('kg')} a week",
            "years",
        ),
        tuple(rows),
        f"Sign-ups a week: {seasons}. Crews by number follow the ladder: always one more person where hours are "
        "scarcest on paper.",
    )


def late(study: CrewStudy) -> Table:
    """Share of each task's jobs that are late, by size of crew."""
    ordered = sorted(study.named_rungs(), key=lambda pair: pair[1].hours)
    tasks = sorted({task for _, rung in ordered for task in rung.late})
    rows = [
        (
            task,
            *(percent(rung.late[task]) if task in rung.late else "–" for _, rung in ordered),
        )
        for task in tasks
    ]
    heads = [f"{name}, {number(rung.hours)} h" for name, rung in ordered]
    return Table("Late jobs by task and crew", ("task", *heads), tuple(rows), "h: volunteer hours that come in a week.")
