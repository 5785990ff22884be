"""Cross-checks of shifts, tasks and the calendar."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from growsim.scenario import on_paper
from growsim.scenario.promised_plan import follows_promises
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding
from growsim.vocabulary.days import WEEKDAYS
from growsim.vocabulary.tasks import TASKS, TaskRow

FIRST_YEAR, LAST_YEAR = 1900, 2900
# Where a room cannot do without a task; why, its row says.
_NEEDED_WHERE: dict[str, Callable[[Scenario], bool]] = {
    "sow": lambda room: bool(room.sowing),
    "thin": lambda room: any(crop.seeds_counted > 1 for crop in room.crops),
    "transplant": lambda room: any(len(crop.stages) > 1 for crop in room.crops),
    "harvest": lambda room: bool(room.crops),
    "pack": lambda room: bool(room.crops),
    "wash": lambda room: bool(room.crops),
    "top up": lambda room: any(reservoir.top_up == "by hand" for reservoir in room.reservoirs),
    "change solution": lambda room: any(reservoir.change_every_weeks for reservoir in room.reservoirs),
}
if missing := {row.key for row in TASKS.values() if row.needed_as} ^ _NEEDED_WHERE.keys():
    raise LookupError(f"'{min(missing)}': give a reason in its row and, here, the rooms it holds for, or neither")


def start_is_in_reach(scenario: Scenario) -> Iterator[Finding]:
    """The calendar can count from the start day through any warm-up and any rehearsal."""
    start = scenario.room.start_date
    if not FIRST_YEAR <= start.year <= LAST_YEAR:
        yield "room.start_date", f"is {start.isoformat()}", f"give a year from {FIRST_YEAR} to {LAST_YEAR}"


def shifts_end_the_same_day(scenario: Scenario) -> Iterator[Finding]:
    """A shift ends by midnight."""
    for shift in scenario.crew.shifts:
        if shift.start_hour + shift.hours > 24:
            yield (
                f"crew.shifts.{shift.name}.hours",
                f"starting at {clock(shift.start_hour)} it would run past midnight",
                f"give at most {24 - shift.start_hour:g} hours, or make a second shift on the next day",
            )


def somebody_in_a_shift(scenario: Scenario) -> Iterator[Finding]:
    """A shift without anybody signed up has a lead."""
    for shift in scenario.crew.shifts:
        if shift.people == 0 and not shift.lead:
            yield (
                f"crew.shifts.{shift.name}.people",
                "is 0, and the shift has no lead, so nobody would ever come",
                "sign up at least 1, or set lead = true for a lead who works alone",
            )


def months_are_complete(scenario: Scenario) -> Iterator[Finding]:
    """Sign-ups by month come as twelve or not at all."""
    for shift in scenario.crew.shifts:
        count = len(shift.people_by_month)
        if count not in (0, 12):
            yield (
                f"crew.shifts.{shift.name}.people_by_month",
                f"has {count} months",
                "give 12 figures, January to December, or none",
            )
    doubts = len(scenario.crew.chance_doubt_sd)
    if doubts not in (0, 12):
        yield "crew.chance_doubt_sd", f"has {doubts} months", "give 12 figures, January to December, or none"
    efforts = len(scenario.crew.recruiting_effort)
    if efforts not in (0, 12):
        yield "crew.recruiting_effort", f"has {efforts} months", "give 12 figures, January to December, or none"


def tasks_needed(scenario: Scenario) -> list[TaskRow]:
    """Kinds of work this room cannot do without."""
    return [TASKS[key] for key, is_needed in _NEEDED_WHERE.items() if is_needed(scenario)]


def every_work_is_described(scenario: Scenario) -> Iterator[Finding]:
    """Every kind of work that the room needs has its minutes."""
    given = {task.name for task in scenario.crew.tasks}
    for task in tasks_needed(scenario):
        if task.key not in given:
            yield (
                "crew.tasks",
                f"the task '{task.key}' is missing, and {task.needed_as}",
                f'add [[crew.tasks]] with name = "{task.key}" and minutes_per_unit = {task.usual_minutes:g} '
                f"(minutes for each {task.each})",
            )


def a_lead_for_what_needs_one(scenario: Scenario) -> Iterator[Finding]:
    """Where a task needs a lead, some shift has one."""
    crew = scenario.crew
    if crew.shifts and not any(shift.lead for shift in crew.shifts):
        for task in crew.tasks:
            if task.needs_lead:
                yield (
                    f"crew.tasks.{task.name}.needs_lead",
                    "no shift has a lead, so it would never be done",
                    "set lead = true for a shift, or needs_lead = false here",
                )


def minutes_by_crop_are_single(scenario: Scenario) -> Iterator[Finding]:
    """A crop has its own minutes once, and only in work on crops."""
    for task in scenario.crew.tasks:
        named = [own.crop for own in task.by_crop]
        for crop in dict.fromkeys(named):
            key = f"crew.tasks.{task.name}.by_crop.{crop}"
            if not TASKS[task.name].is_on_a_crop:
                yield key, f"{TASKS[task.name].doing} is no work on a crop", "leave it out"
            elif named.count(crop) > 1:
                yield key, "has its minutes twice", "give them once"


def room_for_the_crew(scenario: Scenario) -> Iterator[Finding]:
    """Warning: more people signed up than the room holds, alone or together with a shift at the same time."""
    limit, shifts = scenario.room.people_at_once, scenario.crew.shifts
    for shift in shifts:
        heads = max(shift.people, *shift.people_by_month, 0) + shift.lead
        if heads > limit:
            yield (
                f"crew.shifts.{shift.name}.people",
                f"{heads} people with the lead, and only {limit} can work in the room at once",
                "sign up fewer, or make two shifts of it",
            )
    for i, one in enumerate(shifts):
        for other in shifts[i + 1 :]:
            meet = one.start_hour < other.start_hour + other.hours and other.start_hour < one.start_hour + one.hours
            heads = one.people + one.lead + other.people + other.lead
            if one.weekday == other.weekday and meet and heads > limit:
                yield (
                    f"crew.shifts.{other.name}.start_hour",
                    f"meets {one.name}: {heads} people together, and only {limit} can work in the room at once",
                    "start it when the other has ended",
                )


def hands_on_the_day(scenario: Scenario) -> Iterator[Finding]:
    """Warning: sowing or harvest falls on a weekday without a shift, though there are shifts."""
    staffed = {shift.weekday for shift in scenario.crew.shifts}
    if not staffed:
        return
    for day in scenario.harvest.weekdays:
        if day not in staffed:
            yield (
                "harvest.weekdays",
                f"there is no shift on {day}, so lots wait for the next one",
                f"harvest on a day with a shift ({', '.join(d for d in WEEKDAYS if d in staffed)})",
            )
    for line in scenario.sowing:
        if line.weekday not in staffed:
            yield (
                f"sowing.{line.name}.weekday",
                f"there is no shift on {line.weekday}, so it is sown at the next one",
                f"sow on a day with a shift ({', '.join(d for d in WEEKDAYS if d in staffed)})",
            )


def hours_enough_on_paper(scenario: Scenario) -> Iterator[Finding]:
    """Warning: even on paper the plan asks for more hours than the crew has."""
    have, need = on_paper.crew_hours_per_week(scenario), on_paper.work_hours_per_week(scenario)
    if scenario.crew.shifts and need > have:
        yield (
            "crew.shifts",
            f"the plan asks for {need:.0f} hours of work a week from practiced people and the crew has {have:.0f}",
            f"{'promise' if follows_promises(scenario) else 'sow'} less, or sign up more people",
        )


def clock(hour: float) -> str:
    """An hour of the day as 18:30."""
    minutes = round(hour * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"
