"""What the steps read from a room file as written, whose it is, and how a field's value stands in its boxes."""

from __future__ import annotations

import datetime as dt
import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from growsim.scenario.asked import Count, value_of, whose_at
from growsim.scenario.origin import YOURS
from growsim.scenario.record.cells import DateOrder, UnreadableError, read_date
from growsim.scenario.understood import UNTIL
from growsim.web.forms.other_units import as_typed, number_in, sides_in
from growsim.web.walk.steps import MOST_CROPS, STEPS, Field, Path, Step

Tables = dict[str, Any]


def listed(written: Mapping[str, Any], at: Path) -> list[Tables]:
    """The tables of a list; [] where there are none."""
    found = value_of(written, at)
    return [each for each in found if isinstance(each, dict)] if isinstance(found, list) else []


def promises_of(written: Mapping[str, Any]) -> list[tuple[Tables, Tables]]:
    """Every order with its partner, in the order of the file."""
    return [(partner, order) for partner in listed(written, ("partners",)) for order in listed(partner, ("orders",))]


def fits(step: Step, written: Mapping[str, Any]) -> bool:
    """Whether the page can show all that the file says of its matter; else the full forms must."""
    if step.name == "racks":
        racks = listed(written, ("racks",))
        shelves = listed(written, ("racks", 0, "shelves"))
        return (
            len(racks) == 1
            and "names" not in racks[0]
            and len(shelves) == 1
            and not shelves[0].keys() & {"trays", "slot_length_cm", "slot_width_cm", "stages"}
        )
    if step.name == "crops":
        crops, sowing = listed(written, ("crops",)), listed(written, ("sowing",))
        names = [each.get("name") for each in crops]
        return (
            len(crops) <= MOST_CROPS
            and all(isinstance(each.get("like"), str) and isinstance(each.get("name"), str) for each in crops)
            and len(set(names)) == len(names)
            and all(isinstance(each.get("crop"), str) for each in sowing)
        )
    if step.name == "shifts":
        shifts = listed(written, ("crew", "shifts"))
        return len(shifts) <= most_rows(step) and not any(
            {"names", "count", "people_by_month"} & set(s) for s in shifts
        )
    if step.name == "promises":
        partners = listed(written, ("partners",))
        return len(promises_of(written)) <= most_rows(step) and not any({"names", "count"} & set(p) for p in partners)
    if step.name == "place":  # heat told in figures, not by how the walls are made and a city
        room = value_of(written, ("room",))
        told = {"outdoor_temperature_c", "outdoor_january_c", "outdoor_july_c", "heat_loss_w_per_k"}
        return isinstance(room, dict) and not told & set(room)
    return True


def most_rows(step: Step) -> int:
    """How many rows a step can show."""
    return step.rows.most if step.rows else 0


def all_fit(written: Mapping[str, Any]) -> bool:
    """Whether every step can show the room."""
    return all(fits(step, written) for step in STEPS)


def place_of(step: Step, field: Field, written: Mapping[str, Any]) -> Path | None:
    """Where the file has a field; None for a row that is empty."""
    if field.row is None or step.rows is None:
        return field.at
    key, row = str(field.at[0]), field.row
    if step.rows.of == "shifts":
        return ("crew", "shifts", row, key) if row < len(listed(written, ("crew", "shifts"))) else None
    places = [
        (partner, order)
        for partner, each in enumerate(listed(written, ("partners",)))
        for order in range(len(listed(each, ("orders",))))
    ]
    if row >= len(places):
        return None
    partner, order = places[row]
    of_partner = ("partners", partner)
    return (*of_partner, key) if key in ("name", "weekday") else (*of_partner, "orders", order, key)


def read(step: Step, field: Field, written: Mapping[str, Any]) -> Any:
    """What the file says of a field; None where it says nothing."""
    if field.kind == "crops":
        return [each.get("like") for each in listed(written, ("crops",))]
    at = place_of(step, field, written)
    value = value_of(written, at) if at is not None else None
    return value[0] if field.kind == "choice" and isinstance(value, list) and value else value


def in_box(field: Field, value: Any) -> list[str]:
    """A value as its boxes show it."""
    if value is None:
        return [""]
    if field.kind == "crops":
        return [str(each) for each in value]
    if field.kind == "days":
        return ["\n".join(str(each) for each in value) if isinstance(value, list) else str(value)]
    if field.kind == "yes or no":
        return ["yes" if value else "no"]
    if field.at[-1] == "start_hour" and isinstance(value, float) and (60 * value).is_integer() and value % 1:
        return [f"{int(value)}:{int(60 * value) % 60:02d}"]
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return [as_typed(value, field.unit)]
    return [str(value)]


def from_box(field: Field, texts: Sequence[str], order: DateOrder | None = None) -> Any:
    """What stands in the boxes, as the file would hold it; None for nothing. order: of day and month in 3/4/2031."""
    if field.kind == "crops":
        return [text for text in texts if text]
    text = next(iter(texts), "").strip()
    if field.kind == "days":
        return [_days(line, order) for line in re.split(r"[\n;]", text) if line.strip()]
    if not text:
        return None
    if field.kind == "yes or no":
        return text == "yes"
    if field.kind == "day":
        return _day(text, order)
    if field.kind not in ("number", "whole number"):
        return text
    if field.unit == "m²" and (sides := sides_in(text)) is not None:
        return sides
    number = number_in(text, field.unit)
    return int(number) if field.kind == "whole number" and isinstance(number, float) and number.is_integer() else number


def _days(text: str, order: DateOrder | None) -> dt.date | str:
    ends = [_day(each, order) for each in UNTIL.split(text.strip())]
    return ends[0] if len(ends) == 1 else " to ".join(str(each) for each in ends)


def _day(text: str, order: DateOrder | None) -> dt.date | str:
    try:
        read = read_date(text)
        return read.date(order if read.is_ambiguous else None)
    except UnreadableError:
        return text.strip()


def whose(step: Step, field: Field, written: Mapping[str, Any]) -> str:
    """yours, usual or invented; '' for a row that is empty."""
    at = place_of(step, field, written)
    return (whose_at(written, at) or "") if at is not None else ""


def as_written(content: bytes) -> dict[str, Any]:
    """The tables of a room file as they stand in it; {} where it is no TOML."""
    try:
        return tomllib.loads(content.decode("utf-8").removeprefix("\ufeff"))
    except (ValueError, RecursionError):
        return {}


def count_of_step(step: Step, written: Mapping[str, Any]) -> Count:
    """How many answers of a step are yours; rows that stand empty are not counted, a partner of two orders once."""
    places = dict.fromkeys(at for field in step.inputs() if (at := place_of(step, field, written)) is not None)
    marks = [mark for at in places if (mark := whose_at(written, at))]
    return Count(marks.count(YOURS), len(marks))
