"""How many volunteers do I need, on which day, in which month? Step by step: an ample crew, seasons and goals, search,
proof, the rest.
"""

from __future__ import annotations

import math
import time
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval, paired_differences, summarize
from growsim.run.precision import rehearse_until_precise
from growsim.run.prepare import Prepared, prepare_room
from growsim.run.progress import SharedProgress, SoFar
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.run.replicate import replicate
from growsim.run.worker import Replicate
from growsim.scenario.load import LoadedRoom, refuse_lacking
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.crew.answer import CrewStudy, OneLess, SeasonAnswer
from growsim.study.crew.easiest import Ask
from growsim.study.crew.goals import GOAL_KEYS, ON_TIME, ORDERS, Target, restated, targets_of, values_in, whole_year
from growsim.study.crew.kept import SetAside, people_in, rota_today, seasons_today, set_aside, trouble
from growsim.study.crew.late import Rung, last_people, late_first, rung_of
from growsim.study.crew.need import evened, hours_by_shift, ladder
from growsim.study.crew.proof import ATTEMPTS, Attempt, End, proof_rule
from growsim.study.crew.search import MANY, SPARED, Found, Search
from growsim.study.crew.years import Years
from growsim.study.rota import (
    Season,
    SignUp,
    held_in,
    months_of_weeks,
    most_of_use,
    people_today,
    recruiting_effort,
    seasons_of,
)

AIM, MARGIN = 0.01, 0.03  # in fractions
FEWEST_DAYS = 28
DOUBT = 0.05  # of the proof
LAST = 0.1  # of a season's people: those whose tasks are told
EXPECTED = 9 * 48  # years of a search, about
LESS_KEYS = ("kg_handed_out_per_week", ON_TIME, ORDERS)
LOWEST_CHANCE = 0.05  # a month in which nobody comes needs no more than this asks for
ALL_YEAR = (Season(tuple(range(12)), ()),)


def crew(
    room: LoadedRoom,
    *,
    plan: RunPlan,
    seed: int,
    replications: int | None = None,
    precision_percent: float | None = None,
    goals: Mapping[str, float] | None = None,
    aim: float = AIM,
    margin: float = MARGIN,
    at_least: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
    work: Replicate = replicate,
) -> CrewStudy:
    """Find the sign-up that meets the goals with 95 % confidence and is easiest to recruit; today's is a candidate.

    replications: fresh years for the proof, the room file's number where None. goals: figure -> fraction, instead of
    the room file's. aim: how far above its goals a year is to lie, so that a proof succeeds (fraction). margin: how far
    below an ample crew a year may lie where a goal is out of reach, and a season below the year. at_least: people on
    every shift. Raises RoomFileError, InputError for what cannot be rehearsed, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    scenario = room.scenario
    wanted = {ON_TIME: scenario.goals.tasks_on_time_fraction, ORDERS: scenario.goals.orders_filled_fraction}
    wanted |= goals or {}
    fresh = replications or scenario.rehearsal.replications
    _refuse(scenario, plan, wanted, aim, margin, at_least, fresh)
    refuse_lacking(room)
    with Rehearsers(workers, executor=executor, work=work) as rehearsers:
        asked = ask(
            rehearsers,
            prepare_room(room),
            plan,
            seed,
            wanted=wanted,
            aim=aim,
            margin=margin,
            at_least=at_least,
            fresh=fresh,
            precision_percent=precision_percent,
            progress=progress,
        )
    rotas = tuple(sum(each.sign_up) for each in asked.seasons)
    never = cannot_happen(scenario)
    return CrewStudy(
        room=room,
        plan=plan,
        seed=seed,
        wanted=wanted,
        aim=aim,
        margin=margin,
        at_least=at_least,
        seasons=asked.seasons,
        outcomes=asked.outcomes,
        outcomes_today=asked.today,
        targets=asked.targets,
        end=asked.end,
        estimates=summarize(asked.outcomes, never=never),
        today=summarize(asked.today, never=never),
        ample=summarize(asked.ample, never=never),
        answer_rung=rung_of(rotas, asked.outcomes, plan.days),
        today_rung=rung_of(_places_today(scenario, asked.seasons), asked.today, plan.days),
        one_less=asked.one_less,
        rungs=asked.rungs,
        late_first=late_first(asked.rungs),
        hours_on_paper=asked.hours_on_paper,
        years=asked.years,
        years_searched=asked.years_searched,
        set_aside=asked.set_aside,
        seconds=time.perf_counter() - began,
    )


def _places_today(scenario: Scenario, seasons: tuple[SeasonAnswer, ...]) -> tuple[int, ...]:
    """Sign-ups today, by season: the mean over its months, rounded."""
    shifts = [people_today(shift) for shift in scenario.crew.shifts]
    return tuple(
        round(sum(people[month] for people in shifts for month in each.season.months) / len(each.season.months))
        for each in seasons
    )


def _refuse(
    scenario: Scenario,
    plan: RunPlan,
    wanted: Mapping[str, float],
    aim: float,
    margin: float,
    at_least: int,
    replications: int,
) -> None:
    if not scenario.crew.shifts:
        raise InputError("crew.shifts: nobody ever comes to work, so no crew can be found; add a [[crew.shifts]].")
    if plan.days < FEWEST_DAYS:
        raise InputError(f"days: {plan.days} is too short to judge a crew; give {FEWEST_DAYS} or more.")
    if plan.start == "shelves":
        raise InputError("start: a crew is judged over a running plan, not from one day's shelves.")
    for key, goal in wanted.items():
        if key not in GOAL_KEYS or not 0 < goal <= 1:
            raise InputError(f"goals: {goal:g} is not possible for {key}; give more than 0 and at most 1, e.g. 0.9.")
    for name, value in (("aim", aim), ("margin", margin)):
        if not 0 < value < 0.5:
            raise InputError(f"{name}: {value:g} is not possible; give a fraction between 0 and 0.5, e.g. 0.02.")
    if not 0 <= at_least <= 20:
        raise InputError(f"at least: {at_least} is not possible; give 0 to 20 people a shift.")
    if replications < 5:
        raise InputError(f"replications: {replications} is too few to confirm a crew; give 5 or more.")


@dataclass(frozen=True)
class Asked:
    """Everything that was found out; see `crew.CrewStudy` for what each means."""

    seasons: tuple[SeasonAnswer, ...]
    targets: dict[str, Target]
    end: End
    outcomes: tuple[Outcome, ...]
    today: tuple[Outcome, ...]
    ample: tuple[Outcome, ...]
    one_less: tuple[OneLess, ...]
    rungs: tuple[Rung, ...]
    hours_on_paper: tuple[float, ...]
    years: int
    years_searched: int
    set_aside: SetAside | None


def ask(
    rehearsers: Rehearsers,
    prepared: Prepared,
    plan: RunPlan,
    seed: int,
    *,
    wanted: Mapping[str, float],
    aim: float,
    margin: float,
    at_least: int,
    fresh: int,
    precision_percent: float | None,
    progress: Progress | None,
) -> Asked:
    """Ask it. fresh: years of the proof at least. See `crew.crew` for the rest."""
    scenario = prepared.scenario
    shifts, chances = scenario.crew.shifts, scenario.crew.chance_of_coming
    months, year = months_of_weeks(scenario, plan.days), whole_year(plan.days)
    shared = SharedProgress(progress, EXPECTED + SPARED * len(shifts) + 3 * fresh)
    years = Years(rehearsers, prepared, seed, plan, ALL_YEAR, shared)

    # An ample crew first: it tells the work of each month, and which goals are within reach.
    lowest = max(LOWEST_CHANCE, min(chances[month] for month in months))
    all_held = tuple(most_of_use(scenario, shift, lowest, at_least) for shift in shifts)
    so_far = SoFar("with everybody one could ask for, ", room=None)
    with_ample = years.live([(all_held,)], range(MANY), so_far.see)[(all_held,)]
    effort = recruiting_effort(scenario)
    needs = needs_of(with_ample, months, chances)
    seasons = seasons_of(needs, months, chances, effort)
    least: list[SignUp] = [held_in(season, shifts, (at_least,) * len(shifts)) for season in seasons]
    most: list[SignUp] = [held_in(season, shifts, all_held) for season in seasons]
    years.renamed((all_held,), seasons, tuple(most))
    targets = targets_of(wanted, [values_in(year, each) for each in with_ample], margin, proof_rule(DOUBT, fresh))

    hours, chance = hours_by_shift(scenario), [_chance(season, months, chances) for season in seasons]
    come = max(LOWEST_CHANCE, math.fsum(chances) / 12)
    laid = [ladder(scenario, evened(scenario, hours), come, *ends) for ends in zip(least, most, strict=True)]
    hard = tuple(math.fsum(effort[m] for m in s.months) / len(s.months) for s in seasons)
    asking = Ask(targets, margin, aim, hard, tuple(_need(season, needs) for season in seasons))
    guess = max(sum(rungs[place]) for rungs, place in laid)
    search = Search(years, [rungs for rungs, _ in laid], guess, asking, year)
    found = search.found()
    searched = years.rehearsed
    attempt, found = _proven(search, found, fresh, margin)
    looks = [(search.flat(size), years.known(search.flat(size))) for size in search.looked()]
    fewer = search.rota([max(search.ends[0], size - max(1, round(LAST * size))) for size in map(sum, found.rota)])
    parts = [(season, number) for number, season in enumerate(seasons)]
    today = years.rooms({"today": prepared}, [each.replication for each in attempt.outcomes[:fresh]])["today"]
    aside = _set_aside(search, found, attempt, today, effort)
    if aside is not None:
        parts = seasons_today(scenario, seasons, months)
        attempt, found = _kept(search, parts, attempt, fresh)
        fewer, today = found.rota, attempt.outcomes[:fresh]
    outcomes = _until_precise(attempt, precision_percent)
    with_fewer, ample = years.live([fewer], range(SPARED))[fewer], years.known(attempt.ample)
    rungs = [rung_of(tuple(sum(each) for each in rota), lived, plan.days) for rota, lived in looks]
    names = {shifts[shift].name: lived for shift, lived in found.less.items()}
    less = paired_differences(found.whole[:SPARED], names, LESS_KEYS) if names else {}
    spares = [sum(was) - size for was, size in zip(found.rota, found.sizes, strict=True)]
    return Asked(
        seasons=tuple(
            SeasonAnswer(
                season=season,
                sign_up=found.rota[place],
                low=min(found.low[place], found.sizes[place]) + spares[place],
                high=max(found.high[place], found.sizes[place]) + spares[place],
                chance=chance[number],
                hard=hard[number],
                floor=asking.floor(search.curves, number) if search.curves else None,
                values=_values(season, outcomes),
                with_ample=_values(season, ample),
                last=sum(found.rota[place]) - sum(fewer[place]),
                last_by_shift=tuple(now - less for now, less in zip(found.rota[place], fewer[place], strict=True)),
                last_tasks=last_people(found.whole[:SPARED], with_fewer, season.weeks),
            )
            for place, (season, number) in enumerate(parts)
        ),
        targets={
            key: restated(target, [values_in(year, outcome) for outcome in ample]) for key, target in targets.items()
        },
        end=attempt.end,
        outcomes=tuple(outcomes),
        today=tuple(today),
        ample=tuple(ample),
        one_less=tuple(OneLess(name, less[name]) for name in names),
        rungs=tuple(sorted(rungs, key=lambda rung: rung.hours)),
        hours_on_paper=hours,
        years=years.rehearsed,
        years_searched=searched,
        set_aside=aside,
    )


def _chance(season: Season, months: Sequence[int], chances: Sequence[float]) -> float:
    return math.fsum(chances[months[week]] for week in season.weeks) / max(1, len(season.weeks))


def _need(season: Season, needs: Mapping[int, float]) -> float:
    counted = [needs[month] for month in season.months if month in needs]
    return math.fsum(counted) / max(1, len(counted)) or min(needs.values())


def needs_of(outcomes: Sequence[Outcome], months: Sequence[int], chances: Sequence[float]) -> dict[int, float]:
    """Need for sign-ups by counted month: hours of work a week with an ample crew over the chance of coming."""
    work: dict[int, list[float]] = {}
    for outcome in outcomes:
        for week, month in enumerate(months):
            work.setdefault(month, []).append(outcome.weeks["crew_hours_needed"][week])
    return {
        month: max(math.fsum(weeks) / len(weeks), 1e-6) / max(chances[month], LOWEST_CHANCE)
        for month, weeks in work.items()
    }


def _proven(search: Search, found: Found, fresh: int, margin: float) -> tuple[Attempt, Found]:
    """The last attempt at a proof, and the sign-up it was about; after each that fails, one with more people."""
    begin = MANY
    for number in range(ATTEMPTS):
        rule = proof_rule(DOUBT / 2 ** (number + 1), fresh)
        attempt = Attempt(
            found.rota, search.years, search.year, search.ask.targets, search.ample, rule, begin, margin
        )  # fmt: skip
        attempt.live()
        more = found
        if attempt.evidence.verdict == "rejected" and attempt.end == "short" and number < ATTEMPTS - 1:
            more = search.with_more(found)
        if more.rota == found.rota:
            attempt.live(to_the_end=True)
            break
        found, begin = more, begin + len(attempt.outcomes)
    return attempt, found


def _set_aside(
    search: Search, found: Found, attempt: Attempt, today: Sequence[Outcome], effort: Sequence[float]
) -> SetAside | None:
    """What was found, where today's sign-up is asked for instead. today: the first years of the proof, with today's."""
    shifts, asking = search.years.prepared.scenario.crew.shifts, search.ask
    now = [people_today(shift) for shift in shifts]
    if any(max(people) < fewest for people, fewest in zip(now, search.flat(search.ends[0])[0], strict=True)):
        return None
    people = people_in(search.years.seasons, found.rota)
    together = tuple(sum(month) for month in zip(*now, strict=True))
    if people == together and found.rota == rota_today(search.years.prepared.scenario, search.years.seasons):
        return None
    return set_aside(
        search.year, asking.targets, asking.aim, attempt.outcomes[: len(today)], today, people,
        is_harder=trouble(people, effort) >= trouble(together, effort),
        asks_more=any(new > was for new, was in zip(people, together, strict=True)),
    )  # fmt: skip


def _kept(search: Search, parts: Sequence[tuple[Season, int]], before: Attempt, fresh: int) -> tuple[Attempt, Found]:
    """The proof of today's sign-up, in years that nothing was judged in before, and today's as what was found.

    parts: see `kept.seasons_today`. From here on the years have these seasons.
    """
    seasons = tuple(season for season, _ in parts)
    rota, ample = rota_today(search.years.prepared.scenario, seasons), tuple(search.ample[n] for _, n in parts)
    search.years.renamed(search.ample, seasons, ample)
    rule, begin = proof_rule(DOUBT / 2 ** (ATTEMPTS + 1), fresh), before.begin + len(before.outcomes)
    attempt = Attempt(rota, search.years, search.year, search.ask.targets, ample, rule, begin, before.margin)
    attempt.live(to_the_end=True)
    sizes = tuple(sum(sign_up) for sign_up in rota)
    least = tuple(search.flat(search.ends[0])[number] for _, number in parts)
    return attempt, search.told_of(rota, least, sizes)


def _until_precise(attempt: Attempt, percent: float | None) -> list[Outcome]:
    """The outcomes of the proof; with a precision asked for, more of them until it is reached."""
    outcomes = list(attempt.outcomes)
    if percent is None:
        return outcomes

    def more(numbers: Sequence[int]) -> list[Outcome]:
        wanting = [attempt.begin + number for number in numbers if number >= len(outcomes)]
        if wanting:
            outcomes.extend(attempt.years.live([attempt.rota], wanting)[attempt.rota])
        return [outcomes[number] for number in numbers]

    rehearse_until_precise(more, percent)
    return outcomes


def _values(season: Season, outcomes: Sequence[Outcome]) -> dict[str, tuple[float, float | None, float | None]]:
    seen = [values_in(season, outcome) for outcome in outcomes]
    return {
        key: mean_interval([values[key] for values in seen if key in values])
        for key in (ON_TIME, ORDERS)
        if any(key in values for values in seen)
    }
