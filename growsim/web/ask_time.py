"""How long a question is likely to take: by what it took here before, or else by a rough rule.

The rule: so many years to live through, each of a cost that grows with the slots of the room (see Cost in
DEVELOPERS.md), and the time for pages and pictures. It is meant for "a moment" against "go and have a coffee".
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from growsim.spec.scenario import Scenario
from growsim.web.runs_record import DONE, Run

SECONDS_A_SLOT_AND_YEAR = 0.0018
_PAGES = {"outage": 15.0, "sow": 10.0, "sheet": 3.0, "promise": 5.0, "learn": 15.0, "replay": 3.0}
_USUAL_PAGES = 8.0
Given = Mapping[str, Sequence[str]]


def likely_seconds(name: str, scenario: Scenario, given: Given, earlier: Sequence[Run], workers: int = 2) -> float:
    """Seconds it is likely to take. earlier: what was asked of this room before, newest first."""
    rule = _by_rule(name, scenario, given, workers)
    for run in earlier:
        if run.question == name and run.state == DONE and run.took_seconds:
            return rule * run.took_seconds / max(1.0, _by_rule(name, scenario, run.given, workers))
    return rule


def in_words(seconds: float) -> str:
    """'less than half a minute', 'about 3 minutes', 'about 2 hours'."""
    if seconds < 30:
        return "less than half a minute"
    if seconds < 90:
        return "about a minute"
    if seconds < 3600:
        return f"about {round(seconds / 60)} minutes"
    hours = seconds / 3600
    return "about an hour" if hours < 1.5 else f"about {round(hours)} hours"


def _by_rule(name: str, scenario: Scenario, given: Given, workers: int) -> float:
    slots = sum(group.total_slots for rack in scenario.racks for group in rack.shelves)
    days = _number(given, "days", 364 if name == "funder" else scenario.rehearsal.days)
    a_year = SECONDS_A_SLOT_AND_YEAR * slots * (days + scenario.rehearsal.run_in_days) / 364
    many = _number(given, "replications", scenario.rehearsal.replications)
    changes = max(1, len(given.get("changes", ())))
    tenths = 12 * many if given.get("holds_back") else 0
    years = {
        "compare": (1 + 3 * changes) * many + tenths * (1 + changes),
        "crew": 160 + 6 * many,
        "outage": 2 * many if any(given.get("machine", ())) else 25 * many,
        "sow": 250 + 3 * many,
        "promise": many,
        "sheet": 10,
        "replay": workers,
        "learn": 5,
    }.get(name, many + tenths)
    return _PAGES.get(name, _USUAL_PAGES) + years * a_year / max(1, workers)


def _number(given: Given, name: str, otherwise: float) -> float:
    try:
        return min(1e6, max(1.0, float(given[name][0])))
    except (KeyError, IndexError, ValueError):
        return otherwise
