"""A replication with an eye on every delivery: what each standing order got, what was left of each crop.

The outcome is that of `replicate`, with more weekly series (kg; i numbers `standing_orders` from 0):

    kg_given:<crop>      of the crop, handed out to anybody in the week
    kg_left:<crop>       of it, what went to open distribution
    order_asked:<i>      what the order asked for
    order_given:<i>      what it got; with 'any', of whatever crop

`deliver_by_day` has, instead, for each of the last seven days, what each order asked for and got, asked_by_day:<i> and
given_by_day:<i>, and of each crop the plants that came due for harvest, ripe_by_day:<crop>.

This module is sent to workers; it must stay light.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from growsim.ledger.events import Found, HandedOut, OrderServed, Sown, TaskDue
from growsim.ledger.measures import measure
from growsim.run.replicate import trace
from growsim.scenario.orders import StandingOrder, standing_orders
from growsim.units import MINUTES_PER_DAY, MINUTES_PER_WEEK

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.ledger.outcome import Outcome
    from growsim.run.prepare import Prepared
    from growsim.scenario.plan import RunPlan
    from growsim.scenario.scenario import Scenario


def deliver(prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Replication `i` and its deliveries. Same numbers as `replicate`. Raises ValueError for a negative `i`."""
    book = trace(prepared, seed, i, plan)
    outcome = measure(book, prepared.scenario, plan, replication=i)
    return replace(outcome, weeks={**outcome.weeks, **deliveries(book, prepared.scenario, plan.days // 7)})


def deliver_by_day(prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Replication `i` and its deliveries on the last seven days. Raises ValueError for a negative `i`."""
    book = trace(prepared, seed, i, plan)
    outcome = measure(book, prepared.scenario, plan, replication=i)
    return replace(outcome, weeks={**outcome.weeks, **last_days(book, prepared.scenario, plan.days)})


def last_days(book: Book, scenario: Scenario, days: int) -> dict[str, tuple[float, ...]]:
    """Seven values for each series of `deliver_by_day`, from a complete log book."""
    orders = {order: number for number, order in enumerate(standing_orders(scenario))}
    asked, given = ([[0] * 7 for _ in orders] for _ in range(2))
    for served in book.of(OrderServed):
        day = served.minute // MINUTES_PER_DAY - (days - 7)
        if 0 <= day < 7:
            number = orders[StandingOrder(served.partner, served.crop)]
            asked[number][day] += served.grams_ordered
            given[number][day] += served.grams_given
    told = (("asked", asked), ("given", given))
    return {
        f"{what}_by_day:{number}": tuple(grams / 1000.0 for grams in series)
        for what, all_series in told
        for number, series in enumerate(all_series)
    } | _ripe(book, scenario, days)


def _ripe(book: Book, scenario: Scenario, days: int) -> dict[str, tuple[float, ...]]:
    crop_of = {sown.lot: sown.crop for sown in book.of(Sown)} | {found.lot: found.crop for found in book.of(Found)}
    ripe = {crop.name: [0.0] * 7 for crop in scenario.crops}
    for due in book.of(TaskDue):
        day = due.minute // MINUTES_PER_DAY - (days - 7)
        if due.task == "harvest" and 0 <= day < 7:
            ripe[crop_of[due.about.rpartition(" #")[0]]][day] += due.units
    return {f"ripe_by_day:{name}": tuple(series) for name, series in ripe.items()}


def deliveries(book: Book, scenario: Scenario, weeks: int) -> dict[str, tuple[float, ...]]:
    """The series this module adds, from a complete log book."""
    orders = {order: number for number, order in enumerate(standing_orders(scenario))}
    grams: dict[str, list[int]] = {}
    for crop in scenario.crops:
        grams[f"kg_given:{crop.name}"] = [0] * weeks
        grams[f"kg_left:{crop.name}"] = [0] * weeks
    for number in orders.values():
        grams[f"order_asked:{number}"] = [0] * weeks
        grams[f"order_given:{number}"] = [0] * weeks
    for given in book.of(HandedOut):
        week = given.minute // MINUTES_PER_WEEK
        if 0 <= week < weeks:
            grams[f"kg_given:{given.crop}"][week] += given.grams
            if not given.partner:
                grams[f"kg_left:{given.crop}"][week] += given.grams
    for served in book.of(OrderServed):
        week = served.minute // MINUTES_PER_WEEK
        if 0 <= week < weeks:
            number = orders[StandingOrder(served.partner, served.crop)]
            grams[f"order_asked:{number}"][week] += served.grams_ordered
            grams[f"order_given:{number}"][week] += served.grams_given
    return {name: tuple(amount / 1000.0 for amount in series) for name, series in grams.items()}
