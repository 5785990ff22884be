"""Absolute minutes and the order of the day."""

from __future__ import annotations

import random
from collections.abc import Generator
from typing import Any

import pytest
import simpy

from growsim.room.clock import Clock
from growsim.scenario.calendar import Order


def test_things_of_one_minute_happen_in_the_order_of_the_day() -> None:
    """Planned in any order, they happen as the numbered list has it; within a number, first planned first."""
    clock, seen = Clock(-10), []
    planned = [(order, number) for number in range(2) for order in Order]
    random.Random(1).shuffle(planned)
    for order, number in planned:
        clock.at(5, order, lambda _, what=(order, number): seen.append(what))  # type: ignore[misc]
    clock.run(6)

    assert [order for order, _ in seen] == sorted(order for order, _ in planned)
    assert seen == sorted(planned, key=lambda what: (what[0], planned.index(what)))
    assert [order.name for order in Order] == [
        "OPENING", "AIR", "FLOOD", "FINISHED", "WAKE", "CALENDAR", "COOLER", "LEAVE", "ARRIVE", "CHOOSE", "READ",
    ]  # fmt: skip


def test_what_is_planned_for_this_very_minute_still_happens_in_it() -> None:
    """Also where its place in the order has passed; and by rank, whoever planned first."""
    clock, seen = Clock(0), []
    clock.at(3, Order.READ, lambda _: clock.at(3, Order.AIR, lambda _: seen.append(("late", clock.now))))
    clock.at(3, Order.FLOOD, lambda _: seen.append(("second", clock.now)), rank=2)
    clock.at(3, Order.FLOOD, lambda _: seen.append(("first", clock.now)), rank=1)
    clock.run(10)

    assert seen == [("first", 3), ("second", 3), ("late", 3)]


def test_lots_wake_oldest_first() -> None:
    """Sleepers of one minute wake by rank, before anything later in the day's order; a roused one keeps its rank."""
    clock, seen = Clock(0), []

    def sleep(rank: int, minute: int) -> Generator[Any, Any, None]:
        moments[rank] = clock.until(minute, rank)
        yield moments[rank]
        seen.append((clock.now, rank))

    moments: dict[int, Any] = {}
    for rank, minute in ((3, 5), (1, 5), (2, 9)):
        clock.live(sleep(rank, minute))
    clock.at(5, Order.FLOOD, lambda _: clock.rouse(moments[2]))
    clock.at(5, Order.CALENDAR, lambda _: seen.append((clock.now, 99)))
    clock.run(20)

    assert seen == [(5, 1), (5, 2), (5, 3), (5, 99)]


def test_rousing_twice_wakes_once() -> None:
    """A moment that was roused passes unheard, and so does a second rousing."""
    clock, woken = Clock(0), []

    def sleeper() -> Generator[Any, Any, None]:
        moment = clock.until(9, 1)
        clock.at(4, Order.AIR, lambda _: (clock.rouse(moment), clock.rouse(moment)))
        yield moment
        woken.append(clock.now)
        yield clock.until(12, 1)
        woken.append(clock.now)

    clock.live(sleeper())
    clock.run(20)

    assert woken == [4, 12]


def test_the_last_minute_is_left_out() -> None:
    """Running up to a minute does not run it; what lies in the past cannot be planned."""
    clock, seen = Clock(0), []
    clock.at(5, Order.OPENING, lambda _: seen.append(5))
    clock.run(5)

    assert seen == []
    assert clock.now == 5
    with pytest.raises(ValueError, match="minute 4 has passed"):
        clock.at(4, Order.READ, lambda _: None)


def test_who_waits_is_answered_in_turn_or_at_once() -> None:
    """Answered as the last deed of a call, a lot goes on within it, unless something else of the minute comes first;
    answered before it waits, it does not stop at all."""
    clock, seen = Clock(0), []

    def lot(name: str, event: Any) -> Generator[Any, Any, None]:
        seen.append((name, (yield event)))

    for name, minute, has_rival in (("alone", 3, False), ("with a rival", 5, True)):
        event = clock.event()
        clock.live(lot(name, event))

        def answer(_: Any, name: str = name, event: Any = event, has_rival: bool = has_rival) -> None:
            if has_rival:
                clock.at(clock.now, Order.OPENING, lambda _: seen.append(("rival", 0)))
            clock.answer_last(event, 7)
            seen.append((f"after {name}", 0))

        clock.at(minute, Order.FINISHED, answer)

    def early() -> Generator[Any, Any, None]:
        event = clock.event()
        clock.answer(event, 8)
        seen.append(("early", (yield event)))

    clock.at(8, Order.FINISHED, lambda _: clock.live(early()))
    clock.run(20)

    assert seen == [
        ("alone", 7), ("after alone", 0),
        ("after with a rival", 0), ("rival", 0), ("with a rival", 7),
        ("early", 8),
    ]  # fmt: skip


def test_a_failing_lot_fails_the_run() -> None:
    """A mistake in a lot's life is not passed over in silence."""
    clock = Clock(0)

    def faulty() -> Generator[Any, Any, None]:
        yield clock.until(3, 1)
        raise RuntimeError("no such tray")

    clock.live(faulty())
    with pytest.raises(RuntimeError, match="no such tray"):
        clock.run(10)


def test_deadlines_of_a_minute_pass_in_turn() -> None:
    """First planned first, before any lot wakes; what one of them brings about comes before the next of them."""
    clock, seen = Clock(0), []

    def lot(name: str, waited_for: Any) -> Generator[Any, Any, None]:
        yield waited_for
        seen.append(name)

    clock.live(lot("wakes", clock.until(5, 1)))
    given_up = clock.event()
    clock.live(lot("gives up", given_up))
    clock.at_deadline(5, lambda _: (seen.append("first"), given_up.succeed(), clock.at_deadline(5, again)))
    clock.at_deadline(5, lambda _: seen.append("second"))
    clock.at(5, Order.FINISHED, lambda _: seen.append("work"))
    clock.at(5, Order.CALENDAR, lambda _: clock.at_deadline(5, again))

    def again(_: Any) -> None:
        seen.append("again")

    clock.run(6)

    assert seen == ["work", "first", "gives up", "second", "again", "wakes", "again"]
    with pytest.raises(ValueError, match="has passed"):
        clock.at_deadline(5, again)


def test_simpy_still_has_the_private_names_that_the_clock_leans_on() -> None:
    """`Clock.run`, `Life` and `Moment` do themselves what SimPy's step, process and timeout do, by the same names."""

    def nothing(env: simpy.Environment) -> Generator[simpy.Event, Any, None]:
        yield env.timeout(1)

    env = simpy.Environment()
    process, done = env.process(nothing(env)), env.event().succeed("so")
    env.run()
    names = {
        "Environment": ({"_now"}, env),
        "Event": ({"_ok", "_value", "callbacks", "env"}, done),
        "Process": ({"_generator", "_ok", "_resume", "_value", "callbacks", "env"}, process),
    }
    moved = sorted(f"{kind}.{name}" for kind, (needed, one) in names.items() for name in needed - set(dir(one)))

    assert not moved, f"SimPy {simpy.__version__} has no {', '.join(moved)} any more: see to growsim/room/clock.py"
    assert (env._now, done._ok, done._value, done.callbacks) == (1, True, "so", None)
