"""Tidy tables: one row a figure, or one row a replication, week and series. The only pandas of this package."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from growsim.ledger.catalogue import CATALOGUE, unit_over
from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Estimate
from growsim.run.writing import csv_safe, write_text
from growsim.vocabulary.losses import fate_of

MEASURE_COLUMNS = ["measure", "label", "unit", "mean", "mean_low", "mean_high", "p10", "p50", "p90", "n", "of"]
WEEK_COLUMNS = ["replication", "week", "series", "value"]
WEEK_SUMMARY_COLUMNS = ["week", "series", "mean", "p10", "p50", "p90"]


def measures_frame(estimates: Mapping[str, Estimate], days: int) -> pd.DataFrame:
    """One row a figure of so many counted days, with its label and unit. An empty cell where an end of the range is not
    known: with one replication, or of what was not seen."""
    rows = [
        (
            key,
            CATALOGUE[key].label,
            unit_over(CATALOGUE[key].unit, days),
            found.mean,
            found.mean_low,
            found.mean_high,
            found.p10,
            found.p50,
            found.p90,
            found.n,
            found.of,
        )
        for key, found in estimates.items()
    ]
    frame = pd.DataFrame(rows, columns=MEASURE_COLUMNS)
    return frame.astype({"mean_low": float, "mean_high": float})


def weeks_frame(outcomes: Sequence[Outcome], series: Sequence[str] | None = None) -> pd.DataFrame:
    """One row a replication, week (the first is 1) and series; all series, or those named."""
    replications: list[int] = []
    lengths: list[int] = []
    names: list[str] = []
    values: list[tuple[float, ...]] = []
    for outcome in outcomes:
        for name, row in outcome.weeks.items():
            if series is None or name in series:
                replications.append(outcome.replication)
                lengths.append(len(row))
                names.append(name)
                values.append(row)
    return pd.DataFrame(
        {
            "replication": np.repeat(np.array(replications, dtype=int), lengths),
            "week": np.concatenate([np.arange(1, n + 1) for n in lengths] or [np.array([], dtype=int)]),
            "series": np.repeat(np.array(names, dtype=object), lengths),
            "value": np.concatenate([np.array(row, dtype=float) for row in values] or [np.array([], dtype=float)]),
        },
        columns=WEEK_COLUMNS,
    )


def week_summary_frame(outcomes: Sequence[Outcome], series: Sequence[str] | None = None) -> pd.DataFrame:
    """One row a week and series: mean and p10, p50, p90 over the replications that have the series."""
    rows: dict[str, list[tuple[float, ...]]] = {}
    for outcome in outcomes:
        for name, row in outcome.weeks.items():
            if series is None or name in series:
                rows.setdefault(name, []).append(row)
    parts = []
    for name, several in rows.items():
        table = np.array(several, dtype=float)
        p10, p50, p90 = np.quantile(table, [0.1, 0.5, 0.9], axis=0)
        parts.append(
            pd.DataFrame(
                {
                    "week": np.arange(1, table.shape[1] + 1),
                    "series": name,
                    "mean": table.mean(axis=0),
                    "p10": p10,
                    "p50": p50,
                    "p90": p90,
                }
            )
        )
    if not parts:
        return pd.DataFrame(columns=WEEK_SUMMARY_COLUMNS)
    return pd.concat(parts, ignore_index=True)[WEEK_SUMMARY_COLUMNS]


def fates_frame(outcomes: Sequence[Outcome]) -> pd.DataFrame:
    """One row a replication, crop and fate: what became of the seeds sown, in plants."""
    rows = [
        (outcome.replication, crop, fate, fate_of(fate).label, plants)
        for outcome in outcomes
        for (crop, fate), plants in outcome.fates.items()
    ]
    return pd.DataFrame(rows, columns=["replication", "crop", "fate", "label", "plants"])


def write_frame(path: Path, frame: pd.DataFrame) -> None:
    """A frame as CSV (UTF-8, comma, one header line), whole or not at all; no text in it can act as a formula."""
    safe = frame.rename(columns=csv_safe)
    for column in safe.columns:
        if not pd.api.types.is_numeric_dtype(safe[column]):
            safe[column] = [csv_safe(cell) if isinstance(cell, str) else cell for cell in safe[column]]
    write_text(path, safe.to_csv(index=False, lineterminator="\n"))
