"""What a CHANGE file says of itself: the table [change], which is not part of any room."""

from __future__ import annotations

from typing import Any

from pydantic import Field, ValidationError

from growsim.errors import Fault
from growsim.spec.base import Table, figure
from growsim.spec.reading import as_written
from growsim.spec.wording import sentences

TABLE = "change"

# What makes two rehearsals comparable, and so cannot differ between them: dotted key, what would be right.
_KEPT: tuple[tuple[str, str], ...] = (
    ("rehearsal", "say on the command line how long, how often and with which seed to rehearse"),
    ("room.start_date", "leave it out: both rooms are rehearsed over the same dates"),
    ("prices.currency", "leave it out: costs in two currencies cannot be compared"),
)


class ChangeAbout(Table):
    """What the change is called and what it costs to make. Running costs are not in the price: they are the room's."""

    name: str = Field(
        "",
        description="What the change is called in answers; the file's name where left out.",
        max_length=60,
        json_schema_extra={"unit": "", "example": "one more wide rack"},
    )
    price: float | None = figure(
        "What making the change costs once, all in; leave out where unknown.",
        "money",
        default=None,
        ge=0,
        le=1e9,
        example=1500,
    )
    note: str = Field("", description="Anything a reader should know; shown in the report.")


def about_of(tables: dict[str, Any], file: str) -> tuple[ChangeAbout, list[Fault]]:
    """The [change] table of a CHANGE file, checked, and every fault of it and of keys that no change may name."""
    faults = [
        Fault(file, key, "cannot differ between rooms that are compared", remedy)
        for key, remedy in _KEPT
        if _is_named(tables, key)
    ]
    given = tables.get(TABLE, {})
    if not isinstance(given, dict):
        problem = "is a list" if isinstance(given, list) else f"is {as_written(given)}"
        return ChangeAbout(), [*faults, Fault(file, TABLE, problem, "write it as one table, [change]")]
    try:
        return ChangeAbout.model_validate(given), faults
    except ValidationError as error:
        found = sentences(ChangeAbout, given, error.errors(include_url=False))
        return ChangeAbout(), faults + [
            Fault(file, f"{TABLE}.{key}" if key else TABLE, problem, remedy) for key, problem, remedy in found
        ]


def _is_named(tables: dict[str, Any], dotted: str) -> bool:
    here: Any = tables
    for key in dotted.split("."):
        if not isinstance(here, dict) or key not in here:
            return False
        here = here[key]
    return True
