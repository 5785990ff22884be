"""Values held over time: means by hand, and against a count minute by minute."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from growsim.ledger.book import Book, Level
from growsim.ledger.events import FloodMissed, ToppedUp, Wasted


def test_means_by_hand() -> None:
    """Two trays from minute 10, five from 15, none from 30: over 0-20 (10·0 + 5·2 + 5·5)/20, over 20-40 (10·5)/20."""
    level = Level(0)
    for minute, change in ((10, 2), (15, 3), (30, -5)):
        level.add(minute, change)

    assert level.means(0, 20, 2) == [35 / 20, 50 / 20]
    assert level.means(12, 4, 1) == [(3 * 2 + 1 * 5) / 4]
    assert level.means(40, 10, 3) == [0, 0, 0]


def test_what_is_held_at_the_end_goes_on() -> None:
    """A value never taken back lasts to the end of the window; the warm-up counts from its own beginning."""
    level = Level(-100)
    level.add(-50, 4)

    assert level.means(-100, 50, 4) == [0, 4, 4, 4]


def test_changes_of_one_minute_are_one() -> None:
    """Up and down within a minute leaves no trace, and the last value of a minute holds from it on."""
    level = Level(0)
    level.add(5, 3)
    level.add(5, -3)
    level.add(7, 1)
    level.add(7, 1)

    assert (level.minutes, level.values) == ([0, 5, 7], [0, 0, 2])


def test_time_runs_forward_only() -> None:
    """A change in the past is our fault and is refused."""
    level = Level(0)
    level.add(8, 1)

    with pytest.raises(ValueError, match="cannot go back from minute 8 to 7"):
        level.add(7, 1)


@settings(derandomize=True, deadline=None, max_examples=80)
@given(
    st.lists(st.tuples(st.integers(0, 9), st.integers(-3, 3)), max_size=12),
    st.integers(-30, 30),
    st.integers(1, 15),
    st.integers(1, 5),
)
def test_means_against_a_count_by_the_minute(steps: list[tuple[int, int]], begin: int, step: int, windows: int) -> None:
    """The mean of a window is the sum of its minutes' values over its length."""
    level, minute = Level(-20), -20
    by_minute = dict.fromkeys(range(-60, 130), 0)
    for later, change in steps:
        minute += later
        level.add(minute, change)
        for after in range(minute, 130):
            by_minute[after] += change

    means = level.means(begin, step, windows)

    assert means == pytest.approx(
        [sum(by_minute[begin + k * step + i] for i in range(step)) / step for k in range(windows)]
    )


def test_the_book_finds_records_by_kind_also_after_more_are_written() -> None:
    """In the order written; a kind never written has none; a level is made when first asked for."""
    book = Book(-10)
    book.write(FloodMissed(1, "reservoir", "power"))
    assert [record.minute for record in book.of(FloodMissed)] == [1]
    book.write(ToppedUp(2, "reservoir", 0, 0, 0, 0, 1.0, True))
    book.write(FloodMissed(3, "reservoir", "pump"))

    assert [record.minute for record in book.of(FloodMissed)] == [1, 3]
    assert list(book.of(Wasted)) == []
    assert book.level("slots", "a").minutes == [-10]
    assert book.level("slots", "a") is book.level("slots", "a")
