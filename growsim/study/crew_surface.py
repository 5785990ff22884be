"""What a sign-up would bring, learnt from all that were rehearsed: a curve to look where it is worth looking.

A figure's distance above its goal in a season is taken to be

    y(n) = top - exp(a - c sum over shifts of b_i f_i(n_i)),       f_i(n) = (people of n expected to get in) ** 0.6

top is what ample hands reach; what is missing from it shrinks with every further helper, less and less on a shift that
has many already. a and c are the season's own; what a helper on one shift is worth beside one on another, b_i, is the
same all year and held near the hours of work on paper where little was seen. They are found by least squares over all
sign-ups rehearsed in any season, those near the ones in question counting most. It is a guide to what to rehearse next
and nothing more: no sign-up is accepted or refused by it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from growsim.study.crew_rota import SignUp
from growsim.study.crew_trial import Trial, variance_of

LESS_AND_LESS = 0.6
NEAR = 6.0  # sign-ups so many places away from the one in question count half
HELD = 0.4  # how far, as a spread of the logarithm, the b_i may stray from paper without evidence
FARTHEST = 2  # people by which a shift may change from one round to the next
SMALLEST_SPREAD = 0.002

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Shape:
    """What is known of a season beforehand. hours: of work by shift on paper. places: people who get in besides the
    lead, by shift. chance: of coming. top: figure -> how far above its goal ample hands lie."""

    hours: tuple[float, ...]
    places: tuple[int, ...]
    chance: float
    top: Mapping[str, float]

    def helped(self, sign_up: SignUp) -> Array:
        """f_i of every shift."""
        return np.array([_expected_in(n, self.chance, p) for n, p in zip(sign_up, self.places, strict=True)]) ** (
            LESS_AND_LESS
        )


def _expected_in(people: int, chance: float, places: int) -> float:
    """Mean of the smaller of those who come and the places there are (binomial)."""
    mean = 0.0
    for came in range(people + 1):
        mean += min(came, places) * math.comb(people, came) * chance**came * (1.0 - chance) ** (people - came)
    return mean


class Surfaces:
    """The curves of all seasons. known: their trials, as they stand whenever a curve is asked for."""

    def __init__(self, shapes: Sequence[Shape], known: Sequence[Mapping[SignUp, Trial]]) -> None:
        self._shapes, self._known = shapes, known
        self._near: dict[int, SignUp] = {}

    def of(self, season: int, near: SignUp) -> Callable[[SignUp], float]:
        """A season's curve for sign-ups near one: the scarcest figure's distance above its goal."""
        self._near[season] = near
        shape = self._shapes[season]
        found = {key: self._fitted(key, season) for key in shape.top}

        def above(sign_up: SignUp) -> float:
            helped = shape.helped(sign_up)
            return min((top - _gap(*found[key], helped) for key, top in shape.top.items()), default=1.0)

        return above

    def _fitted(self, key: str, asked: int) -> tuple[float, Array]:
        """a, and c times every b_i, of the season asked for."""
        from scipy.optimize import least_squares

        seasons = [season for season, shape in enumerate(self._shapes) if key in shape.top]
        views = [self._view(season, key) for season in seasons]
        paper = _on_paper(self._shapes[asked].hours)

        def of_season(parameters: Array, place: int) -> tuple[float, Array]:
            own, shared = parameters[2 * place : 2 * place + 2], parameters[2 * len(seasons) :]
            return float(own[0]), np.exp(own[1] + paper + shared)

        def missed(parameters: Array) -> Array:
            parts = [parameters[2 * len(seasons) :] / HELD]
            for place, (helped, short, weights) in enumerate(views):
                a, worth = of_season(parameters, place)
                parts.append(weights * (np.exp(np.clip(a - helped @ worth, -50.0, 5.0)) - short))
            return np.concatenate(parts)

        start = np.concatenate([np.tile([0.0, -1.0], len(seasons)), np.zeros(len(paper))])
        found = np.asarray(least_squares(missed, start, max_nfev=200).x, dtype=float)
        return of_season(found, seasons.index(asked))

    def _view(self, season: int, key: str) -> tuple[Array, Array, Array]:
        """What was seen of a figure in a season: helpers by shift, how far it fell short of top, and its weight."""
        shape, near = self._shapes[season], self._near.get(season)
        seen = [
            (sign_up, [year[key] for year in trial.seen.values() if key in year])
            for sign_up, trial in self._known[season].items()
        ]
        seen = [(sign_up, values) for sign_up, values in seen if values]
        spreads = [variance_of(values) for _, values in seen if len(values) > 1]
        spread = max(SMALLEST_SPREAD, math.sqrt(math.fsum(spreads) / len(spreads)) if spreads else SMALLEST_SPREAD)
        helped = np.array([shape.helped(sign_up) for sign_up, _ in seen]).reshape(len(seen), len(shape.hours))
        short = np.array([shape.top[key] - math.fsum(values) / len(values) for _, values in seen])
        far = [0.0 if near is None else _apart(sign_up, near) / NEAR for sign_up, _ in seen]
        weights = [math.sqrt(len(values) / (1.0 + off**2)) / spread for (_, values), off in zip(seen, far, strict=True)]
        return helped, short, np.array(weights)


def _on_paper(hours: Sequence[float]) -> Array:
    """Logarithms of the b_i by hours on paper: with them and f as it is, people are best spread as the hours are."""
    most = max(*hours, 1e-6)
    return np.asarray((1.0 - LESS_AND_LESS) * np.log(np.maximum(np.array(hours) / most, 0.1)))


def _gap(a: float, worth: Array, helped: Array) -> float:
    return float(np.exp(np.clip(a - worth @ helped, -50.0, 5.0)))


def _apart(one: SignUp, other: SignUp) -> float:
    return float(sum(abs(a - b) for a, b in zip(one, other, strict=True)))


def smallest_likely(
    start: SignUp,
    least: SignUp,
    most: SignUp,
    above: Callable[[SignUp], float],
    allowed: Callable[[SignUp], bool],
    wanted: float,
) -> SignUp:
    """From `start`, the smallest sign-up near it that the curve puts `wanted` above the goals, of those allowed.

    One person more where it helps most until it is enough; one fewer where it matters least as long as it is; then two
    fewer and one more elsewhere. No shift moves farther than FARTHEST from where it started.
    """
    lowest = tuple(max(low, n - FARTHEST) for low, n in zip(least, start, strict=True))
    highest = tuple(min(high, n + FARTHEST) for high, n in zip(most, start, strict=True))

    def enough(sign_up: SignUp) -> bool:
        return _within(sign_up, lowest, highest) and allowed(sign_up) and above(sign_up) >= wanted

    now = start
    while not enough(now):
        more = [each for each in _steps(now, 1) if _within(each, lowest, highest)]
        if not more:
            return now
        now = max(more, key=lambda each: (above(each), each))
    while True:
        fewer = [each for each in _steps(now, -1) if enough(each)] or [each for each in shifted(now) if enough(each)]
        if not fewer:
            return now
        now = max(fewer, key=lambda each: (above(each), each))


def shifted(sign_up: SignUp) -> list[SignUp]:
    """Two people fewer and one more on another shift."""
    shifts = range(len(sign_up))
    found = []
    for i, j, k in product(shifts, repeat=3):
        if i <= j and k not in (i, j):
            people = list(sign_up)
            people[i] -= 1
            people[j] -= 1
            people[k] += 1
            found.append(tuple(people))
    return found


def _steps(sign_up: SignUp, by: int) -> list[SignUp]:
    return [tuple(n + by * (i == at) for i, n in enumerate(sign_up)) for at in range(len(sign_up))]


def _within(sign_up: SignUp, least: SignUp, most: SignUp) -> bool:
    return all(low <= n <= high for low, n, high in zip(least, sign_up, most, strict=True))
