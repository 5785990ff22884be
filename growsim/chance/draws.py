"""From a figure in doubt to one value. The one place where draws are shaped, cut off and rounded.

Everything is drawn by inversion (one uniform, one value) where a closed form exists, so that two alternatives that
share a stream meet the same luck and a higher chance never gives a lower count.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from statistics import NormalDist
from typing import Final, Protocol

from growsim.scenario.uncertain import Uncertain

_STANDARD_NORMAL: Final = NormalDist()
_TINIEST: Final = 1e-15  # keeps uniforms strictly inside (0, 1) for the inverse normal
_CHUNK: Final = 500  # largest binomial drawn in one inversion: (1/2)**500 is still a normal float


class Uniforms(Protocol):
    """What the draws ask of a stream; `chance.streams.Stream` and `random.Random` both give it."""

    def random(self) -> float:
        """A uniform in [0, 1)."""
        ...

    def betavariate(self, alpha: float, beta: float) -> float:
        """A beta variate."""
        ...


def standard_normal(u: float) -> float:
    """Standard normal quantile of u in [0, 1)."""
    return _STANDARD_NORMAL.inv_cdf(min(max(u, _TINIEST), 1.0 - _TINIEST))


def lognormal(u: float, mean: float, sd: float) -> float:
    """Quantile of the lognormal with this mean and standard deviation (mean > 0)."""
    if sd == 0:
        return mean
    log_variance = math.log1p((sd / mean) ** 2)
    return mean * math.exp(math.sqrt(log_variance) * standard_normal(u) - log_variance / 2.0)


def triangular(u: float, low: float, likely: float, high: float) -> float:
    """Quantile of the triangular distribution."""
    if high == low:
        return low
    split = (likely - low) / (high - low)
    if u < split:
        return low + math.sqrt(u * (high - low) * (likely - low))
    return high - math.sqrt((1.0 - u) * (high - low) * (high - likely))


def binomial(stream: Uniforms, n: int, p: float) -> int:
    """Number of successes in n trials of chance p, by inversion in chunks of at most 500.

    Uses ceil(n/500) uniforms whatever p is. Raises ValueError for p outside 0..1 or n below 0.
    """
    if n < 0 or not 0.0 <= p <= 1.0:
        raise ValueError(f"binomial needs n >= 0 and 0 <= p <= 1, not n={n}, p={p}")
    if 0 < n <= _CHUNK:
        return binomial_quantile(stream.random(), n, p)
    total = 0
    while n > 0:
        size = min(n, _CHUNK)
        total += binomial_quantile(stream.random(), size, p)
        n -= size
    return total


def binomial_quantile(u: float, n: int, p: float) -> int:
    """Smallest k with P(X <= k) > u for X binomial(n, p), n at most a few hundred. Monotone in u, n and p."""
    if p <= 0.0 or n == 0:
        return 0
    if p >= 1.0:
        return n
    if p > 0.5:  # count failures instead: fewer steps, and still monotone since u is turned round too
        return n - _count_up(1.0 - u, n, 1.0 - p, upper=True)
    return _count_up(u, n, p, upper=False)


def _count_up(u: float, n: int, p: float, *, upper: bool) -> int:
    odds = p / (1.0 - p)
    mass = (1.0 - p) ** n
    reached = mass
    k = 0
    last = math.nextafter(u, -math.inf) if upper else u  # reached < u is reached <= the float before u
    while k < n and reached <= last:
        mass *= odds * (n - k) / (k + 1)
        k += 1
        reached += mass
    return k


def draw(figure: Uncertain, stream: Uniforms) -> float:
    """One value of an uncertain figure, in the figure's own unit, cut to its at_least and at_most."""
    value = _raw(figure, stream)
    if figure.at_least is not None and value < figure.at_least:
        return figure.at_least
    if figure.at_most is not None and value > figure.at_most:
        return figure.at_most
    return value


def ready(figure: Uncertain) -> Callable[[Uniforms], float]:
    """`draw` for a figure that is drawn again and again: the same values, but what the figure says is read once."""
    low, likely, high = figure.low, figure.likely, figure.high
    is_cut = figure.at_least is not None or figure.at_most is not None
    if figure.is_fixed and not is_cut:
        value = figure.expected()
        return lambda stream: value
    if is_cut or low is None or likely is None or high is None or low == high:
        return partial(draw, figure)
    span, rise, fall = high - low, likely - low, high - likely
    split = rise / span

    def triangular_ready(stream: Uniforms) -> float:
        u = stream.random()
        return low + math.sqrt(u * span * rise) if u < split else high - math.sqrt((1.0 - u) * span * fall)

    return triangular_ready


def _raw(figure: Uncertain, stream: Uniforms) -> float:
    family = figure.distribution
    if family == "fixed":
        return figure.expected()
    if family == "beta":
        return beta(stream, figure.expected(), figure.sd or 0.0)
    u = stream.random()
    if family == "range":
        return triangular(u, figure.low, figure.likely, figure.high)  # type: ignore[arg-type]  # Uncertain checked them
    if family == "uniform":
        return figure.low + u * (figure.high - figure.low)  # type: ignore[operator]
    mean = figure.expected()
    if family == "normal":
        return mean + (figure.sd or 0.0) * standard_normal(u)
    if family == "lognormal":
        return lognormal(u, mean, figure.sd or 0.0)
    if family == "exponential":
        return -mean * math.log1p(-u)
    shape = figure.shape or 1.0  # weibull
    return mean / math.gamma(1.0 + 1.0 / shape) * math.pow(-math.log1p(-u), 1.0 / shape)


def beta(stream: Uniforms, mean: float, sd: float) -> float:
    """A share with this mean and standard deviation (beta distribution); the mean itself where sd is 0.

    An sd too wide for any beta of that mean is narrowed to 99 % of the widest.
    """
    widest = math.sqrt(mean * (1.0 - mean))
    if sd * sd <= 0.0 or widest == 0.0:
        return mean
    sd = min(sd, 0.99 * widest)
    size = mean * (1.0 - mean) / (sd * sd) - 1.0
    return stream.betavariate(mean * size, (1.0 - mean) * size)
