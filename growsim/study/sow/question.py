"""What shall I sow, when, so that partners get what I promised?

A first plan is worked out on paper (`sow_paper`) with the days that lots really take, measured in a rehearsal of the
room (`run.harvest_days`). Rehearsal then tries it, and better ones around it (`sow_search`), in a few years of shared
luck; and plans that are alike all year, around that of the room file and those of plain arithmetic (`sow_arithmetic`).
Of those and the room file's own the best in further years is proven in fresh ones, beside the plan of the room file and
the one by arithmetic in the same years: what looked best in a few years of many plans is often only the luckiest.
"""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import replace

from growsim.errors import InputError
from growsim.ledger.outcome import Outcome
from growsim.run.deliveries import deliver
from growsim.run.harvest_days import watch_lots
from growsim.run.intervals import paired_differences, summarize
from growsim.run.prepare import Prepared, prepare, prepare_room
from growsim.run.progress import SharedProgress, SoFar
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.scenario.load import LoadedRoom
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.rota import months_of_weeks
from growsim.study.sow.answer import SowingPlan, change_tables
from growsim.study.sow.arithmetic import sowing_days
from growsim.study.sow.asking import Asking, start_on_paper, years_to_choose
from growsim.study.sow.paper import first_plan
from growsim.study.sow.plan import frame_for
from growsim.study.sow.score import Kept, kept_orders, score_of
from growsim.study.sow.timing import Fed, Line, fed_orders, lines_for, measured

CERTAINTY = 0.9
TRIAL_YEARS = 8
PROBE_YEARS = 4
FEWEST_DAYS = 56
PLANS_TRIED, PLANS_TRIED_A_LINE = 20, 7  # about, both searches together; see years_expected
HEADLINES = ("orders_filled_fraction", "weeks_all_orders_met_fraction", "kg_to_partners_per_week", "seeds_sown")


def sow(
    room: LoadedRoom,
    *,
    run: RunPlan,
    seed: int,
    certainty: float = CERTAINTY,
    replications: int | None = None,
    trial_years: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> SowingPlan:
    """Find the plan of least seed that meets every standing order with the certainty asked for, or the best there is.

    replications: fresh years for the proof, the room file's number where None. trial_years: in which plans are tried,
    TRIAL_YEARS where None.
    Raises RoomFileError, InputError for what cannot be rehearsed, Interrupted on Ctrl-C.
    """
    began = time.perf_counter()
    fresh = replications or room.scenario.rehearsal.replications
    trial_years = TRIAL_YEARS if trial_years is None else trial_years
    _refuse(room.scenario, run, certainty, fresh, trial_years)
    prepared = in_air_of_a_plan(prepare_room(room), run, certainty)
    at_the_end = years_to_choose(room.scenario, trial_years) + 2 * fresh
    shared = SharedProgress(progress, years_expected(room.scenario, trial_years, fresh), sure=at_the_end)
    with Rehearsers(workers, executor=executor, work=watch_lots) as watchers:
        lines, fed = _lines(prepared, run, seed, certainty, watchers, shared)
    with Rehearsers(workers, executor=executor, work=deliver) as rehearsers:
        beyond = tuple(each.order for each in fed if not each.cuts)
        asking = Asking(prepared, run, seed, certainty, trial_years, fresh, beyond, rehearsers, shared)
        today = asking.live({"": prepared}, asking.fresh, SoFar("today ").see)[""]
        found = asking.best(lines, fed)
        best = found.best
        shared.then(0)
        held = None if best.proof.is_met else asking.held(room, best, change_tables(room, best.frame, best.cells))
    months = months_of_weeks(room.scenario, run.days)
    lived = {"plan": best.outcomes}
    never = cannot_happen(room.scenario, standing=True)  # the plan may sow what the room's own does not

    def kept(outcomes: Sequence[Outcome]) -> tuple[Kept, ...]:
        return kept_orders(outcomes, room.scenario, certainty, months, beyond)

    return SowingPlan(
        room=room,
        run=run,
        seed=seed,
        certainty=certainty,
        frame=best.frame,
        cells=best.cells,
        paper=found.paper,
        tried=found.tried,
        trial_years=trial_years,
        outcomes=tuple(best.outcomes),
        today_outcomes=tuple(today),
        estimates=summarize(best.outcomes, never=never),
        today=summarize(today, never=never),
        differences=paired_differences(today, lived, HEADLINES)["plan"],
        score=best.proof,
        today_score=score_of(today, room.scenario, certainty, beyond),
        kept=kept(best.outcomes),
        today_kept=kept(today),
        arithmetic=found.arithmetic,
        arithmetic_kept=kept(found.arithmetic.outcomes),
        impossible=beyond,
        held=held,
        seconds=time.perf_counter() - began,
    )


def years_expected(scenario: Scenario, trial_years: int, fresh: int) -> int:
    """Years that will be lived through in all, about; how many plans a search tries is known only when it ends.

    Plans tried, in as many years as there are trial years, counted in the invented rooms: 46 where there could be 4
    lines (a crop on a sowing day), 163 with 20, where not every order can be met (2026-11-29).
    """
    lines = len(scenario.crops) * len(sowing_days(scenario))
    search = trial_years * (PLANS_TRIED + PLANS_TRIED_A_LINE * lines)
    return PROBE_YEARS + round(search) + years_to_choose(scenario, trial_years) + 3 * fresh


def _refuse(scenario: Scenario, run: RunPlan, certainty: float, fresh: int, trial_years: int) -> None:
    if not any(partner.orders for partner in scenario.partners):
        raise InputError("partners: nothing is promised to anybody, so nothing says what to sow; add a [[partners]].")
    if not scenario.crew.shifts:
        raise InputError("crew.shifts: nobody ever comes to sow; add a [[crew.shifts]].")
    if run.start != "filled":
        raise InputError("start: a sowing plan is judged in a running room, not from bare or today's shelves.")
    if run.days < FEWEST_DAYS:
        raise InputError(f"days: {run.days} is too short to judge a sowing plan; give {FEWEST_DAYS} or more.")
    if not 0.5 <= certainty <= 0.99:
        raise InputError(f"certainty: {certainty:g} is not possible; give 0.5 to 0.99, e.g. 0.9.")
    if fresh < 2 or trial_years < 2:
        raise InputError(f"replications: {min(fresh, trial_years)} is too few to judge a plan by; give 2 or more.")


def in_air_of_a_plan(prepared: Prepared, run: RunPlan, certainty: float) -> Prepared:
    """A room in which nothing is sown yet, its crops at the pace they have in the air that the plan on paper leaves.

    Typical days are those of a room with plants in it; each plan that is tried thins the air in its own way. A room
    with a plan of its own is left as it is.
    """
    scenario = prepared.scenario
    if scenario.sowing:
        return prepared
    fed = fed_orders(scenario)
    lines = [line for crop in scenario.crops for line in lines_for(prepared, crop, fed)]
    paper = first_plan(scenario, lines, fed, certainty)
    frame = frame_for(scenario, run, lines, paper.parts)
    return replace(prepared, curves=prepare(frame.planned(start_on_paper(frame, lines, paper))).curves)


def _lines(
    prepared: Prepared, run: RunPlan, seed: int, certainty: float, watchers: Rehearsers, shared: SharedProgress
) -> tuple[tuple[Line, ...], tuple[Fed, ...]]:
    """Every line there could be, with the days its lots really take: measured with every crop sown on every day."""
    scenario = prepared.scenario
    fed = fed_orders(scenario)
    lines = [line for crop in scenario.crops for line in lines_for(prepared, crop, fed)]
    paper = first_plan(scenario, lines, fed, certainty)
    frame = frame_for(scenario, run, lines, {})
    weekly = {line.crop: 0.0 for line in lines}
    for line, cells in zip(lines, paper.cells, strict=True):
        weekly[line.crop] += cells
    days = {crop: sum(line.crop == crop for line in frame.lines) for crop in weekly}
    spread = tuple(
        step * math.ceil(weekly[line.crop] / days[line.crop] / step - 1e-9)
        for line, step in zip(frame.lines, frame.steps, strict=True)
    )
    probe = replace(prepared, scenario=frame.planned(spread))
    lived = watchers.run({"": probe}, seed, range(PROBE_YEARS), run, shared.more(PROBE_YEARS))[""]
    return measured(lines, fed, lived), fed
