"""A mean with known luck taken out of it (control variates): the same long-run mean, known from fewer years.

If masses were high in the years rehearsed, by chance, so were kilograms; the least-squares slope says by how much, and
that much is taken off. Law, Simulation Modeling and Analysis, 5th ed. 2013, section 11.4; Lavenberg & Welch 1981,
Management Science 27(3):322-335. Their standard error, that of a regression's constant, is right where a figure owes to
its luck along a straight line. Ours leaves each year out in turn in thought (HC3: MacKinnon & White 1985, Journal of
Econometrics 29:305-325, from memory), a little wider, and right where it does not: `tests/theory` sees how often.

All sums are exactly rounded, as in `intervals`: no order and no processor changes a bit.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

YEARS_A_CONTROL = 5
"""Fewer years than this for each control, and estimating slopes costs more than they may save: none are used."""

_DEPENDENT = 1e-9  # of a control's own size: what is left of one that the others say already


@dataclass(frozen=True)
class Controlled:
    """A mean with its standard error. freedom: degrees of freedom. worth: years of plain rehearsal a year is worth.
    parts: what each year adds to the error, whose squares add up to that of it."""

    mean: float
    error: float
    freedom: int
    worth: float
    parts: tuple[float, ...] = ()


class Controls:
    """Known luck of n years, made ready for any number of figures. Raises ValueError where years are too few for it."""

    def __init__(self, luck: Mapping[str, Sequence[float]], years: int) -> None:
        if not enough(luck, years):
            raise ValueError(f"{years} years are too few for {len(luck)} controls")
        self._years = years
        self._axes: list[list[float]] = []  # orthonormal, and free of the mean
        self._means: list[float] = []  # how far the years' mean luck is from its average, along each axis
        for values in luck.values():
            mean = math.fsum(values) / years
            axis = [value - mean for value in values]
            size = _length(axis)
            for _ in range(2):  # twice is enough (Kahan, Parlett): straight to the last bits
                for known, its_mean in zip(self._axes, self._means, strict=True):
                    along = _dot(known, axis)
                    axis = [value - along * each for value, each in zip(axis, known, strict=True)]
                    mean -= along * its_mean
            left = _length(axis)
            if left > _DEPENDENT * size:
                self._axes.append([value / left for value in axis])
                self._means.append(mean / left)
        self.of_years = tuple(self._of_year(i) for i in range(years))  # what each year weighs in a mean: 1 in all
        self._weights = [self._weight(i) for i in range(years)]

    def _of_year(self, i: int) -> float:
        return 1.0 / self._years - math.fsum(m * axis[i] for m, axis in zip(self._means, self._axes, strict=True))

    def _weight(self, i: int) -> float:
        """What a year weighs in the mean, over the share of it that the other years do not determine."""
        own = 1.0 - 1.0 / self._years - math.fsum(axis[i] * axis[i] for axis in self._axes)
        return self.of_years[i] / max(own, _DEPENDENT)

    def mean_of(self, values: Sequence[float]) -> Controlled:
        """The mean of a figure, one value a year in the years' order."""
        n, q = self._years, len(self._axes)
        mean = math.fsum(values) / n
        rest = [value - mean for value in values]
        plain = math.fsum(value * value for value in rest) / (n - 1)
        for axis, its_mean in zip(self._axes, self._means, strict=True):
            slope = _dot(axis, rest)
            mean -= slope * its_mean
            rest = [value - slope * each for value, each in zip(rest, axis, strict=True)]
        parts = tuple(weight * value for weight, value in zip(self._weights, rest, strict=True))
        squared = math.fsum(part * part for part in parts)
        return Controlled(mean, math.sqrt(squared), n - q - 1, plain / n / squared if squared > 0.0 else 1.0, parts)


class KnownControls:
    """Controls for whichever of the years a figure exists in; made once for each such choice."""

    def __init__(self, luck: Mapping[str, Sequence[float]], years: int) -> None:
        self._luck = luck
        self._made: dict[tuple[int, ...], Controls | None] = {}
        self._everything = tuple(range(years))

    def of(self, years: Sequence[int]) -> Controls | None:
        """For these years, by place; None where they are too few."""
        chosen = self._everything if len(years) == len(self._everything) else tuple(years)
        if chosen not in self._made:
            luck = {name: [values[i] for i in chosen] for name, values in self._luck.items()}
            self._made[chosen] = Controls(luck, len(chosen)) if enough(luck, len(chosen)) else None
        return self._made[chosen]


def enough(luck: Mapping[str, Sequence[float]], years: int) -> bool:
    """Whether there are years enough, and any luck to take out."""
    return 0 < YEARS_A_CONTROL * len(luck) <= years


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))


def _length(axis: Sequence[float]) -> float:
    return math.sqrt(_dot(axis, axis))
