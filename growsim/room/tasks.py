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
        self._fixed_minutes = {
            str(task.name): (task.fixed_minutes.expected(), task.minutes_per_unit.expected())
            for task in crew.tasks
            if task.fixed_minutes.is_fixed and task.minutes_per_unit.is_fixed
        }
        self._factor = {
            str(task.name): luck.stream(f"parameter.{task.name}.minutes_factor").figure(task.minutes_factor)
            for task in crew.tasks
        }
        self._rota, self._board, self._clock, self._luck = rota, board, clock, luck

    def post(self, task: str, part: Part, units: float, done: Callable[[Job], None]) -> Job:
        """Put work on a part on the board; `done` is called when it is finished or withdrawn."""
        about = f"{part.lot.name} #{part.number}"
        return self._post(task, about, units, done, f"{about}.{part.stand.stage}.{part.already_cut}")

    def post_about(self, task: str, about: str, units: float, done: Callable[[Job], None]) -> Job:
        """Put work on the board that belongs to no lot."""
        return self._post(task, about, units, done, f"{about}.{self._clock.now}")

    def _post(self, task: str, about: str, units: float, done: Callable[[Job], None], luck_name: str) -> Job:
        """A task the room file does not name takes no time. luck_name: the same work in another plan, the same luck."""
        spec = self._known.get(task)
        minutes, needs_lead, priority = 0, False, 0
        if spec is not None:
            if task in self._fixed_minutes:
                to_start, each_unit = self._fixed_minutes[task]
                total = to_start + units * each_unit
            else:
                luck = self._luck.stream(f"work.{task}.{luck_name}")
                total = luck.figure(spec.fixed_minutes) + units * luck.figure(spec.minutes_per_unit)
            total *= self._factor[task]
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
        job = self.post(task, part, units, lambda job: self._clock.answer_last(over, job.finished))

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
