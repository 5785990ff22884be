"""A replication with an eye on outages: what stood where, what drought, heat or cold killed in which stage, and when.

The outcome is that of `replicate`, with outages of the warm-up among its outages (at negative minutes), and with more
accounts:

    plants:lost:<cause>:<stage>        to what an outage can cause, in the counted window
    plants:standing:<rack>:<stage>     living plants when the window ends; no seeds, no extra seedlings

This module is sent to workers; it must stay light.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING

from growsim.ledger.events import Germinated, Lost, Sown
from growsim.ledger.measures import measure, outages_of
from growsim.run.replicate import trace
from growsim.units import MINUTES_PER_DAY
from growsim.vocabulary.losses import LOSSES, THINNED

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.ledger.outcome import Outcome
    from growsim.run.prepare import Prepared
    from growsim.scenario.plan import RunPlan

BY_OUTAGE = tuple(loss.key for loss in LOSSES if loss.limit == "machines")
"""Fates that machines down lead to."""


def live_through(prepared: Prepared, seed: int, i: int, plan: RunPlan) -> Outcome:
    """Replication `i` and its aftermath. Same numbers as `replicate`. Raises ValueError for a negative `i`."""
    book = trace(prepared, seed, i, plan)
    outcome = measure(book, prepared.scenario, plan, replication=i)
    outages = outages_of(book, plan.days * MINUTES_PER_DAY, book.begin_minute)
    return replace(outcome, accounts={**outcome.accounts, **aftermath(book)}, outages=outages)


def aftermath(book: Book) -> dict[str, float]:
    """The accounts this module adds, from a complete log book."""
    found: Counter[str] = Counter()
    for lost in book.of(Lost):
        if lost.cause in BY_OUTAGE and lost.minute >= 0:
            found[f"plants:lost:{lost.cause}:{lost.stage}"] += lost.plants
    for rack, stage, plants in _standing(book):
        found[f"plants:standing:{rack}:{stage}"] += plants
    return {name: float(number) for name, number in found.items()}


def killed(outcome: Outcome, stage: str = "") -> float:
    """Plants killed by drought, heat or cold in the counted time, of whatever sowing; in one stage or all."""
    marks = tuple(f"plants:lost:{cause}:{stage}" for cause in BY_OUTAGE)
    return math.fsum(
        number
        for account, number in outcome.accounts.items()
        if (account in marks if stage else account.startswith(marks))
    )


def _standing(book: Book) -> list[tuple[str, str, int]]:
    """(rack, stage, living plants) of every part on the shelves at the end."""
    not_up = {(sown.lot, sown.part) for sown in book.of(Sown)} - {(up.lot, up.part) for up in book.of(Germinated)}
    extra: Counter[tuple[str, int]] = Counter()
    for up in book.of(Germinated):
        extra[up.lot, up.part] += up.extra_seedlings
    for lost in book.of(Lost):
        if lost.cause == THINNED.key:
            extra[lost.lot, lost.part] -= lost.plants
    return [
        (stood.rack, stood.stage, stood.plants - extra[stood.lot, stood.part])
        for stood in book.standing
        if (stood.lot, stood.part) not in not_up
    ]
