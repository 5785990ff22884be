"""Rows that stand out, and figures that were other early than late.

A row is odd where it lies 3.5 robust standard deviations from the middle of its like (median and median absolute
deviation; Iglewicz & Hoaglin 1993, *How to Detect and Handle Outliers*, from memory), or farther where there are so
many rows that chance alone brings some so far out. It is kept out of its figure where it lies 2.5 beyond that: a slip
of the pen, as likely as not. A figure drifts where the means of the earlier and the later half differ by three standard
errors.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist, fmean, median, stdev

from growsim.scenario.record.record import PlantingRow, Row
from growsim.study.learn.learned import Drift, Odd

FEWEST = 8
ODD_FROM, OUT_BEYOND = 3.5, 2.5
BY_CHANCE = 0.02  # odd rows that chance may bring in a whole table
DRIFT_FROM = 3.0
_TO_SD = 1.4826  # median absolute deviation to standard deviation, for a normal distribution


@dataclass(frozen=True)
class Seen:
    """One row and what it says of a figure, on a scale on which rows are alike. floor: no less spread than this."""

    row: Row
    value: float
    floor: float


def odd_rows(seen: Sequence[Seen], says: Callable[[Seen, float], str]) -> tuple[list[Odd], list[Row]]:
    """Rows that stand out, in a sentence each, and those of them that are to be kept out.

    says: the sentence, given the row and the middle of all.
    """
    if len(seen) < FEWEST:
        return [], []
    middle = median(each.value for each in seen)
    spread = _TO_SD * median(abs(each.value - middle) for each in seen)
    limit = max(ODD_FROM, NormalDist().inv_cdf(1.0 - BY_CHANCE / 2.0 / len(seen)))
    odd: list[Odd] = []
    out: list[Row] = []
    for each in seen:
        z = abs(each.value - middle) / max(spread, each.floor)
        if z >= limit:
            used = z < limit + OUT_BEYOND
            odd.append(Odd(each.row.file, each.row.line, says(each, middle), used))
            if not used:
                out.append(each.row)
    return odd, out


def drift_of(
    seen: Sequence[Seen], what: str, unit: str, shown: Callable[[float], float] = lambda value: value
) -> list[Drift]:
    """The drift between the earlier and the later half of the rows, if there is one."""
    if len(seen) < 2 * FEWEST:
        return []
    ordered = sorted(seen, key=lambda each: (_begun(each.row), each.row.line))
    half = len(ordered) // 2
    early, late = ordered[:half], ordered[half:]
    one, two = [each.value for each in early], [each.value for each in late]
    error = math.hypot(stdev(one) / math.sqrt(len(one)), stdev(two) / math.sqrt(len(two)))
    floor = fmean(each.floor for each in ordered) * math.sqrt(2 / half)
    z = (fmean(two) - fmean(one)) / max(error, floor, 1e-12)
    if abs(z) < DRIFT_FROM:
        return []
    lines = f"{_lines(early)}, against {_lines(late)}"
    return [Drift(what, shown(fmean(one)), shown(fmean(two)), _begun(late[0].row), unit, z, lines)]


def _begun(row: Row) -> dt.date:
    return row.sown if isinstance(row, PlantingRow) else row.date


def _lines(seen: Sequence[Seen]) -> str:
    """ "plantings.csv lines 2 to 31"."""
    by_file: dict[str, list[int]] = {}
    for each in seen:
        by_file.setdefault(each.row.file, []).append(each.row.line)
    return ", ".join(f"{file} lines {min(lines)} to {max(lines)}" for file, lines in by_file.items())
