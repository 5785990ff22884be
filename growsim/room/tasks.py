"""From a need to a job: how many minutes it takes, by when, who may do it, and when it is no longer worth doing."""

from __future__ import annotations

from math import ceil
from typing import TYPE_CHECKING, Any

from growsim.chance.draws import ready
from growsim.room.board import Job
from growsim.vocabulary.tasks import DUE_TODAY, TASKS

if TYPE_CHECKING:
    from collections.abc import Callable

    import simpy

    from growsim.chance.streams import Luck
    from growsim.room.board import Board
    from growsim.room.clock import Clock
    from growsim.room.cooler import Cooler
    from growsim.room.part import Part
    from growsim.room.rota import Rota
    from growsim.scenario.people import Crew, Task


class Kind:
    """One kind of work, ready to be posted often. Minutes: (to get ready, for each unit), drawn or known."""

    __slots__ = (
        "draw",
        "draw_each",
        "each",
        "factor",
        "fixed",
        "is_drawn",
        "may_be_due_today",
        "needs_lead",
        "priority",
    )

    def __init__(self, spec: Task, luck: Luck, factor: float | None = None) -> None:
        """factor: what has been drawn of these minutes already."""
        self.is_drawn = not (luck.is_switched_off or (spec.fixed_minutes.is_fixed and spec.minutes_per_unit.is_fixed))
        self.fixed, self.each = spec.fixed_minutes.expected(), spec.minutes_per_unit.expected()
        self.draw, self.draw_each = ready(spec.fixed_minutes), ready(spec.minutes_per_unit)
        if factor is None:
            factor = luck.stream(f"parameter.{TASKS[spec.name].luck}.minutes_factor").figure(spec.minutes_factor)
        self.factor = factor
        self.needs_lead = spec.needs_lead
        row = TASKS[spec.name]
        self.priority = row.turn if spec.priority is None else spec.priority
        self.may_be_due_today = spec.priority is None and row.is_for_partners


class Tasks:
    """Puts work on the board."""

    def __init__(self, crew: Crew, rota: Rota, board: Board, clock: Clock, luck: Luck) -> None:
        self._kinds = {str(task.name): Kind(task, luck) for task in crew.tasks}
        self._of_crop: dict[tuple[str, str], Kind] = {}
        for task in crew.tasks:
            for own in task.by_crop:
                self._of_crop[str(task.name), own.crop] = Kind(task.on(own.crop), luck, self._kinds[task.name].factor)
        self._rota, self._board, self._clock, self._luck = rota, board, clock, luck
        self.on_post: Callable[[Job, Part | None, float], object] = lambda job, part, units: None  # for a watcher
        self.is_due_today: Callable[[str], bool] = lambda crop: False

    def let_partners_hurry(self, cooler: Cooler) -> None:
        """Where the room file leaves it to us, what a partner collects today comes first, as things are by then."""
        if any(kind.may_be_due_today for kind in self._kinds.values()):
            self.is_due_today, self._board.priority = cooler.is_due_today, self._priority
            cooler.on_change = self._board.rank_anew

    def _priority(self, job: Job) -> int:
        """The job's own, or 0 for what a partner collects today."""
        kind = self._kinds.get(job.task)
        if kind is not None and kind.may_be_due_today and self.is_due_today(job.crop):
            return DUE_TODAY
        return job.priority

    def post(self, task: str, part: Part, units: int | float, done: Callable[[Job], None]) -> Job:
        """Put work on a part on the board; `done` is called when it is finished or withdrawn."""
        return self._post(task, part.name, f"{part.stand.stage}.{part.already_harvested}", units, done, part)

    def post_about(self, task: str, about: str, units: int | float, done: Callable[[Job], None]) -> Job:
        """Put work on the board that belongs to no lot."""
        return self._post(task, about, self._clock.now, units, done)

    def _post(
        self,
        task: str,
        about: str,
        when: int | str,
        units: int | float,
        done: Callable[[Job], None],
        part: Part | None = None,
    ) -> Job:
        """`when` tells this work from other work of the kind on the same. A task the room file does not name takes no
        time."""
        crop = "" if part is None else part.lot.crop_name
        kind = self._of_crop.get((task, crop)) or self._kinds.get(task)
        minutes, needs_lead, priority = 0, False, 0
        if kind is not None:
            if kind.is_drawn:  # the same work in another plan has the same luck
                luck = self._luck.stream(f"work.{TASKS[task].luck}.{about}.{when}")
                total = kind.draw(luck) + units * kind.draw_each(luck)
            else:
                total = kind.fixed + units * kind.each
            minutes, needs_lead, priority = ceil(total * kind.factor - 1e-9), kind.needs_lead, kind.priority
        due_minute = self._rota.due_minute(self._clock.now, needs_lead)
        job = Job(task, about, minutes, due_minute, needs_lead, priority, done, crop)
        self.on_post(job, part, units)
        self._board.post(job, units)
        return job

    def in_the_way(self, task: str, begin: int, end: int) -> str:
        """What kept work of this kind from being done between two minutes: the obstacle, or several joined."""
        kind = self._kinds.get(task)
        return self._rota.in_the_way(begin, end, kind is not None and kind.needs_lead)

    def done_along(self, job: Job) -> None:
        """Nobody needs to go on with it: it was done along with other work."""
        self._board.done_along(job)

    def work(self, task: str, part: Part, units: int | float, give_up: Callable[[], int]) -> simpy.Event:
        """Work that a part waits for: an event whose value tells whether it was done.

        give_up() says when the work, if nobody has begun it, is no longer worth doing; it is asked again then.
        """
        over = self._clock.event()
        job = self.post(task, part, units, lambda job: self._clock.answer_last(over, job.finished))
        if job.is_open:
            self._mind(job, give_up)
        return over

    def _mind(self, job: Job, give_up: Callable[[], int]) -> None:
        """Plan to ask again, when it would now be given up, whether to withdraw it."""

        def ask_again(_: Any) -> None:
            if not job.is_open:
                return
            if give_up() > self._clock.now:
                self._mind(job, give_up)
            else:
                self._board.withdraw(job)

        over, now = give_up(), self._clock.now
        self._clock.at_deadline(over if over > now else now, ask_again)
