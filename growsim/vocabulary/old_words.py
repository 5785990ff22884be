"""Words that files said before and say no more. None is read as what it meant: the sentence tells what to write."""

from __future__ import annotations

from typing import Final

from growsim.vocabulary.machines import LEAK

_TASKS: Final[dict[str, str]] = {"cut": "harvest", "move": "transplant", "renew tub": "change solution"}
OLD_WORDS: Final[dict[str, dict[str, str]]] = {
    # keys of a room file or CHANGE file, by the table they stood in
    "": {"tubs": "reservoirs"},
    "racks": {"tub": "reservoir"},
    "crops": {"cuts": "harvests", "cut_from_mass_fraction": "harvest_from_mass_fraction"},
    "reservoirs": {"renew_every_weeks": "change_every_weeks"},
    "climate": {"lights_cut_out_above_c": "lights_off_above_c"},
    "power": {"cuts_per_year": "outages_per_year", "cut_hours": "outage_hours"},
    "crew": {"visits": "walk_throughs"},
    "harvest": {"cutting_weekdays": "weekdays"},
    "prices": {"wash_litres_per_tray": "wash_liters_per_tray"},
    "rehearsal": {"run_in_days": "warm_up_days"},
    # what such a key could be set to
    "crew.tasks.name": _TASKS,
    "outages.machine": {"tub leak": LEAK.key},
    "protections.name": {"daily look-in": "daily walk-through"},
    # a shelves file: columns and stages
    "shelves file": {"cuts": "harvests"},
    "shelves file, stage": {"cold store": "cooler"},
    # a record: its tables, their columns, kinds of work
    "record": {"trays": "plantings", "visits": "attendance"},
    "plantings": {
        "moved": "transplanted",
        "moved_again": "transplanted_again",
        "cut": "harvested",
        "cut_number": "harvest_number",
        "plants_cut": "plants_harvested",
    },
    "work, task": _TASKS,
}
"""Where it stood -> old word -> the word of today."""


def is_now(where: str, word: str) -> str | None:
    """The word of today for an old one; None for a word that is none."""
    return OLD_WORDS.get(where, {}).get(word)
