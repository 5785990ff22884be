"""What so many people would bring, season by season, learned from a few crews that stay the same size all year.

One rehearsed year with 18 people a week throughout tells of 18 people in every season at once. Between two crews
rehearsed, jobs and kilograms are read off a straight line, year by year under the same luck; more people never bring
less, so each season's shares are first made to rise (isotonic least squares: R. E. Barlow and others, Statistical
Inference under Order Restrictions, Wiley 1972; from memory). That a season feels the one before it is left out here;
the answer is rehearsed whole, and what it then lies off is taken off all that is read from the curves.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from growsim.ledger.outcome import Outcome
from growsim.study.crew.goals import GOAL_KEYS, Values, parts_in
from growsim.study.rota import Season

Array = NDArray[np.float64]
Sizes = tuple[int, ...]
"""People a week, all shifts together, by season."""


@dataclass(frozen=True)
class Curves:
    """sizes: of the crews, rising; the last is ample. part, whole: figure -> [crew, year, season], what was done
    and all there was. off: figure -> what whole answers lay above the curves."""

    sizes: Array
    part: Mapping[str, Array]
    whole: Mapping[str, Array]
    off: Values = field(default_factory=dict)

    def year(self, key: str, sizes: Sequence[float]) -> float:
        """Mean of a figure over the years with so many people in each season; nan where it does not exist."""
        part = np.zeros(self.whole[key].shape[1])
        whole = np.zeros_like(part)
        for season, size in enumerate(sizes):
            low, share = self._place(size)
            part += _between(self.part[key][:, :, season], low, share)
            whole += _between(self.whole[key][:, :, season], low, share)
        counts = whole > 0
        return float(np.mean(part[counts] / whole[counts])) + self.off.get(key, 0.0) if counts.any() else float("nan")

    def season(self, key: str, season: int, size: float) -> float:
        """The same figure in a season's own weeks, all years together."""
        low, share = self._place(size)
        part, whole = (
            float(_between(each[:, :, season], low, share).sum()) for each in (self.part[key], self.whole[key])
        )
        return part / whole if whole > 0 else float("nan")

    def ample(self, key: str, season: int | None = None) -> float:
        """What an ample crew reaches in the year, or in a season."""
        last = float(self.sizes[-1])
        if season is not None:
            return self.season(key, season, last)
        return self.year(key, [last] * self.whole[key].shape[2]) - self.off.get(key, 0.0)

    def drawn(self, years: NDArray[np.intp]) -> Curves:
        """The curves that these years would have given."""
        part, whole = ({key: each[:, years] for key, each in series.items()} for series in (self.part, self.whole))
        return Curves(self.sizes, _rising(part, whole), whole, self.off)

    def _place(self, size: float) -> tuple[int, float]:
        """The crew below and the share of the way to the next; the ends beyond them."""
        low = int(np.clip(np.searchsorted(self.sizes, size, side="right") - 1, 0, len(self.sizes) - 2))
        share = (size - self.sizes[low]) / (self.sizes[low + 1] - self.sizes[low])
        return low, float(np.clip(share, 0.0, 1.0))


def _between(crews: Array, low: int, share: float) -> Array:
    return np.asarray((1.0 - share) * crews[low] + share * crews[low + 1])


def curves_of(lived: Mapping[int, Sequence[Outcome]], seasons: Sequence[Season]) -> Curves:
    """From crews by their size, two at least, all of them in the same years."""
    sizes = sorted(lived)
    seen = [[[parts_in(season, year) for season in seasons] for year in lived[size]] for size in sizes]
    part, whole = (
        {key: np.array([[[each[key][place] for each in year] for year in crew] for crew in seen]) for key in GOAL_KEYS}
        for place in (0, 1)
    )
    return Curves(np.array(sizes, dtype=float), _rising(part, whole), whole)


def _rising(part: Mapping[str, Array], whole: Mapping[str, Array]) -> dict[str, Array]:
    """What was done, moved so that a season's share, all years together, never falls as the crew grows."""
    from scipy.optimize import isotonic_regression

    found = {}
    for key, done in part.items():
        weights = whole[key].sum(axis=1)
        shares = done.sum(axis=1) / np.where(weights > 0, weights, 1.0)
        level = shares.copy()
        for season in range(shares.shape[1]):
            if (weights[:, season] > 0).all():
                level[:, season] = isotonic_regression(shares[:, season], weights=weights[:, season]).x
        found[key] = done + (level - shares)[:, None, :] * whole[key]
    return found
