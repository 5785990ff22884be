"""The first plan, on paper: what each line must give so that orders are met with the certainty wanted, within slots and
hands.

A linear program in steady weeks (as in any text on linear programming; solved by SciPy's HiGHS): lines feed orders,
trays fill slots for the days of their stages, work fills the crew's hours; what is missing from orders is made as
small as it can be, then the seed. Uncertainty enters as a margin: a line counts for what it gives in all but a few
weeks. The rehearsal then says what really comes of it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np

from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.demand import Sowing
from growsim.scenario.orders import StandingOrder, kg_ordered_in
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.sow.timing import Fed, Line

DAYS_LOST = 2.0  # a slot waits for hands to move, harvest and wash, on average, a stage
HOURS_USABLE = 0.9
SHORT_COSTS = 1e4  # against seeds: any order is worth any seed
SOONER_IS_BETTER = 1e-3  # of two lines alike, the one that stands for fewer days
LEAST_IN_TIME = 0.3  # a line that is in time less often is not for that order


@dataclass(frozen=True)
class OnPaper:
    """Cells of each line where demand is full; which part of each order each line is for; orders left short.

    short: standing order -> share of it that slots and hands have no room for, in its fullest month.
    """

    cells: tuple[float, ...]
    parts: dict[tuple[Line, StandingOrder], float]
    short: dict[StandingOrder, float]


def first_plan(scenario: Scenario, lines: Sequence[Line], fed: Sequence[Fed], certainty: float) -> OnPaper:
    """The plan of least seed that fills the orders on paper, or fills as much as there is room for."""
    cells = np.zeros(len(lines))
    parts: dict[tuple[Line, StandingOrder], float] = {}
    short: dict[StandingOrder, float] = {}
    for wanted in dict.fromkeys(_wanted(scenario, fed, month) for month in range(1, 13)):
        if not any(wanted):
            continue
        solved = _solve(scenario, lines, fed, wanted, certainty)
        cells = np.maximum(cells, solved.cells)
        for key, share in solved.parts.items():
            parts[key] = max(share, parts.get(key, 0.0))
        for order, missing in solved.short.items():
            short[order] = max(missing, short.get(order, 0.0))
    return OnPaper(tuple(float(each) for each in cells), parts, short)


def _wanted(scenario: Scenario, fed: Sequence[Fed], month: int) -> tuple[float, ...]:
    """Kilograms of each order at a pick-up of that month."""
    partners = {partner.name: partner for partner in scenario.partners}
    return tuple(kg_ordered_in(partners[each.order.partner], each.order.crop, month) for each in fed)


def margin(scenario: Scenario, crop: Crop, cells: float, certainty: float) -> float:
    """Share of its mean that a sowing gives at least with that certainty: seed, germination, growth and mass differ."""
    filled = on_paper.filled_fraction(crop, scenario.climate.air_temperature_c)
    p = max(crop.germination_fraction.expected(), 1e-9)
    by_seed = 1.0 if crop.is_cut_whole else (1.0 - filled) / filled * crop.seeds_per_cell
    varies = (
        (1.0 - filled) / max(filled * cells, 1.0)
        + (by_seed * crop.germination_spread_sd / p) ** 2
        + spread(crop.typical_mass_g) ** 2
        + crop.days_spread_cv**2
    )
    return max(0.5, 1.0 + NormalDist().inv_cdf(1.0 - certainty) * math.sqrt(varies))


def spread(figure: Uncertain) -> float:
    """Standard deviation of a figure over its mean; of open-ended families, as given."""
    mean = figure.expected()
    if figure.is_fixed or mean <= 0:
        return 0.0
    low, high = figure.limits()
    if figure.distribution == "range" and figure.likely is not None:
        mid = figure.likely
        return math.sqrt((low**2 + mid**2 + high**2 - low * mid - low * high - mid * high) / 18.0) / mean
    if figure.distribution == "uniform":
        return (high - low) / math.sqrt(12.0) / mean
    return float(figure.sd or mean) / mean


def _solve(
    scenario: Scenario, lines: Sequence[Line], fed: Sequence[Fed], wanted: Sequence[float], certainty: float
) -> OnPaper:
    """One steady month. Variables: cells of each line, kilograms from line to order, shares short, slots by shelf."""
    from scipy.optimize import linprog

    crops = on_paper.crops_by_name(scenario)
    sure = [_sure_kg(scenario, crops[line.crop], line, certainty) for line in lines]
    place = {each.order: o for o, each in enumerate(fed)}
    flows = [
        (i, place[feeds.order], feeds.in_time)
        for i, line in enumerate(lines)
        for feeds in line.feeds
        if wanted[place[feeds.order]] > 0 and feeds.in_time >= LEAST_IN_TIME
    ]
    stands, shelves = _stands(scenario, lines)
    n_lines, n_flows, n_orders, n_stands = len(lines), len(flows), len(fed), len(stands)
    size = n_lines + n_flows + n_orders + n_stands
    rows: list[np.ndarray] = []
    most: list[float] = []

    def add(entries: Mapping[int, float], limit: float) -> None:
        row = np.zeros(size)
        for column, value in entries.items():
            row[column] += value
        rows.append(row)
        most.append(limit)

    for i, per_cell in enumerate(sure):  # a line feeds orders with no more than it gives
        add({i: -per_cell} | {n_lines + f: 1.0 for f, (line, _, _) in enumerate(flows) if line == i}, 0.0)
    for o, kg in enumerate(wanted):  # what an order does not get is short
        if kg > 0:
            from_lines = {n_lines + f: -in_time / kg for f, (_, order, in_time) in enumerate(flows) if order == o}
            add(from_lines | {n_lines + n_flows + o: -1.0}, -1.0)
    first = n_lines + n_flows + n_orders
    for kind in dict.fromkeys((stage, tray) for stage, tray, _ in stands):  # trays stand somewhere
        held = {first + s: -1.0 for s, (stage, tray, _) in enumerate(stands) if (stage, tray) == kind}
        add({i: _slots_per_cell(scenario, line, *kind) for i, line in enumerate(lines)} | held, 0.0)
    for shelf, slots in enumerate(shelves):  # where there is room
        add({first + s: 1.0 for s, (_, _, on) in enumerate(stands) if on == shelf}, float(slots))
    work = [_hours_per_cell(scenario, line) for line in lines]
    add(dict(enumerate(work)), _hours_for_plants(scenario))

    cost = np.zeros(size)
    for i, line in enumerate(lines):
        cost[i] = crops[line.crop].seeds_counted * (1.0 + SOONER_IS_BETTER * line.harvest_days)
    for o, kg in enumerate(wanted):
        cost[n_lines + n_flows + o] = SHORT_COSTS * (1.0 + kg) if kg > 0 else 0.0
    solved = linprog(cost, A_ub=np.array(rows), b_ub=np.array(most), bounds=(0.0, None), method="highs")
    if solved.x is None:
        raise AssertionError(f"short of everything is always possible, yet: {solved.message}")
    x = solved.x
    parts = {
        (lines[i], fed[o].order): float(x[n_lines + f] / wanted[o])
        for f, (i, o, _) in enumerate(flows)
        if x[n_lines + f] > 1e-9
    }
    missing = {fed[o].order: float(x[n_lines + n_flows + o]) for o, kg in enumerate(wanted) if kg > 0}
    return OnPaper(tuple(float(each) for each in x[:n_lines]), parts, missing)


def _sure_kg(scenario: Scenario, crop: Crop, line: Line, certainty: float) -> float:
    """What a cell of the line counts for: its yield, less a margin for luck."""
    cells = float(on_paper.trays_by_name(scenario)[crop.stages_in_order()[0].tray].places)
    sure = margin(scenario, crop, cells, certainty)
    return line.kg_per_cell * sure


def _stands(scenario: Scenario, lines: Sequence[Line]) -> tuple[list[tuple[str, str, int]], list[int]]:
    """(stage, tray, number of the shelves) for all that may stand anywhere, and the slots of those shelves."""
    crops, trays = on_paper.crops_by_name(scenario), on_paper.trays_by_name(scenario)
    groups = on_paper.shelf_groups(scenario)
    kinds = dict.fromkeys((s.name, s.tray) for line in lines for s in crops[line.crop].stages)
    stands = [
        (stage, tray, number)
        for stage, tray in kinds
        for number, group in enumerate(groups)
        if stage in group.stages and group.fits(trays[tray])
    ]
    return stands, [group.total_slots for group in groups]


def _slots_per_cell(scenario: Scenario, line: Line, stage_name: str, tray_name: str) -> float:
    """Slots in use on average, of this stage and tray, for a cell sown every week (Little's law)."""
    crop, trays = on_paper.crops_by_name(scenario)[line.crop], on_paper.trays_by_name(scenario)
    total = 0.0
    for stage, plants in on_paper.plants_by_stage(crop, 1.0, scenario.climate.air_temperature_c):
        if (stage.name, stage.tray) == (stage_name, tray_name):
            total += plants / trays[stage.tray].places * (on_paper.stage_days(crop, stage) + DAYS_LOST) / 7.0
    return total


def _hours_per_cell(scenario: Scenario, line: Line) -> float:
    """Hours of work for a cell sown every week, all along its way."""
    many = 1000
    sowing = Sowing(name="one", crop=line.crop, cells=many, weekday=line.weekday)
    with_it = scenario.model_copy(update={"sowing": (sowing,), "reservoirs": ()})
    return on_paper.work_hours_per_week(with_it) / many


def _hours_for_plants(scenario: Scenario) -> float:
    """Hours a week the crew has for plants: hands that come, less the reservoirs' share, less some slack."""
    reservoirs_only = on_paper.work_hours_per_week(scenario.model_copy(update={"sowing": ()}))
    return max(0.0, on_paper.crew_hours_per_week(scenario) * HOURS_USABLE - reservoirs_only)
