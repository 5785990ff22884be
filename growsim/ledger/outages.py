"""Spells of machines being down, pieced together from the book."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from growsim.ledger.events import Noticed, Repaired, WentDown
from growsim.ledger.outcome import Outage

if TYPE_CHECKING:
    from growsim.ledger.book import Book

_ABOUT_MACHINES: Final = frozenset((WentDown, Noticed, Repaired))


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
