"""Machines that fail, are noticed and repaired, and utility power: every instant by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.events import Noticed, Repaired, WentDown
from growsim.room.clock import Clock
from growsim.room.machines import Machine, Mains
from growsim.room.rota import Rota
from growsim.scenario.calendar import Calendar, Order
from growsim.scenario.equipment import Power, Reliability
from growsim.scenario.people import Crew

DAY, HOUR = 1440, 60
DAILY_AT_20 = {"name": "walk-through", "weekdays": ["mon", "tue", "wed", "thu", "fri", "sat", "sun"], "hour": 20}


class Shed:
    """One pump, somebody looking in daily at 20:00 (or nobody), a Monday as day 0."""

    def __init__(
        self, *, share: float = 1.0, visits: bool = True, luck: Luck | None = None, **reliability: Any
    ) -> None:
        crew = Crew.model_validate({"chance_of_coming": [1.0] * 12, "walk_throughs": [DAILY_AT_20] if visits else []})
        self.clock, self.book = Clock(0), Book(0)
        life = reliability.get("running_hours_to_failure")
        if isinstance(life, (int, float)):  # for certain: a plain number in a room file is a mean
            reliability["running_hours_to_failure"] = {"distribution": "fixed", "value": life}
        spec = Reliability.model_validate(reliability)
        rota = Rota(crew, Calendar(dt.date(2031, 1, 6)))
        self.pump = Machine("pump", "reservoir", spec, share, self.clock, self.book, luck or Luck(1, 0), rota)
        self.told: list[tuple[int, bool]] = []
        self.pump.listeners.append(lambda: self.told.append((self.clock.now, self.pump.is_up)))

    def at(self, minute: int, call: Any) -> None:
        """Do something at a minute."""
        self.clock.at(minute, Order.OPENING, lambda _: call())

    def live(self, days: float = 30) -> list[Any]:
        """The book after so many days."""
        self.pump.start()
        self.clock.run(round(days * DAY))
        return self.book.records


def test_noticed_at_the_next_visit_mended_when_the_part_has_come() -> None:
    """Runs a quarter of the time: 9 h of running are 36 h, Tuesday 12:00. Found at 20:00, part in 2 days, 3 h of work:
    Thursday 23:00, 59 h down; the next spell of 36 h begins then."""
    shed = Shed(share=0.25, running_hours_to_failure=9, delivery_days=2, repair_hours=3, repair_price=70)
    down, found, up = 36 * HOUR, DAY + 20 * HOUR, 3 * DAY + 23 * HOUR

    assert shed.live(5.5) == [
        WentDown(down, "pump", "reservoir"),
        Noticed(found, "pump", "reservoir", "walk-through"),
        Repaired(up, "pump", "reservoir", 59 * HOUR, 70),
        WentDown(up + 36 * HOUR, "pump", "reservoir"),
    ]
    assert shed.told == [(down, False), (up, True), (up + 36 * HOUR, False)]
    assert not shed.pump.is_up


def test_an_alarm_is_quicker_or_not() -> None:
    """Failed at 12:00: the alarm after 30 min, or, where it takes 10 h, the visit at 20:00, or nobody but the alarm."""
    for visits, alarm_minutes, noticed, by in (
        (True, 30, 750, "alarm"),
        (True, 600, 1200, "walk-through"),
        (True, 480, 1200, "alarm"),  # the same minute
        (False, 600, 1320, "alarm"),
        (True, None, 1200, "walk-through"),
    ):
        shed = Shed(visits=visits, running_hours_to_failure=12, alarm_minutes=alarm_minutes)

        assert [record for record in shed.live(1) if isinstance(record, Noticed)] == [
            Noticed(noticed, "pump", "reservoir", by)
        ]


def test_parts_of_hours_and_days_count() -> None:
    """1.51 h until it fails is minute 91 (90.6); alarm after 2.6 min; 0.26 days for the part (374 min), 0.55 h of work
    (33 min): up at 91 + 3 + 374 + 33."""
    shed = Shed(running_hours_to_failure=1.51, alarm_minutes=2.6, delivery_days=0.26, repair_hours=0.55)

    assert [record.minute for record in shed.live(0.4)] == [91, 94, 501]


def test_nobody_and_no_alarm_never_noticed() -> None:
    """It is down to the end."""
    shed = Shed(visits=False, running_hours_to_failure=12)

    assert shed.live() == [WentDown(720, "pump", "reservoir")]
    assert not shed.pump.is_up


def test_a_spare_on_the_shelf_is_used_and_bought_again() -> None:
    """Lives of 24 h, found at once, 2 h of work, delivery 3 days, one spare. Failure 1 at 24 h: spare, up at 26 h, one
    ordered for 96 h. Failure 2 at 50 h: no spare, its own part in 3 days: 122 h and 2 h of work, 124 h. Meanwhile the
    first order has filled the shelf. Failure 3 at 148 h: spare again, up at 150 h."""
    shed = Shed(running_hours_to_failure=24, alarm_minutes=0, delivery_days=3, repair_hours=2, spares=1)

    assert [record.minute / HOUR for record in shed.live(6.5) if not isinstance(record, Noticed)] == [
        24, 26, 50, 124, 148, 150,
    ]  # fmt: skip


def test_no_spare_is_kept_where_none_was() -> None:
    """With no spare on the shelf every repair waits for its own part, however often one was ordered."""
    shed = Shed(running_hours_to_failure=24, alarm_minutes=0, delivery_days=3, repair_hours=2)

    assert [record.minute / HOUR for record in shed.live(12) if isinstance(record, Repaired)] == [98, 196]


def test_pure_chance_strikes_at_instants_fixed_in_advance() -> None:
    """Exponential lives: when it is repaired changes nothing about when it is struck; struck while down is no news."""
    struck = {}
    for hours in (1, 400):
        life = {"distribution": "exponential", "mean": 100}
        shed = Shed(running_hours_to_failure=life, alarm_minutes=0, repair_hours=hours, delivery_days=0)
        struck[hours] = {record.minute for record in shed.live(400) if isinstance(record, WentDown)}

    assert struck[400] < struck[1]
    assert len(struck[1]) > 50


def test_a_plain_number_is_a_mean_life_without_memory() -> None:
    """5,000 h in a room file is what {distribution = "exponential", mean = 5000} is; for certain has to be said.

    Of such lives half end within ln 2 × 5,000 = 3,466 h (the exponential's median).
    """
    plain, spelled, certain = (
        Reliability.model_validate({"running_hours_to_failure": life}).running_hours_to_failure
        for life in (5000, {"distribution": "exponential", "mean": 5000}, {"distribution": "fixed", "value": 5000})
    )
    assert plain is not None and certain is not None
    lives = [Luck(1, i).stream("life").figure(plain) for i in range(2000)]

    assert plain == spelled
    assert sum(life < 3466 for life in lives) == pytest.approx(1000, abs=3 * (2000 * 0.25) ** 0.5)
    assert certain.is_fixed and certain.expected() == 5000
    with pytest.raises(ValueError, match="is 0, which is not possible"):
        Reliability.model_validate({"running_hours_to_failure": 0})


def test_wear_begins_anew_when_mended() -> None:
    """Weibull lives: the same lives in a row, each beginning when the last repair ended."""
    spells = {}
    for hours in (1, 100):
        life = {"distribution": "weibull", "mean": 100, "shape": 2}
        shed = Shed(running_hours_to_failure=life, alarm_minutes=0, repair_hours=hours, delivery_days=0)
        records = [record for record in shed.live(200) if not isinstance(record, Noticed)]
        ups = [0] + [record.minute for record in records if isinstance(record, Repaired)]
        spells[hours] = [record.minute - up for record, up in zip(records[::2], ups, strict=False)]

    assert spells[100] == spells[1][: len(spells[100])]
    assert len(spells[100]) > 10


def test_an_outage_made_to_happen() -> None:
    """Down and up again when told, unnoticed and unpaid; of two that overlap the longer counts."""
    shed = Shed()
    for minute, call in (
        (100, shed.pump.begin_outage),
        (150, shed.pump.begin_outage),
        (200, shed.pump.end_outage),
        (300, shed.pump.end_outage),
    ):
        shed.at(minute, call)

    assert shed.live(1) == [WentDown(100, "pump", "reservoir"), Repaired(300, "pump", "reservoir", 200, 0)]
    assert shed.told == [(100, False), (300, True)]


def test_a_failure_inside_an_outage() -> None:
    """Outage from 10 h to 40 h, failure at 24 h, repaired at 26 h: down once, until 40 h, and the part is paid for.

    Repaired only at 50 h: down until then.
    """
    for repair_hours, up in ((2, 40), (26, 50)):
        shed = Shed(
            running_hours_to_failure=24, alarm_minutes=0, repair_hours=repair_hours, delivery_days=0, repair_price=70
        )
        shed.at(10 * HOUR, shed.pump.begin_outage)
        shed.at(40 * HOUR, shed.pump.end_outage)

        assert [record for record in shed.live(2.1) if not isinstance(record, Noticed)][:2] == [
            WentDown(10 * HOUR, "pump", "reservoir"),
            Repaired(up * HOUR, "pump", "reservoir", (up - 10) * HOUR, 70),
        ]


def test_nothing_fails_on_paper() -> None:
    """With luck switched off no life ends, and no power outage comes; outages made to happen do."""
    shed = Shed(luck=FixedLuck(), running_hours_to_failure=5)
    shed.at(100, shed.pump.begin_outage)
    assert shed.live(3) == [WentDown(100, "pump", "reservoir")]

    clock, book = Clock(0), Book(0)
    mains = Mains(Power(outages_per_year=300), clock, book, FixedLuck())
    mains.start()
    clock.run(365 * DAY)
    assert book.records == []


class House:
    """Power with a battery of so many hours."""

    def __init__(self, battery_pump_hours: float = 0, **power: Any) -> None:
        self.clock, self.book = Clock(0), Book(0)
        spec = Power.model_validate({"battery_pump_hours": battery_pump_hours, **power})
        self.mains = Mains(spec, self.clock, self.book, Luck(3, 0))
        self.told: list[tuple[int, bool, bool]] = []
        self.mains.listeners.append(
            lambda: self.told.append((self.clock.now, self.mains.is_up, self.mains.pumps_have_power))
        )

    def cut(self, begin: int, end: int) -> None:
        """An outage made to happen."""
        self.clock.at(begin, Order.OPENING, lambda _: self.mains.begin_outage())
        self.clock.at(end, Order.OPENING, lambda _: self.mains.end_outage())


def test_a_battery_keeps_pumps_going_for_its_hours() -> None:
    """Cut from 60 to 600: pumps have power until the battery's 5 h are over at 360; full again when power is back."""
    house = House(5)
    house.cut(60, 600)
    house.cut(700, 900)
    house.clock.run(2000)

    assert house.told == [
        (60, False, True),
        (360, False, False),
        (600, True, True),
        (700, False, True),  # the old battery's end must not strike now
        (900, True, True),
    ]


def test_the_battery_of_one_cut_does_not_end_in_the_next() -> None:
    """60 to 100 of its 5 h, which would have ended at 360; full again, it lasts from 300 to 600."""
    house = House(5)
    house.cut(60, 100)
    house.cut(300, 900)
    house.clock.run(2000)

    assert house.told == [
        (60, False, True),
        (100, True, True),
        (300, False, True),
        (600, False, False),
        (900, True, True),
    ]


def test_cuts_inside_cuts_last_to_the_later_end() -> None:
    """60 to 600 and 100 to 300, and one that begins as the other ends: down once each time without a gap counted."""
    house = House()
    house.cut(60, 600)
    house.cut(100, 300)
    house.cut(500, 700)
    house.clock.run(2000)

    assert house.book.records == [WentDown(60, "power", ""), Repaired(700, "power", "", 640, 0.0)]
    assert house.told == [(60, False, False), (700, True, True)]


def test_the_same_cuts_whatever_their_length() -> None:
    """Outages come at instants fixed in advance, 12 a year; longer ones only swallow later ones."""
    began = {}
    for hours in (1, 300):
        house = House(outages_per_year=12, outage_hours=hours)
        house.mains.start()
        house.clock.run(5 * 365 * DAY)
        began[hours] = {record.minute for record in house.book.of(WentDown)}

    assert began[300] < began[1]
    assert abs(len(began[1]) - 60) < 4 * 60**0.5
