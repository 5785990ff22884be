"""A figure that may be known, known within a range, or known as a distribution; always with room for its source.

In a room file: `0.9`, or `{ low = 0.8, likely = 0.9, high = 0.95 }`, or
`{ distribution = "lognormal", mean = 3, sd = 1 }`, each with an optional `source`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, Field, model_validator

from growsim.spec.base import Table

Family = Literal["fixed", "range", "uniform", "normal", "lognormal", "exponential", "weibull", "beta"]

# Which keys each family needs; anything else given is a fault.
NEEDS: dict[str, tuple[str, ...]] = {
    "fixed": ("value",),
    "range": ("low", "likely", "high"),
    "uniform": ("low", "high"),
    "normal": ("mean", "sd"),
    "lognormal": ("mean", "sd"),
    "exponential": ("mean",),
    "weibull": ("mean", "shape"),
    "beta": ("mean", "sd"),
}
_PARAMETERS = ("value", "low", "likely", "high", "mean", "sd", "shape")


class Uncertain(Table):
    """A number with its doubt.

    range is triangular; normal is cut at `at_least`/`at_most` where given; weibull is given by mean and shape
    (scale = mean / gamma(1 + 1/shape)); beta by mean and sd inside 0..1.
    """

    distribution: Family = Field("fixed", description="Family of the distribution.")
    value: float | None = Field(None, description="The figure itself (fixed).")
    low: float | None = Field(None, description="Lowest value thought possible (range, uniform).")
    likely: float | None = Field(None, description="Most likely value (range).")
    high: float | None = Field(None, description="Highest value thought possible (range, uniform).")
    mean: float | None = Field(None, description="Mean.")
    sd: float | None = Field(None, ge=0, description="Standard deviation.")
    shape: float | None = Field(None, gt=0.2, le=20, description="Weibull shape: 1 is pure chance, above 1 is wear.")
    at_least: float | None = Field(None, description="Draws below this are set to it.")
    at_most: float | None = Field(None, description="Draws above this are set to it.")

    @model_validator(mode="before")
    @classmethod
    def _from_short_form(cls, given: Any) -> Any:
        if isinstance(given, (bool, str)):
            raise ValueError("needs a number, a range (low, likely, high) or a distribution")
        if isinstance(given, (int, float)):
            return {"distribution": "fixed", "value": given}
        if isinstance(given, dict) and "distribution" not in given:
            return {**given, "distribution": "range" if "low" in given or "high" in given else "fixed"}
        return given

    @model_validator(mode="after")
    def _complete(self) -> Uncertain:
        needed = NEEDS[self.distribution]
        missing = [key for key in needed if getattr(self, key) is None]
        spare = [key for key in _PARAMETERS if key not in needed and getattr(self, key) is not None]
        if missing or spare:
            raise ValueError(f"a {self.distribution} figure needs {', '.join(needed)} and nothing else")
        if self.distribution == "range" and not self._number("low") <= self._number("likely") <= self._number("high"):
            raise ValueError("a range needs low <= likely <= high")
        if self.distribution == "uniform" and self._number("low") > self._number("high"):
            raise ValueError("a uniform figure needs low <= high")
        if self.distribution in ("lognormal", "exponential", "weibull") and self._number("mean") <= 0:
            raise ValueError(f"a {self.distribution} figure needs a mean above 0")
        if self.distribution == "beta":
            mean, sd = self._number("mean"), self._number("sd")
            if not (0 < mean < 1 and sd * sd < mean * (1 - mean)):
                raise ValueError("a beta figure needs a mean between 0 and 1 and an sd below sqrt(mean*(1-mean))")
        return self

    def _number(self, key: str) -> float:
        number = getattr(self, key)
        assert isinstance(number, float)
        return number

    @property
    def is_fixed(self) -> bool:
        """True where there is no doubt to draw from."""
        return self.distribution == "fixed"

    def expected(self) -> float:
        """The mean, before any cut by at_least/at_most; what 'luck switched off' uses."""
        if self.distribution == "fixed":
            return self._number("value")
        if self.distribution == "range":
            return (self._number("low") + self._number("likely") + self._number("high")) / 3.0
        if self.distribution == "uniform":
            return (self._number("low") + self._number("high")) / 2.0
        return self._number("mean")

    def limits(self) -> tuple[float, float]:
        """Lowest and highest value a draw can take (infinite where open)."""
        if self.distribution == "fixed":
            low = high = self._number("value")
        elif self.distribution in ("range", "uniform"):
            low, high = self._number("low"), self._number("high")
        elif self.distribution == "normal":
            low, high = -math.inf, math.inf
        else:
            low, high = 0.0, 1.0 if self.distribution == "beta" else math.inf
        return (
            low if self.at_least is None else max(low, self.at_least),
            high if self.at_most is None else min(high, self.at_most),
        )


def within(low: float, high: float, *, open_low: bool = False) -> Callable[[Uncertain], Uncertain]:
    """A check that every draw lies in [low, high] (or (low, high]); open-ended families only need a mean inside."""

    def check(figure: Uncertain) -> Uncertain:
        least, most = figure.limits()
        if not math.isfinite(least):
            least = figure.expected()
        if not math.isfinite(most):
            most = figure.expected()
        too_low = least <= low if open_low and figure.is_fixed else least < low
        if too_low or most > high:
            above = f"above {low:g}" if open_low else f"from {low:g}"
            raise ValueError(f"must lie {above} to {high:g}")
        return figure

    return check


UncertainFraction = Annotated[Uncertain, AfterValidator(within(0.0, 1.0))]
UncertainHours = Annotated[Uncertain, AfterValidator(within(0.0, 1e6))]
UncertainDays = Annotated[Uncertain, AfterValidator(within(0.0, 3650.0))]
UncertainGrams = Annotated[Uncertain, AfterValidator(within(0.0, 5000.0, open_low=True))]
UncertainMinutes = Annotated[Uncertain, AfterValidator(within(0.0, 10000.0))]
