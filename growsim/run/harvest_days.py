"""A replication with an eye on how lots fare: sown on one weekday, harvested after how many days, at what weight.

The outcome is that of `replicate`, with more accounts. A lot is of the weekday and crop its sowing was planned for:

    lot cells:<weekday>:<crop>         cells sown
    lot harvested:<weekday>:<days>:<crop>    plants first harvested so many days after the planned day of
    sowing lot kg:<weekday>:<crop>            packed kilograms of all harvests of those lots

Only lots sown on day 0 or later and early enough to be harvested for the last time in the counted window count. This
module is sent to workers; it must stay light.
"""

from __future__ import annotations

import datetime as dt
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

from growsim.ledger.events import Harvested, Sown
from growsim.ledger.measures import measure
from growsim.run.replicate import trace
from growsim.vocabulary.days import WEEKDAYS

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.ledger.outcome import Outcome
    from growsim.run.prepare import Prepared
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.scenario import Scenario

LATE_DAYS = 21  # a lot may be this late and still count


def watch_lots(prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Replication `i` and how its lots fared. Same numbers as `replicate`. Raises ValueError for a negative `i`."""
    book = trace(prepared, seed, i, plan)
    outcome = measure(book, prepared.scenario, plan, replication=i)
    return replace(outcome, accounts={**outcome.accounts, **lots_fared(book, prepared.scenario, plan.days)})


def lots_fared(book: Book, scenario: Scenario, days: int) -> dict[str, float]:
    """The accounts this module adds, from a complete log book."""
    last_day = {
        crop.name: days - round(crop.typical_days + (crop.harvests - 1) * crop.regrowth_days) - LATE_DAYS
        for crop in scenario.crops
    }
    planned: dict[str, int] = {}
    found: dict[str, float] = defaultdict(float)
    for sown in book.of(Sown):
        day = (dt.date.fromisoformat(sown.lot[:10]) - scenario.room.start_date).days
        if 0 <= day < last_day[sown.crop]:
            planned[sown.lot] = day
            found[f"lot cells:{_weekday(scenario, day)}:{sown.crop}"] += sown.cells
    for cut in book.of(Harvested):
        if cut.lot in planned:
            day = planned[cut.lot]
            weekday = _weekday(scenario, day)
            found[f"lot kg:{weekday}:{cut.crop}"] += cut.grams / 1000.0
            if cut.number == 1:
                found[f"lot harvested:{weekday}:{cut.minute // 1440 - day}:{cut.crop}"] += cut.plants
    return dict(found)


def _weekday(scenario: Scenario, day: int) -> str:
    return WEEKDAYS[(scenario.room.start_date.weekday() + day) % 7]
