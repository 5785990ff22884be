"""How long a question is likely to take: by what it took here before, or else by a rough rule.

The rule, for a computer with nothing else to do: so many years to live through, each of a cost that grows with the
slots of the room (see tests/bench/MEASURED.md), and the time for pages and pictures. It tells "a moment" from "have a
coffee". What is told a planner is as many times that as other programs keep the computer busy.
"""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable, Mapping, Sequence

from growsim.scenario.scenario import Scenario
from growsim.vocabulary.questions import BY_NAME, PERIOD_DAYS, Work, Years
from growsim.web.runs.record import DONE, Run

SECONDS_A_SLOT_AND_YEAR = 0.0012
WEEK_DAYS = 7
Given = Mapping[str, Sequence[str]]
Span = tuple[dt.date, dt.date]


def _years_of_a_search_for_a_plan(scenario: Scenario) -> int:
    from growsim.study.sow.question import TRIAL_YEARS, years_expected  # the first page needs nothing of a search

    return years_expected(scenario, TRIAL_YEARS, 0)


# Years that looking for an answer takes, before the years of its row in the vocabulary.
_SEARCH: dict[str, Callable[[Scenario], int]] = {"sow": _years_of_a_search_for_a_plan}


def no_record() -> Span | None:
    """The days of a record where none is kept."""
    return None


def likely_seconds(
    name: str,
    scenario: Scenario,
    given: Given,
    earlier: Sequence[Run],
    workers: int = 2,
    record: Callable[[], Span | None] = no_record,
    times: float = 1.0,
) -> float:
    """Seconds it is likely to take. earlier: what was asked of this room before, newest first. record: gives the first
    and last day of the room's record, asked only where they are needed. times: as long as the rule says, see `busy`."""
    rule = _by_rule(name, scenario, given, workers, record)
    for run in earlier:
        if run.question == name and run.state == DONE and run.took_seconds:
            return rule * run.took_seconds / max(1.0, _by_rule(name, scenario, run.given, workers, record))
    return rule * times


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


def busy(workers: int = 2) -> float:
    """How many times as long work takes because other programs wait for the same processors; 1 where nobody tells."""
    try:
        waiting = os.getloadavg()[0]
    except (AttributeError, OSError):  # Windows
        return 1.0
    return max(1.0, (waiting + workers) / (os.cpu_count() or 1))


def funder_days(given: Given, record: Callable[[], Span | None], start: dt.date | None = None) -> int:
    """Days the funder's question is asked about: those of the record, from and until a day where these are said. start:
    the room's first day, from which on it is where neither a record nor a day is named."""
    if not _first(given, "records"):
        begin, end = _day(given, "from") or start, _day(given, "until")
        if begin is not None and end is not None:
            return max(WEEK_DAYS, (end - begin).days + 1)
        return PERIOD_DAYS.get(_first(given, "period"), PERIOD_DAYS["year"])
    since, until = _day(given, "from"), _day(given, "until")
    if since is None or until is None:
        kept = record()
        if kept is None:
            return PERIOD_DAYS["year"]
        since, until = since or kept[0], until or kept[1]
    return max(WEEK_DAYS, (until - since).days + 1)


def _by_rule(name: str, scenario: Scenario, given: Given, workers: int, record: Callable[[], Span | None]) -> float:
    slots = sum(group.total_slots for rack in scenario.racks for group in rack.shelves)
    days = (
        funder_days(given, record, scenario.room.start_date)
        if name == "funder"
        else _number(given, "days", scenario.rehearsal.days)
    )
    a_year = SECONDS_A_SLOT_AND_YEAR * slots * (days + scenario.rehearsal.warm_up_days) / 364
    question = BY_NAME[name]
    work, years = question.work or Work(), question.years or Years(what="", why="")
    many = _number(given, "replications", years.unless_said(None, scenario.rehearsal.replications))
    changes = max(1, len(given.get("changes", ()))) if "changes" in question.needs else 0
    each = work.each_given if work.given and any(given.get(work.given, ())) else work.each
    each += work.each_change * changes
    search = _SEARCH[name](scenario) if name in _SEARCH else 0
    return work.pages + (work.fixed + search + each * many) * a_year / max(1, workers)


def _first(given: Given, name: str) -> str:
    return next(iter(given.get(name, ())), "")


def _day(given: Given, name: str) -> dt.date | None:
    try:
        return dt.date.fromisoformat(_first(given, name).strip())
    except ValueError:
        return None


def _number(given: Given, name: str, otherwise: float) -> float:
    try:
        return min(1e6, max(1.0, float(given[name][0])))
    except (KeyError, IndexError, ValueError):
        return otherwise
