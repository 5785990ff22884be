"""The room's clock: whole minutes, absolute instants, and the order of the day for things that share a minute.

SimPy's own Timeout knows one priority. A Moment is the same event with the order of the day as its priority, planned
for an absolute minute. It is triggered when planned, like a Timeout, which is why it fills the event's fields itself.
"""

from __future__ import annotations

from collections.abc import Callable
from heapq import heappush
from typing import Any

import simpy

from growsim.spec.calendar import Order

Callback = Callable[[Any], None]
_RANK = 2.0**-40  # a trillion ranks fit between two places in the order of the day


class Moment(simpy.Event):
    """An event that happens at an absolute minute, in its place in the order of the day."""

    def __init__(self, env: simpy.Environment, minute: int, order: float) -> None:
        if minute < env._now:
            raise ValueError(f"minute {minute} has passed; it is minute {env._now}")
        self.env = env
        self.callbacks: Any = []
        self._value = None
        self._ok = True
        self._defused = False
        self.order = order
        # What `env.schedule` does, without turning the absolute minute into a delay and back: this is the hottest line.
        heappush(env._queue, (minute, order, next(env._eid), self))  # type: ignore[misc]


class Clock:
    """Plans calls and wake-ups at absolute minutes."""

    def __init__(self, begin_minute: int) -> None:
        self.env = simpy.Environment(initial_time=begin_minute)

    @property
    def now(self) -> int:
        """The present minute."""
        return self.env._now  # type: ignore[return-value]  # the public property does the same, slower

    def at(self, minute: int, order: Order, call: Callback, rank: int = 0) -> Moment:
        """Call `call(moment)` at that minute; of those that share minute and order, the lowest rank first.

        Raises ValueError for a minute that has passed.
        """
        moment = Moment(self.env, minute, order + rank * _RANK if rank else order)
        moment.callbacks.append(call)
        return moment

    def until(self, minute: int, rank: int) -> Moment:
        """A WAKE event for a lot to wait on; of those that share a minute, the lowest rank first, whenever planned.

        Raises ValueError for a minute that has passed.
        """
        return Moment(self.env, minute, Order.WAKE + rank * _RANK)

    def event(self) -> simpy.Event:
        """A bare event, for somebody to succeed."""
        return self.env.event()

    @staticmethod
    def answer(event: simpy.Event, value: object) -> None:
        """Succeed a bare event with a value: whoever waits on it goes on this very minute."""
        event.succeed(value)

    def rouse(self, sleeping: Moment) -> None:
        """Wake at once whoever waits on a moment that still lies ahead; the moment itself then passes unheard."""
        if sleeping.callbacks:
            early = Moment(self.env, self.now, sleeping.order)
            early.callbacks, sleeping.callbacks = sleeping.callbacks, []

    def run(self, until_minute: int) -> None:
        """Run up to, but not including, that minute."""
        self.env.run(until=until_minute)
