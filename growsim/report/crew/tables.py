"""Tables about the crew, ready to be shown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from growsim import units
from growsim.report.crew.words import KG, months_said
from growsim.report.tables import Table, between, shown
from growsim.report.words import mass_plus, number, percent, plus
from growsim.study.crew.goals import ON_TIME, ORDERS

if TYPE_CHECKING:
    from growsim.study.crew.answer import CrewStudy

GOAL_HEADS = {ON_TIME: "tasks in time", ORDERS: "orders filled"}
ENDS = {
    "proven": "met with 95% confidence",
    "as ample": "none, but no better with as many people as fit",
    "short": "none",
}


def goals(study: CrewStudy) -> Table:
    """Of the year: what was asked for, what comes of it, with as many people as fit and today."""
    rows = []
    for key, target in study.targets.items():
        found, today = study.estimates.get(key), study.today.get(key)
        asked = percent(target.asked, 1)
        if target.below_ample is not None:
            asked = f"{asked} ({number(100 * target.below_ample, 1)} in 100 below as many people as fit)"
        with_range = "–" if found is None else percent(found.mean, 1)
        if found is not None and found.mean_low is not None and found.mean_high is not None:
            with_range = f"{with_range} ({percent(found.mean_low, 1)} to {percent(found.mean_high, 1)})"
        now = "–" if today is None else percent(today.mean, 1)
        rows.append((GOAL_HEADS[key], percent(target.wanted), asked, now, with_range, percent(target.ample, 1)))
    return Table(
        "The goals of the year",
        (
            "goal",
            "yours",
            "asked for",
            "today",
            "with the answer (95% range of the average)",
            "with as many people as fit",
        ),
        tuple(rows),
        "As many people as fit: so many sign-ups on every shift that nine times in ten the room is full. So it is "
        f"{ENDS[study.end]}.",
    )


def seasons(study: CrewStudy) -> Table:
    """Season by season: people, how hard they are to find, what comes of it, and the least share of the orders."""
    rows = []
    for each in study.seasons:
        cells = [months_said(each.season.months), number(sum(each.sign_up)), number(100 * each.chance),
                 number(each.hard, 2), "–" if each.floor is None else percent(each.floor, 1)]  # fmt: skip
        for key in (ORDERS, ON_TIME):
            mean, low, high = each.values.get(key, (None, None, None))
            lies = (
                "" if low is None or high is None else f" ({percent(max(low, 0.0), 1)} to {percent(min(high, 1.0), 1)})"
            )
            cells.append("–" if mean is None else f"{percent(mean, 1)}{lies}")
        rows.append(tuple(cells))
    return Table(
        "Season by season",
        ("months", "sign-ups a week", "of 100 come", "effort to find one", "orders to fill at least", "orders filled",
         "tasks in time"),
        tuple(rows),
        "Months that need about the same (within a fifth) are taken together. Effort: 1 in an easy month; the room "
        "file's recruiting_effort. Work that may wait is judged over the year; orders are kept up in every season.",
    )  # fmt: skip


def one_less(study: CrewStudy) -> Table:
    """What one person less on each shift costs, with ranges."""
    rows = []
    for less in study.one_less:
        cells: list[str] = []
        for key in (KG, ON_TIME, ORDERS):
            found = less.differences.get(key)
            say = _kilograms if key == KG else _of_100
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
            "of 100 tasks in time",
            "range",
            "of 100 orders filled",
            "range",
        ),
        tuple(rows),
        "Differences from the answer, in the same years; all ranges hold at once with 95% confidence.",
    )


def _kilograms(value: float) -> str:
    return mass_plus(value, 2)


def _of_100(value: float) -> str:
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
