"""What is surely not meant in a room and shows only on its growth curves: a ripe lot that no harvest day meets."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from functools import lru_cache
from statistics import NormalDist

from growsim.errors import Fault
from growsim.growth.crops import ripe_after_days
from growsim.run.prepare import Prepared
from growsim.scenario.crop import Crop
from growsim.scenario.load import LoadedRoom
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding, listing
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS, Weekday

SPEEDS = 11  # growth speeds that stand for all
TOLD_FROM = 0.2  # share of lots missed
NEARLY_ALL = 0.95
NOON = 12.0


def warnings_with_growth(room: LoadedRoom, prepared: Prepared) -> tuple[Fault, ...]:
    """The room's warnings, and those for which its growth curves are needed."""
    return (*room.warnings, *(Fault(str(room.path), *finding) for finding in harvest_days_meet_ripe_lots(prepared)))


def harvest_days_meet_ripe_lots(prepared: Prepared) -> Iterator[Finding]:
    """Warning: of a crop sown on a weekday many lots are overgrown before anybody harvests them, closed days apart."""
    scenario = prepared.scenario
    crops = {crop.name: crop for crop in scenario.crops}
    for name, weekday in sorted({(line.crop, line.weekday) for line in scenario.sowing}):
        windows = _windows(prepared, crops[name], weekday)
        missed = _missed(scenario, windows, scenario.harvest.weekdays)
        if missed < TOLD_FROM or not scenario.crew.shifts:
            continue
        ripe, overgrown = windows[len(windows) // 2]
        sown = WEEKDAYS.index(weekday)
        lots = "lots" if missed >= NEARLY_ALL else f"about {10 * round(10 * missed)} of 100 lots"
        yield (
            f"crops.{name}.overgrown_after_days",
            f"{lots} of {name} sown on {NAME_OF_WEEKDAY[weekday]} are overgrown before they are harvested. They are "
            f"ripe from "
            f"about {_day(ripe)} on ({ripe - sown:.0f} days after sowing), overgrown on {_day(overgrown)} "
            f"({overgrown - sown:.0f} days), and harvested on {_and(scenario.harvest.weekdays)} alone",
            _remedy(prepared, crops[name], weekday, windows),
        )


def _remedy(prepared: Prepared, crop: Crop, weekday: Weekday, windows: list[tuple[float, float]]) -> str:
    """Harvest days and sowing days on which it is missed no more."""
    scenario = prepared.scenario
    held = [day for day in WEEKDAYS if any(shift.weekday == day for shift in scenario.crew.shifts)]
    today = scenario.harvest.weekdays
    cut = [day for day in WEEKDAYS if day not in today and _missed(scenario, windows, (*today, day)) < TOLD_FROM]
    cut.sort(key=lambda day: day not in held)
    ways = []
    if cut:
        ways.append(f"harvest on {NAME_OF_WEEKDAY[cut[0]]} too{'' if cut[0] in held else ', with a shift that day'}")
    sown = [
        day for day in held if day != weekday and _missed(scenario, _windows(prepared, crop, day), today) < TOLD_FROM
    ]
    if sown:
        ways.append(f"sow it on {listing(NAME_OF_WEEKDAY[day] for day in sown)}")
    return ", or ".join(ways) if ways else "harvest on more days, or choose a crop that keeps standing longer"


def _windows(prepared: Prepared, crop: Crop, weekday: Weekday) -> list[tuple[float, float]]:
    """(ripe, overgrown) of lots of every speed, the slowest first, in days from the Monday of the week of sowing."""
    day, hour = _first_shift(prepared.scenario, WEEKDAYS.index(weekday), lead=_needs_lead(prepared.scenario, "sow"))
    found = []
    for speed in _speeds(crop.days_spread_cv):
        ripe = day + hour / 24.0 + ripe_after_days(crop, prepared.scenario, prepared.curves, speed)
        found.append((ripe, ripe + crop.overgrown_after_days))
    return found


def _missed(scenario: Scenario, windows: list[tuple[float, float]], weekdays: Collection[Weekday]) -> float:
    """Share of lots that no harvest day meets: ripe at its midnight, and somebody there before they are overgrown."""
    lead = _needs_lead(scenario, "harvest")

    def is_met(ripe: float, overgrown: float) -> bool:
        for day in range(math.ceil(ripe), math.ceil(overgrown)):
            if WEEKDAYS[day % 7] in weekdays:
                held, hour = _first_shift(scenario, day, lead=lead)
                if held + hour / 24.0 < overgrown:
                    return True
        return False

    return sum(not is_met(*window) for window in windows) / len(windows)


def _first_shift(scenario: Scenario, day: int, *, lead: bool) -> tuple[int, float]:
    """The first day from `day` on (0 a Monday) with a shift for such work, and its first hour; that day at noon where
    there is none."""
    for later in range(day, day + 7):
        hours = [
            shift.start_hour
            for shift in scenario.crew.shifts
            if shift.weekday == WEEKDAYS[later % 7] and (shift.lead or not lead)
        ]
        if hours:
            return later, min(hours)
    return day, NOON


def _and(weekdays: Collection[Weekday]) -> str:
    return listing(NAME_OF_WEEKDAY[day] for day in weekdays).replace(" or ", " and ")


def _needs_lead(scenario: Scenario, task: str) -> bool:
    return any(each.name == task and each.needs_lead for each in scenario.crew.tasks)


def _day(days: float) -> str:
    """The weekday of a moment so many days after a Monday began."""
    return NAME_OF_WEEKDAY[WEEKDAYS[math.floor(days) % 7]]


@lru_cache(maxsize=64)
def _speeds(cv: float) -> tuple[float, ...]:
    """Growth speeds at even steps of chance; lognormal with mean 1."""
    sigma = math.sqrt(math.log1p(cv * cv))
    normal = NormalDist()
    return tuple(
        math.exp(sigma * normal.inv_cdf((number + 0.5) / SPEEDS) - sigma * sigma / 2.0) for number in range(SPEEDS)
    )
