"""The list of work and the people who take it: one process for each person who comes to a shift."""

from __future__ import annotations

import math
from collections.abc import Generator
from typing import Any

import simpy
from reference.plain_room.basics import DAY, Moment, draw

from growsim.scenario.calendar import Order, minute_of
from growsim.scenario.people import Shift

USUAL = {"top up": 1, "change solution": 2, "harvest": 3, "pack": 3, "transplant": 4, "sow": 5, "thin": 6, "wash": 7}


class Job:
    """A piece of work on the list."""

    def __init__(
        self, env: simpy.Environment, name: str, rank: tuple[int | None, int, int], minutes: int, needs_lead: bool
    ) -> None:
        self.crop = ""
        self.name, self.rank, self.left, self.needs_lead = name, rank, float(minutes), needs_lead
        self.hands, self.begun, self.done = 0, False, env.event()


class Work:
    """The list of work, and the shifts."""

    def __init__(self, room: Any) -> None:
        self.room, self.env, self.crew = room, room.env, room.scenario.crew
        self.jobs: list[Job] = []
        self.posted, self.new_work = 0, room.env.event()
        self.tasks = {task.name: task for task in self.crew.tasks}
        self.factors = {task.name: draw(task.minutes_factor, room.luck) for task in self.crew.tasks}
        z = room.luck.normal()
        doubts = self.crew.chance_doubt_sd or (0.0,) * 12
        chances = zip(self.crew.chance_of_coming, doubts, strict=True)
        self.chances = [min(1.0, max(0.0, chance + z * doubt)) for chance, doubt in chances]
        for shift in self.crew.shifts:
            self.env.process(self.every_week(shift))

    def shift_on(self, day: int, with_lead: bool = False) -> list[Shift]:
        """Shifts of a day."""
        calendar = self.room.calendar
        if calendar.is_closed(day):
            return []
        name = self.room.weekday(day)
        return [s for s in self.crew.shifts if s.weekday == name and (s.lead or not with_lead)]

    def due_day(self) -> int:
        """Day of the next shift that is not over."""
        day = self.env.now // DAY
        for later in range(day, day + 400):
            for shift in self.shift_on(later):
                if minute_of(later, shift.start_hour + shift.hours) > self.env.now:
                    return later
        return day + 400

    def place(self, job: Job) -> tuple[int, int, int]:
        """The lower, the sooner a job is taken up; as its task says, or as is usual."""
        own, due, posted = job.rank
        if own is None:
            wanted = job.name in ("harvest", "pack") and self.room.store.lacks_today(job.crop)
            own = 0 if wanted else USUAL[job.name]
        return own, due, posted

    def post(self, name: str, units: float, crop: str = "") -> Job:
        """Put a job on the list."""
        task, luck = self.tasks[name], self.room.luck
        each = next((own.minutes_per_unit for own in task.by_crop if own.crop == crop), task.minutes_per_unit)
        as_known = draw(task.fixed_minutes, luck) + draw(each, luck) * units
        minutes = math.ceil(as_known * self.factors[name] - 1e-9)
        self.posted += 1
        job = Job(self.env, name, (task.priority, self.due_day(), self.posted), minutes, task.needs_lead)
        job.crop = crop
        if minutes == 0:
            job.done.succeed()
            return job
        self.jobs.append(job)
        self.new_work.succeed()
        self.new_work = self.env.event()
        return job

    def withdraw(self, job: Job) -> None:
        """Take what nobody has begun of a job off the list."""
        job.left = 0
        if job in self.jobs:
            self.jobs.remove(job)

    def every_week(self, shift: Shift) -> Generator[Any, Any, None]:
        """A shift, week after week, with the people signed up for it."""
        crew, luck, room = self.crew, self.room.luck, self.room
        usual = sum(self.chances) / 12
        places = max((shift.people, *shift.people_by_month))
        people = [
            [luck.exponential(crew.stay_weeks) * usual, luck.normal(0, crew.chance_spread_sd)] for _ in range(places)
        ]
        day = room.calendar.first_on(shift.weekday, self.env.now // DAY)
        while True:
            yield Moment(self.env, minute_of(day, shift.start_hour), Order.ARRIVE)
            month = room.calendar.month(day)
            signed_up = shift.people_by_month[month] if shift.people_by_month else shift.people
            end = minute_of(day, shift.start_hour + shift.hours)
            closed, inside = room.calendar.is_closed(day), 0
            if shift.lead and not closed:
                inside += 1
                self.env.process(self.person(1.0, end, shift.lead))
            for place, person in enumerate(people):
                if luck.random() < 1 / crew.stay_weeks:
                    person[:] = [0.0, luck.normal(0, crew.chance_spread_sd)]
                comes = luck.random() < self.chances[month] + person[1]
                if comes and place < signed_up and not closed and inside < room.scenario.room.people_at_once:
                    inside += 1
                    learned = 1 - math.exp(-person[0] / crew.shifts_to_learn)
                    pace = crew.beginner_pace + (1 - crew.beginner_pace) * learned
                    self.env.process(self.person(pace, end, shift.lead))
                    person[0] += 1
                    room.year.count("came")
            day += 7

    def person(self, pace: float, end: int, lead_there: bool) -> Generator[Any, Any, None]:
        """One person in one shift: take the first job, work a while, take the next."""
        env = self.env
        while env.now < end:
            yield Moment(env, env.now, Order.CHOOSE)
            able = [j for j in self.jobs if j.left and (lead_there or not j.needs_lead)]
            job = min(able, key=self.place, default=None)
            if job is None:
                yield self.new_work | Moment(env, end, Order.LEAVE)
                continue
            piece = min(job.left, self.crew.piece_minutes)
            job.left -= piece
            job.hands += 1
            job.begun = True
            start, finish = env.now, env.now + math.ceil(piece / pace - 1e-9)
            if finish <= end:
                yield Moment(env, finish, Order.FINISHED)
            else:
                yield Moment(env, end, Order.LEAVE)
                if job in self.jobs:
                    job.left += piece - (end - start) * pace
            self.room.year.count("minutes worked", env.now - start)
            self.room.year.count(f"minutes: {job.name}", env.now - start)
            job.hands -= 1
            if not job.left and not job.hands and job in self.jobs:
                self.jobs.remove(job)
                job.done.succeed()
