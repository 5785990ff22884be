"""The log book: what it gives back of what was written."""

from __future__ import annotations

from growsim.ledger.book import Book
from growsim.ledger.events import AirRead, FloodMissed


def test_between_is_half_open_and_of_one_kind() -> None:
    """From the first minute up to, but not including, the last; the run-in has negative minutes."""
    book = Book(-100)
    for minute in (-5, 0, 0, 7, 10, 11):
        book.write(AirRead(minute, 20.0))
        book.write(FloodMissed(minute, "tub", "pump"))

    assert [record.minute for record in book.between(AirRead, 0, 10)] == [0, 0, 7]
    assert [record.minute for record in book.between(FloodMissed, -100, 0)] == [-5]
    assert book.between(AirRead, 12, 99) == []


def test_what_is_written_later_is_found_too() -> None:
    """Asked in between, the book still gives what came after."""
    book = Book(0)
    book.write(AirRead(1, 20.0))
    assert len(list(book.of(AirRead))) == 1
    book.write(AirRead(2, 21.0))
    assert [record.minute for record in book.of(AirRead)] == [1, 2]
