"""What machines that fail leave behind, from the log book: what drought, heat or cold killed in which stage, and what
stands where when the window ends. An Outcome has both as its `aftermath`:

    lost:<cause>:<stage>        plants, to what an outage can cause, in the counted window
    standing:<rack>:<stage>     living plants when the window ends; no seeds, no extra seedlings
"""

from __future__ import annotations

import math
from collections import Counter
from typing import TYPE_CHECKING

from growsim.ledger.events import Germinated, Lost, Sown
from growsim.vocabulary.losses import LOSSES, THINNED

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.ledger.outcome import Outcome

BY_OUTAGE = tuple(loss.key for loss in LOSSES if loss.limit == "machines")
"""Fates that machines down lead to."""


def aftermath(book: Book) -> dict[str, float]:
    """Of a complete log book."""
    found: Counter[str] = Counter()
    for lost in book.of(Lost):
        if lost.cause in BY_OUTAGE and lost.minute >= 0:
            found[f"lost:{lost.cause}:{lost.stage}"] += lost.plants
    for rack, stage, plants in _standing(book):
        found[f"standing:{rack}:{stage}"] += plants
    return {name: float(number) for name, number in found.items()}


def killed(outcome: Outcome, stage: str = "") -> float:
    """Plants killed by drought, heat or cold in the counted time, of whatever sowing; in one stage or all."""
    marks = tuple(f"lost:{cause}:{stage}" for cause in BY_OUTAGE)
    return math.fsum(
        number for name, number in outcome.aftermath.items() if (name in marks if stage else name.startswith(marks))
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
