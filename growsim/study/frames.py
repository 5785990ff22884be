"""Answers of studies as tidy tables: one row a change and figure, or one row a thing there could be more of."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from growsim.ledger.catalogue import CATALOGUE

if TYPE_CHECKING:
    from growsim.study.compare import Comparison
    from growsim.study.holds_back import HoldsBack

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
TENTH_COLUMNS = ["more_of", "key", "share_added", "kg_per_week", "low", "high", "kg_to_partners_per_week", "is_more"]


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


def tenths_frame(holds_back: HoldsBack) -> pd.DataFrame:
    """One row a thing of which there is a tenth more; kilograms a week, ranges as in the ranking."""
    rows = [
        (
            gain.what,
            gain.key,
            gain.share_added,
            gain.gain.mean,
            gain.gain.low,
            gain.gain.high,
            gain.to_partners.mean,
            gain.is_more,
        )
        for gain in holds_back.gains
    ]
    return pd.DataFrame(rows, columns=TENTH_COLUMNS).astype({"low": float, "high": float})
