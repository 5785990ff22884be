"""Years of growsim beside years of the plain room: the same figures from both, and their differences with a range."""

from __future__ import annotations

import functools
import math
import tomllib
from collections.abc import Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from statistics import fmean, variance

from batches import run_batch
from reference.plain_room.room import live_through
from scipy import stats

from growsim.run.prepare import Prepared, prepare
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
from growsim.vocabulary import losses

PLAN = RunPlan(days=364, warm_up_days=84)
WEEKS = PLAN.days / 7
ROOM = Path(__file__).parent / "busy_room.toml"
TRAYS = Path(__file__).parent / "tray_room.toml"
LOSSES = tuple(loss.key for loss in losses.LOSSES)
JOINT_LEVEL = 0.99
GROWSIM_SEED = 20310106

Year = dict[str, float]


@dataclass(frozen=True)
class Agreement:
    """One figure a year from both models; half_width is of the difference of the means, at the joint level."""

    figure: str
    growsim: float
    plain: float
    half_width: float

    @property
    def difference(self) -> float:
        """Plain less growsim."""
        return self.plain - self.growsim

    @property
    def agrees(self) -> bool:
        """Whether no difference lies within the range."""
        return abs(self.difference) <= self.half_width

    @property
    def sharpness(self) -> float:
        """The smallest difference that shows, as a share of the figure."""
        return self.half_width / self.growsim if self.growsim else 0.0


def busy_room(file: Path = ROOM) -> Prepared:
    """The room in which everything goes wrong now and then."""
    scenario, _ = scenario_from(tomllib.loads(file.read_text(encoding="utf-8")), str(file))
    return prepare(scenario)


def years_of_growsim(room: Prepared, years: int) -> list[Year]:
    """Possible years as growsim measures them."""
    slots = sum(shelves.total_slots for rack in room.scenario.racks for shelves in rack.shelves)
    found = []
    for outcome in run_batch(room, GROWSIM_SEED, range(years), PLAN):
        m = outcome.measures
        year = {f"lost: {cause}": m[f"plants_lost_{cause}"] for cause in LOSSES}
        year |= {
            "seeds sown": m["seeds_sown"],
            "plants harvested, of those sown in the year": m["plants_harvested"],
            "plants harvested in the year": m["plants_harvested_per_week"] * WEEKS,
            "hours worked": m["crew_hours_worked_per_week"] * WEEKS,
            "slots in use": m["shelf_fill_fraction"] * slots,
            "kg packed": m["kg_packed_per_week"] * WEEKS,
            "orders filled": m["orders_filled_fraction"],
            "people who came": m["volunteers_came_per_week"] * WEEKS,
            "machine failures": m["machine_failures"],
            "floods missed": m["floods_missed"],
            "kg of CO2 given off": outcome.accounts["kg:co2"],
        }
        found.append(year)
    return found


def years_of_plain_room(room: Prepared, years: int, workers: int = 1) -> list[Year]:
    """Possible years of the plain room, seeds 0, 1, ..."""
    live = functools.partial(live_through, room.scenario, room.curves, PLAN)
    if workers == 1:
        return [as_year(live(seed)) for seed in range(years)]
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        return [as_year(counts) for counts in pool.map(live, range(years))]


def as_year(counts: Mapping[str, float]) -> Year:
    """What the plain room counted, under the same names."""
    year = {f"lost: {cause}": counts.get(cause, 0.0) for cause in LOSSES}
    return year | {
        "seeds sown": counts["seeds_sown"],
        "plants harvested, of those sown in the year": counts["harvested"],
        "plants harvested in the year": counts["plants harvested in the year"],
        "hours worked": counts["minutes worked"] / 60,
        "slots in use": counts["slots in use"],
        "kg packed": counts["kg packed"],
        "orders filled": counts["kg to partners"] / counts["kg ordered"],
        "people who came": counts["came"],
        "machine failures": counts.get("machine_failures", 0.0),
        "floods missed": counts.get("floods_missed", 0.0),
        "kg of CO2 given off": counts["kg co2"],
    }


def compare(growsim: Sequence[Year], plain: Sequence[Year]) -> dict[str, Agreement]:
    """Every figure: Welch's interval of the difference, Bonferroni over the figures."""
    tail = (1.0 - JOINT_LEVEL) / len(growsim[0]) / 2.0
    found = {}
    for figure in growsim[0]:
        a, b = [year[figure] for year in growsim], [year[figure] for year in plain]
        u, v = variance(a) / len(a), variance(b) / len(b)
        freedom = (u + v) ** 2 / (u**2 / (len(a) - 1) + v**2 / (len(b) - 1)) if u + v else 1.0
        half = float(stats.t.ppf(1.0 - tail, freedom)) * math.sqrt(u + v)
        found[figure] = Agreement(figure, fmean(a), fmean(b), half)
    return found


def table(agreements: Mapping[str, Agreement]) -> str:
    """The comparison as CSV."""
    lines = ["figure a year,growsim,plain room,difference,half-width,difference %,half-width %,agrees"]
    for a in agreements.values():
        share = f"{100 * a.difference / (a.growsim or 1):.2f},{100 * a.sharpness:.2f}"
        yes = "yes" if a.agrees else "NO"
        lines.append(f'"{a.figure}",{a.growsim:.3f},{a.plain:.3f},{a.difference:.3f},{a.half_width:.3f},{share},{yes}')
    return "\n".join(lines) + "\n"
