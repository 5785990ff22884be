"""How many volunteers do I need, on which day, in which month? Step by step: ample hands, seasons and goals, ladder,
search, proof, the rest.
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
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.run.replicate import replicate
from growsim.run.worker import Replicate
from growsim.scenario.load import LoadedRoom, refuse_lacking
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.crew.answer import CrewStudy, OneLess, SeasonAnswer
from growsim.study.crew.goals import GOAL_KEYS, ON_TIME, ORDERS, Target, restated, targets_of, values_in
from growsim.study.crew.late import Rung, late_first, rung_of
from growsim.study.crew.need import hours_by_shift, ladder
from growsim.study.crew.proof import Proof, proof_rule, prove, tried_whole
from growsim.study.crew.rounds import Ample, Years, above, search_together
from growsim.study.crew.search import FEW_OPTIONS, LIKELIEST, Found, Trials, exactly, near_enough, options
from growsim.study.crew.surface import Shape, Surfaces
from growsim.study.crew.trial import Rule
from growsim.study.rota import (
    Rota,
    Season,
    SignUp,
    held_in,
    months_of_weeks,
    most_of_use,
    people_today,
    seasons_of,
    signed_up,
)

ZONE, MARGIN = 0.02, 0.03  # in fractions
FEWEST_DAYS = 28
DOUBT = 0.05  # of the search and of the proof, each
FIRST, STEP, LONGEST = 16, 8, 40  # years of a trial: before the first look, between looks, at most
LOOKS = (0.0, 0.5, 1.0, 1.5, 2.0)  # crews rehearsed all year round, as shares of the guess on the ladder,
LOOKS_BEYOND = (0.12, 0.35)  # and as shares of the way from the guess to ample hands
SHORTER = 40  # years in which one person less is rehearsed, at most
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
    zone: float = ZONE,
    margin: float = MARGIN,
    at_least: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
    work: Replicate = replicate,
) -> CrewStudy:
    """Find the smallest sign-up that meets the goals with 95 % confidence.

    replications: fresh years for the proof, the room file's number where None. goals: figure -> fraction, instead of
    the room file's. zone: a smaller sign-up that clears every goal by so much is not overlooked (fraction). margin: how
    far below ample hands a year may lie where a goal is out of reach. at_least: people on every shift. Raises
    RoomFileError, InputError for what cannot be rehearsed, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    scenario = room.scenario
    wanted = {ON_TIME: scenario.goals.tasks_on_time_fraction, ORDERS: scenario.goals.orders_filled_fraction}
    wanted |= goals or {}
    fresh = replications or scenario.rehearsal.replications
    _refuse(scenario, plan, wanted, zone, margin, at_least, fresh)
    refuse_lacking(room)
    with Rehearsers(workers, executor=executor, work=work) as rehearsers:
        asked = ask(
            rehearsers,
            prepare_room(room),
            plan,
            seed,
            wanted=wanted,
            zone=zone,
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
        zone=zone,
        margin=margin,
        at_least=at_least,
        seasons=asked.seasons,
        outcomes=asked.outcomes,
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
    zone: float,
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
    for name, value in (("zone", zone), ("margin", margin)):
        if not 0 < value < 0.5:
            raise InputError(f"{name}: {value:g} is not possible; give a fraction between 0 and 0.5, e.g. 0.02.")
    if not 0 <= at_least <= 20:
        raise InputError(f"at least: {at_least} is not possible; give 0 to 20 people a shift.")
    if replications < 5:
        raise InputError(f"replications: {replications} is too few to prove a crew; give 5 or more.")


@dataclass(frozen=True)
class Asked:
    """Everything that was found out; see `crew.CrewStudy` for what each means."""

    seasons: tuple[SeasonAnswer, ...]
    outcomes: tuple[Outcome, ...]
    today: tuple[Outcome, ...]
    ample: tuple[Outcome, ...]
    one_less: tuple[OneLess, ...]
    rungs: tuple[Rung, ...]
    hours_on_paper: tuple[float, ...]
    years: int
    years_searched: int


def ask(
    rehearsers: Rehearsers,
    prepared: Prepared,
    plan: RunPlan,
    seed: int,
    *,
    wanted: Mapping[str, float],
    zone: float,
    margin: float,
    at_least: int,
    fresh: int,
    precision_percent: float | None,
    progress: Progress | None,
) -> Asked:
    """Ask it. fresh: years of the proof at least. See `crew.crew` for the rest."""
    scenario = prepared.scenario
    shifts, chances = scenario.crew.shifts, scenario.crew.chance_of_coming
    months = months_of_weeks(scenario, plan.days)
    expected = (len(LOOKS) + len(LOOKS_BEYOND) + 21) * FIRST + 4 * fresh + min(SHORTER, fresh) * len(shifts)
    years = Years(rehearsers, prepared, seed, plan, ALL_YEAR, SharedProgress(progress, expected))

    # Ample hands first: they tell the work of each month, and which goals are within reach.
    lowest = max(LOWEST_CHANCE, min(chances[month] for month in months))
    all_held = tuple(most_of_use(scenario, shift, lowest, at_least) for shift in shifts)
    with_ample = years.live([(all_held,)], range(FIRST))[(all_held,)]
    seasons = seasons_of(needs_of(with_ample, months, chances), months, chances)
    years.seasons = seasons
    least: list[SignUp] = [held_in(season, shifts, (at_least,) * len(shifts)) for season in seasons]
    most: list[SignUp] = [held_in(season, shifts, all_held) for season in seasons]
    ample = Ample(years, tuple(most))
    ample.add(with_ample)
    seen = [[values_in(season, outcome) for outcome in with_ample] for season in seasons]
    first_proof = proof_rule(DOUBT / 2 / len(seasons), fresh)
    targets = [targets_of(wanted, values, margin, first_proof) for values in seen]

    # The ladder on paper, and a look at crews of every size.
    hours = hours_by_shift(scenario)
    chance = [math.fsum(chances[months[week]] for week in s.weeks) / max(1, len(s.weeks)) for s in seasons]
    ladders = [
        ladder(scenario, hours, max(LOWEST_CHANCE, p), *ends) for p, *ends in zip(chance, least, most, strict=True)
    ]
    verdicts = max(_verdicts(*ends) for ends in zip(least, most, strict=True))
    error = DOUBT / (len(seasons) * verdicts * max(1, len(wanted)))
    rule = Rule(zone, error, FIRST, STEP, LONGEST)
    trials = [Trials(rule, each) for each in most]
    looked = _look(years, ample, ladders, targets, trials)
    looked[ample.rota] = with_ample

    shapes = [
        _shape(scenario, p, above(number, years, ample, targets[number], with_ample)) for number, p in enumerate(chance)
    ]
    surfaces = Surfaces(shapes, [trial.known for trial in trials])
    searches = [
        exactly(trial, rungs, guess)
        if options(least[number], most[number]) <= FEW_OPTIONS
        else near_enough(trial, rungs, guess, surfaces, number)
        for number, (trial, (rungs, guess)) in enumerate(zip(trials, ladders, strict=True))
    ]
    found = search_together(years, ample, targets, trials, searches)
    smallest_found = tuple(each.sign_up for each in found)
    whole = tried_whole(smallest_found, years, ample, targets, trials, surfaces, zone=zone)
    searched = years.rehearsed
    proof = prove(
        whole,
        years,
        ample,
        targets,
        trials,
        surfaces,
        replications=fresh,
        zone=zone,
        margin=margin,
        doubt=DOUBT,
    )
    outcomes = _until_precise(proof, years, precision_percent)
    rungs = [rung_of(tuple(sum(each) for each in rota), lived, plan.days) for rota, lived in looked.items()]
    today, one_less = _beside(prepared, years, proof.rota, outcomes, fresh)
    return Asked(
        seasons=tuple(
            SeasonAnswer(
                season=season,
                sign_up=proof.rota[number],
                found=found[number].sign_up,
                guess=ladders[number][0][ladders[number][1]],
                chance=chance[number],
                targets={
                    key: restated(target, [values[number] for values in ample.seen.values()])
                    for key, target in targets[number].items()
                },
                values=_values(season, outcomes),
                end=proof.ends[number],
                refused=found[number].refused,
                tried=len(trials[number].known),
                zone_reached=_zone(trials[number], found[number], zone),
            )
            for number, season in enumerate(seasons)
        ),
        outcomes=tuple(outcomes),
        today=tuple(today),
        ample=tuple(ample.outcomes),
        one_less=one_less,
        rungs=tuple(sorted(rungs, key=lambda rung: rung.hours)),
        hours_on_paper=hours,
        years=years.rehearsed,
        years_searched=searched,
    )


def needs_of(outcomes: Sequence[Outcome], months: Sequence[int], chances: Sequence[float]) -> dict[int, float]:
    """Need for sign-ups by counted month: hours of work a week with ample hands over the chance of coming."""
    work: dict[int, list[float]] = {}
    for outcome in outcomes:
        for week, month in enumerate(months):
            work.setdefault(month, []).append(outcome.weeks["crew_hours_needed"][week])
    return {
        month: max(math.fsum(weeks) / len(weeks), 1e-6) / max(chances[month], LOWEST_CHANCE)
        for month, weeks in work.items()
    }


def _verdicts(least: SignUp, most: SignUp) -> int:
    """Rejections that the answer of a season rests on: of sign-ups of one place fewer that were tried to the end."""
    if options(least, most) > FEW_OPTIONS:
        return LIKELIEST
    return max(options(least[:i] + least[i + 1 :], most[:i] + most[i + 1 :]) for i in range(len(least)))


def _shape(scenario: Scenario, chance: float, ample: Mapping[int, Mapping[str, float]]) -> Shape:
    """What is known of a season before the search. ample: how far above the goals ample hands lie, year by year."""
    keys = {key for year in ample.values() for key in year}
    top = {key: mean_interval([year[key] for year in ample.values() if key in year])[0] for key in sorted(keys)}
    places = tuple(max(0, scenario.room.people_at_once - int(shift.lead)) for shift in scenario.crew.shifts)
    return Shape(places, max(LOWEST_CHANCE, chance), top)


def _look(
    years: Years,
    ample: Ample,
    ladders: Sequence[tuple[tuple[SignUp, ...], int]],
    targets: Sequence[Mapping[str, Target]],
    trials: Sequence[Trials],
) -> dict[Rota, list[Outcome]]:
    """Crews of several sizes through the whole year, smallest first; they begin the trials of their rungs."""
    places = [
        [round(share * guess) for share in LOOKS]
        + [guess + round(share * (len(rungs) - 1 - guess)) for share in LOOKS_BEYOND]
        for rungs, guess in ladders
    ]
    rotas = [
        tuple(rungs[min(place, len(rungs) - 1)] for (rungs, _), place in zip(ladders, look, strict=True))
        for look in zip(*places, strict=True)
    ]
    rotas = [rota for rota in dict.fromkeys(rotas) if rota != ample.rota]
    lived = years.live(rotas, range(FIRST))
    for season, trial in enumerate(trials):
        for rota in rotas:
            if rota[season] not in trial.known and rota[season] != trial.ample:
                trial.of(rota[season]).add(above(season, years, ample, targets[season], lived[rota]))
    return lived


def _until_precise(proof: Proof, years: Years, percent: float | None) -> list[Outcome]:
    """The outcomes of the proof; with a precision asked for, more of them until it is reached."""
    outcomes = list(proof.outcomes)
    if percent is None:
        return outcomes
    begin = outcomes[0].replication

    def more(numbers: Sequence[int]) -> list[Outcome]:
        wanting = [begin + number for number in numbers if number >= len(outcomes)]
        if wanting:
            outcomes.extend(years.live([proof.rota], wanting)[proof.rota])
        return [outcomes[number] for number in numbers]

    rehearse_until_precise(more, percent)
    return outcomes


def _beside(
    prepared: Prepared, years: Years, rota: Rota, outcomes: Sequence[Outcome], fresh: int
) -> tuple[list[Outcome], tuple[OneLess, ...]]:
    """Today's sign-up, and the answer with one person less on each shift, in the first years of the answer."""
    keys = [outcome.replication for outcome in outcomes]
    today = years.rooms({"today": prepared}, keys[:fresh])["today"]
    rooms = {}
    for number, shift in enumerate(prepared.scenario.crew.shifts):
        fewer = tuple(tuple(max(0, p - (i == number)) for i, p in enumerate(sign_up)) for sign_up in rota)
        if fewer != rota:
            rooms[shift.name] = signed_up(prepared, years.seasons, fewer)
    lived = years.rooms(rooms, keys[:SHORTER])
    found = paired_differences(outcomes, lived, LESS_KEYS)
    return today, tuple(OneLess(name, found[name]) for name in rooms)


def _values(season: Season, outcomes: Sequence[Outcome]) -> dict[str, tuple[float, float | None, float | None]]:
    seen = [values_in(season, outcome) for outcome in outcomes]
    return {
        key: mean_interval([values[key] for values in seen if key in values])
        for key in (ON_TIME, ORDERS)
        if any(key in values for values in seen)
    }


def _zone(trials: Trials, found: Found, zone: float) -> float:
    """The widest zone of a verdict the answer rests on: a rejection of one place fewer, or its own acceptance."""
    near = [
        trial
        for sign_up, trial in trials.known.items()
        if trial.verdict == "rejected" and sum(sign_up) >= sum(found.sign_up) - 1
    ]
    halves = [watch.half_zone for trial in near for watch in trial.watches.values() if watch.half_zone is not None]
    return max([zone, *(2.0 * half for half in halves)])
