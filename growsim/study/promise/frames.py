"""Promises as a tidy table: one row a week and crop, and one a delivery."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

if TYPE_CHECKING:
    from growsim.study.promise.question import Promises

PROMISE_COLUMNS = [
    "week",
    "week_from",
    "date",
    "crop",
    "partner",
    "safe_kg",
    "likely_kg",
    "possible_kg",
    "spare_safe_kg",
    "ordered_kg",
    "chance_met",
    "chance_low",
    "chance_high",
    "short_kg",
    "at_risk",
]
RESCUE_COLUMNS = ["action", "kind", "saves", "puts_at_risk", "met", "met_low", "met_high", "kg", "kg_low", "kg_high"]


def promise_frame(promises: Promises) -> pd.DataFrame:
    """Weeks from 1; partner "" for what there is of the crop, crop "" for everything together."""
    rows: list[tuple[object, ...]] = [
        (
            each.week + 1,
            each.starts.isoformat(),
            "",
            each.crop,
            "",
            each.there.safe,
            each.there.likely,
            each.there.possible,
            each.spare.safe,
            each.ordered,
            None,
            None,
            None,
            None,
            None,
        )
        for each in promises.crops
    ]
    starts = {each.week: each.starts.isoformat() for each in promises.crops}
    rows += [
        (
            each.week + 1,
            starts[each.week],
            each.date.isoformat(),
            each.crop,
            each.partner,
            each.gets.safe,
            each.gets.likely,
            each.gets.possible,
            None,
            each.ordered,
            each.chance.share,
            each.chance.low,
            each.chance.high,
            each.short,
            each.is_at_risk,
        )
        for each in promises.deliveries
    ]
    frame = pd.DataFrame(rows, columns=PROMISE_COLUMNS)
    numbers = ["spare_safe_kg", "chance_met", "chance_low", "chance_high", "short_kg"]
    return frame.astype(dict.fromkeys(numbers, float)).astype({"at_risk": "boolean"})


def rescue_frame(promises: Promises) -> pd.DataFrame:
    """One row an action (or several together), the best first."""
    rows = [
        (
            rescue.name,
            "+".join(action.kind for action in rescue.actions),
            len(rescue.saves),
            len(rescue.risks),
            rescue.met.mean,
            rescue.met.low,
            rescue.met.high,
            rescue.kg.mean,
            rescue.kg.low,
            rescue.kg.high,
        )
        for rescue in (*promises.together, *promises.rescues)
    ]
    return pd.DataFrame(rows, columns=RESCUE_COLUMNS)
