"""One lot in the round room (tests/small_rooms.py), from sowing Monday to the pantry: every happening, by hand."""

from __future__ import annotations

from typing import Any

from small_rooms import DAY, lived, tables

from growsim.ledger.book import Book
from growsim.ledger.events import (
    Germinated,
    HandedOut,
    Harvested,
    Lost,
    MetersRead,
    OrderServed,
    Packed,
    ShiftHeld,
    Sown,
    TaskDone,
    TaskDue,
    ToppedUp,
    Transplanted,
    Worked,
)

LOT = "2031-01-06/lettuce/Mondays"
PART = f"{LOT} #1"
LEAD_MON, LEAD_THU = "Monday/0", "Thursday/0"


def without_chores(book: Book) -> list[Any]:
    """The book without shifts, meters, topping up and orders that came to nothing."""
    return [
        record
        for record in book.records
        if not isinstance(record, ShiftHeld | MetersRead | ToppedUp)
        and getattr(record, "task", "") != "top up"
        and not (isinstance(record, OrderServed) and record.grams_given == 0)
    ]


def test_from_seed_to_the_pantry() -> None:
    """Day 0 is a Monday; one lead works 9 to 11 on Mondays and Thursdays, alone; luck is off.

    Monday day 0: 10 cells take 5 + 10 × 1 = 15 min from 9:00 (540), done at 555. Up 3 days later: 555 + 4,320 = 4,875,
    Thursday 9:15. Of 10 cells with 2 seeds at 75 %: none in 1/16 (0.6, so 1), one in 6/16 of all or 0.4 of the 9 left
    (3.6, so 4), two in the other 5: 9 cells filled with 4 + 2 × 5 = 14 seedlings, 5 of them extra, 6 of 20 seeds not
    up. Pulling 5 takes 5 min: 4,880. Moving is due on day 10, Thursday (14,400), 9 plants into 3 trays of 4:
    3 + 9 = 12 min from 9:00 (14,940). One sheet washed: 1 + 4 = 5 min.

    Ripe at 0.85 × 50 g × 0.04 = 1.7 g dry, 16 days after germination: 4,875 + 23,040 = 27,915, Saturday of week 2;
    harvested on the Thursday after, day 24 (34,560), 4 + 9 = 13 min from 9:00: 35,113. They are (35,113 - 4,875) /
    1,440 = 20.9986 days old and weigh 0.1 + 2.09986 g dry, 54.9965 g fresh: 9 × 54.9965 × 0.9 = 445.47 g after
    trimming. Packing 2 + 0.445 × 10 = 6.45, so 7 min; washing three trays 1 + 12 = 13 min. The pantry takes its 300 g
    at 14:00, open distribution the other 145 g on Friday at 17:00.
    """
    thu_0, thu_1, thu_3 = 3 * DAY, 10 * DAY, 24 * DAY

    assert without_chores(lived(tables(), 40)) == [
        TaskDue(0, "sow", PART, 10, 15, DAY),
        Worked(555, LEAD_MON, "sow", PART, 540),
        TaskDone(555, "sow", PART, DAY, 15, True),
        Sown(555, LOT, 1, "lettuce", 10, 20, "rack"),
        Germinated(4875, LOT, 1, "lettuce", 9, 5, 6),
        Lost(4875, LOT, 1, "lettuce", 6, "not_emerged", "seedling", False),
        TaskDue(4875, "thin", PART, 5, 5, thu_0 + DAY),
        Worked(4880, LEAD_THU, "thin", PART, 4875),
        TaskDone(4880, "thin", PART, thu_0 + DAY, 5, True),
        Lost(4880, LOT, 1, "lettuce", 5, "thinned", "seedling", False),
        TaskDue(thu_1, "transplant", PART, 9, 12, thu_1 + DAY),
        Worked(14952, LEAD_THU, "transplant", PART, 14940),
        TaskDone(14952, "transplant", PART, thu_1 + DAY, 12, True),
        TaskDue(14952, "wash", PART, 1, 5, thu_1 + DAY),
        Transplanted(14952, LOT, 1, "lettuce", "head", 9, 3, "rack", 0),
        Worked(14957, LEAD_THU, "wash", PART, 14952),
        TaskDone(14957, "wash", PART, thu_1 + DAY, 5, True),
        TaskDue(thu_3, "harvest", PART, 9, 13, thu_3 + DAY),
        Worked(35113, LEAD_THU, "harvest", PART, 35100),
        TaskDone(35113, "harvest", PART, thu_3 + DAY, 13, True),
        Harvested(35113, LOT, 1, "lettuce", 9, 445, 1, 0, 555, "rack"),
        TaskDue(35113, "pack", PART, 0.445, 7, thu_3 + DAY),
        TaskDue(35113, "wash", PART, 3, 13, thu_3 + DAY),
        Worked(35120, LEAD_THU, "pack", PART, 35113),
        TaskDone(35120, "pack", PART, thu_3 + DAY, 7, True),
        Packed(35120, LOT, 1, "lettuce", 445),
        Worked(35133, LEAD_THU, "wash", PART, 35120),
        TaskDone(35133, "wash", PART, thu_3 + DAY, 13, True),
        HandedOut(thu_3 + 840, LOT, "lettuce", "pantry", 300, 35113),
        OrderServed(thu_3 + 840, "pantry", "lettuce", 300, 300),
        HandedOut(25 * DAY + 1020, LOT, "lettuce", "", 145, 35113),
    ]


def test_slots_held_while_washing_is_due() -> None:
    """The sheet holds its slot from the day sowing is due until it is washed; the head trays from the day moving is
    due."""
    book = lived(tables(), 40)
    held = {key[2]: list(zip(level.minutes, level.values, strict=True)) for key, level in book.levels.items()}

    assert held == {"seedling": [(0, 1), (14957, 0)], "head": [(0, 0), (14400, 3), (35133, 0)]}


def test_shifts_are_told_with_what_was_done_in_them() -> None:
    """Nobody but the lead: 2 h each time; on the busiest day harvested 13, pack 7, wash 13, top up 10: 43 min."""
    shifts = [record for record in lived(tables(), 40).records if isinstance(record, ShiftHeld)]

    assert [shift.minute for shift in shifts] == [
        day * DAY + 660 for week in range(6) for day in (7 * week, 7 * week + 3) if day < 40
    ]
    assert shifts[7] == ShiftHeld(24 * DAY + 660, "Thursday", 1, 0, 1, True, 0, 120, 43)


def test_a_sowing_done_late_comes_up_late() -> None:
    """Without the Monday shift the lot is sown on Thursday at 9:15 (4,875): up three
    days later, on Sunday (9,195), and moved on the day that was planned from its Monday."""
    raw = tables()
    raw["crew"]["shifts"].pop(0)
    book = lived(raw, 20)

    assert [record.minute for record in book.of(Sown)] == [4875]
    assert [record.minute for record in book.of(Germinated)] == [9195]
    assert [record.minute for record in book.of(TaskDue) if record.task == "transplant"] == [14400]


def test_a_closed_day_moves_the_work_to_the_next_shift() -> None:
    """The harvest Thursday (day 24) is closed: due on Friday, harvested on Monday day 28 in 13 min from 9:00.

    Age (28 × 1,440 + 553 - 4,875) / 1,440 = 24.9986 days: 9 × 0.9 / 0.04 × 2.599861 = 526.47 g.
    """
    raw = tables()
    raw["room"]["closed_days"] = ["2031-01-30"]
    cut = next(iter(lived(raw, 40).of(Harvested)))

    assert cut == Harvested(28 * DAY + 553, LOT, 1, "lettuce", 9, 526, 1, 3, 555, "rack", "closed")


def test_cut_twice() -> None:
    """Two harvests, a week apart, the second half as heavy.

    After the first (35,113) the plants are as those 7 days short of 2 g dry, which is 19 days: 12 days old. Ripe again
    at 16, on day 28; harvested on Thursday day 31 at 9:13 (45,193), 7 days after the first: 19 days old, 2 g dry, 50 g;
    half of that, trimmed: 9 × 25 × 0.9 = 202.5, banker's rounding 202 g. Trays are washed after the last harvest only.
    """
    raw = tables()
    raw["crops"][0] |= {"harvests": 2, "regrowth_days": 7, "regrowth_mass_fraction": 0.5}
    book = lived(raw, 40)

    assert list(book.of(Harvested)) == [
        Harvested(35113, LOT, 1, "lettuce", 9, 445, 1, 0, 555, "rack"),
        Harvested(45193, LOT, 1, "lettuce", 9, 202, 2, 0, 555, "rack"),
    ]
    assert [record.minute for record in book.of(TaskDue) if record.task == "wash"] == [14952, 45193]
