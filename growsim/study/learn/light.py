"""Hours of light a sowing had: by the timetable of each light bank it may have stood under, less recorded darkness.

Trays do not say on which rack they stood, and banks differ: in the hours they burn, in brightness, in when they
failed. So light is reckoned for every bank that may hold a stage.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from growsim.growth.pace import slots_by_bank
from growsim.scenario.equipment import LightBank
from growsim.scenario.record.record import FaultRow
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.machines import BY_KEY, LIGHT_BANK

Dark = Mapping[str, Sequence[tuple[dt.datetime, dt.datetime]]]
"""When a light bank was out, by its name: from going down to being repaired, one after the other."""


def dark_times(faults: Sequence[FaultRow], banks: Iterable[str]) -> Dark:
    """When the record says that lights were out, by themselves or because the power was; a row that does not say when
    they were back teaches nothing here. banks: the names of all light banks."""
    dark: dict[str, list[tuple[dt.datetime, dt.datetime]]] = {bank: [] for bank in banks}
    for row in sorted(faults, key=lambda row: row.down):
        kind = BY_KEY[row.machine]
        if not kind.stops_light or row.repaired is None:
            continue
        for bank in [row.where] if kind.place is LIGHT_BANK else dark:
            times = dark.setdefault(bank, [])
            begin = max(row.down, times[-1][1]) if times else row.down  # an hour written down twice was dark once
            if row.repaired > begin:
                times.append((begin, row.repaired))
    return {bank: times for bank, times in dark.items() if times}


class Lamps:
    """The light banks of a room, and when they were dark."""

    def __init__(self, scenario: Scenario, dark: Dark | None = None) -> None:
        self._scenario, self._dark = scenario, dark or {}
        self._start = dt.datetime.combine(scenario.room.start_date, dt.time())
        self._banks = {bank.name: bank for bank in scenario.lights}
        self._known: dict[tuple[str, dt.datetime, dt.datetime], float] = {}

    def over(self, stage: str) -> dict[str, float]:
        """The banks over shelves that may hold a stage, with their share of those slots."""
        slots = slots_by_bank(self._scenario, stage)
        return {bank: count / sum(slots.values()) for bank, count in slots.items()}

    def lit_days(self, bank: str, begin: dt.datetime, end: dt.datetime) -> float:
        """Hours for which a bank burnt between two moments, in its days of light."""
        if end <= begin:
            return 0.0
        key = bank, begin, end
        if key not in self._known:
            lamp = self._banks[bank]
            self._known[key] = self._burnt(lamp, self._hour(begin), self._hour(end)) / lamp.hours_per_day
        return self._known[key]

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
