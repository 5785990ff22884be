"""Judging a difference: more, less, too small to matter, or not decided yet.

A comparison goes on in rounds, and looks after each. Its ranges hold all at once, for every change and figure and at
whichever round it stops, with 95 % confidence (Bonferroni's inequality over changes, figures and rounds; NIST/SEMATECH
e-Handbook section 7.4.7.3). Of the 5 % doubt, four go to the headline figures, which decide when to stop, and one to
all the others.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from growsim.ledger.catalogue import CATALOGUE
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Difference, Estimate, paired_differences

HEADLINES = ("kg_handed_out_per_week", "orders_filled_fraction", "crew_hours_needed_per_week", "cost_per_kg")
OTHERS = tuple(key for key in CATALOGUE if key not in HEADLINES)
DOUBT = 0.05  # of all ranges together
DOUBT_OF_HEADLINES = 0.04  # shared by the headlines and by what a change is worth, which pay-back rests on
AT_LEAST = 10
NOISE = 1e-9  # the same kilograms, added up in another order

Says = Literal["more", "less", "same", "none", "open"]


@dataclass(frozen=True)
class Verdict:
    """What may be said of a difference.

    says: "none" (no difference at all, in any replication), "more" or "less" (the range leaves out zero), "same" (the
    range stays within the margin), "open". margin: what is too small to matter, in the figure's unit. matters: the
    range is not all within the margin. is_better: None for a figure with no better side, or where nothing is decided.
    """

    difference: Difference
    margin: float
    says: Says
    matters: bool
    is_better: bool | None

    @property
    def key(self) -> str:
        """The figure's key in the catalogue."""
        return self.difference.key

    @property
    def is_decided(self) -> bool:
        """Whether more replications could not change the verdict (at the confidence stated)."""
        return self.says != "open"


@dataclass(frozen=True)
class SharedLuck:
    """What sharing luck saves: variance of the difference as it is, and as it would be had each room luck of its own.

    Both from the same replications: the variance of the paired differences, and the sum of the two rooms' variances.
    """

    key: str
    shared: float
    independent: float

    @property
    def ratio(self) -> float | None:
        """So many times the years would be needed without shared luck; None where no luck is left in the difference."""
        return self.independent / self.shared if self.shared > 0 else None


def round_totals(at_most: int) -> tuple[int, ...]:
    """Replications after each round: 10, 20, 40, ... up to the most allowed."""
    totals = [min(AT_LEAST, at_most)]
    while totals[-1] < at_most:
        totals.append(min(2 * totals[-1], at_most))
    return tuple(totals)


def differences(
    today: Sequence[Outcome], alternatives: Mapping[str, Sequence[Outcome]], looks: int
) -> dict[str, dict[str, Difference]]:
    """Change -> figure -> difference from today, in the catalogue's order, with ranges that hold all at once."""
    each = headline_doubt(len(alternatives), looks)
    first = paired_differences(today, alternatives, HEADLINES, 1.0 - each * len(alternatives) * len(HEADLINES))
    rest = paired_differences(today, alternatives, OTHERS, 1.0 - (DOUBT - DOUBT_OF_HEADLINES) / looks)
    return {
        name: {key: both[key] for key in CATALOGUE if key in both}
        for name, both in ((name, {**first[name], **rest[name]}) for name in alternatives)
    }


def headline_doubt(changes: int, looks: int) -> float:
    """Doubt of a single headline's range: shared by changes, headlines (and what a change is worth) and rounds."""
    return DOUBT_OF_HEADLINES / (looks * changes * (len(HEADLINES) + 1))


def judge(difference: Difference, margin: float) -> Verdict:
    """The verdict on one difference; `margin` is what is too small to matter."""
    low, high = difference.low, difference.high
    better = CATALOGUE[difference.key].better
    says: Says = "open"
    matters = True
    if low is not None and high is not None:
        matters = not (-margin <= low and high <= margin)
        if max(abs(low), abs(high)) <= NOISE:
            says, matters = "none", False
        elif low > 0 or high < 0:
            says = "more" if low > 0 else "less"
        elif not matters:
            says = "same"
    return Verdict(difference, margin, says, matters, (says == better) if better and says in ("more", "less") else None)


def judge_all(found: Mapping[str, Difference], today: Mapping[str, Estimate], percent: float) -> dict[str, Verdict]:
    """The verdict on every figure of a change; the margin is `percent` of today's average."""
    return {key: judge(one, margin_of(today, key, percent)) for key, one in found.items()}


def margin_of(today: Mapping[str, Estimate], key: str, percent: float) -> float:
    """What is too small to matter in a figure, in its own unit."""
    return abs(today[key].mean) * percent / 100.0 if key in today else 0.0


def replications_to_decide(verdict: Verdict) -> int | None:
    """About how many replications would settle an open verdict, as the range narrows with their root; None unknown."""
    difference = verdict.difference
    if difference.low is None or difference.high is None or difference.n < 2:
        return None
    half = (difference.high - difference.low) / 2.0
    # Either the range comes to leave out zero, or to lie within the margin; whichever is nearer.
    distance = max(abs(difference.mean), verdict.margin - abs(difference.mean))
    return math.ceil(difference.n * (half / distance) ** 2) if distance > 0 else None


def shared_luck(today: Sequence[Outcome], other: Sequence[Outcome], key: str) -> SharedLuck | None:
    """What shared luck saves in one figure; None with fewer than two replications that have it on both sides."""
    before = {outcome.replication: outcome.measures.get(key) for outcome in today}
    pairs = [
        (one, two)
        for one, two in ((before.get(outcome.replication), outcome.measures.get(key)) for outcome in other)
        if one is not None and two is not None
    ]
    if len(pairs) < 2:
        return None
    shared = _variance([two - one for one, two in pairs])
    return SharedLuck(key, shared, _variance([one for one, _ in pairs]) + _variance([two for _, two in pairs]))


def _variance(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.fsum((value - mean) ** 2 for value in values) / (len(values) - 1)
