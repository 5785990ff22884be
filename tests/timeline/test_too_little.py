"""Too little room, too few hands, too late: what is lost then, by hand, in the round room (tests/small_rooms.py)."""

from __future__ import annotations

import datetime as dt

from small_rooms import DAY, lived, scenario_of, straight_curves, tables

from growsim.chance.fixed import FixedLuck
from growsim.ledger.events import (
    Found,
    Harvested,
    Lost,
    SowingSkipped,
    Sown,
    TaskDone,
    TaskDue,
    Transplanted,
    Waiting,
    Worked,
)
from growsim.room.model import simulate
from growsim.scenario.plan import RunPlan, ShelfLot

LOT = "2031-01-06/lettuce/Mondays"


def test_no_shifts_no_sowing() -> None:
    """Nobody ever comes: after six days the sowing is given up and its slot is free again; the run ends without error.

    Seven such weeks have six skipped sowings behind them, the seventh still waiting.
    """
    raw = tables()
    raw["crew"]["shifts"] = []
    raw["sowing"][0]["every_weeks"] = 1
    book = lived(raw, 46)

    assert list(book.of(SowingSkipped)) == [
        SowingSkipped(week * 7 * DAY + 6 * DAY, f"2031-{date}/lettuce/Mondays", "lettuce", 10, "no shift")
        for week, date in enumerate(("01-06", "01-13", "01-20", "01-27", "02-03", "02-10"))
    ]
    assert list(book.of(Sown)) == []
    assert book.level("slots", "rack", "seedling").value == 1
    assert book.standing == []


def test_sheets_without_a_slot_wait_six_days() -> None:
    """25 cells are three sheets and the nursery holds two: 20 cells sown on Monday, 5 skipped on the sixth day."""
    raw = tables()
    raw["sowing"][0]["cells"] = 25
    book = lived(raw, 8)

    assert [(record.part, record.cells) for record in book.of(Sown)] == [(1, 20)]
    assert list(book.of(SowingSkipped)) == [SowingSkipped(6 * DAY, LOT, "lettuce", 5, "no slot")]


def test_what_fits_is_moved_and_the_rest_is_thrown_away() -> None:
    """Nine plants want three head trays and there are two: eight are moved on Thursday day 10 as part 2, one waits.

    It may wait for 5 days, until day 15 at midnight (21,600); then it is thrown away for lack of a slot. Only now is
    the sheet empty, to be washed on Thursday day 17. Moving 8 takes 3 + 8 = 11 min.
    """
    raw = tables()
    raw["racks"][0]["shelves"][1]["slots"] = 2
    book = lived(raw, 30)

    assert list(book.of(Transplanted)) == [Transplanted(14951, LOT, 2, "lettuce", "head", 8, 2, "rack", 0)]
    assert list(book.of(Waiting)) == [Waiting(15 * DAY, LOT, 1, "head", 1, 5 * DAY, False)]
    assert [lost for lost in book.of(Lost) if lost.cause == "no_room"] == [
        Lost(15 * DAY, LOT, 1, "lettuce", 1, "no_room", "seedling", False, "no slot")
    ]
    washes = [(due.minute, due.units) for due in book.of(TaskDue) if due.task == "wash"]
    assert washes[0] == (15 * DAY, 1)
    assert book.level("waiting", "head").means(0, DAY, 30) == [1.0 if 10 <= day < 15 else 0.0 for day in range(30)]
    assert [cut.plants for cut in book.of(Harvested)] == [8]


def test_two_lots_in_line_first_come_first_served() -> None:
    """Head slots for one lot only (3), lots every week, harvested on day 24; the line moves when three trays are
    washed.

    Lot 1 moves on Thursday day 10. Lot 2 wants to on day 17, its 5 days are over on day 22: lost. Lot 3 wants to on
    day 24. That Thursday from 9:00 (35,100): lot 1 is harvested (13 min) and packed (7), the sheet of lot 2 washed (5),
    lot 4, which had waited for it, sown (15), the head trays of lot 1 washed (13): 35,153. Now lot 3 is moved (12).
    """
    raw = tables()
    raw["racks"][0]["shelves"][1]["slots"] = 3
    raw["sowing"][0]["every_weeks"] = 1
    book = lived(raw, 30)

    assert [(moved.minute, moved.lot) for moved in book.of(Transplanted)] == [
        (14952, LOT),
        (35165, "2031-01-20/lettuce/Mondays"),
    ]
    assert [(lost.minute, lost.lot, lost.plants) for lost in book.of(Lost) if lost.cause == "no_room"] == [
        (22 * DAY, "2031-01-13/lettuce/Mondays", 9)
    ]


def test_overgrown_before_the_cutting_day() -> None:
    """Ripe at 27,915 and overgrown 3 days later, on Tuesday day 22; on the harvest Thursday, day 24, all are lost.

    There was a shift on Monday, day 21, that could have harvested them: the harvest day was missing, not the people.
    """
    raw = tables()
    raw["crops"][0]["overgrown_after_days"] = 3
    book = lived(raw, 30)

    assert [lost for lost in book.of(Lost) if lost.cause == "overgrown"] == [
        Lost(24 * DAY, LOT, 1, "lettuce", 9, "overgrown", "head", False, "no harvest day")
    ]
    assert list(book.of(Harvested)) == []
    assert [due for due in book.of(TaskDue) if due.task == "harvest"] == []  # nobody is asked to harvest them


def test_overgrown_for_want_of_hands() -> None:
    """Due on Thursday day 24, but no lead ever comes to harvest; overgrown 26 days after germination, 4,875 + 26 days.

    Nobody having begun, the harvest is withdrawn then and there. That nobody can do it is a year's end away.
    """
    raw = tables()
    raw["crew"]["chance_of_coming"] = [1] * 12
    for shift in raw["crew"]["shifts"]:
        shift["lead"] = False
    raw["crew"]["tasks"][0]["needs_lead"] = True
    book = lived(raw, 40)
    overgrown = 4875 + 26 * DAY

    assert [lost for lost in book.of(Lost) if lost.cause == "overgrown"] == [
        Lost(overgrown, LOT, 1, "lettuce", 9, "overgrown", "head", False, "no lead")
    ]
    assert [done for done in book.of(TaskDone) if done.task == "harvest"] == [
        TaskDone(overgrown, "harvest", f"{LOT} #1", (24 + 366) * DAY, 0, False)
    ]


def test_overgrown_while_the_room_is_closed() -> None:
    """Due on Thursday day 24, but the room is closed for ten days: lost when overgrown, and no harvest falls due."""
    raw = tables()
    raw["room"]["closed_days"] = [f"2031-01-{day}" for day in (30, 31)] + [f"2031-02-0{day}" for day in range(1, 9)]
    book = lived(raw, 40)

    assert [lost for lost in book.of(Lost) if lost.cause == "overgrown"] == [
        Lost(4875 + 26 * DAY, LOT, 1, "lettuce", 9, "overgrown", "head", False, "closed")
    ]
    assert [due for due in book.of(TaskDue) if 24 <= due.minute / DAY < 34 and due.task != "wash"] == []


def test_nothing_falls_due_while_the_room_is_closed() -> None:
    """Closed from Saturday day 12 to Monday day 28: two sowings are not due, that of the 28th falls due the day after;
    the change of solution is due on day 29. Nothing is skipped, and nothing is late."""
    raw = tables()
    raw["sowing"][0] |= {"every_weeks": 1, "cells": 10}
    raw["racks"][0]["shelves"][0]["slots"] = raw["racks"][0]["shelves"][1]["slots"] = 30
    raw["reservoirs"][0]["change_every_weeks"] = 2
    first = dt.date(2031, 1, 18)
    raw["room"]["closed_days"] = [(first + dt.timedelta(days=day)).isoformat() for day in range(17)]
    raw["crew"]["shifts"] += [{**raw["crew"]["shifts"][0], "name": "Tuesday", "weekday": "tue", "hours": 9}]
    book = lived(raw, 40)
    due = [
        (record.task, record.minute / DAY) for record in book.of(TaskDue) if record.task in ("sow", "change solution")
    ]

    assert [minute for task, minute in due if task == "sow"] == [0, 7, 29, 35]
    assert [minute for task, minute in due if task == "change solution"] == [29]
    assert list(book.of(SowingSkipped)) == []
    assert all(done.minute <= done.due_minute for done in book.of(TaskDone))


def test_lost_in_moving() -> None:
    """A third lost in transplanting: 9 × 0.333 = 3.0 plants; six need two trays of the three, and one slot is given
    back.
    """
    raw = tables()
    raw["crops"][0]["stages"][1]["loss_fraction"] = 0.333
    book = lived(raw, 12)

    assert [(lost.minute, lost.plants) for lost in book.of(Lost) if lost.cause == "transplanting"] == [(14952, 3)]
    assert [(moved.plants, moved.trays) for moved in book.of(Transplanted)] == [(6, 2)]
    assert book.level("slots", "rack", "head").value == 2


def test_nothing_comes_up() -> None:
    """No seed germinates: all 20 are lost, nothing is moved, the sheet is washed and its slot is free."""
    raw = tables()
    raw["crops"][0]["germination_fraction"] = 0.0
    book = lived(raw, 12)

    assert list(book.of(Lost)) == [Lost(4875, LOT, 1, "lettuce", 20, "not_emerged", "seedling", False)]
    assert [record.task for record in book.of(TaskDone) if record.task != "top up"] == ["sow", "wash"]
    assert book.level("slots", "rack", "seedling").value == 0


def test_shelves_filled_at_the_start() -> None:
    """Eight heads of a shelves file, sown three weeks ago: on a Monday at 9:00, when its shift began; up 3 days later.

    On Monday day 0 at midnight they are 17.625 days old and ripe (16); harvested on the first harvest day, Thursday day
    3, in 4 + 8 = 12 min from 9:00: 3.38333 days older, 2.200833 g dry: 8 × 0.9 / 0.04 × 2.200833 = 396.15 g.
    """
    raw = tables()
    raw["sowing"] = []
    scenario = scenario_of(raw)
    plan = RunPlan(10, start="shelves", shelves=(ShelfLot("A", "lettuce", "head", 21, 8),))
    book = simulate(scenario, straight_curves(scenario), FixedLuck(), plan)

    assert [(found.minute, found.plants, found.stage, found.rack) for found in book.of(Found)] == [
        (0, 8, "head", "rack")
    ]
    assert [(cut.minute, cut.plants, cut.grams) for cut in book.of(Harvested)] == [(3 * DAY + 552, 8, 396)]


def test_nobody_to_move_them() -> None:
    """Slots are there on day 10, but the room is closed from then to day 16: after 5 days, on day 15 at midnight, the
    nine plants have outgrown their sheet and are thrown away. Nobody has kept slots for them."""
    raw = tables()
    raw["room"]["closed_days"] = [f"2031-01-{day}" for day in range(16, 23)]
    book = lived(raw, 20)
    head = book.level("slots", "rack", "head")

    assert [lost for lost in book.of(Lost) if lost.cause == "overgrown"] == [
        Lost(15 * DAY, LOT, 1, "lettuce", 9, "overgrown", "seedling", False, "closed")
    ]
    assert list(zip(head.minutes, head.values, strict=True)) == [(0, 0)]
    assert list(book.of(Transplanted)) == []


def test_plants_that_die_in_line_give_up_their_place() -> None:
    """Head slots for one lot, lots every week, who may wait 14 days. Lot 1 stands in them, lot 2 waits from day 17.

    The pump is dead on days 18 to 20 and both dry out, and lot 3 too. On Monday day 21 the trays of lot 1 are washed
    and their slots fall to lot 2, of which nothing is left: they are free again. Lot 4, sown that day, is moved on
    Thursday day 31.
    """
    raw = tables()
    raw["racks"][0]["shelves"][1]["slots"] = 3
    raw["sowing"][0]["every_weeks"] = 1
    raw["crops"][0]["dry_half_loss_hours"] = 1
    raw["crops"][0]["stages"][1]["latest_days"] = 14
    raw["outages"] = [
        {"name": "dry", "machine": "pump", "where": "reservoir", "start_day": 18, "start_hour": 0, "hours": 72}
    ]
    book = lived(raw, 35)
    head = book.level("slots", "rack", "head")

    assert [lost.plants for lost in book.of(Lost) if lost.cause == "dried_out"] == [9, 9, 9]
    assert [moved.lot for moved in book.of(Transplanted)] == [LOT, "2031-01-27/lettuce/Mondays"]
    assert [(minute // DAY, trays) for minute, trays in zip(head.minutes, head.values, strict=True)] == [
        (0, 0), (10, 3), (21, 0), (31, 3),
    ]  # fmt: skip


def test_seedlings_thinned_in_moving_leave_no_work_behind() -> None:
    """Thinning wants a lead, and none comes: the extra seedlings come out as the plants are moved on day 10, a
    Thursday. Pulling them is done with that, not worked on and not waited for."""
    raw = tables()
    raw["crew"]["chance_of_coming"] = [1] * 12
    for shift in raw["crew"]["shifts"]:
        shift["lead"] = False
    for task in raw["crew"]["tasks"]:
        task["needs_lead"] = task["name"] == "thin"
    book = lived(raw, 26)
    due = next(record for record in book.of(TaskDue) if record.task == "thin")
    done = next(record for record in book.of(TaskDone) if record.task == "thin")
    pulled = next(record for record in book.of(Lost) if record.cause == "thinned")

    assert due.minute < pulled.minute == done.minute
    assert (done.finished, done.worked_minutes) == (True, 0)
    assert not [record for record in book.of(Worked) if record.task == "thin"]


def test_thinning_left_over_is_done_with_the_moving() -> None:
    """Five seedlings at 200 min each are begun on Thursday day 3 and gone on with on Monday, and are not done when the
    plants are moved on Thursday day 10, by 14,952: what is left of the work is over that minute, and nobody goes on."""
    raw = tables()
    next(task for task in raw["crew"]["tasks"] if task["name"] == "thin")["minutes_per_unit"] = 200
    book = lived(raw, 26)
    (done,) = [record for record in book.of(TaskDone) if record.task == "thin"]
    worked = [record.minute for record in book.of(Worked) if record.task == "thin"]

    assert 0 < done.worked_minutes < 1000
    assert (done.minute, done.finished) == (14952, True)
    assert max(worked) < 14952
    assert [(lost.minute, lost.plants) for lost in book.of(Lost) if lost.cause == "thinned"] == [(14952, 5)]


def test_a_piece_of_thinning_in_hand_is_the_last() -> None:
    """Two leads on Thursday: one thins from 9:15 on as the other sows the plants over; the piece in hand is finished,
    and then the work is over."""
    raw = tables()
    next(task for task in raw["crew"]["tasks"] if task["name"] == "thin")["minutes_per_unit"] = 200
    raw["crew"]["shifts"].append({**raw["crew"]["shifts"][1], "name": "Thursday too"})
    book = lived(raw, 26)
    (done,) = [record for record in book.of(TaskDone) if record.task == "thin"]
    worked = [record.minute for record in book.of(Worked) if record.task == "thin"]

    assert done.finished
    assert done.minute == max(worked)
    assert 14952 < done.minute <= 14952 + 30


def test_thinning_does_not_fall_due_while_closed() -> None:
    """Up at 4,875, Thursday day 3, in days closed from then to Sunday: due on Monday day 7, to be done by its end."""
    raw = tables()
    raw["room"]["closed_days"] = ["2031-01-09 to 2031-01-12"]
    due = [record for record in lived(raw, 20).of(TaskDue) if record.task == "thin"]

    assert [(record.minute, record.units, record.due_minute) for record in due] == [(7 * DAY, 5, 8 * DAY)]


def test_washing_does_not_fall_due_while_closed() -> None:
    """The pump is dead from day 12 on and all are dead by 20,280, day 14; closed from day 12 to 16, a Wednesday: the
    three trays are to be washed from Thursday day 17 on."""
    raw = tables()
    raw["room"]["closed_days"] = ["2031-01-18 to 2031-01-22"]
    raw["crops"][0]["dry_half_loss_hours"] = 6
    raw["outages"] = [
        {"name": "dry", "machine": "pump", "where": "reservoir", "start_day": 12, "start_hour": 0, "hours": 60}
    ]
    book = lived(raw, 30)
    due = [(record.minute, record.units) for record in book.of(TaskDue) if record.task == "wash"]

    assert max(lost.minute for lost in book.of(Lost)) == 20280
    assert due[1:] == [(17 * DAY, 3)]
    assert book.level("slots", "rack", "head").value == 0
