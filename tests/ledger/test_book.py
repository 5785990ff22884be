"""The log book: what it gives back of what was written."""

from __future__ import annotations

from growsim.ledger.book import Book
from growsim.ledger.events import AirRead, FloodMissed, TaskDone, Worked


def test_between_is_half_open_and_of_one_kind() -> None:
    """From the first minute up to, but not including, the last; the warm-up has negative minutes."""
    book = Book(-100)
    for minute in (-5, 0, 0, 7, 10, 11):
        book.write(AirRead(minute, 20.0))
        book.write(FloodMissed(minute, "reservoir", "pump"))

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


def test_work_written_bare_is_given_back_as_what_it_is() -> None:
    """Among records written as such, in order; bare only to who asks for it so, however it was written."""
    book = Book(0)
    book.write((5, "am/1", "wash", "a #1", 1, Worked))
    book.write(AirRead(6, 20.0))
    book.write(TaskDone(7, "wash", "a #1", 1440, 4, True))
    book.write((8, "am/0", "harvest", "b #1", 5, Worked))

    worked = [Worked(5, "am/1", "wash", "a #1", 1), Worked(8, "am/0", "harvest", "b #1", 5)]
    assert book.records == [worked[0], AirRead(6, 20.0), TaskDone(7, "wash", "a #1", 1440, 4, True), worked[1]]
    assert [type(record) for record in book.records] == [Worked, AirRead, TaskDone, Worked]
    assert list(book.of(Worked)) == worked
    assert book.between(Worked, 6, 9) == worked[1:]
    assert book.bare(Worked, 0, 8) == [(5, "am/1", "wash", "a #1", 1, Worked)]
    assert book.bare(TaskDone, 0, 8) == [(7, "wash", "a #1", 1440, 4, True, TaskDone)]
    assert book.besides_work() == [AirRead(6, 20.0)]


def test_a_book_that_has_forgotten_is_empty() -> None:
    """Of every kind, also of what was looked up before."""
    book = Book(0)
    book.write(AirRead(1, 20.0))
    assert len(list(book.of(AirRead))) == 1
    book.forget()
    assert (book.records, list(book.of(AirRead)), book.besides_work()) == ([], [], [])
