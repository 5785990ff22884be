"""What was learned: each figure before and after, its range, its records, and what the earlier guess counts for.

A figure is a *parameter* of the room, not an event: its range says how well it is known, not how much it varies.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

RANGE = 0.8  # of the ranges stated: eight in ten
LOW, HIGH = (1.0 - RANGE) / 2.0, (1.0 + RANGE) / 2.0
ALIKE = 0.001  # shares no further apart are the same: no record shows that a loss is exactly zero
QUANTILES = (LOW, 0.5, HIGH)


@dataclass(frozen=True)
class Known:
    """How well a figure is known: mean, sd, and quantiles at 2.5, 10, 50, 90 and 97.5 %."""

    mean: float
    sd: float
    q025: float
    low: float
    middle: float
    high: float
    q975: float

    @property
    def width(self) -> float:
        """Width of the range that holds eight in ten."""
        return self.high - self.low


@dataclass(frozen=True)
class Learned:
    """One figure of the room, before and after.

    key: dotted, as in the room file. what: whose (crop, task, machine). label, unit: for readers. stated: what the
    room file says; `before` is that with its doubt. records: how many rows speak of it. of: what such a record is
    ("sowings"). weight: so many records the room file's own figure counts for. method: how, with its source. group:
    figures of one group share a picture.
    """

    key: str
    group: str
    what: str
    label: str
    unit: str
    stated: float
    before: Known
    after: Known
    records: int
    of: str
    weight: float
    method: str

    @property
    def prior_share(self) -> float:
        """How much of the learned figure is still the room file's, 0 to 1."""
        total = self.records + self.weight
        return self.weight / total if total > 0 else 1.0

    @property
    def is_little(self) -> bool:
        """Whether the records say so little that the figure stays near the room file's."""
        return self.records == 0 or self.after.sd > 0.7 * self.before.sd

    @property
    def is_clear(self) -> bool:
        """Whether what the room file says lies outside the range learned, and reads otherwise than its end."""
        alike = ALIKE if self.unit == "fraction" else 0.0
        return self.records > 0 and not self.after.q025 - alike <= self.stated <= self.after.q975 + alike


@dataclass(frozen=True)
class Odd:
    """A row that stands out, used all the same or set aside."""

    file: str
    line: int
    says: str
    used: bool


@dataclass(frozen=True)
class Drift:
    """A figure that was other early than late. lines: file and line ranges of the two halves."""

    what: str
    early: float
    late: float
    since: dt.date
    unit: str
    z: float
    lines: str


@dataclass(frozen=True)
class Lesson:
    """What one part of the record teaches.

    change: pieces of the CHANGE file, to be merged. not_learned: (what, why). notes: sentences for the reader.
    """

    figures: tuple[Learned, ...] = ()
    change: tuple[dict[str, Any], ...] = ()
    odd: tuple[Odd, ...] = ()
    drift: tuple[Drift, ...] = ()
    not_learned: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = field(default=())


@dataclass(frozen=True)
class Week:
    """One week held back: what came, what was forecast (low, middle, high), what the last four weeks would say."""

    begins: dt.date
    came: float
    forecast: tuple[float, float, float]
    naive: tuple[float, float, float]


@dataclass(frozen=True)
class Scored:
    """One series of weeks: kilograms harvested, people who came."""

    key: str
    label: str
    unit: str
    weeks: tuple[Week, ...]

    @property
    def inside(self) -> int:
        """Weeks within the forecast range."""
        return sum(week.forecast[0] <= week.came <= week.forecast[2] for week in self.weeks)

    @property
    def naive_inside(self) -> int:
        """Weeks within the range of the last four."""
        return sum(week.naive[0] <= week.came <= week.naive[2] for week in self.weeks)

    @property
    def loss(self) -> float:
        """Mean pinball loss of the forecast, in the unit of the series."""
        return float(np.mean([pinball(week.came, week.forecast) for week in self.weeks]))

    @property
    def naive_loss(self) -> float:
        """Mean pinball loss of 'the same as the last four weeks'."""
        return float(np.mean([pinball(week.came, week.naive) for week in self.weeks]))


@dataclass(frozen=True)
class ForecastCheck:
    """How well the last weeks were forecast. known_until: the last day that was used. lots: sowings on the shelves."""

    known_until: dt.date
    series: tuple[Scored, ...]
    seed: int
    replications: int
    lots: int


def pinball(came: float, quantiles: Sequence[float]) -> float:
    """Pinball loss of three quantiles (10, 50, 90 %), their mean: what a forecast too low or too high costs."""
    return float(
        np.mean([max(q * (came - x), (q - 1) * (came - x)) for q, x in zip(QUANTILES, quantiles, strict=True)])
    )
