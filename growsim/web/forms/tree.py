"""A form as a tree: fields, blocks of fields, lists of blocks; walked from the models, filled from the file or from
what was sent, every fault beside its field."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from growsim.errors import Fault
from growsim.scenario.anatomy import Anatomy, anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.demand import Prices
from growsim.scenario.reading import dotted
from growsim.web.forms.boxes import LEFT_OUT, boxes_of, widget_of
from growsim.web.forms.choices import options_of
from growsim.web.forms.field import Field, anchor_of
from growsim.web.forms.other_units import is_read, unit_typed
from growsim.web.forms.submitted import FormPath, Sent, in_a_form, name_of
from growsim.web.forms.words import hint_of, label_of, noun_of, unit_of, usual

_MARKS = (":sent", ":kind")
LONG_TEXTS = ("about", "note")


@dataclass(frozen=True)
class Rows:
    """A list of tables. entries: (id, block); in_form: whether they are filled in here or have pages of their own."""

    name: str
    heading: str
    noun: str
    in_form: bool
    entries: tuple[tuple[str, Block], ...]
    faults: tuple[Fault, ...]

    @property
    def anchor(self) -> str:
        """Its place in the page."""
        return anchor_of(self.name)


@dataclass(frozen=True)
class Block:
    """A table: its fields (those asked for first, those with usual values apart), tables and lists inside."""

    name: str
    heading: str
    hint: str
    title: str
    optional: bool
    given: bool
    fields: tuple[Field, ...]
    spare: tuple[Field, ...]
    blocks: tuple[Block, ...]
    lists: tuple[Rows, ...]
    faults: tuple[Fault, ...]

    @property
    def anchor(self) -> str:
        """Its place in the page."""
        return anchor_of(self.name)

    def all_faults(self) -> list[Fault]:
        """Every fault in it, at whatever depth."""
        found = [*self.faults, *(fault for field in (*self.fields, *self.spare) for fault in field.faults)]
        found += [fault for block in self.blocks for fault in block.all_faults()]
        for rows in self.lists:
            found += [*rows.faults, *(fault for _, block in rows.entries for fault in block.all_faults())]
        return list(dict.fromkeys(found))


def flat(block: Block) -> list[Field]:
    """Every field of a block, at whatever depth, but for lists with pages of their own."""
    found = [*block.fields, *block.spare]
    for inner in block.blocks:
        found += flat(inner)
    for rows in block.lists:
        if rows.in_form:
            found += [field for _, entry in rows.entries for field in flat(entry)]
    return found


class Builder:
    """Builds forms for one file. raw: its tables; after: its tables as they would be after what was sent.
    usual: path of each usual value -> its source."""

    def __init__(
        self,
        raw: Mapping[str, Any],
        faults: Sequence[Fault] = (),
        *,
        sent: Sent | None = None,
        after: Mapping[str, Any] | None = None,
        usual: Mapping[FormPath, str] | None = None,
    ) -> None:
        self.raw, self.sent, self.faults = raw, sent, faults
        self.after = raw if after is None else after
        prices = raw.get("prices")
        currency = prices.get("currency") if isinstance(prices, dict) else None
        self.currency = currency if isinstance(currency, str) else str(Prices.model_fields["currency"].default)
        self.usual = usual or {}
        self.claimed: set[Fault] = set()

    def block(
        self,
        model: type[Table],
        path: FormPath,
        table: Mapping[str, Any],
        *,
        place: FormPath | None = None,
        heading: str = "",
        hint: str = "",
        optional: bool = False,
        only_fields: bool = False,
    ) -> Block:
        """A table of the file as a block. place: where it stands in the tables after; path: its name on the form."""
        place = path if place is None else place
        fields: list[Field] = []
        spare: list[Field] = []
        blocks: list[Block] = []
        lists: list[Rows] = []
        for key, info in model.model_fields.items():
            what = anatomy_of(info)
            at, to = (*path, key), (*place, key)
            if what.kind in ("table", "tables"):
                assert what.table is not None
                if only_fields:
                    continue
                if what.kind == "table":
                    inner = table.get(key)
                    blocks.append(
                        self.block(
                            what.table,
                            at,
                            inner if isinstance(inner, dict) else {},
                            place=to,
                            heading=what.meaning.rstrip("."),
                            optional=not what.required,
                        )
                    )
                else:
                    lists.append(self._list(what.table, at, to, table.get(key), what.meaning.rstrip(".")))
                continue
            field = self._field(model, key, what, at, to, table)
            (fields if key != "source" and (field.required or field.given) else spare).append(field)
        spare.sort(key=lambda field: field.key == "source")
        return Block(
            name=name_of(path),
            heading=heading,
            hint=hint,
            title=self._title(fields, place),
            optional=optional,
            given=bool(table) or any(field.given for field in fields),
            fields=tuple(fields),
            spare=tuple(spare),
            blocks=tuple(blocks),
            lists=tuple(lists),
            faults=self._claim(place),
        )

    def list_alone(self, model: type[Table], path: FormPath, listed: Any, heading: str) -> Block:
        """A list of tables as a block of its own."""
        rows = self._list(model, path, path, listed, heading)
        return Block(name_of(path), heading, "", "", False, True, (), (), (), (rows,), ())

    def _title(self, fields: Sequence[Field], place: FormPath) -> str:
        named = {field.key: field.box() for field in fields}
        last = place[-1] if place else ""
        return named.get("name") or named.get("crop") or (f"entry {last + 1}" if isinstance(last, int) else "")

    def _field(
        self, model: type[Table], key: str, what: Anatomy, path: FormPath, place: FormPath, table: Mapping[str, Any]
    ) -> Field:
        boxes = boxes_of(what, table.get(key, LEFT_OUT))
        sent = self.sent.boxes(path) if self.sent is not None else None
        if sent is not None:
            boxes = {suffix: list(sent.get(suffix, ())) for suffix in {**boxes, **sent}}
        present = [text for texts in (boxes.get("", []), boxes.get(":value", [])) for text in texts]
        options = options_of(model, key, what, path, self.raw, present)
        unit, hint = unit_of(what, self.currency), hint_of(what, chosen=bool(options))
        given = key in table or any(text for suffix, texts in boxes.items() for text in texts if suffix not in _MARKS)
        widget = widget_of(what)
        if widget == "line" and options:
            widget = "choice"
        if widget == "line" and what.kind == "text" and (key in LONG_TEXTS or "\n" in "".join(boxes.get("", []))):
            widget = "long text"
        if widget == "twelve" and "" in boxes:
            widget = "line"
        return Field(
            name=name_of(path),
            key=key,
            label=label_of(key, what),
            hint=hint,
            unit=unit,
            widget=widget,
            kind=what.kind,
            boxes=boxes,
            options=options,
            required=what.required,
            usual="" if what.required else usual(what),
            given=given,
            faults=self._claim(place),
            file_unit=self._file_unit(what, path, table),
            currency=self.currency,
            from_where=self.usual.get(path, ""),
        )

    def _file_unit(self, what: Anatomy, path: FormPath, table: Mapping[str, Any]) -> str:
        """The unit of amounts that may be typed in another one too; '' where there is none."""
        unit = unit_typed(what)
        if unit != what.unit:  # the setting of a protection: only a thermostat's is a temperature
            name = self.sent.boxes((*path[:-1], "name")) if self.sent is not None else None
            said = next(iter(name.get("", ())), "") if name is not None else table.get("name")
            return unit if said == "thermostat" else ""
        return unit if is_read(unit) else ""

    def _list(self, model: type[Table], path: FormPath, place: FormPath, given: Any, heading: str) -> Rows:
        listed = given if isinstance(given, list) else []
        inside = in_a_form(path)
        ids = self.sent.ids(path) if self.sent is not None and inside else None
        entries: list[tuple[str, Block]] = []
        for number, each in enumerate([str(i) for i in range(len(listed))] if ids is None else ids):
            old = int(each) if each.isdecimal() else None
            if old is not None and old >= len(listed):
                continue
            table = listed[old] if old is not None and isinstance(listed[old], dict) else {}
            step: int | str = old if old is not None else each
            entries.append((each, self.block(model, (*path, step), table, place=(*place, number))))
        return Rows(name_of(path), heading, noun_of(model), inside, tuple(entries), self._claim(place))

    def _claim(self, place: FormPath) -> tuple[Fault, ...]:
        """The faults of this place that nothing inside it has taken; deeper places are built, and take, first."""
        shown = dotted(self.after, place)
        here = [
            fault
            for fault in self.faults
            if (fault.key == shown or fault.key.startswith(f"{shown}."))
            and (fault not in self.claimed or fault.key == shown)
        ]
        self.claimed.update(here)
        return tuple(here) if shown else ()
