"""Reading the models themselves: which table a key holds, its unit, limits and example.

Error sentences, the data dictionary, the JSON Schema and forms all ask here, so they cannot disagree with the models.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from growsim.scenario.base import Table
from growsim.scenario.uncertain import Uncertain, Within

_PLAIN = {"float": "number", "int": "whole number", "str": "text", "date": "date", "bool": "yes or no"}
_PLURAL = {"number": "numbers", "whole number": "whole numbers", "text": "texts", "choice": "choices", "date": "dates"}


@dataclass(frozen=True)
class Anatomy:
    """What a key of a table takes.

    kind: table, tables (a list of tables), figure (Uncertain), number, whole number, text, choice, date, yes or no,
    numbers, whole numbers, texts, choices, dates. table: the table inside, if any. limits: in words. bounds: the same
    by their sign (ge, gt, le, lt). fewest, most: entries of a list, or characters of a text. plausible: (low, high,
    why); what lies outside is hardly meant.
    """

    kind: str
    table: type[Table] | None
    unit: str
    meaning: str
    limits: str
    bounds: dict[str, float]
    choices: tuple[str, ...]
    required: bool
    default: Any
    example: Any
    fewest: int | None
    most: int | None
    plausible: tuple[float, float, str] | None = None


_known: dict[int, tuple[FieldInfo, Anatomy]] = {}  # the field is kept with it, so that its id is no other's


def anatomy_of(field: FieldInfo) -> Anatomy:
    """The anatomy of one field. Looked at once: a room file has hundreds of them, and each is asked for often."""
    if id(field) not in _known:
        _known[id(field)] = field, _looked_at(field)
    return _known[id(field)][1]


def _looked_at(field: FieldInfo) -> Anatomy:
    parts = _Parts()
    parts.read(field.annotation, field.metadata)
    extra = field.json_schema_extra if isinstance(field.json_schema_extra, dict) else {}
    default = None if field.is_required() else field.get_default(call_default_factory=True)
    return Anatomy(
        kind=parts.kind,
        table=parts.table,
        unit=str(extra.get("unit", "")),
        meaning=field.description or "",
        limits=parts.limits(),
        bounds=parts.bounds,
        choices=parts.choices,
        required=field.is_required(),
        default=default,
        example=extra.get("example"),
        fewest=parts.fewest,
        most=parts.most,
        plausible=tuple(extra["plausible"]) if "plausible" in extra else None,  # type: ignore[arg-type]
    )


def field_at(model: type[Table], path: tuple[str | int, ...]) -> FieldInfo | None:
    """The field a pydantic error path ends at (list places are whole numbers), or None where there is no such key."""
    here: type[Table] | None = model
    field: FieldInfo | None = None
    for step in path:
        if isinstance(step, int):
            continue
        if here is None or step not in here.model_fields:
            return None
        field = here.model_fields[step]
        here = anatomy_of(field).table
    return field


class _Parts:
    """Collects what is nested in an annotation: Annotated, Optional, tuple, Literal."""

    def __init__(self) -> None:
        self.kind = ""
        self.table: type[Table] | None = None
        self.choices: tuple[str, ...] = ()
        self.fewest: int | None = None
        self.most: int | None = None
        self.bounds: dict[str, float] = {}
        self._within: Within | None = None

    def read(self, annotation: Any, metadata: Any, in_list: bool = False) -> None:
        is_list = get_origin(annotation) is tuple
        for mark in metadata:
            self._read_mark(mark, is_list, in_list)
        origin, inner = get_origin(annotation), get_args(annotation)
        if hasattr(annotation, "__metadata__"):
            self.read(inner[0], annotation.__metadata__, in_list)
        elif origin in (Union, UnionType):
            for choice in inner:
                if choice is not type(None):
                    self.read(choice, (), in_list)
        elif is_list:
            self.read(inner[0], (), in_list=True)
            self.kind = "tables" if self.kind == "table" else _PLURAL[self.kind]
        elif origin is Literal:
            self.kind, self.choices = "choice", tuple(str(choice) for choice in inner)
        elif isinstance(annotation, type) and issubclass(annotation, Table):
            self.table = annotation
            self.kind = "figure" if annotation is Uncertain else "table"
        else:
            self.kind = _PLAIN[annotation.__name__]

    def _read_mark(self, mark: Any, is_list: bool, in_list: bool) -> None:
        for nested in getattr(mark, "metadata", ()):  # Field(...) inside Annotated carries its own marks
            self._read_mark(nested, is_list, in_list)
        if isinstance(getattr(mark, "func", None), Within):
            self._within = mark.func
            self.bounds = {"gt" if mark.func.open_low else "ge": mark.func.low, "le": mark.func.high}
        for name in ("ge", "gt", "le", "lt"):
            if getattr(mark, name, None) is not None:
                self.bounds[name] = getattr(mark, name)
        if is_list or not in_list:
            self.fewest = getattr(mark, "min_length", None) or self.fewest
            self.most = getattr(mark, "max_length", None) or self.most

    def limits(self) -> str:
        """The limits in words, '' where there are none."""
        if self._within is not None:
            return str(self._within)
        bounds = {name: plain_number(value) for name, value in self.bounds.items()}
        if "ge" in bounds and "le" in bounds:
            return f"from {bounds['ge']} to {bounds['le']}"
        words = [
            f"{word} {bounds[name]}"
            for name, word in (("ge", "from"), ("gt", "above"), ("le", "up to"), ("lt", "below"))
            if name in bounds
        ]
        return " and ".join(words)


def plain_number(value: float) -> str:
    """A number as people write it: 100000, 0.05, 1.5."""
    if isinstance(value, int) or (value.is_integer() and abs(value) < 1e15):
        return str(int(value))
    return f"{value:.6g}"
