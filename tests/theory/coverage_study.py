"""Do the ranges hold what they promise, on a room? A thousand small studies of the tiny room.

    python tests/theory/coverage_study.py            prints the figures (some minutes on two free cores)
    python tests/theory/coverage_study.py --write    and writes them into tests/bench/MEASURED.md

Some thousand years are rehearsed once and dealt out to studies like cards: no two studies of a deal share a year; then
the cards are shuffled and dealt again, until there are a thousand studies. Then

* the 95 % range of a mean ought to cover the long-run mean (over all the years) 93 to 97 times in 100,
* the p10 to p90 of one week ought to hold 78 to 82 of 100 weeks that were not in the study,
* a comparison of a room with its like ought to see a difference in at most 6 of 100.

The t-range rests on means being nearly normal. A year of the tiny room is skewed (most years are good, a few bad), so
studies of 20 years fall a little short of 95; the promise is made for 60, what growsim rehearses unless told otherwise.

"Its like" is a room in which nothing is better or worse, but in which luck falls otherwise: (a) the same room under
another seed; (b) the same room under the same seed, one line of the sowing plan called by another name, so that its
lots have other luck while power, pumps, people and all other lots have the same (luck is drawn by name). A change that
leaves all luck as it is (an empty shelf) gives differences of exactly zero: no false alarm is possible there.
"""

from __future__ import annotations

import argparse
import datetime as dt
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import paired_differences, summarize
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

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
class Held:
    """What the ranges of one figure held, in per cent. of: what the p10 to p90 is of."""

    key: str
    mean_covered: float
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


def what_ranges_hold(outcomes: Sequence[Outcome], size: int, studies: int, keys: Sequence[str] = KEYS) -> list[Held]:
    """Coverage of the mean, and share of fresh weeks inside p10 to p90, over studies of `size` years."""
    dealt = list(deals(len(outcomes), size, studies))
    found = [summarize([outcomes[year] for year in years]) for years in dealt]
    held = []
    for key in keys:
        weekly = CATALOGUE[key].weekly
        of_years = [np.array(outcome.weeks[weekly] if weekly else [outcome.measures[key]]) for outcome in outcomes]
        truth = float(np.mean([outcome.measures[key] for outcome in outcomes]))
        everything = np.sort(np.concatenate(of_years))
        covered, inside = [], []
        for years, study in zip(dealt, found, strict=True):
            estimate = study[key]
            assert estimate.mean_low is not None
            assert estimate.mean_high is not None
            covered.append(estimate.mean_low <= truth <= estimate.mean_high)
            own = np.sort(np.concatenate([of_years[year] for year in years]))
            low, high = estimate.p10, estimate.p90
            fresh = _between(everything, low, high) - _between(own, low, high)
            inside.append(fresh / (len(everything) - len(own)))
        held.append(Held(key, 100 * float(np.mean(covered)), 100 * float(np.mean(inside)), found[0][key].of))
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


def report(
    held: dict[int, list[Held]], alarms: dict[int, list[Alarms]], given: argparse.Namespace, plan: RunPlan
) -> str:
    """The figures as a block of markdown; held and alarms by years in a study."""
    most = max(held)
    names = " | ".join(CATALOGUE[key].label for key in SPOKEN_OF)
    today = dt.datetime.now(dt.UTC).date().isoformat()
    lines = [
        f"{today}: {given.studies:,} studies each, dealt from {given.years:,} years "
        f"of `scenarios/tiny` ({plan.days} days, warm-up {plan.warm_up_days}).",
        "",
        "| 95 % range covers the long-run mean | "
        + " | ".join(f"studies of {size} years" for size in held)
        + f" | p10 to p90 of {most} years holds |",
        "| --- |" + " --- |" * (len(held) + 1),
    ]
    for row, one in enumerate(held[most]):
        covered = " | ".join(f"{of_size[row].mean_covered:.1f} %" for of_size in held.values())
        fresh = "weeks" if one.of == "one week" else "years"
        lines.append(f"| {CATALOGUE[one.key].label} | {covered} | {one.inside:.1f} % of fresh {fresh} |")
    lines += ["", f"| false alarms | {names} | all three together |", "| --- |" + " --- |" * (len(SPOKEN_OF) + 1)]
    for size, of_size in alarms.items():
        for alarm in of_size:
            each = " | ".join(f"{alarm.single[key]:.1f} %" for key in SPOKEN_OF)
            lines.append(f"| {alarm.what}, {size} years | {each} | {alarm.together:.1f} % |")
    return "\n".join(lines)


def main() -> None:
    """Rehearse, study, print; perhaps write."""
    ask = argparse.ArgumentParser(description="Do the ranges hold what they promise?")
    ask.add_argument("--years", type=int, default=4000, help="years rehearsed")
    ask.add_argument("--studies", type=int, default=1000)
    ask.add_argument("--sizes", type=int, nargs="+", default=[20, 60], help="years in a study")
    ask.add_argument("--workers", type=int, default=2)
    ask.add_argument("--write", action="store_true", help="write the figures into MEASURED.md")
    given = ask.parse_args()
    room = tiny()
    plan = RunPlan(days=room.scenario.rehearsal.days, warm_up_days=room.scenario.rehearsal.warm_up_days)
    here = lived(room, SEED, given.years, plan, given.workers)
    elsewhere = lived(room, OTHER_SEED, given.years, plan, given.workers)
    called_otherwise = lived(renamed(room), SEED, given.years, plan, given.workers)
    held, alarms = {}, {}
    for size in sorted(given.sizes):
        held[size] = what_ranges_hold(here, size, given.studies)
        alarms[size] = [
            false_alarms("(a) under another seed", here, elsewhere, size, given.studies),
            false_alarms("(b) one sowing line renamed", here, called_otherwise, size, given.studies),
        ]
    text = report(held, alarms, given, plan)
    print("\n" + text)
    if given.write:
        before, rest = MEASURED.read_text(encoding="utf-8").split(BEGIN)
        MEASURED.write_text(f"{before}{BEGIN}\n{text}\n{END}{rest.split(END)[1]}", encoding="utf-8")


if __name__ == "__main__":
    main()
