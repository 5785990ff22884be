"""The first guess, on paper: hours of work by shift against the hours that a sign-up brings; and a ladder of sign-ups.

The ladder goes from the fewest people to as many as are of use, one person at a time, always to the shift that is worst
off for hours. A search that follows it starts near the answer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.scenario import Scenario
from growsim.study.rota import SignUp
from growsim.vocabulary.days import WEEKDAYS


def hours_by_shift(scenario: Scenario) -> tuple[float, ...]:
    """Hours of work a week, at a practiced pace, that fall to each shift if all work is done at the next one.

    Two shifts of a weekday share it by their length. Zero where the room has no work.
    """
    by_weekday = hours_by_weekday(scenario)
    shifts = scenario.crew.shifts
    staffed = sorted({WEEKDAYS.index(shift.weekday) for shift in shifts})
    gathered = dict.fromkeys(staffed, 0.0)
    for weekday, hours in enumerate(by_weekday):
        gathered[min(staffed, key=lambda day: (day - weekday) % 7)] += hours
    length = {day: math.fsum(s.hours for s in shifts if WEEKDAYS.index(s.weekday) == day) for day in staffed}
    return tuple(
        gathered[WEEKDAYS.index(shift.weekday)] * shift.hours / length[WEEKDAYS.index(shift.weekday)]
        for shift in shifts
    )


def hours_by_weekday(scenario: Scenario) -> tuple[float, ...]:
    """Hours of work a week, at a practiced pace, by the weekday on which it falls due (Monday first).

    Every plan is kept: a tray moves on its day, a lot is harvested on the first harvest day after it is ripe.
    """
    minutes = [0.0] * 7
    tasks = {
        str(task.name): (task.fixed_minutes.expected(), task.minutes_per_unit.expected())
        for task in scenario.crew.tasks
    }

    def add(task: str, day: int, units: float, often: float, jobs: float = 1.0) -> None:
        fixed, each = tasks.get(task, (0.0, 0.0))
        if units > 0:
            minutes[day % 7] += (fixed * jobs + each * units) * often

    crops, trays = on_paper.crops_by_name(scenario), on_paper.trays_by_name(scenario)
    temperature = scenario.climate.air_temperature_c
    cutting = [WEEKDAYS.index(day) for day in scenario.harvest.weekdays]
    for line in scenario.sowing:
        crop, often = crops[line.crop], on_paper.sowings_per_week(line)
        sown = WEEKDAYS.index(line.weekday)
        stages = on_paper.plants_by_stage(crop, line.cells, temperature)
        add("sow", sown, line.cells, often)
        days_up, _ = on_paper.emergence_at(crop, temperature)
        add("thin", sown + round(days_up), _to_thin(crop, line.cells, temperature), often)
        day = sown
        for (_, plants), (before, plants_before) in zip(stages[1:], stages, strict=False):
            day += round(before.days)
            add("transplant", day, plants, often)
            add("wash", day, math.ceil(plants_before / trays[before.tray].places - 1e-9), often)
        cut = on_paper.plants_harvested(crop, line.cells, temperature)
        last = stages[-1][0]
        for number in range(crop.harvests):
            ripe = day + round(last.days + number * crop.regrowth_days)
            on = ripe + min((weekday - ripe) % 7 for weekday in cutting)
            add("harvest", on, cut, often)
            add("pack", on, on_paper.kg_of_plants(crop, cut) / crop.harvests, often)
            if number == crop.harvests - 1:
                add("wash", on, math.ceil(cut / trays[last.tray].places - 1e-9), often)
    by_hand = sum(reservoir.top_up == "by hand" for reservoir in scenario.reservoirs)
    for day in {WEEKDAYS.index(shift.weekday) for shift in scenario.crew.shifts}:
        add("top up", day, by_hand, 1.0)
    for reservoir in scenario.reservoirs:
        if reservoir.change_every_weeks:
            add("change solution", scenario.room.start_date.weekday(), 1.0, 1.0 / reservoir.change_every_weeks)
    return tuple(total / 60.0 for total in minutes)


def _to_thin(crop: Crop, cells: float, temperature: float) -> float:
    up = crop.seeds_per_cell * crop.germination_fraction.expected() * on_paper.emergence_at(crop, temperature)[1]
    return max(0.0, up - on_paper.filled_fraction(crop, temperature)) * cells


def pace_expected(scenario: Scenario) -> float:
    """Pace of a sign-up place in the long run, as a share of a practiced pace: beginners come and learn.

    Whoever fills it has been there for an exponential stay, so for about that many shifts times the chance of coming;
    the mean of exp(-n/k) over exponential n with mean m is 1/(1 + m/k).
    """
    crew = scenario.crew
    shifts_done = crew.stay_weeks * math.fsum(crew.chance_of_coming) / 12.0
    return 1.0 - (1.0 - crew.beginner_pace) / (1.0 + shifts_done / crew.shifts_to_learn)


def ladder(
    scenario: Scenario, hours: Sequence[float], chance: float, least: SignUp, most: SignUp
) -> tuple[tuple[SignUp, ...], int]:
    """Sign-ups from `least` to `most`, one person more at each rung, and the rung that covers the hours on paper.

    hours: of work by shift. chance: of coming. The next person goes to the shift whose hours are covered worst.
    """
    shifts, pace = scenario.crew.shifts, pace_expected(scenario)

    def covered(shift: int, people: int) -> float:
        have = shifts[shift].hours * (people * chance * pace + shifts[shift].lead)
        return have / max(hours[shift], 1e-6)

    rungs = [least]
    while rungs[-1] != most:
        now = rungs[-1]
        open_to = [i for i in range(len(now)) if now[i] < most[i]]
        worst = min(open_to, key=lambda i: (covered(i, now[i]), i))
        rungs.append(tuple(people + (i == worst) for i, people in enumerate(now)))

    def enough(rung: SignUp) -> bool:
        return all(covered(i, people) >= 1.0 or people >= most[i] for i, people in enumerate(rung))

    return tuple(rungs), next(i for i, rung in enumerate(rungs) if enough(rung) or rung == most)
