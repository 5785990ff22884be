"""A figure that may be known, known within a range, or known as a distribution; always with room for its source.

In a room file: `0.9`, or `{ low = 0.8, likely = 0.9, high = 0.95 }`, or
`{ distribution = "lognormal", mean = 3, sd = 1 }`, each with an optional `source`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from growsim.scenario.base import RefusedError, Table

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
SHORT_FORMS = "give a number, a range such as { low = 0.8, likely = 0.9, high = 0.95 }, or a named distribution"
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
        if isinstance(given, (int, float)) and not isinstance(given, bool):
            return {"distribution": "fixed", "value": given}
        if not isinstance(given, (dict, Uncertain)):
            raise RefusedError(f"is {_as_written(given)}, which is no figure", SHORT_FORMS)
        if isinstance(given, dict) and "distribution" not in given:
            if {"mean", "sd", "shape"} & given.keys():
                raise RefusedError(
                    "gives a mean, sd or shape but no distribution", 'add e.g. distribution = "lognormal"'
                )
            return {**given, "distribution": "range" if "low" in given or "high" in given else "fixed"}
        return given

    @model_validator(mode="after")
    def _complete(self) -> Uncertain:
        needed = NEEDS[self.distribution]
        missing = [key for key in needed if getattr(self, key) is None]
        spare = [key for key in _PARAMETERS if key not in needed and getattr(self, key) is not None]
        if missing or spare:
            faulty = [f"lacks {key}" for key in missing] + [f"has {key}, which it has no use for" for key in spare]
            raise RefusedError(
                f"is a {self.distribution} figure that {' and '.join(faulty)}", f"give {', '.join(needed)}"
            )
        if self.distribution == "range" and not self._number("low") <= self._number("likely") <= self._number("high"):
            raise RefusedError("is a range out of order", "give low, likely and high from smallest to largest")
        if self.distribution == "uniform" and self._number("low") > self._number("high"):
            raise RefusedError("is a range out of order", "give a low that is not above high")
        if self.distribution in ("lognormal", "exponential", "weibull") and self._number("mean") <= 0:
            raise RefusedError(f"is a {self.distribution} figure with mean {self.mean:g}", "give a mean above 0")
        if self.distribution == "beta":
            mean, sd = self._number("mean"), self._number("sd")
            if not (0 < mean < 1 and sd * sd < mean * (1 - mean)):
                raise RefusedError(
                    f"is a beta figure with mean {mean:g} and sd {sd:g}, which no share can have",
                    "give a mean between 0 and 1 and an sd below the square root of mean x (1 - mean)",
                )
        if self.at_least is not None and self.at_most is not None and self.at_least > self.at_most:
            raise RefusedError("has at_least above at_most", "give an at_least that is not above at_most")
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


@dataclass(frozen=True)
class Within:
    """A check that a figure, whatever is drawn, stays in [low, high], or in (low, high] with `open_low`.

    Open-ended families (normal, lognormal, ...) need a mean inside; their draws are cut at the limits.
    """

    low: float
    high: float
    open_low: bool = False

    def __str__(self) -> str:
        return (
            f"above {self.low:g} and up to {self.high:.9g}"
            if self.open_low
            else f"from {self.low:g} to {self.high:.9g}"
        )

    def __call__(self, figure: Uncertain) -> Uncertain:
        """The figure, open ends cut at the limits. Raises RefusedError for one that can lie outside."""
        least, most = figure.limits()
        if not math.isfinite(least):
            least = figure.expected()
        if not math.isfinite(most):
            most = figure.expected()
        too_low = least <= self.low if self.open_low and figure.is_fixed else least < self.low
        if too_low or most > self.high:
            reached = f"is {least:g}" if figure.is_fixed else f"can reach {least if too_low else most:g}"
            raise RefusedError(f"{reached}, which is not possible", f"give a figure {self}")
        if figure.distribution in ("normal", "lognormal", "exponential", "weibull"):
            floor = self.low if not self.open_low else self.low + 0.01 * (figure.expected() - self.low)
            least, most = figure.limits()
            return figure.model_copy(update={"at_least": max(least, floor), "at_most": min(most, self.high)})
        return figure


def _mean_life(given: Any) -> Any:
    is_number = isinstance(given, (int, float)) and not isinstance(given, bool)
    return {"distribution": "exponential", "mean": given} if is_number and given > 0 else given


UncertainFraction = Annotated[Uncertain, AfterValidator(Within(0.0, 1.0))]
UncertainHours = Annotated[Uncertain, AfterValidator(Within(0.0, 1e6))]
UncertainRunningHours = Annotated[
    Uncertain, BeforeValidator(_mean_life), AfterValidator(Within(0.0, 1e7, open_low=True))
]
"""A plain number of running hours is the mean of a life that has no memory; a life known for certain is written
`{ distribution = "fixed", value = 5000 }`."""
UncertainDays = Annotated[Uncertain, AfterValidator(Within(0.0, 3650.0))]
UncertainGrams = Annotated[Uncertain, AfterValidator(Within(0.0, 5000.0, open_low=True))]
UncertainMinutes = Annotated[Uncertain, AfterValidator(Within(0.0, 10000.0))]
UncertainFactor = Annotated[Uncertain, AfterValidator(Within(0.0, 20.0, open_low=True))]


def _as_written(given: Any) -> str:
    """A value as the room file would show it, shortened."""
    if isinstance(given, bool):
        return "true" if given else "false"
    text = f'"{given}"' if isinstance(given, str) else str(given)
    return text if len(text) <= 40 else text[:37] + "..."
