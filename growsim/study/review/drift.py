"""Small drifts of many weeks, found by two cumulative sums (Page 1954, *Continuous inspection schemes*; Hawkins &
Olwell 1998, *Cumulative Sum Charts and Charting for Quality Improvement*, ch. 2-3; both from memory).

Each week is turned into the standard normal score of its place among made-up weeks of the room as described. What lies
more than ALLOWANCE above (or below) is added up, and the sum begins anew where it falls to nothing. How high a sum must
be is found in made-up years in which nothing changed, so that all figures together name something in FALSE_ALARMS of
such years, and offer a change in OFFERED_BY_CHANCE. The same years say how often chance alone brings a sum as high as
the one seen.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import stats

ALLOWANCE = 0.5  # half of the shift, in sds of a week, that is to be found soonest (Hawkins & Olwell, sec. 2.2)
FALSE_ALARMS = 0.5  # of all figures together, in a year of weeks
OFFERED_BY_CHANCE = 0.05  # the same, of what is so sure that the room file may be changed for it
YEAR_WEEKS = 52
LARGEST_SCORE = 4.0
POWER = 0.8  # of cases in which so long a record tells
MOST_YEARS = 100


@dataclass(frozen=True)
class Sums:
    """The sums of a figure, week by week: above and below what was expected. limit: beyond which it is named; sure:
    beyond which a change is offered."""

    above: np.ndarray
    below: np.ndarray
    limit: float
    sure: float
    made_up: np.ndarray  # the highest sum of each made-up year

    def first_over(self, limit: float) -> int | None:
        """The first week in which a sum is over a limit."""
        over = np.flatnonzero(np.maximum(self.above, self.below) > limit)
        return int(over[0]) if len(over) else None

    def standing(self, weeks: int) -> int | None:
        """Of the last so many weeks the one with the highest sum, where that is over its limit."""
        highest = np.maximum(self.above, self.below)[-weeks:]
        if not len(highest) or highest.max() <= self.limit:
            return None
        return len(self.above) - len(highest) + int(highest.argmax())

    def is_above(self, week: int) -> bool:
        """Whether it is the sum of what lay above that is the higher one."""
        return bool(self.above[week] >= self.below[week])

    def is_sure(self, week: int) -> bool:
        """Whether a change may be offered for the sum of that week."""
        return bool(max(self.above[week], self.below[week]) > self.sure)

    def began(self, week: int) -> int:
        """The week after the sum was last nothing: when it began to be otherwise (Page's estimate)."""
        sums = self.above if self.is_above(week) else self.below
        nothing = np.flatnonzero(sums[: week + 1] <= 0)
        return int(nothing[-1]) + 1 if len(nothing) else 0

    def years_to_chance(self, week: int) -> float:
        """Once in how many years of weeks chance alone brings a sum as high in this figure; at least so many."""
        highest = max(self.above[week], self.below[week])
        often = (float((self.made_up >= highest).sum()) + 1.0) / (len(self.made_up) + 1.0)
        return len(self.above) / YEAR_WEEKS / often


def sums_of(seen: np.ndarray, made_up: np.ndarray, figures: int) -> Sums:
    """The sums of a figure. seen: (weeks,), NaN where nothing is on record. made_up: (years, weeks) of the room as
    described, for the very things that were done. figures: how many are looked at together."""
    ordered = np.sort(made_up, axis=0)
    paths = _highest(_scores(made_up, ordered))
    above, below = _paths(_scores(seen[None, :], ordered))
    shares = (min(0.5, often * len(seen) / YEAR_WEEKS / max(1, figures)) for often in (FALSE_ALARMS, OFFERED_BY_CHANCE))
    limit, sure = (float(np.quantile(paths, 1.0 - share, method="higher")) for share in shares)
    return Sums(above[0], below[0], limit, sure, paths)


def years_to_tell(a_year: float, figures: int) -> float:
    """Years of record until failures that come twice as often as described are told from chance, in POWER of cases.

    a_year: as described. Counts are Poisson; the share of false alarms is that of `sums_of`, for one figure.
    """
    for quarters in range(1, 4 * MOST_YEARS):
        years = quarters / 4.0
        by_chance = stats.poisson.ppf(1.0 - min(0.5, FALSE_ALARMS * min(1.0, years) / figures), a_year * years)
        if stats.poisson.sf(by_chance, 2.0 * a_year * years) >= POWER:
            return years
    return float(MOST_YEARS)


def _scores(values: np.ndarray, ordered: np.ndarray) -> np.ndarray:
    """Standard normal scores of the middle of each value's place among the made-up ones; 0 where nothing is seen."""
    n = len(ordered)
    scores = np.zeros(values.shape)
    for week in range(values.shape[1]):
        column = values[:, week]
        low = np.searchsorted(ordered[:, week], column, "left")
        high = np.searchsorted(ordered[:, week], column, "right")
        place = (low + high + 1.0) / 2.0 / (n + 1.0)
        scores[:, week] = np.where(
            np.isnan(column), 0.0, stats.norm.ppf(np.clip(place, 0.5 / (n + 1), 1 - 0.5 / (n + 1)))
        )
        spread = ordered[:, week].std()
        if spread > 0:  # beyond every made-up week: as far as it lies from them
            far = (column - ordered[:, week].mean()) / spread
            beyond = ~np.isnan(column) & ((low == n) | (high == 0))
            scores[:, week] = np.where(beyond & (np.abs(far) > np.abs(scores[:, week])), far, scores[:, week])
    limited: np.ndarray = np.clip(scores, -LARGEST_SCORE, LARGEST_SCORE)
    return limited


def _paths(scores: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(years, weeks) of sums above and below."""
    above, below = np.zeros(scores.shape), np.zeros(scores.shape)
    up, down = np.zeros(len(scores)), np.zeros(len(scores))
    for week in range(scores.shape[1]):
        up = np.maximum(0.0, up + scores[:, week] - ALLOWANCE)
        down = np.maximum(0.0, down - scores[:, week] - ALLOWANCE)
        above[:, week], below[:, week] = up, down
    return above, below


def _highest(scores: np.ndarray) -> np.ndarray:
    above, below = _paths(scores)
    highest: np.ndarray = np.maximum(above, below).max(axis=1)
    return highest
