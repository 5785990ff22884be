"""Who does what, when: pieces, urgency, ends of shifts, leads, the room's limit. Each worked out by hand."""

from __future__ import annotations

import datetime as dt
from typing import Any

import pytest
from scipy import stats

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.events import ShiftHeld, TaskDone, TaskDue, Worked
from growsim.room.board import Board, Job
from growsim.room.clock import Clock
from growsim.room.crew import Crew, Volunteer
from growsim.room.rota import Rota
from growsim.scenario.calendar import Calendar, Order
from growsim.scenario.people import Crew as CrewSpec

MONDAY = dt.date(2031, 1, 6)


class Day:
    """A board and a crew, luck switched off; jobs are posted at minutes of day 0, a Monday."""

    def __init__(self, shifts: list[dict[str, Any]], *, limit: int = 9, piece_minutes: int = 30, **crew: Any) -> None:
        luck = crew.pop("luck", FixedLuck())
        spec = CrewSpec.model_validate(
            {"chance_of_coming": [1.0] * 12, "piece_minutes": piece_minutes, "shifts": shifts, **crew}
        )
        self.clock, self.book = Clock(0), Book(0)
        self.board = Board(self.clock, self.book, spec.piece_minutes)
        self.crew = Crew(spec, limit, self.clock, Calendar(MONDAY), self.board, self.book, luck)
        self.done: list[tuple[str, int]] = []

    def post(self, at: int, name: str, minutes: int, *, due: int = 1440, lead: bool = False, priority: int = 5) -> Job:
        """Put a job on the board at a minute."""
        job = Job(name, name, minutes, due, lead, priority, lambda job: self.done.append((job.task, self.clock.now)))
        self.clock.at(at, Order.CALENDAR, lambda _: self.board.post(job, 1))
        return job

    def live(self, until: int = 8640) -> list[tuple[str, str, int, int]]:
        """Let it run; gives (person, job, from, to)."""
        self.crew.start(0)
        self.clock.run(until)
        return [(work.person, work.task, work.began_minute, work.minute) for work in self.book.of(Worked)]


def shift(name: str = "am", hour: float = 9, hours: float = 2, people: int = 1, **more: Any) -> dict[str, Any]:
    """A Monday shift."""
    return {"name": name, "weekday": "mon", "start_hour": hour, "hours": hours, "people": people, "lead": False, **more}


def test_a_big_job_is_shared_in_pieces() -> None:
    """70 min in pieces of 30 for two people from 9:00: 30 and 30, then 10 by whoever came first in line."""
    day = Day([shift(people=2)])
    day.post(0, "harvest", 70)

    assert day.live() == [
        ("am/1", "harvest", 540, 570),
        ("am/2", "harvest", 540, 570),
        ("am/1", "harvest", 570, 580),
    ]
    assert day.done == [("harvest", 580)]
    assert list(day.book.of(TaskDone)) == [TaskDone(580, "harvest", "harvest", 1440, 70, True)]


def test_most_urgent_first() -> None:
    """Lowest priority number, then earliest due, then first posted; a more urgent one posted meanwhile comes next."""
    day = Day([shift()], piece_minutes=100)
    day.post(0, "late due", 10, due=2880)
    day.post(1, "early due", 10)
    day.post(2, "first of its kind", 10, priority=1)
    day.post(3, "second of its kind", 10, priority=1)
    day.post(545, "harvests in", 5, priority=0)

    assert [work[1:] for work in day.live()] == [
        ("first of its kind", 540, 550),
        ("harvests in", 550, 555),
        ("second of its kind", 555, 565),
        ("early due", 565, 575),
        ("late due", 575, 585),
    ]


def test_the_end_of_a_shift_leaves_the_rest_for_the_next() -> None:
    """A job of 100 min, a shift of 60: 30 + 30 done, 40 left; next week's shift does 30 + 10, and a shorter one between
    pieces stops in the middle of one."""
    day = Day([shift(hours=0.75)])
    day.post(0, "sow", 100)

    assert [work[2:] for work in day.live(3 * 10080)] == [
        (540, 570), (570, 585),  # 45 of 100 min
        (10620, 10650), (10650, 10665),  # 90
        (20700, 20710),
    ]  # fmt: skip
    assert day.done == [("sow", 20710)]


def test_work_left_behind_is_taken_up_by_who_is_still_there() -> None:
    """The first shift ends in the middle of its piece, at 545; whoever is idle in the second goes on with it."""
    day = Day([shift("a", hours=5 / 60), shift("b", hours=2)])
    day.post(0, "sow", 30)

    assert day.live() == [("a/1", "sow", 540, 545), ("b/1", "sow", 545, 570)]


def test_a_slow_hand_takes_longer_and_leaves_more() -> None:
    """At half a practiced pace 30 min take 60; after 20 min of a shift 10 min of the piece are done, 20 left."""
    day = Day([shift()])
    day.post(0, "sow", 30)
    day.crew._who_comes = lambda *_: [("am/1", 0.5)]  # type: ignore[method-assign]
    assert [work[2:] for work in day.live()] == [(540, 600)]

    day = Day([shift(hours=20 / 60), shift("pm", hour=12)])
    day.post(0, "sow", 30)
    day.crew._who_comes = lambda spec, *_: [(spec.name, 0.5 if spec.name == "am" else 1.0)]  # type: ignore[method-assign]
    assert [work[1:] for work in day.live()] == [("sow", 540, 560), ("sow", 720, 740)]


def test_what_needs_a_lead_waits_for_one() -> None:
    """Without a lead it lies there, urgent as it is; with one in the shift anybody of it may do it."""
    day = Day([shift(), shift("pm", hour=13, lead=True)])
    day.post(0, "harvest", 10, lead=True, priority=0)
    day.post(0, "wash", 20)

    assert day.live() == [("am/1", "wash", 540, 560), ("pm/0", "harvest", 780, 790)]


def test_the_room_holds_so_many() -> None:
    """Room for two: the lead and one of three get in, the others stand outside, though they came."""
    day = Day([shift(people=3, lead=True)], limit=2)
    for number in range(6):
        day.post(0, f"job {number}", 30)

    assert {work[0] for work in day.live()} == {"am/0", "am/1"}
    assert list(day.book.of(ShiftHeld)) == [ShiftHeld(660, "am", 3, 3, 2, True, 3 * 120, 120, 180)]


def test_room_is_free_again_after_a_shift() -> None:
    """A shift that begins as another ends finds the room empty."""
    day = Day([shift("a", hours=1), shift("b", hour=10, hours=1)], limit=1)
    day.post(0, "sow", 90)

    assert day.live() == [
        ("a/1", "sow", 540, 570),
        ("a/1", "sow", 570, 600),
        ("b/1", "sow", 600, 630),
    ]


def test_a_job_without_work_is_done_at_once() -> None:
    """Nobody is needed for nothing."""
    day = Day([])
    day.post(7, "nothing", 0)

    assert day.live() == []
    assert day.done == [("nothing", 7)]
    assert [due.minutes for due in day.book.of(TaskDue)] == [0]


def test_only_what_nobody_has_begun_can_be_withdrawn() -> None:
    """A job lying there can; one that somebody works on, or has worked on, cannot, nor one that is done."""
    day = Day([shift(hours=0.25)])
    begun, waiting, short = (
        day.post(0, "begun", 60),
        day.post(0, "waiting", 60, priority=9),
        day.post(0, "short", 1, priority=1),
    )
    answers: list[bool] = []
    for minute in (545, 700):
        day.clock.at(minute, Order.WAKE, lambda _: answers.extend(day.board.withdraw(job) for job in (begun, short)))
    day.clock.at(700, Order.WAKE, lambda _: answers.append(day.board.withdraw(waiting)))
    day.clock.at(701, Order.WAKE, lambda _: answers.append(day.board.withdraw(waiting)))
    day.live(1000)

    assert answers == [False, False, False, False, True, False]
    assert day.done == [("short", 541), ("waiting", 700)]
    assert [done.finished for done in day.book.of(TaskDone)] == [True, False]


def test_a_withdrawn_job_is_not_worked_on() -> None:
    """It is gone from the board also where it lay on top."""
    day = Day([shift()])
    gone = day.post(0, "gone", 30, priority=0)
    day.post(0, "there", 30)
    day.clock.at(1, Order.WAKE, lambda _: day.board.withdraw(gone))

    assert [work[1] for work in day.live()] == ["there"]


def test_expected_numbers_come_when_luck_is_off() -> None:
    """Five signed up at 70 %: 3.5, rounded up to 4 people at a practiced pace; by month where the file says so."""
    day = Day([shift(people=5)], chance_of_coming=[0.7] * 12)
    day.live()
    assert [held.came for held in day.book.of(ShiftHeld)] == [4]

    day = Day([shift(people=5, people_by_month=[2] * 12)], chance_of_coming=[0.7] * 12)
    day.live()
    assert [(held.signed_up, held.came) for held in day.book.of(ShiftHeld)] == [(2, 1)]


def test_closed_days_have_no_shift_but_use_up_their_luck() -> None:
    """Nobody comes on a closed Monday; who comes on the Mondays after is the same as had it been open."""
    came = []
    for closed in ((), (MONDAY + dt.timedelta(days=7),)):
        clock, book = Clock(0), Book(0)
        spec = CrewSpec.model_validate({"chance_of_coming": [0.5] * 12, "shifts": [shift(people=20)]})
        board = Board(clock, book, 30)
        crew = Crew(spec, 50, clock, Calendar(MONDAY, closed), board, book, Luck(5, 0))
        crew.start(0)
        clock.run(8 * 10080)
        came.append({held.minute // 10080: held.came for held in book.of(ShiftHeld)})

    assert len(came[0]) == 8
    assert 1 not in came[1]
    assert came[1] == {week: number for week, number in came[0].items() if week != 1}


def test_one_more_signed_up_changes_nobody_elses_luck() -> None:
    """The same volunteers come on the same days; the new one comes or not."""

    def who(people: int) -> list[set[str]]:
        day = Day([shift(people=people, hours=4)], chance_of_coming=[0.6] * 12, limit=50, luck=Luck(9, 0))
        day.post(0, "endless", 10**7)
        found: dict[int, set[str]] = {}
        for person, _, began, _ in day.live(20 * 10080):
            found.setdefault(began // 10080, set()).add(person)
        return [found.get(week, set()) for week in range(20)]

    few, more = who(4), who(5)

    assert [people - {"am/5"} for people in more] == few
    assert 0 < sum("am/5" in people for people in more) < 20


def test_more_sign_up_in_some_months_and_all_may_come() -> None:
    """Four in January where the file's usual number is two, and everybody comes: four."""
    day = Day([shift(people=2, people_by_month=[4] + [1] * 11)], limit=9, luck=Luck(3, 0))
    day.live()

    assert [(held.signed_up, held.came) for held in day.book.of(ShiftHeld)] == [(4, 4)]


def test_beginners_learn() -> None:
    """Pace of the first shift as the file says; after `shifts_to_learn` more two thirds of the gap (1 - 1/e) is closed.

    Exponential learning: common practice, no source.
    """
    spec = CrewSpec.model_validate({"chance_of_coming": [1.0] * 12, "beginner_pace": 0.4, "shifts_to_learn": 4})
    volunteer = Volunteer("a", Luck(1, 0), spec, spec.chance_of_coming)
    volunteer.shifts_done = 1.0
    assert volunteer.pace() == 0.4
    volunteer.shifts_done = 5.0
    assert volunteer.pace() == pytest.approx(0.4 + 0.6 * 0.632, abs=1e-3)


def test_people_come_as_often_as_the_file_says() -> None:
    """Binomial (scipy.stats.binomtest): 30 signed up at 60 % for 150 weeks; with a person-to-person spread the mean
    stays and the spread between persons grows beyond the binomial's."""
    attended = {}
    for spread in (0.0, 0.15):
        spec = CrewSpec.model_validate({"chance_of_coming": [0.6] * 12, "chance_spread_sd": spread, "stay_weeks": 5000})
        people = [Volunteer(f"a/{number}", Luck(2, 0), spec, spec.chance_of_coming) for number in range(30)]
        attended[spread] = [sum(person.comes(0) for _ in range(150)) for person in people]

    assert stats.binomtest(sum(attended[0.0]), 30 * 150, 0.6).pvalue > 0.01
    assert stats.tstd(attended[0.0]) < 1.5 * (150 * 0.6 * 0.4) ** 0.5 < stats.tstd(attended[0.15])
    assert sum(attended[0.15]) == pytest.approx(30 * 150 * 0.6, rel=0.1)


def test_a_place_is_left_to_a_beginner_now_and_then() -> None:
    """Stays of 10 weeks on average: geometric, so 200 weeks of 20 places bring 400 beginners, give or take 4 sd."""
    spec = CrewSpec.model_validate({"chance_of_coming": [0.0] * 12, "stay_weeks": 10})
    people = [Volunteer(f"a/{number}", Luck(4, 0), spec, spec.chance_of_coming) for number in range(20)]
    beginners = 0
    for person in people:
        for _ in range(200):
            person.shifts_done = 7.0
            person.comes(0)
            beginners += person.shifts_done == 0.0

    assert abs(beginners - 400) < 4 * (4000 * 0.1 * 0.9) ** 0.5


def rota(shifts: list[dict[str, Any]], closed: tuple[dt.date, ...] = (), **crew: Any) -> Rota:
    """A rota."""
    spec = CrewSpec.model_validate({"chance_of_coming": [1.0] * 12, "shifts": shifts, **crew})
    return Rota(spec, Calendar(MONDAY, closed))


def test_work_is_due_by_the_end_of_the_next_shifts_day() -> None:
    """Posted before Monday's shift is over: that day; after it: Monday a week on. Days allowed are added."""
    plain = rota([shift(), shift("pm", hour=14, lead=True)])

    assert plain.due_minute(0, needs_lead=False) == 1440
    assert plain.due_minute(959, needs_lead=False) == 1440  # the afternoon shift ends at 16:00, 960
    assert plain.due_minute(960, needs_lead=False) == 8 * 1440
    assert plain.due_minute(1441, needs_lead=True) == 8 * 1440
    assert rota([shift()], days_allowed=2).due_minute(0, needs_lead=False) == 3 * 1440
    tuesday_closed = (MONDAY + dt.timedelta(days=1),)
    assert rota([shift()], days_allowed=2, closed=tuesday_closed).due_minute(0, needs_lead=False) == 4 * 1440
    assert rota([shift()], closed=(MONDAY,)).due_minute(0, needs_lead=False) == 8 * 1440
    assert rota([shift()]).due_minute(0, needs_lead=True) == 366 * 1440  # nobody ever comes: a year, a mere figure
    assert plain.due_minute(-1, needs_lead=False) == 1440
    later_without = rota([shift("pm", hour=14), shift(lead=True)])
    assert later_without.due_minute(700, needs_lead=True) == 8 * 1440  # the lead left at 11:00, 660
    assert later_without.due_minute(700, needs_lead=False) == 1440


def test_somebody_able_looks_in() -> None:
    """A shift with a lead as it begins, or a visit; not a shift without a lead, not on a closed day."""
    walk_throughs = [{"name": "evening", "weekdays": ["mon", "wed"], "hour": 20.5}]
    found = rota([shift(), shift("pm", hour=14, lead=True)], walk_throughs=walk_throughs)

    assert found.next_look(0) == 840
    assert found.next_look(840) == 840
    assert found.next_look(841) == 1230
    assert found.next_look(1231) == 2 * 1440 + 1230
    assert rota([shift()]).next_look(0) is None
    shut = rota([], closed=(MONDAY,), walk_throughs=walk_throughs)
    assert shut.next_look(0) == 2 * 1440 + 1230
    assert shut.has_shift(0) is False
    assert (found.has_shift(0), found.has_shift(1)) == (True, False)
