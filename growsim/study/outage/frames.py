"""Answers of the outage study as tidy tables. The only pandas of this study."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from growsim.study.outage.clock import TimeLeft
    from growsim.study.outage.trials import LossByHours
    from growsim.study.outage.year import OutageYear, Worth
    from growsim.study.pay_back import Range

WORTH = [f"{figure}{end}" for figure in ("kg", "plants", "money") for end in ("", "_low", "_high")]


def protections_frame(year: OutageYear) -> pd.DataFrame:
    """One row a protection or pair: is it there, kilograms, plants and money a year, its price, and what is left."""
    rows: list[tuple[object, ...]] = [
        (
            each.protection.name,
            not each.protection.is_added,
            each.protection.setting,
            *_worth(each.worth),
            each.protection.cost_per_year,
            *_range(each.net),
            each.worth.years_alike,
            each.worth.years,
        )
        for each in year.protections
    ]
    rows += [
        (
            f"{pair.first.name} + {pair.second.name}",
            False,
            None,
            *_worth(pair.worth),
            _sum(pair.first.cost_per_year, pair.second.cost_per_year),
            *_range(pair.net),
            pair.worth.years_alike,
            pair.worth.years,
        )
        for pair in year.pairs
    ]
    columns = ["protection", "is_there", "setting", *WORTH, "price_per_year", "net", "net_low", "net_high"]
    return _numbers(pd.DataFrame(rows, columns=[*columns, "years_alike", "years"]), ("protection", "is_there"))


def machines_frame(year: OutageYear, plants_by_single_outages: Mapping[str, float]) -> pd.DataFrame:
    """One row a machine: times a year, hours each, kilograms, plants and money a year lost because it can fail."""
    rows = [
        (
            risk.machine,
            *_range(risk.failures),
            risk.hours_down,
            risk.years_with,
            risk.lost.years,
            *_worth(risk.lost),
            plants_by_single_outages.get(risk.machine),
        )
        for risk in year.machines
    ]
    columns = ["machine", "failures", "failures_low", "failures_high", "hours_down", "years_with", "years", *WORTH]
    return _numbers(pd.DataFrame(rows, columns=[*columns, "plants_by_single_outages"]), ("machine",))


def hours_frame(found: LossByHours) -> pd.DataFrame:
    """One row a single outage and stage ("" for all): plants standing, share of them lost; kilograms on the rows of all
    stages, over all hours of the day (start_hour empty)."""
    columns = [
        "machine", "where", "like_it", "month", "start_hour", "hours", "stage", "standing",
        "lost_share", "lost_share_low", "lost_share_high", "kg", "kg_low", "kg_high",
    ]  # fmt: skip
    nothing = (None, None, None)
    rows: list[tuple[object, ...]] = [
        (
            *(loss.strike.machine, loss.strike.where, loss.strike.like_it, loss.strike.month + 1),
            *(loss.start_hour, loss.hours, loss.stage, loss.standing),
            *_range(loss.lost_share),
            *nothing,
        )
        for loss in found.losses
    ]
    rows += [
        (
            *(loss.strike.machine, loss.strike.where, loss.strike.like_it, loss.strike.month + 1),
            *(None, loss.hours, "", None),
            *nothing,
            *_range(loss.kg),
        )
        for loss in found.kilograms
    ]
    return _numbers(pd.DataFrame(rows, columns=columns), ("machine", "where", "stage"))


def clock_frame(clock: Sequence[TimeLeft]) -> pd.DataFrame:
    """One row a machine, month (1 for January), crop and stage; hours, empty where not within a week."""
    spans = ("suffer", "first_die", "half_dead")
    rows = [
        (
            *(line.machine, line.month + 1, line.crop, line.stage),
            *(getattr(getattr(line, span), case) for span in spans for case in ("worst", "middle", "best")),
        )
        for line in clock
    ]
    ends = ("_hours_worst", "_hours_middle", "_hours_best")
    columns = ["machine", "month", "crop", "stage", *(f"{span}{end}" for span in spans for end in ends)]
    return _numbers(pd.DataFrame(rows, columns=columns), ("machine", "crop", "stage"))


def _worth(worth: Worth) -> tuple[float | None, ...]:
    return (*_range(worth.kg), *_range(worth.plants), *_range(worth.money))


def _range(found: Range | None) -> tuple[float | None, float | None, float | None]:
    return (None, None, None) if found is None else (found.mean, found.low, found.high)


def _sum(*prices: float | None) -> float | None:
    return None if None in prices else math.fsum(price for price in prices if price is not None)


def _numbers(frame: pd.DataFrame, texts: tuple[str, ...]) -> pd.DataFrame:
    return frame.astype({name: float for name in frame.columns if name not in texts})
