"""Tables of a comparison, ready to be shown: every cell is text with its unit."""

from __future__ import annotations

from typing import Any

from growsim import units
from growsim.ledger.catalogue import CATALOGUE
from growsim.report.tables import Table, shown
from growsim.report.words import as_difference, per_period, percent, rehearsals
from growsim.scenario.uncertain import Uncertain
from growsim.study.compare.answer import Changed, Comparison

SAYS = {"more": "more", "less": "less", "same": "no difference that matters", "none": "none", "open": "may be chance"}
MOST_CHANGED_KEYS = 60


def every_figure(changed: Changed, comparison: Comparison) -> Table:
    """Every figure of the catalogue: today, changed, difference with its range, how often it is better, verdict."""
    currency, days = comparison.scenario.prices.currency, comparison.plan.days
    rows = []
    for key, verdict in changed.verdicts.items():
        found, measure = verdict.difference, CATALOGUE[key]
        unit = per_period(units.unit(measure.unit), days)
        label = units.worded(measure.label)
        if unit not in ("fraction", "days"):
            label = f"{label} ({unit.replace('money', currency)})"
        rows.append(
            (
                label,
                shown(key, comparison.estimates[key].mean, currency),
                shown(key, comparison.with_change(changed, key), currency),
                as_difference(key, found.mean, currency),
                _range(key, found.low, found.high, currency),
                "–" if found.chance_better is None else percent(found.chance_better),
                SAYS[verdict.says] + (", small" if verdict.says in ("more", "less") and not verdict.matters else ""),
            )
        )
    return Table(
        f"Every figure: today and with {changed.title}",
        ("", "today", "changed", "difference", "range of the difference", "years it is better in", "verdict"),
        tuple(rows),
        f"From {rehearsals(len(changed.outcomes), days)} of each room. All ranges hold at once with 95% confidence.",
    )


def _range(key: str, low: float | None, high: float | None, currency: str) -> str:
    if low is None or high is None:
        return "–"
    if low == high == 0.0:
        return "exactly none"
    return f"{as_difference(key, low, currency)} to {as_difference(key, high, currency)}"


def what_it_changes(changed: Changed, comparison: Comparison) -> Table:
    """The CHANGE file against today's room: key, today, changed."""
    rows = list(_changed_keys(comparison.room.raw, changed.alternative.change.tables, ""))
    note = ""
    if len(rows) > MOST_CHANGED_KEYS:
        note = f"The first {MOST_CHANGED_KEYS} of {len(rows)} keys; the file itself has them all."
    return Table("What the file changes", ("key", "today", "changed to"), tuple(rows[:MOST_CHANGED_KEYS]), note)


def _changed_keys(old: Any, new: Any, where: str) -> list[tuple[str, str, str]]:
    if isinstance(new, dict) and not _is_figure(new):
        if new.get("remove") is True:
            return [(where, _text(old), "taken away")]
        before = old if isinstance(old, dict) else {}
        rows = []
        for key, value in new.items():
            if key not in ("name", "source") and not (key == "crop" and where.endswith(f".{value}")):
                rows += _changed_keys(before.get(key), value, f"{where}.{key}" if where else str(key))
        return rows
    if isinstance(new, list) and new and all(isinstance(entry, dict) for entry in new):
        rows = []
        for entry in new:
            name = str(entry.get("name", entry.get("crop", "")))
            same = [each for each in (old or []) if name in (each.get("name"), each.get("crop"))]
            here = f"{where}.{name}"
            if not same and entry.get("remove") is not True:
                rows.append((here, "–", "new"))
            else:
                rows += _changed_keys(same[0] if same else None, entry, here)
        return rows
    return [(where, _text(old), _text(new))] if old != new else []


def _is_figure(table: dict[str, Any]) -> bool:
    """Whether a table is one figure in doubt, such as { low = 1, likely = 2, high = 3 }."""
    return bool(table) and set(table) <= set(Uncertain.model_fields)


def _text(value: Any) -> str:
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, dict) and _is_figure(value):
        return ", ".join(f"{key} {_text(each)}" for key, each in value.items() if key != "source")
    if isinstance(value, dict):
        return "there"
    if isinstance(value, list):
        return ", ".join(_text(each) for each in value) if len(value) <= 12 else f"{len(value)} entries"
    return str(value)
