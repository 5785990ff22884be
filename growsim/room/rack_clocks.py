"""A rack's light bank, and the two clocks that the plants on the rack live by.

The growth clock counts days of growth at the set-points: it runs while the lights are on, at a pace that follows
air, CO2 and solution. The thirst clock counts days' worth of drinking: faster in the light than in the dark. Both
are arithmetic between changes, so a rack on which nothing changes costs no events.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil
from typing import TYPE_CHECKING, Final

from growsim.growth.curves import Environment, growth_pace, water_pace

if TYPE_CHECKING:
    from growsim.room.machines import Machine, Mains
    from growsim.room.solution import Solution
    from growsim.scenario.equipment import LightBank
    from growsim.scenario.place import Rack

_MINUTES: Final = 1440
LONGEST_FLOOD_PAUSE_MINUTES: Final = 48 * 60  # as the room file allows
PPM_STEP: Final = 5.0  # of CO2: half a percent of growth
SAFELY_ABOVE: Final = 1.01  # the best temperature lies between two whole degrees


class Bank:
    """A light bank: when it should be on, whether it can be, and the electricity it has used."""

    def __init__(self, spec: LightBank, lit_area_m2: float, machine: Machine, mains: Mains, begin_minute: int) -> None:
        self.spec = spec
        self.name = spec.name
        self.machine = machine
        self._mains = mains
        self.on_minute = round(spec.on_hour * 60)
        self.lit_minutes_a_day = max(1, round(spec.hours_per_day * 60))
        self.power_w = spec.power_w(lit_area_m2)
        self.is_cut_out = self.is_resting = False  # by the thermostat; while the room is closed
        self._was_able = True
        self._counted_from = begin_minute
        self._lit_minutes = 0

    @property
    def is_able(self) -> bool:
        """Whether the lights come on when the clock says so."""
        return self.machine.is_up and self._mains.is_up and not self.is_cut_out and not self.is_resting

    def scheduled_minutes(self, minute: int) -> int:
        """Minutes of light the timetable gives up to that minute, counted from an arbitrary start."""
        since = minute - self.on_minute
        into_day, lit = since % _MINUTES, self.lit_minutes_a_day
        return since // _MINUTES * lit + (into_day if into_day < lit else lit)

    def is_scheduled_on(self, minute: int) -> bool:
        """Whether the timetable has the lights on at that minute."""
        return (minute - self.on_minute) % _MINUTES < self.lit_minutes_a_day

    def next_switch(self, minute: int) -> int:
        """Next minute after this one at which the timetable switches."""
        into_day = (minute - self.on_minute) % _MINUTES
        lit = self.lit_minutes_a_day
        return minute + (lit - into_day if into_day < lit else _MINUTES - into_day)

    def day_after_light(self, minute: int, lit_minutes: float) -> int:
        """First day after this minute at whose start the timetable has given so many more minutes of light."""
        tomorrow = minute // _MINUTES + 1
        today = self.scheduled_minutes(tomorrow * _MINUTES) - self.scheduled_minutes(minute)
        return tomorrow + max(0, ceil((lit_minutes - today) / self.lit_minutes_a_day))

    def lit_minutes(self, now: int) -> int:
        """Minutes the lights have really been on since the start."""
        if not self._was_able:
            return self._lit_minutes
        return self._lit_minutes + self.scheduled_minutes(now) - self.scheduled_minutes(self._counted_from)

    def refresh(self, now: int) -> bool:
        """Take note of whether the bank is able now; returns whether that changed."""
        able = self.is_able
        if able == self._was_able:
            return False
        self._lit_minutes = self.lit_minutes(now)
        self._counted_from = now
        self._was_able = able
        return True

    def kwh(self, now: int) -> float:
        """Electricity used since the start."""
        return self.lit_minutes(now) / 60.0 * self.power_w / 1000.0

    def heat_w(self, minute: int) -> float:
        """Heat given off at that minute: all of the electricity."""
        return self.power_w if self._was_able and self.is_scheduled_on(minute) else 0.0


class RackClocks:
    """The two clocks of a rack (both in days). solution: what its reservoir holds, which the plants drink.

    dry_left_g: dry mass that plants took along when they were harvested or lost, less what they brought when they
    germinated.
    """

    def __init__(self, spec: Rack, bank: Bank, setpoint: Environment, most_co2_ppm: float, begin_minute: int) -> None:
        self.name = spec.name
        self.bank = bank
        self.setpoint = setpoint
        self.fastest_pace = fastest_pace(setpoint, max(setpoint.co2_ppm, most_co2_ppm))
        self.paces = paces_at(setpoint)
        self.solution: Solution  # the reservoir puts it here
        self.dry_left_g = 0.0
        lit_share = bank.lit_minutes_a_day / _MINUTES
        in_dark = Environment(
            ppfd_umol_m2_s=setpoint.ppfd_umol_m2_s,
            light_hours=0.0,
            air_temperature_c=setpoint.air_temperature_c,
            co2_ppm=setpoint.co2_ppm,
            relative_humidity_percent=setpoint.relative_humidity_percent,
        )
        # Share of an average hour's drinking that an hour of dark takes; an hour of light takes the rest.
        self._thirst_dark = min(1.0, water_pace(in_dark, setpoint))
        self._thirst_lit = (1.0 - self._thirst_dark * (1.0 - lit_share)) / lit_share
        self._base_minute = begin_minute
        self._base_lit = bank.scheduled_minutes(begin_minute)
        self._growth = 0.0
        self._thirst = 0.0
        self._growth_pace = 1.0
        self._thirst_pace = 1.0
        self._lights_are_on = True
        self._read_minute: int | None = None  # when the clocks were last read, and what they showed:
        self._read = (0.0, 0.0)  # they are read again and again in one minute
        self._earlier: list[tuple[int, int, float, float, bool]] = []  # what the thirst clock ran by before, of late

    def growth_clock(self, minute: int) -> float:
        """Days of growth at set-points so far, as seen from the present state of the rack."""
        if not self._lights_are_on:
            return self._growth
        if minute >= self._base_minute:
            return self.clocks(minute)[0]
        lit = self.bank.scheduled_minutes(minute) - self._base_lit
        return self._growth + self._growth_pace * lit / self.bank.lit_minutes_a_day

    def thirst_clock(self, minute: int) -> float:
        """Days' worth of drinking so far, or, if nothing changes, by a minute to come."""
        if minute < self._base_minute and self._earlier:
            for begin in reversed(self._earlier):
                if begin[0] <= minute:
                    break
            return self._thirst_since(minute, *begin)
        return self._thirst_since(
            minute, self._base_minute, self._base_lit, self._thirst, self._thirst_pace, self._lights_are_on
        )

    def clocks(self, minute: int) -> tuple[float, float]:
        """(growth clock, thirst clock) at that minute."""
        if minute == self._read_minute:
            return self._read
        passed = minute - self._base_minute
        if passed < 0 or not self._lights_are_on:
            return self.growth_clock(minute), self.thirst_clock(minute)
        bank = self.bank  # both clocks by one look at the timetable
        lit = bank.scheduled_minutes(minute) - self._base_lit
        drunk = lit * self._thirst_lit + (passed - lit) * self._thirst_dark
        self._read_minute = minute
        self._read = clocks = (
            self._growth + self._growth_pace * lit / bank.lit_minutes_a_day,
            self._thirst + self._thirst_pace * drunk / _MINUTES,
        )
        return clocks

    def _thirst_since(
        self, minute: int, base: int, base_lit: int, thirst: float, pace: float, lit_by_day: bool
    ) -> float:
        passed = minute - base
        if lit_by_day:
            lit = self.bank.scheduled_minutes(minute) - base_lit
            drunk = lit * self._thirst_lit + (passed - lit) * self._thirst_dark
        else:
            drunk = passed * self._thirst_dark
        return thirst + pace * drunk / _MINUTES

    def _remember(self, now: int) -> None:
        """Keep what the thirst clock ran by until now, as long as a flood that long ago may matter."""
        earlier = self._earlier
        earlier.append((self._base_minute, self._base_lit, self._thirst, self._thirst_pace, self._lights_are_on))
        while len(earlier) > 1 and earlier[1][0] < now - LONGEST_FLOOD_PAUSE_MINUTES:
            earlier.pop(0)

    def minute_of_thirst(self, thirst: float, from_minute: int) -> int:
        """First minute from `from_minute` on (up to 60 days) at which the thirst clock has reached this value."""
        low, high = from_minute, from_minute + 60 * _MINUTES
        while low < high:
            middle = (low + high) // 2
            if self.thirst_clock(middle) >= thirst:
                high = middle
            else:
                low = middle + 1
        return low

    @property
    def pace(self) -> float:
        """The faster of growing and drinking, against the set-points."""
        growth, thirst = self._growth_pace, self._thirst_pace
        return growth if growth > thirst else thirst

    def is_running_at(self, growth: float, thirst: float) -> bool:
        """Whether the clocks run at these paces, with the lights as they are."""
        return (growth, thirst, self.bank.is_able) == (self._growth_pace, self._thirst_pace, self._lights_are_on)

    def run_on(self, now: int, growth: float, thirst: float) -> None:
        """Let both clocks run on at other paces, from what they show now."""
        clocks = self.clocks(now)
        self._remember(now)
        self._growth, self._thirst = clocks
        self._read_minute = None
        self._base_minute, self._base_lit = now, self.bank.scheduled_minutes(now)
        self._growth_pace, self._thirst_pace, self._lights_are_on = growth, thirst, self.bank.is_able


@lru_cache(maxsize=256)
def fastest_pace(setpoint: Environment, most_co2_ppm: float) -> float:
    """Growth pace that no air exceeds, be it warmer, cooler or richer in CO2; solution never helps beyond it."""
    paces = (
        growth_pace(
            Environment(
                ppfd_umol_m2_s=setpoint.ppfd_umol_m2_s,
                light_hours=setpoint.light_hours,
                air_temperature_c=float(degrees),
                co2_ppm=most_co2_ppm,
                relative_humidity_percent=setpoint.relative_humidity_percent,
            ),
            setpoint,
        )
        for degrees in range(5, 46)
    )
    return max(1.0, *paces) * SAFELY_ABOVE


class Paces:
    """Growth and thirst of a rack in other air than its set-points, remembered by tenth of a degree and 5 ppm."""

    def __init__(self, setpoint: Environment) -> None:
        self._setpoint = setpoint
        self._known: dict[tuple[float, float], tuple[float, float]] = {}

    def of(self, air_temperature_c: float, co2_ppm: float) -> tuple[float, float]:
        """(growth pace, thirst pace), 1 at the set-points."""
        setpoint = self._setpoint
        air, ppm = round(air_temperature_c, 1), PPM_STEP * round(co2_ppm / PPM_STEP)
        if abs(air - setpoint.air_temperature_c) < 0.05 and abs(co2_ppm - setpoint.co2_ppm) < PPM_STEP / 2.0:
            return 1.0, 1.0
        known = self._known.get((air, ppm))
        if known is None:
            now = Environment(
                ppfd_umol_m2_s=setpoint.ppfd_umol_m2_s,
                light_hours=setpoint.light_hours,
                air_temperature_c=air,
                co2_ppm=ppm,
                relative_humidity_percent=setpoint.relative_humidity_percent,
            )
            known = self._known[air, ppm] = growth_pace(now, setpoint), water_pace(now, setpoint)
        return known


@lru_cache(maxsize=256)
def paces_at(setpoint: Environment) -> Paces:
    """The paces of these set-points: of all racks, and of every replication."""
    return Paces(setpoint)
