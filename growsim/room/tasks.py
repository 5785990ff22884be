"""From a need to a job: how many minutes it takes, by when, who may do it, and when it is no longer worth doing."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from growsim.room.board import Job
from growsim.spec.calendar import Order

if TYPE_CHECKING:
    from collections.abc import Callable

    import simpy

    from growsim.chance.streams import Luck
    from growsim.room.board import Board
    from growsim.room.clock import Clock
    from growsim.room.part import Part
    from growsim.room.rota import Rota
    from growsim.spec.people import Crew


class Tasks:
    """Puts work on the board."""

    def __init__(self, crew: Crew, rota: Rota, board: Board, clock: Clock, luck: Luck) -> None:
        self._known = {str(task.name): task for task in crew.tasks}
        self._rota, self._board, self._clock, self._luck = rota, board, clock, luck

    def post(self, task: str, part: Part, units: float, done: Callable[[Job], None]) -> Job:
        """Put work on a part on the board; `done` is called when it is finished or withdrawn."""
        return self.post_about(task, f"{part.lot.name} #{part.number}", units, done)

    def post_about(self, task: str, about: str, units: float, done: Callable[[Job], None]) -> Job:
        """Put work on the board that belongs to no lot. A task the room file does not name takes no time."""
        spec = self._known.get(task)
        minutes, needs_lead, priority = 0, False, 0
        if spec is not None:
            fixed, each = spec.fixed_minutes, spec.minutes_per_unit
            if fixed.is_fixed and each.is_fixed:
                total = fixed.expected() + units * each.expected()
            else:
                luck = self._luck.stream(f"work.{task}.{about}.{self._clock.now}")
                total = luck.figure(fixed) + units * luck.figure(each)
            minutes, needs_lead, priority = max(0, math.ceil(total - 1e-9)), spec.needs_lead, spec.priority
        due_minute = self._rota.due_minute(self._clock.now, needs_lead=needs_lead)
        job = Job(task, about, minutes, due_minute, needs_lead, priority, done)
        self._board.post(job, units)
        return job

    def work(self, task: str, part: Part, units: float, give_up: Callable[[], int]) -> simpy.Event:
        """Work that a part waits for: an event whose value tells whether it was done.

        give_up() says when the work, if nobody has begun it, is no longer worth doing; it is asked again then.
        """
        over = self._clock.event()
        job = self.post(task, part, units, lambda job: self._clock.answer(over, job.finished))

        def mind(_: Any) -> None:
            if not job.is_open:
                return
            when = give_up()
            if when > self._clock.now:
                self._clock.at(when, Order.WAKE, mind)
            else:
                self._board.withdraw(job)

        if job.is_open:
            self._clock.at(max(give_up(), self._clock.now), Order.WAKE, mind)
        return over
