"""The least share of vegetable seed that must germinate for sale, by kind: a default where there is no own count.

Sources: the federal table, 7 CFR 201.31 as of 59 FR 64491 (14 December 1994), read at law.lawstack.com; the rule was
revised at 85 FR 40571 (7 July 2020), and the table of that revision was not readable, so look it up before you rely on
a figure by law. Kinds the federal table does not name: N.H. Admin. Code Agr 2203.01. Good seed does better than its
legal minimum; your own count in your own room is the better figure.
"""

from __future__ import annotations

from dataclasses import dataclass

FEDERAL = "7 CFR 201.31 (59 FR 64491, 1994)"
STATE = "N.H. Admin. Code Agr 2203.01"

_FEDERAL_PERCENT = {
    "beet": 65,
    "celery": 55,
    "chinese cabbage": 75,
    "collards": 80,
    "endive": 70,
    "garden cress": 75,
    "india mustard": 75,
    "kale": 75,
    "lettuce": 80,
    "onion": 70,
    "pak-choi": 75,
    "parsley": 60,
    "radish": 75,
    "spinach": 60,
    "spinach mustard": 75,
    "swiss chard": 65,
    "turnip": 80,
    "water cress": 40,
}
_STATE_PERCENT = {"arugula": 60, "coriander": 70, "roquette": 60, "salad chervil": 65, "sweet basil": 70}
_STATE_PERCENT_OF_ANY_OTHER = 50


@dataclass(frozen=True)
class LegalMinimum:
    """A least germination (fraction of the seeds) and the rule that sets it."""

    germination_fraction: float
    source: str


def legal_minimum(kind: str) -> LegalMinimum:
    """The least germination of a kind of vegetable seed, by its name in the rule; 0.50 for what no rule names."""
    name = " ".join(kind.lower().split())
    if name in _FEDERAL_PERCENT:
        return LegalMinimum(_FEDERAL_PERCENT[name] / 100.0, FEDERAL)
    return LegalMinimum(_STATE_PERCENT.get(name, _STATE_PERCENT_OF_ANY_OTHER) / 100.0, STATE)
