"""The task board: work to be done, most urgent first, shared out in pieces.

A Job is one task (split this lot, wash those trays). People take pieces of it, so several can share a big one and a
shift that ends leaves the rest on the board. When the last piece is done the job's `done` event tells whoever posted
it.
"""

from __future__ import annotations

from heapq import heapify, heappop, heappush
from typing import TYPE_CHECKING, Any

from growsim.ledger.events import TaskDone, TaskDue

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.ledger.book import Book
    from growsim.room.clock import Clock


class Job:
    """A task on the board. minutes are person-minutes at a practiced pace.

    number: place in the order of posting. to_take: minutes nobody has taken yet. in_hand: pieces being worked on.
    crop: what is worked on, "" where that is no crop. done: called with the job once, when it is finished or withdrawn;
    `finished` says which.
    """

    __slots__ = (
        "about",
        "crop",
        "done",
        "due_minute",
        "finished",
        "in_hand",
        "is_open",
        "is_waived",
        "minutes",
        "needs_lead",
        "number",
        "priority",
        "task",
        "to_take",
        "worked",
    )

    def __init__(
        self,
        task: str,
        about: str,
        minutes: int,
        due_minute: int,
        needs_lead: bool,
        priority: int,
        done: Callable[[Job], None],
        crop: str = "",
    ) -> None:
        self.task = task
        self.crop = crop
        self.about = about
        self.minutes = minutes
        self.to_take = float(minutes)
        self.in_hand = 0
        self.worked = 0
        self.due_minute = due_minute
        self.needs_lead = needs_lead
        self.priority = priority
        self.number = 0
        self.done = done
        self.is_open = True
        self.is_waived = False
        self.finished = False

    @property
    def has_begun(self) -> bool:
        """Whether anyone has worked on it or is doing so."""
        return self.in_hand > 0 or self.to_take < self.minutes


_Heap = list[tuple[Any, ...]]  # (priority, due, number of posting, job): never two alike


class Board:
    """Jobs waiting for hands. Lowest priority number first, then earliest due, then first posted."""

    def __init__(self, clock: Clock, book: Book, piece_minutes: int) -> None:
        self._clock = clock
        self._book = book
        self._piece_minutes = float(piece_minutes)
        self._anyone: _Heap = []
        self._lead_only: _Heap = []
        self._posted = 0
        self.on_post: Callable[[], Any] = lambda: None  # the crew puts itself here
        self.priority: Callable[[Job], int] = lambda job: job.priority  # as things are now

    def post(self, job: Job, units: int | float) -> None:
        """Put a job on the board. A job without work is finished at once."""
        self._book.write((self._clock.now, job.task, job.about, units, job.minutes, job.due_minute, TaskDue))
        if job.minutes <= 0:
            self._close(job, finished=True)
            return
        job.number = self._posted = self._posted + 1
        self._push(job)
        self.on_post()

    def take(self, with_lead: bool) -> tuple[Job, float] | None:
        """The next piece for somebody with free hands: (job, minutes at a practiced pace), or None."""
        heap = self._anyone
        while heap and not heap[0][3].is_open:
            heappop(heap)
        if with_lead:
            lead_only = self._lead_only
            while lead_only and not lead_only[0][3].is_open:
                heappop(lead_only)
            if lead_only and (not heap or lead_only[0] < heap[0]):
                heap = lead_only
        if not heap:
            return None
        job: Job = heap[0][3]
        job.in_hand += 1
        piece = job.to_take
        if piece > self._piece_minutes:
            piece = self._piece_minutes
            job.to_take -= piece
        else:
            job.to_take = 0.0
            heappop(heap)
        return job, piece

    def put_back(self, job: Job, minutes_left: float, worked_minutes: int) -> None:
        """A piece was worked on for so long and so much of it is left (0: the piece is done)."""
        job.in_hand -= 1
        job.worked += worked_minutes
        if minutes_left > 0 and not job.is_waived:
            if job.to_take <= 0:
                self._push(job)  # it was posted first and stays so
            job.to_take += minutes_left
            self.on_post()
        elif job.to_take <= 0 and job.in_hand == 0:
            self._close(job, finished=True)

    def withdraw(self, job: Job) -> bool:
        """Take a job off the board unless somebody has begun it. Tells its poster; returns whether it was withdrawn."""
        if not job.is_open or job.has_begun:
            return False
        self._close(job, finished=False)
        return True

    def done_along(self, job: Job) -> None:
        """What nobody has in hand of a job was done along with other work; it is over when no piece is in hand."""
        if not job.is_open:
            return
        job.is_waived, job.to_take = True, 0.0
        for heap in (self._anyone, self._lead_only):
            heap[:] = [entry for entry in heap if entry[3] is not job]
            heapify(heap)
        if job.in_hand == 0:
            self._close(job, finished=True)

    def _push(self, job: Job) -> None:
        heap = self._lead_only if job.needs_lead else self._anyone
        heappush(heap, (self.priority(job), job.due_minute, job.number, job))

    def rank_anew(self) -> None:
        """What was urgent may be so no more, or the other way round."""
        for heap in (self._anyone, self._lead_only):
            heap[:] = [(self.priority(job), due, number, job) for _, due, number, job in heap if job.is_open]
            heapify(heap)

    def _close(self, job: Job, *, finished: bool) -> None:
        job.is_open, job.finished = False, finished
        self._book.write((self._clock.now, job.task, job.about, job.due_minute, job.worked, finished, TaskDone))
        job.done(job)
