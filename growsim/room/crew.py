"""The crew: who comes to which shift, and how they share out the work on the board.

No process a person: a shift is two calendar calls, a piece of work is one planned moment. At the end of a shift whoever
is in the middle of a piece leaves the rest on the board.
"""

from __future__ import annotations

import math
from math import ceil, exp, floor, log1p
from typing import TYPE_CHECKING, Any, Final

from growsim.ledger.events import ShiftHeld, Worked
from growsim.room.board import Board, Job
from growsim.scenario.calendar import Calendar, Order, minute_of

_CHOOSE: Final = int(Order.CHOOSE)
_FINISHED: Final = int(Order.FINISHED)
_NOT_YET: Final = -(2**62)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from growsim.chance.streams import Luck
    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.scenario.people import Crew as CrewSpec
    from growsim.scenario.people import Shift as ShiftSpec


def _chances(spec: CrewSpec, luck: Luck) -> Sequence[float]:
    """Chance of coming in each month in this replication: one draw moves all that is not known of them together."""
    if not spec.chance_doubt_sd:
        return spec.chance_of_coming
    moved = luck.stream("parameter.crew.chance_of_coming").deviation()
    return tuple(
        min(1.0, max(0.0, chance + moved * sd))
        for chance, sd in zip(spec.chance_of_coming, spec.chance_doubt_sd, strict=True)
    )


class Volunteer:
    """One sign-up place of a shift and whoever fills it: comes or not, learns, one day leaves to a beginner."""

    __slots__ = (
        "_beginner_pace", "_chances", "_luck", "_share_leaving", "_shifts_to_learn", "deviation", "name", "shifts_done",
    )  # fmt: skip

    def __init__(self, name: str, luck: Luck, spec: CrewSpec, chances: Sequence[float]) -> None:
        self.name = name
        self._chances = chances
        self._share_leaving = 1.0 / spec.stay_weeks
        self._beginner_pace, self._shifts_to_learn = spec.beginner_pace, spec.shifts_to_learn
        self._luck = luck.stream(f"crew.{name}")
        self.deviation = self._luck.deviation() * spec.chance_spread_sd
        # Memoryless stays: whoever is here at the start has been here for one exponential stay already.
        self.shifts_done = -spec.stay_weeks * log1p(-self._luck.random()) * math.fsum(chances) / 12.0

    def comes(self, month: int) -> bool:
        """One week passes: perhaps a beginner has taken over; does whoever it is come? Two uniforms a week, always."""
        leaves, stays_away = self._luck.random(), self._luck.random()
        if leaves < self._share_leaving:
            self.shifts_done = 0.0
        came = stays_away < self._chances[month] + self.deviation
        if came:
            self.shifts_done += 1.0
        return came

    def pace(self) -> float:
        """Share of a practiced pace, on the shift just begun."""
        learned = 1.0 - exp(-(self.shifts_done - 1.0) / self._shifts_to_learn)
        return self._beginner_pace + (1.0 - self._beginner_pace) * learned


class Person:
    """Somebody at work in a shift."""

    __slots__ = ("name", "pace", "shift")

    def __init__(self, name: str, pace: float, shift: ShiftHere) -> None:
        self.name = name
        self.pace = pace
        self.shift = shift


class ShiftHere:
    """A shift going on: when it ends and what it has come to."""

    __slots__ = ("begin_minute", "came", "end_minute", "inside", "lead", "signed_up", "spec", "worked_minutes")

    def __init__(self, spec: ShiftSpec, begin_minute: int, end_minute: int, signed_up: int, came: int) -> None:
        self.spec = spec
        self.begin_minute = begin_minute
        self.end_minute = end_minute
        self.signed_up = signed_up
        self.came = came
        self.lead = spec.lead
        self.inside = 0
        self.worked_minutes = 0


class Crew:
    """Runs the shifts and puts free hands to the board."""

    def __init__(
        self,
        spec: CrewSpec,
        people_at_once: int,
        clock: Clock,
        calendar: Calendar,
        board: Board,
        book: Book,
        luck: Luck,
    ) -> None:
        self._spec = spec
        self._limit = people_at_once
        self._clock = clock
        self._calendar = calendar
        self._board = board
        self._book = book
        self._luck = luck
        self._inside = 0
        self._idle: list[Person] = []
        self._choosing_at = _NOT_YET
        self._volunteers: dict[str, list[Volunteer]] = {}
        self._chances = _chances(spec, luck)
        board.on_post = self._somebody_choose

    def start(self, first_day: int) -> None:
        """Put the first occurrence of every weekly shift on the calendar."""
        for shift in self._spec.shifts:
            day = self._calendar.first_on(shift.weekday, first_day)
            self._plan(shift, day)

    def _plan(self, shift: ShiftSpec, day: int) -> None:
        self._clock.at(minute_of(day, shift.start_hour), Order.ARRIVE, lambda _: self._begin(shift, day))

    def _begin(self, shift: ShiftSpec, day: int) -> None:
        self._plan(shift, day + 7)
        month = self._calendar.month(day)
        signed_up = shift.signed_up(month)
        came = self._who_comes(shift, signed_up, month)
        if self._calendar.is_closed(day) or not shift.is_held(month):
            return
        here = ShiftHere(shift, self._clock.now, minute_of(day, shift.start_hour + shift.hours), signed_up, len(came))
        if shift.lead:
            self._enter(Person(f"{shift.name}/0", 1.0, here))
        for name, pace in came:
            self._enter(Person(name, pace, here))
        self._clock.at(here.end_minute, Order.LEAVE, lambda _: self._end(here))
        self._somebody_choose()

    def _who_comes(self, shift: ShiftSpec, signed_up: int, month: int) -> list[tuple[str, float]]:
        if self._luck.is_switched_off:  # on paper: the expected number, at a practiced pace
            expected = floor(signed_up * self._chances[month] + 0.5)
            return [(f"{shift.name}/{number}", 1.0) for number in range(1, expected + 1)]
        known = self._volunteers.setdefault(shift.name, [])
        most = max((shift.people, *shift.people_by_month))
        while len(known) < most:
            known.append(Volunteer(f"{shift.name}/{len(known) + 1}", self._luck, self._spec, self._chances))
        came = [(number, volunteer) for number, volunteer in enumerate(known, 1) if volunteer.comes(month)]
        return [(volunteer.name, volunteer.pace()) for number, volunteer in came if number <= signed_up]

    def _enter(self, person: Person) -> None:
        if self._inside < self._limit:
            self._inside += 1
            person.shift.inside += 1
            self._idle.append(person)

    def _end(self, here: ShiftHere) -> None:
        self._idle = [person for person in self._idle if person.shift is not here]
        self._inside -= here.inside
        minutes = here.end_minute - here.begin_minute
        self._book.write(
            ShiftHeld(
                self._clock.now, here.spec.name, here.signed_up, here.came, here.inside, here.lead,
                here.came * minutes, minutes if here.lead else 0, here.worked_minutes,
            )
        )  # fmt: skip

    def _somebody_choose(self) -> None:
        """Plan one choosing for this minute, after everything else of the minute has taken effect."""
        if self._idle and self._choosing_at != self._clock.now:
            now = self._choosing_at = self._clock.now
            self._clock.at(now, _CHOOSE, self._choose)

    def _choose(self, _: Any) -> None:
        self._choosing_at = _NOT_YET
        board, now = self._board, self._clock.now
        still_idle: list[Person] = []
        for person in self._idle:
            taken = board.take(person.shift.lead)
            if taken is None:
                still_idle.append(person)
                continue
            job, piece_minutes = taken
            needed, over = ceil(piece_minutes / person.pace - 1e-9), person.shift.end_minute
            end = now + needed if now + needed < over else over
            self._plan_stop(person, job, piece_minutes, now, needed, end)
        self._idle = still_idle

    def _plan_stop(self, person: Person, job: Job, piece_minutes: float, began: int, needed: int, end: int) -> None:
        self._clock.at(end, _FINISHED, lambda _: self._stop(person, job, piece_minutes, began, needed, end))

    def _stop(self, person: Person, job: Job, piece_minutes: float, began: int, needed: int, end: int) -> None:
        here, worked = person.shift, end - began
        left = 0.0 if worked >= needed else piece_minutes - worked * person.pace
        here.worked_minutes += worked
        self._book.write((end, person.name, job.task, job.about, began, Worked))
        if end < here.end_minute:
            self._idle.append(person)
        is_planned, self._choosing_at = self._choosing_at == end, end
        self._board.put_back(job, left, worked)
        if is_planned:
            return
        if not self._idle:
            self._choosing_at = _NOT_YET
        elif self._clock.is_quiet_until(_CHOOSE):  # nothing else of this minute would come first
            self._choose(None)
        else:
            self._clock.at(end, _CHOOSE, self._choose)
