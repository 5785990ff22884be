"""Posteriors on a grid that zooms in: exact up to its fineness, with no sampling and no luck."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

MOST_ZOOMS = 8
CLOSE_ENOUGH = 0.8  # of what was looked at last, along every axis
REACH_SD = 4.5


@dataclass(frozen=True)
class Axis:
    """One unknown: where to look (in its own scale), how finely, and hard ends."""

    low: float
    high: float
    points: int
    least: float = -np.inf
    most: float = np.inf


@dataclass(frozen=True)
class Posterior:
    """Weights on the last grid. axes: the values along each."""

    axes: tuple[np.ndarray, ...]
    weights: np.ndarray

    def marginal(self, axis: int) -> np.ndarray:
        """Weights along one axis, the others summed out."""
        others = tuple(i for i in range(self.weights.ndim) if i != axis)
        summed: np.ndarray = self.weights.sum(axis=others)
        return summed

    def mean(self, axis: int) -> float:
        """Mean along one axis."""
        return float((self.axes[axis] * self.marginal(axis)).sum())


def posterior(log_density: Callable[[tuple[np.ndarray, ...]], np.ndarray], axes: Sequence[Axis]) -> Posterior:
    """Evaluate a log density on the product of the axes, then look closer where it lies, a few times over.

    log_density: gets the values along each axis, gives an array of that shape.
    """
    spans = [(axis.low, axis.high) for axis in axes]
    for _ in range(MOST_ZOOMS):
        values = tuple(np.linspace(low, high, axis.points) for (low, high), axis in zip(spans, axes, strict=True))
        logs = log_density(values)
        weights = np.exp(logs - logs.max())
        weights /= weights.sum()
        found = Posterior(values, weights)
        closer = [_around(found, i, axis) for i, axis in enumerate(axes)]
        if all(b - a > CLOSE_ENOUGH * (high - low) for (a, b), (low, high) in zip(closer, spans, strict=True)):
            break
        spans = closer
    return found


def _around(found: Posterior, i: int, axis: Axis) -> tuple[float, float]:
    marginal, values = found.marginal(i), found.axes[i]
    mean = float((values * marginal).sum())
    step = float(values[1] - values[0])
    sd = max(float(np.sqrt(((values - mean) ** 2 * marginal).sum())), 0.6 * step)
    low, high = mean - REACH_SD * sd, mean + REACH_SD * sd
    return max(low, axis.least), min(high, axis.most)
