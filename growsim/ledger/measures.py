"""From the log book to figures: one pure reading of the book over the counted window [0, days).

Fates count the seeds *sown* in the window (a cohort), output and hours count what *happened* in it. Spells of machines
being down are pieced together from what the book says of them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from growsim.ledger import tallies
from growsim.ledger.accounts import accounts_of
from growsim.ledger.aftermath import aftermath
from growsim.ledger.events import Noticed, Repaired, WentDown
from growsim.ledger.outcome import Outage, Outcome
from growsim.ledger.weeks import weekly_series
from growsim.units import MINUTES_PER_DAY, MINUTES_PER_WEEK
from growsim.vocabulary.losses import DRIED_OUT, FATES
from growsim.vocabulary.obstacles import RESERVOIR_LOW, parts_of

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.scenario import Scenario

WEEKS_A_YEAR: Final = 365.25 / 7
_ABOUT_MACHINES: Final = frozenset((WentDown, Noticed, Repaired))


def measure(book: Book, scenario: Scenario, plan: RunPlan, replication: int) -> Outcome:
    """Everything the reports need of one replication. Raises AssertionError if seeds are unaccounted for: our fault."""
    end = plan.days * MINUTES_PER_DAY
    weeks = weekly_series(book, scenario, plan)
    fates = tallies.fates_of(book, end)
    accounts = accounts_of(book, scenario, end)
    values = _flows(weeks, plan)
    values.update(_fate_totals(fates))
    values.update(tallies.means_of(book, scenario, end))
    values.update(_ratios(weeks, accounts, plan))
    held_up = tallies.held_up(book, end)
    values["plants_dried_low_reservoir"] = sum(
        [
            plants
            for (_, what, why), plants in held_up.items()
            if what == DRIED_OUT.key and RESERVOIR_LOW in parts_of(why)
        ]
    )
    outages = outages_of(book, end, book.begin_minute)
    return Outcome(replication, values, weeks, fates, accounts, outages, held_up, aftermath(book))


def _flows(weeks: dict[str, tuple[float, ...]], plan: RunPlan) -> dict[str, float]:
    """Means over whole weeks of what happens every week; nothing where the window is shorter than a week."""
    named = {
        "plants_harvested_per_week": "plants_harvested",
        "kg_packed_per_week": "kg_packed",
        "kg_handed_out_per_week": "kg_handed_out",
        "kg_to_partners_per_week": "kg_to_partners",
        "kg_surplus_per_week": "kg_surplus",
        "kg_wasted_per_week": "kg_wasted",
        "servings_per_week": "servings",
        "crew_hours_worked_per_week": "crew_hours_worked",
        "crew_hours_needed_per_week": "crew_hours_needed",
        "crew_hours_present_per_week": "crew_hours_present",
        "volunteers_came_per_week": "volunteers_came",
        "kwh_per_week": "kwh",
    }
    if plan.days < MINUTES_PER_WEEK // MINUTES_PER_DAY:
        return {}
    return {key: _mean(weeks[series]) for key, series in named.items()}


def _mean(values: tuple[float, ...]) -> float:
    return math.fsum(values) / len(values)


def _fate_totals(fates: dict[tuple[str, str], int]) -> dict[str, float]:
    totals = {fate.key: 0 for fate in FATES}
    for (_, key), plants in fates.items():
        totals[key] += plants
    return {"seeds_sown": sum(totals.values()), **{fate.measure: totals[fate.key] for fate in FATES}}


def _ratios(weeks: dict[str, tuple[float, ...]], accounts: dict[str, float], plan: RunPlan) -> dict[str, float]:
    """Orders, costs and resources for each kilogram; a ratio to nothing does not exist."""
    found: dict[str, float] = {}
    counted_weeks = plan.days / 7.0
    ordered = math.fsum(weeks["kg_ordered"])
    if ordered > 0:
        found["orders_filled_fraction"] = min(1.0, math.fsum(weeks["kg_to_partners"]) / ordered)  # but for the last bit
        met = [met for met, kg in zip(weeks["orders_met"], weeks["kg_ordered"], strict=True) if kg > 0]
        found["weeks_all_orders_met_fraction"] = math.fsum(met) / len(met)
    kwh = math.fsum([amount for account, amount in accounts.items() if account.startswith("kwh:")])
    liters = math.fsum([amount for account, amount in accounts.items() if account.startswith("liters:")])
    money = math.fsum([amount for account, amount in accounts.items() if account.startswith("money:")])
    found["cost_per_week"] = money / counted_weeks
    found["volunteer_value_per_week"] = accounts["value:volunteers"] / counted_weeks
    kg = accounts["kg:handed out"]
    if kg > 0:
        found["kwh_per_kg"] = kwh / kg
        found["liters_per_kg"] = liters / kg
        found["cost_per_kg"] = money / kg
    cut = accounts["plants:harvested"]
    if cut > 0:
        found["cost_per_plant"] = money / cut
        found["grams_per_plant_mean"] = accounts["kg:packed"] * 1000.0 / cut
    done = math.fsum(weeks["tasks_done"])
    if done > 0:
        found["tasks_on_time_fraction"] = 1.0 - math.fsum(weeks["tasks_late"]) / done
    return found


def outages_of(book: Book, end: int, begin: int = 0) -> tuple[Outage, ...]:
    """Outages that began in [begin, end), in order; what lies beyond the end is None.

    Two pumps of one reservoir share a name here: the first to come back closes the earliest open spell.
    """
    open_spells: dict[tuple[str, str], list[list[int | None]]] = {}
    spells: list[tuple[str, str, list[int | None]]] = []
    for record in [record for record in book.besides_work() if type(record) in _ABOUT_MACHINES]:
        kind = type(record)
        if kind is WentDown:
            spell: list[int | None] = [record.minute, None, None]
            open_spells.setdefault((record.machine, record.where), []).append(spell)
            spells.append((record.machine, record.where, spell))
        elif kind is Noticed:
            for spell in open_spells.get((record.machine, record.where), []):
                if spell[1] is None:
                    spell[1] = record.minute
                    break
        elif kind is Repaired:
            waiting = open_spells.get((record.machine, record.where), [])
            if waiting:
                waiting.pop(0)[2] = record.minute
    return tuple(
        Outage(machine, where, began, noticed, repaired)
        for machine, where, (began, noticed, repaired) in spells
        if began is not None and begin <= began < end
    )
