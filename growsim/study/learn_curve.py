"""A crop's plan as a curve: how heavy a plant of a given speed is on a given day, against its typical mass.

The room's own growth curves, at set-points, under the mean light of the shelves that may hold each stage. Speed 1 is as
planned. Days of growing are counted in hours of light, as the room counts them.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from functools import lru_cache

import numpy as np

from growsim.growth.crops import calibrate, plants_per_m2, reference_environment, seedling_dry_g
from growsim.growth.curves import base_curve, paced
from growsim.growth.germination import days_to_emerge
from growsim.spec.calendar import Calendar
from growsim.spec.crop import Crop
from growsim.spec.equipment import LightBank
from growsim.spec.people import WEEKDAYS
from growsim.spec.records import FaultRow
from growsim.spec.scenario import Scenario
from growsim.spec.uncertain import Uncertain

WORK_BEGINS_AFTER_HOURS = 0.5  # of the shift: about when seeds are sown, plants moved or cut
NOON = 12.0

Dark = Mapping[str, Sequence[tuple[dt.datetime, dt.datetime]]]
"""When a light bank was out, by its name: from going down to being mended, one after the other."""


MASSES = tuple(np.exp(np.linspace(-0.625, 0.625, 11)))
"""Plants so many times as heavy as the typical one, for each of which the crop's curve is found anew."""


def dark_times(faults: Sequence[FaultRow]) -> Dark:
    """When the record says that lights were out; a row that does not say when they were back teaches nothing here."""
    dark: dict[str, list[tuple[dt.datetime, dt.datetime]]] = {}
    for row in sorted(faults, key=lambda row: row.down):
        if row.machine != "lights" or row.repaired is None:
            continue
        times = dark.setdefault(row.where, [])
        begin = max(row.down, times[-1][1]) if times else row.down  # an hour written down twice was dark once
        if row.repaired > begin:
            times.append((begin, row.repaired))
    return dark


def curves_by_mass(scenario: Scenario, crop: Crop, dark: Dark | None = None) -> list[tuple[float, PlanCurve]]:
    """(times the typical mass, curve of a crop that heavy on its typical day). Masses that no pace reaches are left
    out; a heavier plant crowds its neighbours sooner, so its curve is not the lighter one's drawn out."""
    found = []
    for times in MASSES:
        typical = crop.typical_mass_g.expected() * float(times)
        heavier = crop.model_copy(update={"typical_mass_g": Uncertain(value=typical)})
        try:
            found.append((float(times), PlanCurve(scenario, heavier, calibrate(heavier, scenario), dark)))
        except ValueError:  # no pace gives such a plant at this light and spacing
            continue
    return found


class PlanCurve:
    """One crop in one room. growth_rate: its pace on the growth model's clock."""

    def __init__(self, scenario: Scenario, crop: Crop, growth_rate: float, dark: Dark | None = None) -> None:
        self._scenario, self.crop = scenario, crop
        self._start = dt.datetime.combine(scenario.room.start_date, dt.time())
        self._calendar = Calendar(scenario.room.start_date, scenario.room.closed_days)
        table = crop.emergence
        self.days_up = days_to_emerge(scenario.climate.air_temperature_c, table.temperature_c, table.days)
        self.stages = crop.stages_in_order()
        self._curves: list[tuple[np.ndarray, np.ndarray]] = []  # (ages, dry masses) of each stage
        for stage in self.stages:
            base = base_curve(
                plants_per_m2(scenario, stage), seedling_dry_g(crop), reference_environment(scenario, stage.name)
            )
            curve = paced(base, growth_rate)
            self._curves.append((np.arange(len(curve.dry)) * curve.step_days, np.array(curve.dry)))
        self._dark = dark or {}
        self._typical_dry_g = crop.typical_mass_g.expected() * crop.dry_matter_fraction
        self._lights = self._lights_over(self.stages[-1].name)
        self.cutting = frozenset(WEEKDAYS.index(day) for day in scenario.harvest.cutting_weekdays)

    def relative_mass(self, speeds: np.ndarray, growing_days: tuple[float, ...]) -> np.ndarray:
        """Mass against the typical, for each speed, after these days of growing in each stage in turn."""
        dry = np.full(speeds.size, seedling_dry_g(self.crop))
        for (ages, masses), days in zip(self._curves, growing_days, strict=False):
            if days > 0:
                age = np.interp(dry, masses, ages) + days * speeds
                dry = np.maximum(dry, np.interp(age, ages, masses))
        relative: np.ndarray = dry / self._typical_dry_g
        return relative

    def growing_days(self, sown: dt.date, moved: dt.date | None, until: dt.datetime) -> tuple[float, ...]:
        """Days of growing in each stage up to a moment; the first move on its recorded day, the others as planned."""
        up = self.at_work(sown) + dt.timedelta(days=self.days_up)
        ends: list[dt.datetime] = []
        planned = 0.0
        for number, stage in enumerate(self.stages[:-1]):
            planned += stage.days
            day = sown + dt.timedelta(days=round(planned))
            if number == 0 and moved is not None:
                day = moved
            ends.append(self.at_work(day))
        spans, begin = [], up
        for end in [*ends, until]:
            end = min(max(end, begin), until) if until > begin else begin  # noqa: PLW2901  (a later stage not reached)
            spans.append(self.lit_days(begin, end))
            begin = end
        return tuple(spans)

    def last_move(self, sown: dt.date, moved: dt.date | None) -> dt.date:
        """Day of the last move: the recorded one where there is one move, else as planned."""
        if len(self.stages) == 2 and moved is not None:
            return moved
        return sown + dt.timedelta(days=round(sum(stage.days for stage in self.stages[:-1])))

    def cutting_days(self, cut: dt.date, count: int) -> list[dt.date]:
        """The last `count` cutting days up to the day of cutting, the latest first."""
        days: list[dt.date] = []
        day = cut
        while len(days) < count and (cut - day).days < 120:
            if day.weekday() in self.cutting:
                days.append(day)
            day -= dt.timedelta(days=1)
        return days

    def at_work(self, day: dt.date) -> dt.datetime:
        """About when work is done that day: soon after its first shift begins, or at noon."""
        weekday = WEEKDAYS[day.weekday()]
        hours = [shift.start_hour for shift in self._scenario.crew.shifts if shift.weekday == weekday]
        hour = min(hours) + WORK_BEGINS_AFTER_HOURS if hours else NOON
        return dt.datetime.combine(day, dt.time()) + dt.timedelta(hours=hour)

    def lit_days(self, begin: dt.datetime, end: dt.datetime) -> float:
        """Hours of light between two moments, in days of light: the mean over the banks that light the last stage."""
        if end <= begin:
            return 0.0
        one, two = self._hour(begin), self._hour(end)
        lit = sum(weight * self._burnt(bank, one, two) / bank.hours_per_day for bank, weight in self._lights)
        return lit / sum(weight for _, weight in self._lights)

    def _burnt(self, bank: LightBank, one: float, two: float) -> float:
        """Hours a bank burnt between two hours: those on its timer, but for the recorded times it was dark."""
        hours = _lit_between(bank, one, two)
        for down, back in self._dark.get(bank.name, ()):
            begin, end = max(one, self._hour(down)), min(two, self._hour(back))
            if end > begin:
                hours -= _lit_between(bank, begin, end)
        return hours

    def _hour(self, moment: dt.datetime) -> float:
        return (moment - self._start).total_seconds() / 3600.0

    def _lights_over(self, stage: str) -> list[tuple[LightBank, int]]:
        """The light banks over shelves that may hold a stage, with the number of its slots."""
        banks = {bank.name: bank for bank in self._scenario.lights}
        found = []
        for rack in self._scenario.racks:
            slots = sum(group.total_slots for group in rack.shelves if stage in group.stages)
            if slots:
                found.append((banks[rack.lights], slots))
        return found


def _lit_between(bank: LightBank, one: float, two: float) -> float:
    """Hours for which a bank's timer has it on, between two hours."""
    on, hours = bank.on_hour, bank.hours_per_day
    return _lit_hours(two, on, hours) - _lit_hours(one, on, hours)


@lru_cache(maxsize=65536)
def _lit_hours(at_hour: float, on_hour: float, hours: float) -> float:
    """Hours of light from hour 0 to `at_hour`, lights on from `on_hour` for `hours` a day, perhaps past midnight."""
    days, hour = divmod(at_hour - on_hour, 24.0)
    before, hour0 = divmod(-on_hour, 24.0)
    return float((days - before) * hours + min(hour, hours) - min(hour0, hours))
