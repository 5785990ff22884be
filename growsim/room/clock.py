"""The room's clock: whole minutes, absolute instants, and the order of the day for things that share a minute.

SimPy's queue holds (minute, priority, number, event) and compares each entry with a dozen others on its way through.
Here only minutes are compared, then what shares one: by its place in the order of the day (SimPy's priority), then
first planned first. And most of a year's happenings are mere calls that nobody waits on; those are planned as they
are, without an event around them, and `Clock.run` takes one after the other: SimPy's own run and step in one loop.
That leans on private names of SimPy's (`_value`, `_ok`, `_now`, `_generator`, `_resume`): pyproject.toml bounds its
version, and a test says when they have moved.
"""

from __future__ import annotations

from bisect import insort_right
from collections import deque
from collections.abc import Callable, Generator
from heapq import heappop, heappush
from operator import itemgetter
from typing import Any, Final

import simpy

from growsim.scenario.calendar import Order

Callback = Callable[[Any], None]
_place = itemgetter(0)
_RANK: Final = 2.0**-40  # a trillion ranks fit between two places in the order of the day
_WAKE: Final = int(Order.WAKE)
_BEGIN: Final = 0  # SimPy's own priorities: for a process that begins,
AT_ONCE: Final = 1  # and for an event that succeeds


class _Environment(simpy.Environment):
    """SimPy's environment, but for its queue."""

    def __init__(self, clock: Clock) -> None:
        super().__init__(initial_time=clock.now)
        self.clock = clock

    def schedule(self, event: simpy.Event, priority: Any = AT_ONCE, delay: Any = 0) -> None:
        """Plan an event."""
        self.clock.at(self.clock.now + delay, priority, event)


class Life(simpy.Process):
    """SimPy's process, begun and gone on with in fewer steps: nobody interrupts one or waits for its end, and what it
    waits on never fails. A mistake in it fails the run."""

    def __init__(self, clock: Clock, generator: Generator[Any, Any, Any]) -> None:
        self.env = clock.env
        self.callbacks: Any = []
        self._generator = generator
        clock.at(clock.now, _BEGIN, self._resume)

    def _resume(self, event: Any) -> None:
        """Go on with what was waited for (None: begin) until it waits on something that lies ahead."""
        try:
            waits_on: Any = self._generator.send(None if event is None else event._value)
            while waits_on.callbacks is None:  # so SimPy marks what has been
                waits_on = self._generator.send(waits_on._value)
        except StopIteration as end:
            self._ok, self._value, self.callbacks = True, end.value, None
        else:
            waits_on.callbacks.append(self._resume)


class Moment(simpy.Event):
    """An event at an absolute minute, in a lot's place in the order of the day. Triggered when planned, like a
    Timeout."""

    def __init__(self, clock: Clock, minute: int, rank: int) -> None:
        self.env = clock.env
        self.callbacks: Any = []
        self._value = None
        self._ok = True
        self.rank = rank
        clock.at(minute, _WAKE, self, rank)


class Clock:
    """Plans calls and wake-ups at absolute minutes. now: the present minute, kept beside SimPy's own."""

    def __init__(self, begin_minute: int) -> None:
        self.now = begin_minute
        self.env = _Environment(self)
        self._minutes: list[int] = []  # those that have something planned (a heap)
        # What, with its place in the order of the day; as planned, and once the minute has come in its order.
        self._planned: dict[int, list[tuple[float, Any]]] = {}
        self._deadlines: dict[int, deque[Callback]] = {}

    def at(self, minute: int, order: int, planned: Callback | simpy.Event, rank: int = 0) -> None:
        """Call `planned(None)` at that minute, or let it be the minute of that event; of those that share minute and
        order, the lowest rank first.

        Raises ValueError for a minute that has passed.
        """
        entry = (order + rank * _RANK if rank else order, planned)
        there = self._planned.get(minute)
        if there is None:
            if minute < self.now:
                raise ValueError(f"minute {minute} has passed; it is minute {self.now}")
            self._planned[minute] = [entry]
            heappush(self._minutes, minute)
        elif minute > self.now:
            there.append(entry)
        else:
            insort_right(there, entry, key=_place)

    def at_deadline(self, minute: int, call: Callback) -> None:
        """Call `call(None)` at that minute, before any lot wakes: something may have been waited for in vain.

        Nearly all such calls find that it was not, and many share a midnight: a minute's deadlines take one place in
        the queue together. Raises ValueError for a minute that has passed.
        """
        calls = self._deadlines.get(minute)
        if calls is None:
            self.at(minute, Order.WAKE, self._deadlines_pass)
            calls = self._deadlines[minute] = deque()
        calls.append(call)

    def _deadlines_pass(self, _: Any) -> None:
        calls = self._deadlines[self.now]
        while calls:
            calls.popleft()(None)
            if calls and not self.is_quiet_until(Order.WAKE):  # what that brought about comes first
                self.at(self.now, Order.WAKE, self._deadlines_pass)
                return
        del self._deadlines[self.now]

    def is_quiet_until(self, order: int) -> bool:
        """Whether nothing else is planned for this minute up to and with that place in the order of the day."""
        still = self._planned.get(self.now)
        return not still or still[0][0] > order

    def until(self, minute: int, rank: int) -> Moment:
        """A WAKE event for a lot to wait on; of those that share a minute, the lowest rank (from 1 on) first, whenever
        planned.

        Raises ValueError for a minute that has passed.
        """
        return Moment(self, minute, rank)

    def live(self, life: Generator[Any, Any, Any]) -> Life:
        """Begin a process, as the first thing of this minute that comes next."""
        return Life(self, life)

    def event(self) -> simpy.Event:
        """A bare event, for somebody to succeed."""
        return simpy.Event(self.env)

    def answer(self, event: simpy.Event, value: object) -> None:
        """Succeed a bare event with a value: whoever waits on it goes on this very minute."""
        if event.callbacks:
            event.succeed(value)
        else:  # who is about to wait on it need not
            self.answer_last(event, value)

    def answer_last(self, event: simpy.Event, value: object) -> None:
        """`answer`, as the last deed of a call: who waits would be next, so goes on here and now, past the queue."""
        if not self.is_quiet_until(AT_ONCE):
            event.succeed(value)
            return
        event._ok, event._value = True, value
        waiting, event.callbacks = event.callbacks, None  # type: ignore[assignment]
        for go_on in waiting:
            go_on(event)

    def rouse(self, sleeping: Moment) -> None:
        """Wake at once whoever waits on a moment that still lies ahead; the moment itself then passes unheard."""
        if sleeping.callbacks:
            early = Moment(self, self.now, sleeping.rank)
            early.callbacks, sleeping.callbacks = sleeping.callbacks, []

    def run(self, until_minute: int) -> None:
        """Run up to, but not including, that minute."""
        minutes, env = self._minutes, self.env
        while minutes and minutes[0] < until_minute:
            env._now = self.now = minute = minutes[0]
            still = self._planned[minute]
            if len(still) > 1:
                still.sort(key=_place)
            while still:
                planned = still.pop(0)[1]
                if callable(planned):
                    planned(None)
                    continue
                callbacks, planned.callbacks = planned.callbacks, None
                for callback in callbacks:
                    callback(planned)
                if not planned._ok:  # an event has failed: so has the run
                    raise planned._value
            del self._planned[minute]
            heappop(minutes)
        env._now = self.now = until_minute
