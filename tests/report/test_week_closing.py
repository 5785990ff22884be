"""What a week's sheet says of a closing ahead, against the same days worked out by pencil (tests/small_rooms.py)."""

from __future__ import annotations

import datetime as dt
from typing import Any

from small_rooms import scenario_of, tables

from growsim.report.week.words import closing_ahead


def closed_room(*days: str) -> dict[str, Any]:
    """The round room (10 days of seedling, 14 to the harvest, overgrown 10 days on), closed on these days."""
    raw = tables()
    raw["room"]["closed_days"] = list(days)
    return raw


def test_last_day_to_sow_and_day_to_start_again() -> None:
    """Closed from Monday 3 March to Sunday 23 March; harvested on Thursdays, and on Monday 24 March for those missed.

    Sown on day d, ripe from d + 24 to d + 34: from 4 February (ripe on 28 February, after the last Thursday) to 18
    February (overgrown on 24 March) it is never ripe on a harvest day. From 21 February (to be moved on 3 March, at the
    latest on 8 March) to 8 March (18 to 23 March) nobody moves it. After that it can be sown from the day on which the
    room opens, 24 March. The two days between, 19 and 20 February, are no start.
    """
    said = closing_ahead(scenario_of(closed_room("2031-03-03 to 2031-03-23")), dt.date(2031, 2, 3))

    assert said == (
        "The room is closed from Monday 3 March 2031 to Sunday 23 March 2031. Sow lettuce until Monday 3 February, "
        "then again from Monday 24 March."
    )


def test_a_closing_far_off_or_short_is_not_told() -> None:
    """Weeks before, and of a few days, nothing is said."""
    assert closing_ahead(scenario_of(closed_room("2031-03-03 to 2031-03-23")), dt.date(2031, 1, 6)) == ""
    assert closing_ahead(scenario_of(closed_room("2031-03-03 to 2031-03-05")), dt.date(2031, 2, 3)) == ""
    assert closing_ahead(scenario_of(tables()), dt.date(2031, 2, 3)) == ""
