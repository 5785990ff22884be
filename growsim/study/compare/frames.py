"""A comparison as tidy tables: one row a change and figure, one row a room and replication."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from growsim.ledger.catalogue import CATALOGUE

if TYPE_CHECKING:
    from growsim.study.compare.question import Comparison

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


def comparison_frame(comparison: Comparison) -> pd.DataFrame:
    """One row a change and figure. low and high hold all at once with 95 % confidence; empty with no range."""
    rows = [
        (
            changed.name,
            changed.title,
            key,
            CATALOGUE[key].label,
            CATALOGUE[key].unit,
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
    lived = [("today", comparison.outcomes), *((changed.name, changed.outcomes) for changed in comparison.changes)]
    rows = [
        {"room": name, "replication": outcome.replication, **outcome.measures}
        for name, outcomes in lived
        for outcome in outcomes
    ]
    return pd.DataFrame(rows, columns=["room", "replication", *CATALOGUE])
