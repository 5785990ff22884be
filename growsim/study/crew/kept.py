"""Today's sign-up beside the one found, in the same fresh years: it is kept where nothing is gained by another.

Of two sign-ups within noise the one easier to recruit is asked for. A harder one that fills fewer orders than today's
is never asked for; an easier one only where it meets the planner's own goal for orders, or surely fills as many. Where
no number of people reaches that goal, no month is asked for more people who bring no more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.scenario.scenario import Scenario
from growsim.study.crew.goals import ORDERS, Target, values_in
from growsim.study.rota import Rota, Season, by_month, people_today

FEWER = 0.005  # of the orders: half a point on average is told as less

Why = Literal["fewer orders", "not surely as many orders", "no more"]

Months = tuple[int, ...]
"""People a week, all shifts together, January to December."""


@dataclass(frozen=True)
class SetAside:
    """A sign-up that was found, and is not asked for. fewest, most: people a week. values, today: figure -> its mean
    with that sign-up and with today's, in the same years."""

    fewest: int
    most: int
    values: dict[str, float]
    today: dict[str, float]
    years: int
    why: Why


def seasons_today(scenario: Scenario, seasons: Sequence[Season], months: Sequence[int]) -> list[tuple[Season, int]]:
    """The seasons, parted where today's sign-up changes within one; and the number of the season each is a part of.

    months: of the counted weeks (0 for January).
    """
    parts = []
    for number, season in enumerate(seasons):
        alike: dict[tuple[int, ...], list[int]] = {}
        for month in season.months:
            alike.setdefault(tuple(people_today(s)[month] for s in scenario.crew.shifts), []).append(month)
        for group in alike.values():
            weeks = tuple(week for week in season.weeks if months[week] in group)
            parts.append((Season(tuple(group), weeks), number))
    return parts


def rota_today(scenario: Scenario, seasons: Sequence[Season]) -> Rota:
    """Today's sign-up; seasons: such that it does not change within one."""
    return tuple(tuple(people_today(s)[season.months[0]] for s in scenario.crew.shifts) for season in seasons)


def people_in(seasons: Sequence[Season], rota: Rota) -> Months:
    """All shifts together, month by month."""
    of_shifts = [by_month(seasons, rota, shift) for shift in range(len(rota[0]))]
    return tuple(sum(month) for month in zip(*of_shifts, strict=True))


def trouble(people: Months, effort: Sequence[float]) -> tuple[float, float]:
    """How hard a sign-up is to recruit: its hardest month, then all of them (people times the effort to find one)."""
    each = [round(number * hard, 6) for number, hard in zip(people, effort, strict=True)]
    return max(each), round(sum(each), 6)


def set_aside(
    year: Season,
    targets: Mapping[str, Target],
    aim: float,
    found: Sequence[Outcome],
    today: Sequence[Outcome],
    people: Months,
    *,
    is_harder: bool,
    asks_more: bool = False,
) -> SetAside | None:
    """The sign-up found, where today's is asked for instead. found, today: the same years. people: of the one found.

    is_harder: whether it is no easier to recruit than today's. asks_more: whether some month has more people.
    Today's is as good where it lies no more than `aim` (fraction) below in any goal, and not for certain. The burden is
    on the one found: it has to be shown that an easier one fills no fewer orders (by FEWER at most, 95 %), or other
    luck would find another answer.
    """
    pairs = [(values_in(year, new), values_in(year, now)) for new, now in zip(found, today, strict=True)]
    gains = {key: [new[key] - now[key] for new, now in pairs if key in new and key in now] for key in targets}
    ranges = {key: mean_interval(each) for key, each in gains.items() if each}
    mean, low, high = ranges.get(ORDERS, (0.0, 0.0, 0.0))
    fewer = mean < -FEWER or (high is not None and high < 0.0)
    unsure = ORDERS in ranges and targets[ORDERS].below_ample is not None and (low is None or low < -FEWER)
    new_mean, now_mean = (
        {key: sum(pair[place][key] for pair in pairs if key in pair[place]) / len(gains[key]) for key in ranges}
        for place in (0, 1)
    )
    needless = asks_more and ORDERS in ranges and targets[ORDERS].out_of_reach
    enough = {key for key in ranges if needless and key != ORDERS and now_mean[key] >= targets[key].asked - aim}
    as_good = all(
        key in enough or mean <= 0.0 or (mean <= aim and low is not None and low <= 0.0)
        for key, (mean, low, _) in ranges.items()
    )
    no_more = as_good and (is_harder or needless)
    if not (no_more or (fewer if is_harder else unsure or (needless and fewer))):
        return None
    why: Why = "fewer orders" if fewer else "no more" if no_more else "not surely as many orders"
    return SetAside(min(people), max(people), new_mean, now_mean, len(pairs), why)
