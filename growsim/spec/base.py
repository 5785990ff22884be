"""The paper the drawing is made on: a frozen, checked table, and the figure helper that carries meaning and unit."""

from __future__ import annotations

from typing import Any

from pydantic import BaseModel, ConfigDict, Field


class Table(BaseModel):
    """One table of the room file. Frozen; an unknown key is a fault; no NaN, no infinity."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False, str_strip_whitespace=True)

    source: str = Field("", description="Where the figures of this table come from; 'invented' for made-up ones.")


def figure(
    meaning: str,
    unit: str = "",
    *,
    default: Any = ...,
    ge: float | None = None,
    gt: float | None = None,
    le: float | None = None,
    lt: float | None = None,
    example: Any = None,
) -> Any:
    """A field with its meaning, unit, limits and an example, from which data dictionary, schema and forms are made."""
    extra: dict[str, Any] = {"unit": unit}
    if example is not None:
        extra["example"] = example
    limits: dict[str, Any] = {
        name: value for name, value in (("ge", ge), ("gt", gt), ("le", le), ("lt", lt)) if value is not None
    }
    return Field(default, description=meaning, json_schema_extra=extra, **limits)


def name_field(meaning: str, example: str) -> Any:
    """A name: 1 to 60 characters."""
    return Field(
        ..., description=meaning, min_length=1, max_length=60, json_schema_extra={"unit": "", "example": example}
    )
