"""Weekly series that only some reports ask for."""

from __future__ import annotations

from small_rooms import scenario_of, tables

from growsim.ledger.book import Book
from growsim.ledger.events import TaskDone
from growsim.ledger.weeks import weekly_series
from growsim.scenario.plan import RunPlan

WEEK = 10080


def test_tasks_done_and_late_are_counted_by_kind() -> None:
    """Two harvests and a wash in the first week, the wash late; a move withdrawn in the second counts as late."""
    book = Book(0)
    for record in (
        TaskDone(100, "harvest", "a", 200, 30, True),
        TaskDone(200, "harvest", "b", 200, 30, True),
        TaskDone(201, "wash", "c", 200, 30, True),
        TaskDone(WEEK, "transplant", "d", 2 * WEEK, 0, False),
    ):
        book.write(record)
    series = weekly_series(book, scenario_of(tables()), RunPlan(14))

    assert (series["done:harvest"], series["done:wash"], series["done:transplant"]) == (
        (2.0, 0.0),
        (1.0, 0.0),
        (0.0, 1.0),
    )
    assert (series["late:wash"], series["late:transplant"]) == ((1.0, 0.0), (0.0, 1.0))
    assert "late:harvest" not in series
    assert (series["tasks_done"], series["tasks_late"]) == ((3.0, 1.0), (1.0, 1.0))
