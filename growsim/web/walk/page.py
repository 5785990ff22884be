"""A step as a page: its fields as the file has them, or as they were typed, each with its mark and its faults."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlencode

from growsim.errors import Fault
from growsim.report.words import long_date, upper_first
from growsim.scenario.asked import value_of
from growsim.scenario.checks.closings import closings
from growsim.scenario.names import ANY_CROP
from growsim.scenario.quantities import sides_of
from growsim.scenario.reading import dotted
from growsim.scenario.scenario import Scenario
from growsim.scenario.size import sown_for
from growsim.units import amount, system, unit
from growsim.vocabulary.days import NAME_OF_WEEKDAY
from growsim.web.forms.field import BESIDE
from growsim.web.forms.other_units import is_read, named
from growsim.web.walk.reading import fits, in_box, listed, place_of, read, whose
from growsim.web.walk.steps import STEPS, Field, Options, Step

_DATE = re.compile(r"\b\d{4}-\d{2}-\d{2}\b")
_DAY = re.compile(r"(?<=on )(?:mon|tue|wed|thu|fri|sat|sun)\b|\b(?:mon|tue|wed|thu|fri)\b|(?<=, )(?:sat|sun)\b")
_BOTH = re.compile(r"(?:from|above|between|below) [^()]*\([^();]+; ([^()]+)\)")  # in the file's unit; in the reader's
MISSING, MOST_TOLD = "is missing", 4
Typed = Mapping[str, Sequence[str]]


@dataclass(frozen=True)
class Shown:
    """One field on the page. was: what the file has, in one text; mark: usual or invented, '' for your own. notes: what
    is possible there but surely not meant. sum: what is reckoned from it."""

    field: Field
    texts: tuple[str, ...]
    was: str
    mark: str
    choices: Options
    unit: str
    beside: str
    faults: tuple[str, ...]
    notes: tuple[str, ...] = ()
    sum: str = ""

    @property
    def text(self) -> str:
        """What stands in its box."""
        return next(iter(self.texts), "")

    @property
    def anchor(self) -> str:
        """Its place in the page."""
        return f"f-{self.field.name}"


def flat(texts: Sequence[str]) -> str:
    """What boxes hold, in one line; the order of ticks and lines, and spaces around, do not count."""
    pieces = [piece.strip() for text in texts for piece in re.split(r"[\r\n;]+", text)]
    return "; ".join(sorted(piece for piece in pieces if piece))


def shown_fields(
    step: Step,
    written: Mapping[str, Any],
    faults: Sequence[Fault] = (),
    typed: Typed | None = None,
    warnings: Sequence[Fault] = (),
    room: Scenario | None = None,
) -> list[Shown]:
    """The fields of a step. faults, warnings: of the file as it would be; typed: what a person has put into some of the
    boxes."""
    found = []
    for field in step.inputs():
        texts = in_box(field, read(step, field, written))
        was = flat(texts)
        given = list(typed[field.name]) if typed is not None and field.name in typed else texts
        mark = whose(step, field, written) if flat(given) == was else ""
        currency = str(value_of(written, ("prices", "currency")) or "USD")
        at = place_of(step, field, written)
        places = [] if at is None else [at]
        own, notes = (
            tuple(dict.fromkeys(said_of(each, field.unit) for each in told if is_at(each, written, places)))
            for told in (faults, warnings)
        )
        asks = {"unit": field.unit, "currency": currency, "system": system()}
        found.append(
            Shown(
                field,
                tuple(given),
                was,
                "" if mark == "yours" else mark,
                _choices(field, written, given),
                named(unit(field.unit), currency) if field.unit and sides_of(next(iter(given), "")) is None else "",
                f"{BESIDE}?{urlencode(asks)}" if is_read(field.unit) else "",
                own,
                notes,
                _reckoned(field, room) if typed is None or field.name not in typed else "",
            )
        )
    return found


def _choices(field: Field, written: Mapping[str, Any], given: Sequence[str]) -> Options:
    choices = field.choices
    if field.kind == "a crop":
        names = [str(each.get("name")) for each in listed(written, ("crops",))]
        choices = ((ANY_CROP, "any crop"), *((name, name) for name in names))
    if not choices or field.kind == "crops":
        return choices
    known = {value for value, _ in choices}
    present = tuple((text, text or "not said") for text in given if text not in known)
    return (*present, *choices)


def is_at(fault: Fault, written: Mapping[str, Any], places: Sequence[tuple[str | int, ...]]) -> bool:
    """Whether a fault is of one of those places of the file; of all racks that are alike, the first has it."""
    rack = str(value_of(written, ("racks", 0, "name")))
    key = re.sub(rf"^racks\.{re.escape(rack)} \d+\.", f"racks.{rack}.", fault.key)
    return any(f"{key}.".startswith(f"{dotted(dict(written), at)}.") for at in places)


def said_of(fault: Fault, unit_of: str = "") -> str:
    """A fault in words, beside its field: no file and no key, and amounts in the reader's. unit_of: the file's unit."""
    if fault.problem == MISSING:
        return "Fill this in."
    problem, remedy = fault.problem, fault.remedy
    if unit_of and unit(unit_of) != unit_of:
        own = rf"^is (-?[\d.]+(?:e[+-]?\d+)?)(?: {re.escape(unit_of)})?(?=,)"  # what is told in the reader's stays
        problem = re.sub(own, lambda found: f"is {amount(float(found[1]), unit_of):.4g} {unit(unit_of)}", problem)
        remedy = _BOTH.sub(r"\1", remedy)
    said = f"{upper_first(problem)}; {remedy}."
    said = _DATE.sub(lambda found: long_date(dt.date.fromisoformat(found[0])), said)
    return _DAY.sub(lambda found: NAME_OF_WEEKDAY[found[0]], said)


def step_of(fault: Fault, written: Mapping[str, Any]) -> Step | None:
    """The step that asks for what a fault is about."""
    for step in STEPS:
        if not fits(step, written):
            continue
        places = [at for field in step.inputs() if (at := place_of(step, field, written)) is not None]
        if is_at(fault, written, places):
            return step
    return None


def _reckoned(field: Field, scenario: Scenario | None) -> str:
    """What is calculated for a field, on paper; "" where nothing is."""
    if scenario is None:
        return ""
    if field.name == "slots":
        return _side_by_side(scenario)
    if field.name == "closed":
        return _closed(scenario)
    return _promise(scenario, field.row) if field.row is not None and field.name.endswith("-kg") else ""


def _closed(scenario: Scenario) -> str:
    times = closings(scenario)
    told = [long_date(first) + (f" to {long_date(last)}" if last > first else "") for first, last in times[:MOST_TOLD]]
    more = f" and {len(times) - MOST_TOLD} times more" if len(times) > MOST_TOLD else ""
    return f"Closed on {', '.join(told)}{more}." if told else ""


def _side_by_side(scenario: Scenario) -> str:
    shelf = scenario.racks[0].shelves[-1]
    side = min(shelf.slot_length_cm, shelf.slot_width_cm)
    size = f"{amount(shelf.slot_length_cm, 'cm'):.0f} × {amount(shelf.slot_width_cm, 'cm'):.0f} {unit('cm')}"
    long = f"{amount(side * shelf.slots, 'cm'):.0f} {unit('cm')}"
    return f"A tray is {size}: {shelf.slots} side by side are {long} of shelf."


def _promise(scenario: Scenario, row: int) -> str:
    orders = [(partner, order) for partner in scenario.partners for order in partner.orders]
    if row >= len(orders):
        return ""
    _, order = orders[row]
    crops = [crop for crop in scenario.crops if order.crop in (crop.name, ANY_CROP)]
    said = "; or ".join(sown_for(scenario, crop, order.kg) for crop in crops)
    return f"{said}." if said else ""
