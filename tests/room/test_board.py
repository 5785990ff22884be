"""The board: which work comes first."""

from __future__ import annotations

from growsim.ledger.book import Book
from growsim.room.board import Board, Job
from growsim.room.clock import Clock


def job(about: str) -> Job:
    """Twenty minutes of washing, due at noon."""
    return Job("wash", about, 20, 720, needs_lead=False, priority=3, done=lambda _: None)


def test_work_left_half_done_keeps_its_place() -> None:
    """What a shift that ends leaves of a piece is taken up before work of the same kind that was posted later."""
    board = Board(Clock(0), Book(0), piece_minutes=30)
    first, second = job("first"), job("second")
    for each in (first, second):
        board.post(each, 1.0)
    taken = board.take(with_lead=True)
    assert taken == (first, 20)

    board.put_back(first, minutes_left=5.0, worked_minutes=15)

    assert board.take(with_lead=True) == (first, 5.0)
    assert board.take(with_lead=True) == (second, 20)
