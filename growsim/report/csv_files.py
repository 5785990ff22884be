"""A rehearsal's numbers as CSV files: one row an observation, units in the column names or a column of their own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import summaries
from growsim.run.writing import Cell, write_csv

if TYPE_CHECKING:
    from growsim.run.rehearse import Rehearsal

ACCOUNT_UNITS = {"kwh": "kWh", "liters": "L", "kg": "kg", "hours": "h"}


def write_tables(rehearsal: Rehearsal, folder: Path) -> None:
    """measures.csv, weeks.csv, week_summaries.csv, fates.csv, accounts.csv, outages.csv."""
    from growsim.run import results

    outcomes = rehearsal.outcomes
    results.write_frame(folder / "measures.csv", results.measures_frame(rehearsal.estimates, rehearsal.plan.days))
    results.write_frame(folder / "week_summaries.csv", results.week_summary_frame(outcomes).round(6))
    results.write_frame(folder / "fates.csv", results.fates_frame(outcomes))
    series = [name for name in summaries.series_under(outcomes, "") if ":" not in name]
    write_csv(folder / "weeks.csv", ["replication", "week", "week_from", *series], _weeks(rehearsal, series))
    write_csv(
        folder / "accounts.csv",
        ["replication", "account", "unit", "amount"],
        (
            (outcome.replication, name, _account_unit(name, rehearsal.scenario.prices.currency), round(amount, 6))
            for outcome in outcomes
            for name, amount in outcome.accounts.items()
        ),
    )
    write_csv(
        folder / "outages.csv",
        ["replication", "machine", "where", "down_minute", "noticed_minute", "repaired_minute"],
        (
            (outcome.replication, o.machine, o.where, o.down_minute, o.noticed_minute, o.repaired_minute)
            for outcome in outcomes
            for o in outcome.counted_outages
        ),
    )


def _weeks(rehearsal: Rehearsal, series: list[str]) -> Iterator[list[Cell]]:
    weeks = summaries.week_count(rehearsal.outcomes)
    starts = summaries.week_starts(rehearsal.scenario, weeks)
    for outcome in rehearsal.outcomes:
        for week in range(weeks):
            yield [
                outcome.replication,
                week + 1,
                starts[week].isoformat(),
                *(round(outcome.weeks[name][week], 6) if name in outcome.weeks else 0 for name in series),
            ]


def _account_unit(name: str, currency: str) -> str:
    kind = name.partition(":")[0]
    return currency if kind in ("money", "value") else ACCOUNT_UNITS.get(kind, kind)
