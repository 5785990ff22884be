"""The first guess, on paper: hours of work by shift against the hours that a sign-up brings; and a ladder of sign-ups.

The ladder goes from the fewest people to as many as are of use, one person at a time, always to the shift that is worst
off for hours. It says how a number of people is spread over the shifts, the same whatever the luck.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from growsim.scenario import on_paper
from growsim.scenario.scenario import Scenario
from growsim.study.rota import SignUp
from growsim.vocabulary.days import WEEKDAYS

EVENED = 0.25  # of the way


def hours_by_shift(scenario: Scenario) -> tuple[float, ...]:
    """Hours of work a week, at a practiced pace, that fall to each shift if all work is done at the next one.

    Two shifts of a weekday share it by their length. Zero where the room has no work.
    """
    by_weekday = on_paper.hours_by_weekday(scenario)
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


def evened(scenario: Scenario, hours: Sequence[float]) -> tuple[float, ...]:
    """Hours by shift: mostly where they fall on paper, a quarter the same for every hour of every shift.

    Work that falls on one day may mostly be done on the next; and the smaller the steps between shifts, the easier they
    are to fill.
    """
    shifts = scenario.crew.shifts
    whole, long = math.fsum(hours), math.fsum(shift.hours for shift in shifts)
    return tuple(
        EVENED * whole * shift.hours / long + (1.0 - EVENED) * each for shift, each in zip(shifts, hours, strict=True)
    )
