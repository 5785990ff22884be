"""Do the ranges hold what they promise, on a room? Thousands of small studies of the tiny room and of the demo room.

    python tests/theory/coverage_study.py            prints the figures (a quarter of an hour on a free core)
    python tests/theory/coverage_study.py --write    and writes them into tests/bench/MEASURED.md

Some thousand years are rehearsed once. They are then taken for all the years there are, and studies are drawn from them
as a rehearsal draws years: at random, each as if there were no others.

* The 95 % range of a mean ought to cover the mean of all the years 93 to 97 times in 100, for every figure of the
  catalogue, in studies of 20, 60 and 200 years, known luck taken out as in a report. A range without an upper end
  covers what lies above its lower end; of a thing not seen in n years it is asked instead whether it is as rare as is
  said: in at most 3 years of n. What is off by a ten-thousandth of itself is not off.
* The p10 to p90 of one week ought to hold 78 to 82 of 100 weeks that were not in the study.
* A comparison of a room with its like ought to see a difference in at most 6 of 100.

The last two are asked of the tiny room, whose years are dealt out like cards: no two studies of a deal share a year;
then all years are shuffled and dealt again, until there are studies enough.

"Its like" is a room in which nothing is better or worse, but in which luck falls otherwise: (a) the same room under
another seed; (b) the same room under the same seed, one line of the sowing plan called by another name, so that its
lots have other luck while power, pumps, people and all other lots have the same (luck is drawn by name). A change that
leaves all luck as it is (an empty shelf) gives differences of exactly zero: no false alarm is possible there.
"""

from __future__ import annotations

import argparse
import datetime as dt
import math
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy import stats

from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import RULE_OF_THREE, Estimate, paired_differences, summarize
from growsim.run.known_luck import known_luck
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.load import load_scenario
from growsim.scenario.never import cannot_happen
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario

ROOT = Path(__file__).parents[2]
TINY = ROOT / "scenarios" / "tiny"
MEASURED = ROOT / "tests" / "bench" / "MEASURED.md"
BEGIN, END = (
    "<!-- coverage: begin (written by `python tests/theory/coverage_study.py --write`) -->",
    "<!-- coverage: end -->",
)
KEYS = (
    "plants_harvested_per_week",
    "kg_packed_per_week",
    "orders_filled_fraction",
    "crew_hours_worked_per_week",
    "tasks_on_time_fraction",
    "cost_per_kg",
)
SPOKEN_OF = ("kg_packed_per_week", "crew_hours_worked_per_week", "cost_per_kg")  # together in one comparison
SEED, OTHER_SEED = 2031, 2032
CHUNK = 500


@dataclass(frozen=True)
class Pool:
    """All the years there are of a room. luck: known luck of each. never: what cannot happen there."""

    name: str
    outcomes: Sequence[Outcome]
    luck: Mapping[str, Sequence[float]]
    never: frozenset[str]


@dataclass(frozen=True)
class Held:
    """What the p10 to p90 of one figure held, in per cent. of: what it is of."""

    key: str
    inside: float
    of: str


@dataclass(frozen=True)
class Alarms:
    """Share of comparisons of like with like that saw a difference, in per cent."""

    what: str
    single: dict[str, float]
    together: float


def tiny() -> Prepared:
    """The tiny room."""
    return prepare(load_scenario(TINY).scenario)


def renamed(room: Prepared) -> Prepared:
    """The same room, its first line of the sowing plan called otherwise."""
    first, *others = room.scenario.sowing
    sowing = (first.model_copy(update={"name": f"{first.name}, renamed"}), *others)
    return Prepared(room.scenario.model_copy(update={"sowing": sowing}), room.curves)


def lived(room: Prepared, seed: int, years: int, plan: RunPlan, workers: int = 1) -> list[Outcome]:
    """So many replications, of which only what is studied is kept."""
    kept: list[Outcome] = []
    with Rehearsers(workers) as rehearsers:
        for begin in range(0, years, CHUNK):
            chunk = rehearsers.run({"": room}, seed, range(begin, min(begin + CHUNK, years)), plan)[""]
            kept += [slim(outcome) for outcome in chunk]
            if workers > 1:
                print(f"\r{len(kept)} of {years} years", end="", file=sys.stderr, flush=True)
    return kept


def slim(outcome: Outcome) -> Outcome:
    """An outcome with no more than the figures studied."""
    series = {CATALOGUE[key].weekly for key in KEYS}
    return replace(
        outcome,
        measures={key: value for key, value in outcome.measures.items() if key in KEYS},
        weeks={name: values for name, values in outcome.weeks.items() if name in series},
        fates={},
        accounts={},
        outages=(),
        held_up={},
    )


def deals(years: int, size: int, studies: int) -> Iterator[list[int]]:
    """Which years each study has: disjoint within a deal of all the years, shuffled again for the next deal."""
    shuffler = np.random.default_rng(SEED)
    left: list[int] = []
    for _ in range(studies):
        if len(left) < size:
            left = [int(year) for year in shuffler.permutation(years)]
        yield left[:size]
        left = left[size:]


def pool_of(name: str, years: int, workers: int = 1) -> Pool:
    """So many years of a shipped room, by its own plan."""
    scenario = load_scenario(ROOT / "scenarios" / name).scenario
    plan, room = plan_of(scenario), prepare(scenario)
    kept: list[Outcome] = []
    luck: dict[str, list[float]] = {}
    with Rehearsers(workers) as rehearsers:
        for begin in range(0, years, CHUNK):
            chunk = rehearsers.run({"": room}, SEED, range(begin, min(begin + CHUNK, years)), plan)[""]
            for each, values in known_luck(scenario, SEED, plan, chunk).items():
                luck.setdefault(each, []).extend(values)
            kept += [replace(outcome, weeks={}, fates={}, accounts={}, outages=(), held_up={}) for outcome in chunk]
            print(f"\r{name}: {len(kept)} of {years} years", end="", file=sys.stderr, flush=True)
    return Pool(name, kept, {each: centered(values) for each, values in luck.items()}, cannot_happen(scenario))


def centered(values: Sequence[float]) -> list[float]:
    """Luck whose average over all the years there are is 0, as that of true luck over all rehearsed years is."""
    mean = math.fsum(values) / len(values)
    return [value - mean for value in values]


def plan_of(scenario: Scenario) -> RunPlan:
    """How the room file has itself rehearsed."""
    return RunPlan(days=scenario.rehearsal.days, warm_up_days=scenario.rehearsal.warm_up_days)


def means_covered(pool: Pool, size: int, studies: int) -> dict[str, float]:
    """Figure -> how often in 100 studies of `size` years its range covers the mean of all years. Figures that are the
    same in every year have no range to ask about, and are left out."""
    values = {
        key: np.array([outcome.measures.get(key, math.nan) for outcome in pool.outcomes])
        for key in CATALOGUE
        if any(key in outcome.measures for outcome in pool.outcomes)
    }
    truth = {key: float(np.nanmean(each)) for key, each in values.items() if np.nanmin(each) < np.nanmax(each)}
    seen = {key: float(np.mean(values[key] != 0.0)) for key in truth}
    dice = np.random.default_rng(SEED + size)
    covered: dict[str, list[bool]] = {key: [] for key in truth}
    for _ in range(studies):
        years = dice.integers(0, len(pool.outcomes), size)
        luck = {name: [of_years[year] for year in years] for name, of_years in pool.luck.items()}
        found = summarize([pool.outcomes[year] for year in years], luck, never=pool.never)
        for key, true in truth.items():
            covered[key].append(key in found and is_true(found[key], true, seen[key]))
    return {key: 100.0 * float(np.mean(each)) for key, each in covered.items()}


def is_true(found: Estimate, mean: float, seen: float) -> bool:
    """Whether what is said of a figure is true of its mean over all years. seen: share of all years in which it is not
    0."""
    if found.not_seen:
        return seen <= RULE_OF_THREE / found.n
    assert found.mean_low is not None
    off = 1e-4 * abs(mean)
    return found.mean_low - off <= mean and (found.mean_high is None or mean <= found.mean_high + off)


def what_ranges_hold(outcomes: Sequence[Outcome], size: int, studies: int, keys: Sequence[str] = KEYS) -> list[Held]:
    """Share of fresh weeks inside p10 to p90, over studies of `size` years."""
    dealt = list(deals(len(outcomes), size, studies))
    found = [summarize([outcomes[year] for year in years]) for years in dealt]
    held = []
    for key in keys:
        weekly = CATALOGUE[key].weekly
        of_years = [np.array(outcome.weeks[weekly] if weekly else [outcome.measures[key]]) for outcome in outcomes]
        everything = np.sort(np.concatenate(of_years))
        inside = []
        for years, study in zip(dealt, found, strict=True):
            own = np.sort(np.concatenate([of_years[year] for year in years]))
            low, high = study[key].p10, study[key].p90
            fresh = _between(everything, low, high) - _between(own, low, high)
            inside.append(fresh / (len(everything) - len(own)))
        held.append(Held(key, 100 * float(np.mean(inside)), found[0][key].of))
    return held


def _between(ordered: np.ndarray, low: float, high: float) -> int:
    return int(np.searchsorted(ordered, high, side="right") - np.searchsorted(ordered, low, side="left"))


def false_alarms(what: str, here: Sequence[Outcome], there: Sequence[Outcome], size: int, studies: int) -> Alarms:
    """Comparisons, each of `size` pairs of years, whose range of the difference leaves out zero."""
    pairs = [
        ([here[year] for year in years], [there[year] for year in years]) for years in deals(len(here), size, studies)
    ]
    single = {key: 100 * float(np.mean([_alarm(*pair, (key,)) for pair in pairs])) for key in SPOKEN_OF}
    return Alarms(what, single, 100 * float(np.mean([_alarm(*pair, SPOKEN_OF) for pair in pairs])))


def _alarm(today: Sequence[Outcome], other: Sequence[Outcome], keys: Sequence[str]) -> bool:
    differences = paired_differences(today, {"its like": other}, keys)["its like"].values()
    assert len(differences) == len(keys)
    return any(
        difference.low is not None and difference.high is not None and not difference.low <= 0.0 <= difference.high
        for difference in differences
    )


def coverage_table(pools: Sequence[Pool], covered: Mapping[tuple[str, int], Mapping[str, float]]) -> list[str]:
    """One row a figure: how often its range covers the mean, room by room and size by size; and how it is spread in the
    first room where it varies: share of years in which it is not 0, skewness."""
    columns = list(covered)
    head = " | ".join(f"{name}, {size} years" for name, size in columns)
    lines = [f"| 95 % range covers the mean of all years | {head} | years seen, skewness |"]
    lines.append("| --- |" + " --- |" * (len(columns) + 1))
    for key, figure in CATALOGUE.items():
        if any(key in of_figures for of_figures in covered.values()):
            cells = [f"{of[key]:.1f} %" if key in of else "–" for of in (covered[column] for column in columns)]
            spread = "; ".join(_spread(pool, key) for pool in pools)
            lines.append(f"| {figure.label} | {' | '.join(cells)} | {spread} |")
    return lines


def _spread(pool: Pool, key: str) -> str:
    values = np.array([outcome.measures[key] for outcome in pool.outcomes if key in outcome.measures])
    if not len(values) or values.min() == values.max():
        return "–"
    return f"{100 * np.mean(values != 0.0):.1f} %, {stats.skew(values):.1f}"


def other_tables(held: Sequence[Held], size: int, alarms: Mapping[int, Sequence[Alarms]]) -> list[str]:
    """What p10 to p90 hold in studies of `size` years, and the false alarms by years in a study."""
    lines = [f"| p10 to p90 of {size} years holds | |", "| --- | --- |"]
    for one in held:
        fresh = "weeks" if one.of == "one week" else "years"
        lines.append(f"| {CATALOGUE[one.key].label} | {one.inside:.1f} % of fresh {fresh} |")
    names = " | ".join(CATALOGUE[key].label for key in SPOKEN_OF)
    lines += ["", f"| false alarms | {names} | all three together |", "| --- |" + " --- |" * (len(SPOKEN_OF) + 1)]
    for years, of_size in alarms.items():
        for alarm in of_size:
            each = " | ".join(f"{alarm.single[key]:.1f} %" for key in SPOKEN_OF)
            lines.append(f"| {alarm.what}, {years} years | {each} | {alarm.together:.1f} % |")
    return lines


def main() -> None:
    """Rehearse, study, print; perhaps write."""
    ask = argparse.ArgumentParser(description="Do the ranges hold what they promise?")
    ask.add_argument("--years", type=int, default=4000, help="years of the tiny room")
    ask.add_argument("--demo-years", type=int, default=1500, help="years of the demo room")
    ask.add_argument("--studies", type=int, default=2000)
    ask.add_argument("--sizes", type=int, nargs="+", default=[20, 60, 200], help="years in a study")
    ask.add_argument("--workers", type=int, default=2)
    ask.add_argument("--write", action="store_true", help="write the figures into MEASURED.md")
    given = ask.parse_args()
    pools = [pool_of("tiny", given.years, given.workers), pool_of("millrace", given.demo_years, given.workers)]
    covered = {
        (pool.name, size): means_covered(pool, size, given.studies) for pool in pools for size in sorted(given.sizes)
    }
    room = tiny()
    plan = plan_of(room.scenario)
    here = lived(room, SEED, given.years, plan, given.workers)
    elsewhere = lived(room, OTHER_SEED, given.years, plan, given.workers)
    called_otherwise = lived(renamed(room), SEED, given.years, plan, given.workers)
    alarms = {
        size: [
            false_alarms("(a) under another seed", here, elsewhere, size, 1000),
            false_alarms("(b) one sowing line renamed", here, called_otherwise, size, 1000),
        ]
        for size in (20, 60)
    }
    today = dt.datetime.now(dt.UTC).date().isoformat()
    text = "\n".join(
        [
            f"{today}: {given.studies:,} studies each, drawn from {given.years:,} years of `scenarios/tiny` "
            f"({plan.days} days, warm-up {plan.warm_up_days}) and {given.demo_years:,} of `scenarios/millrace`.",
            "",
            *coverage_table(pools, covered),
            "",
            "The tiny room, 1,000 studies each:",
            "",
            *other_tables(what_ranges_hold(here, 60, 1000), 60, alarms),
        ]
    )
    print("\n" + text)
    if given.write:
        before, rest = MEASURED.read_text(encoding="utf-8").split(BEGIN)
        MEASURED.write_text(f"{before}{BEGIN}\n{text}\n{END}{rest.split(END)[1]}", encoding="utf-8")


if __name__ == "__main__":
    main()
