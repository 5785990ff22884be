"""What a comparison answers: today's room and each change, figure by figure; and its tidy tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Literal

from growsim.ledger.catalogue import CATALOGUE, unit_over
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Estimate
from growsim.scenario.load import LoadedRoom
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.alternatives import Alternative
from growsim.study.causes import Moved
from growsim.study.pay_back import PayBack
from growsim.study.tried import Held
from growsim.study.verdicts import HEADLINES, SharedLuck, Verdict

if TYPE_CHECKING:
    import pandas as pd

COMPARISON_COLUMNS = [
    "change",
    "title",
    "measure",
    "label",
    "unit",
    "today",
    "changed",
    "difference",
    "low",
    "high",
    "chance_better",
    "n",
    "verdict",
]
KG, ORDERS, HOURS, _ = HEADLINES
FOOD = (ORDERS, KG)  # what a change is judged by, in this order
LIKELY_LESS = 0.1  # of the years better, or fewer
COST_A_WEEK = "cost_per_week"
MAKE, LEAVE, WEIGH, OPEN = "make it", "leave it", "weigh it", "too close to call"


@dataclass(frozen=True)
class Changed:
    """One change and what it brings.

    estimates: of the changed room by itself, as a rehearsal of it gives them. verdicts: figure -> difference from today
    and what may be said of it. luck: headline -> what shared luck saves. moved: what it is lost over more and less.
    pay_back: where the change has a price.
    """

    alternative: Alternative
    outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    verdicts: dict[str, Verdict]
    luck: dict[str, SharedLuck]
    moved: tuple[Moved, ...] = ()
    pay_back: PayBack | None = None

    @property
    def name(self) -> str:
        """Short name: the CHANGE file's, without its ending."""
        return self.alternative.name

    @property
    def title(self) -> str:
        """What the change is called in answers."""
        return self.alternative.change.title

    @property
    def scenario(self) -> Scenario:
        """The changed room."""
        return self.alternative.scenario

    @property
    def undecided(self) -> tuple[str, ...]:
        """Headlines of which nothing may be said yet."""
        return tuple(key for key in HEADLINES if key in self.verdicts and not self.verdicts[key].is_decided)

    @property
    def judged(self) -> str:
        """Whether to make it, by orders and greens together: MAKE, LEAVE, WEIGH or OPEN. What one of them gains is
        weighed against the other even where that is not sure to be less, but was in nine years of ten."""
        found = [self.verdicts[key] for key in FOOD if key in self.verdicts]
        moved = [each.is_better for each in found if each.matters and each.says in ("more", "less")]
        if True in moved:
            return WEIGH if False in moved or any(_is_likely_less(each) for each in found) else MAKE
        if False in moved:
            return LEAVE
        if any(not each.is_decided for each in found):
            return OPEN
        spared = self.verdicts.get(HOURS), self.verdicts.get(COST_A_WEEK)
        return MAKE if any(each and each.matters and each.is_better for each in spared) else LEAVE


def _is_likely_less(found: Verdict) -> bool:
    return not found.is_decided and found.difference.mean < 0 and (found.difference.chance_better or 0.0) <= LIKELY_LESS


def by_gain(changes: Sequence[Changed]) -> list[Changed]:
    """The changes, what is worth making first, then by the orders they fill and the greens they bring."""
    ranks = (MAKE, WEIGH, OPEN, LEAVE)

    def gained(changed: Changed, key: str) -> float:
        return changed.verdicts[key].difference.mean if key in changed.verdicts else 0.0

    return sorted(changes, key=lambda each: (ranks.index(each.judged), *(-gained(each, key) for key in FOOD)))


@dataclass(frozen=True)
class Comparison:
    """Today's room and every change, after the same replications.

    estimates: of today's room, as a rehearsal of so many years gives them. Differences are plain means of pairs.
    too_small_percent: differences within so many percent of today's figure do not matter. rounds: replications after
    each round lived through; planned_rounds: as many rounds as there could have been. held: what would bring more, and
    held_with: after which change it was tried, None for today's room; None where it was not asked for. seconds is not
    part of what makes two comparisons equal.
    """

    room: LoadedRoom
    plan: RunPlan
    seed: int
    outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    changes: tuple[Changed, ...]
    too_small_percent: float
    rounds: tuple[int, ...]
    planned_rounds: tuple[int, ...]
    held: Held | None = None
    held_with: Changed | None = None
    seconds: float = field(default=0.0, compare=False)

    @property
    def scenario(self) -> Scenario:
        """Today's room."""
        return self.room.scenario

    @property
    def is_decided(self) -> bool:
        """Whether every headline of every change is."""
        return not any(changed.undecided for changed in self.changes)

    def with_change(self, changed: Changed, key: str) -> float:
        """A figure's average after a change, in its own unit: today's and the difference, so that they add up."""
        return self.estimates[key].mean + changed.verdicts[key].difference.mean

    def to_frame(self, what: Literal["differences", "replications"] = "differences") -> pd.DataFrame:
        """The comparison as a tidy table.

        "differences": one row a change and figure: change, title, measure, label, unit, today, changed, difference,
        low, high (all ranges hold at once with 95 % confidence), chance_better, n, verdict. "replications": one row a
        room and replication, one column a figure; rooms share their luck, so pair them by replication. Raises
        ValueError for any other table.
        """
        if what == "differences":
            return comparison_frame(self)
        if what == "replications":
            return replications_frame(self)
        raise ValueError(f"there is no table {what!r}; there are differences and replications")


def comparison_frame(comparison: Comparison) -> pd.DataFrame:
    """One row a change and figure. low and high hold all at once with 95 % confidence; empty with no range."""
    import pandas as pd

    rows = [
        (
            changed.name,
            changed.title,
            key,
            CATALOGUE[key].label,
            unit_over(CATALOGUE[key].unit, comparison.plan.days),
            comparison.estimates[key].mean,
            comparison.with_change(changed, key),
            verdict.difference.mean,
            verdict.difference.low,
            verdict.difference.high,
            verdict.difference.chance_better,
            verdict.difference.n,
            verdict.says,
        )
        for changed in comparison.changes
        for key, verdict in changed.verdicts.items()
    ]
    frame = pd.DataFrame(rows, columns=COMPARISON_COLUMNS)
    return frame.astype({"low": float, "high": float, "chance_better": float})


def replications_frame(comparison: Comparison) -> pd.DataFrame:
    """One row a room ("today" or a change) and replication, one column a figure of the catalogue."""
    import pandas as pd

    lived = [("today", comparison.outcomes), *((changed.name, changed.outcomes) for changed in comparison.changes)]
    rows = [
        {"room": name, "replication": outcome.replication, **outcome.measures}
        for name, outcomes in lived
        for outcome in outcomes
    ]
    return pd.DataFrame(rows, columns=["room", "replication", *CATALOGUE])
