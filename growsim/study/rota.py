"""Sign-ups as numbers: so many people for each shift in each season, and a room with just those signed up.

A season is a set of months that cannot be told apart: their need for sign-ups, hours of work divided by the chance of
coming, differs by less than a fifth, and one more volunteer is as hard to find in each of them.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from growsim.run.prepare import Prepared
from growsim.scenario.people import HARD_TO_FIND, Shift
from growsim.scenario.scenario import Scenario

SAME_WITHIN = 1.2  # months whose need differs by no more than this factor belong together
MOST_SEASONS = 4
WARM_MONTHS = 3  # in which volunteers are hardest to find
FEWEST_WEEKS = 4  # a month with fewer counted weeks says too little to be a season of its own
FAIR_CHANCE = 0.9
MOST_PEOPLE = 200  # the room file's own limit

SignUp = tuple[int, ...]
"""People signed up for each shift in one season, in the order of the room file."""

Rota = tuple[SignUp, ...]
"""The sign-up of every season."""


@dataclass(frozen=True)
class Season:
    """Months taken together (0 for January) and the counted weeks that fall into them (by their fourth day)."""

    months: tuple[int, ...]
    weeks: tuple[int, ...]


def months_of_weeks(scenario: Scenario, days: int) -> tuple[int, ...]:
    """Month (0 for January) of each whole counted week: the one its fourth day falls in."""
    start = scenario.room.start_date
    return tuple((start + dt.timedelta(days=7 * week + 3)).month - 1 for week in range(days // 7))


def seasons_of(
    needs: Mapping[int, float], months: Sequence[int], chance: Sequence[float], effort: Sequence[float] = (1.0,) * 12
) -> tuple[Season, ...]:
    """Months put together, the season of least need first; months that are not alike hard to fill are kept apart.

    needs: month -> need for sign-ups, any unit, above 0, of the months that are counted. months: of the counted weeks.
    chance: of coming, January to December; it places a month that is counted too seldom or not at all. effort: to find
    one more volunteer, January to December.
    """
    solid = sorted((m for m in needs if months.count(m) >= FEWEST_WEEKS), key=lambda m: (needs[m], m))
    solid = solid or sorted(needs, key=lambda m: (needs[m], m))
    members: list[list[int]] = []
    for alike in sorted({effort[month] for month in solid}):
        within = [month for month in solid if effort[month] == alike]
        members += [[within[i] for i in group] for group in _in_groups([math.log(needs[m]) for m in within])]
    members.sort(key=lambda group: math.fsum(needs[month] for month in group) / len(group))
    for month in range(12):
        if month not in solid:
            as_hard = [group for group in members if effort[group[0]] == effort[month]] or members
            nearest = min(as_hard, key=lambda group: min(abs(chance[month] - chance[other]) for other in group))
            nearest.append(month)
    return tuple(
        Season(tuple(sorted(group)), tuple(week for week, month in enumerate(months) if month in group))
        for group in members
    )


def _in_groups(sorted_values: list[float]) -> list[range]:
    """The fewest runs of neighbors none of which spans more than the limit; of these the tightest (least squares)."""
    n = len(sorted_values)

    def spread(first: int, end: int) -> float:
        part = sorted_values[first:end]
        mean = math.fsum(part) / len(part)
        return math.fsum((value - mean) ** 2 for value in part)

    best: list[list[tuple[float, list[range]] | None]] = [[(0.0, [])] + [None] * n]
    for groups in range(1, MOST_SEASONS + 1):
        row: list[tuple[float, list[range]] | None] = [None] * (n + 1)
        for end in range(1, n + 1):
            for first in range(end):
                before = best[groups - 1][first]
                wide = sorted_values[end - 1] - sorted_values[first] > math.log(SAME_WITHIN) + 1e-9
                if before is None or (wide and groups < MOST_SEASONS):
                    continue
                cost = before[0] + spread(first, end)
                known = row[end]
                if known is None or cost < known[0] - 1e-12:
                    row[end] = (cost, [*before[1], range(first, end)])
        best.append(row)
        found = row[n]
        if found is not None:
            return found[1]
    raise AssertionError("one group of everything is always possible at the last")


def by_month(seasons: Sequence[Season], rota: Rota, shift: int) -> tuple[int, ...]:
    """People signed up for one shift, January to December."""
    people = dict.fromkeys(range(12), 0)
    for season, sign_up in zip(seasons, rota, strict=True):
        people.update(dict.fromkeys(season.months, sign_up[shift]))
    return tuple(people[month] for month in range(12))


def people_of(shift: Shift, by_month: Sequence[int]) -> int:
    """What a shift's `people` says beside its sign-ups by month: the most, and never nobody where there is no lead."""
    return max(0 if shift.lead else 1, *by_month)


def signed_up(prepared: Prepared, seasons: Sequence[Season], rota: Rota) -> Prepared:
    """The room with these people signed up and nothing else changed; curves do not depend on people."""
    crew = prepared.scenario.crew
    shifts = []
    for number, shift in enumerate(crew.shifts):
        people = by_month(seasons, rota, number)
        shifts.append(shift.model_copy(update={"people": people_of(shift, people), "people_by_month": people}))
    changed = crew.model_copy(update={"shifts": tuple(shifts)})
    return replace(prepared, scenario=prepared.scenario.model_copy(update={"crew": changed}))


def held_in(season: Season, shifts: Sequence[Shift], people: SignUp) -> SignUp:
    """The sign-up with nobody on a shift that is held in none of the season's months."""
    return tuple(
        n if any(shift.is_held(month) for month in season.months) else 0
        for shift, n in zip(shifts, people, strict=True)
    )


def people_today(shift: Shift) -> tuple[int, ...]:
    """People signed up today, January to December."""
    return tuple(shift.signed_up(month) for month in range(12))


def recruiting_effort(scenario: Scenario) -> tuple[float, ...]:
    """How hard one more volunteer is to find, January to December: the room file's, or the usual."""
    if scenario.crew.recruiting_effort:
        return scenario.crew.recruiting_effort
    outside = scenario.room.outdoor_temperature_c
    warm = sorted(range(12), key=lambda month: (-outside[month], month))[:WARM_MONTHS]
    return tuple(HARD_TO_FIND if month in warm else 1.0 for month in range(12))


def most_of_use(scenario: Scenario, shift: Shift, chance: float, at_least: int) -> int:
    """Sign-ups beyond which hardly anyone more gets into the room: the fewest that fill it nine times in ten.

    chance: of coming. The room's limit counts the lead. Never fewer than `at_least`.
    """
    places = scenario.room.people_at_once - int(shift.lead)
    if places <= 0 or chance <= 0:
        return at_least
    people = places
    while people < MOST_PEOPLE and chance_of_at_least(places, people, chance) < FAIR_CHANCE:
        people += 1
    return max(at_least, people)


def chance_of_at_least(wanted: int, people: int, chance: float) -> float:
    """Chance that at least so many of the people come, each with the same chance and independently (binomial)."""
    fewer = (math.comb(people, k) * chance**k * (1.0 - chance) ** (people - k) for k in range(min(wanted, people + 1)))
    return max(0.0, 1.0 - math.fsum(fewer))
