"""CHANGE files: a small TOML file that names only what differs from a room, merged into the room's tables.

Tables merge key by key; lists of tables by `name` (a partner's orders by `crop`); a new name adds; `remove = true`
takes a table or key away; every other value replaces. An uncertain figure is one value: it is replaced, unless what is
given completes to a figure of the same kind (`{ high = 0.95 }` widens a range). The table [change] is about the change
itself (its name, its price) and is merged into nothing.

All CHANGE files that growsim writes are written here: whatever room and crops are called, `load_change` reads back what
was meant.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from pydantic import Field, ValidationError

from growsim.errors import Fault, RoomFileError
from growsim.scenario import reading
from growsim.scenario.anatomy import Anatomy, anatomy_of, field_at
from growsim.scenario.base import Table, figure, long_text
from growsim.scenario.load import LoadedRoom, room_from
from growsim.scenario.names import in_words_of_today
from growsim.scenario.place import Rack, Shelves
from growsim.scenario.reading import as_written
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.expand import COUNT, LIKE, NAMES, OWN, expand, liked
from growsim.scenario.short.follow import with_plan
from growsim.scenario.short.laying import value_at
from growsim.scenario.short.place import TRAYS
from growsim.scenario.toml.text import toml_text
from growsim.scenario.uncertain import Uncertain
from growsim.scenario.wording import listing, nearest, sentences

TABLE = "change"
LONGEST_NAME = 60
# What makes two rehearsals comparable, and so cannot differ between them: dotted key, what would be right.
_KEPT: tuple[tuple[str, str], ...] = (
    ("rehearsal", "say on the command line how long, how often and with which seed to rehearse"),
    ("room.start_date", "leave it out: both rooms are rehearsed over the same dates"),
    ("prices.currency", "leave it out: costs in two currencies cannot be compared"),
)
Keys = tuple[str | int, ...]  # into the models; a list is passed through with a 0
REMOVE = "remove"
ENDING = ".toml"
_LONGEST_STEM = 60
_NOT_IN_A_REMARK = re.compile(r"[\x00-\x1f\x7f-\x9f\u2028\u2029]+")  # control characters, ends of lines


class ChangeAbout(Table):
    """What the change is called and what it costs to make. Running costs are not in the price: they are the room's."""

    name: str = Field(
        "",
        description="What the change is called in answers; the file's name where left out.",
        max_length=LONGEST_NAME,
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
    note: str = long_text("Anything a reader should know; shown in the report.")


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


@dataclass(frozen=True)
class LoadedChange:
    """A CHANGE file as read: its tables (without [change]), path, the SHA-256 of its bytes, and what it says of
    itself."""

    tables: dict[str, Any]
    path: Path
    sha256: str
    about: ChangeAbout = field(default_factory=ChangeAbout)

    @property
    def name(self) -> str:
        """Short name: the file's name without its ending."""
        return self.path.stem

    @property
    def title(self) -> str:
        """What the change is called in answers: its own name, or else the file's."""
        return self.about.name or self.path.stem


def load_change(path: Path) -> LoadedChange:
    """Read a CHANGE file. Raises RoomFileError where it cannot be read, names nothing that differs, or names what
    no change may."""
    content = reading.whole_file(path)
    return change_from(reading.tables_of(path, content), path, reading.fingerprint(content))


def change_from(tables: dict[str, Any], path: Path, sha256: str) -> LoadedChange:
    """Tables to a change; `path` names it. Raises RoomFileError as `load_change` does."""
    tables, renamed = in_words_of_today(tables)
    about, faults = about_of(tables, str(path))
    faults += [Fault(str(path), *finding) for finding in renamed]
    tables = {key: table for key, table in tables.items() if key != TABLE}
    if not tables and not faults:
        faults = [Fault(str(path), "", "changes nothing", "name at least one key that differs")]
    if faults:
        raise RoomFileError(faults)
    return LoadedChange(tables, path, sha256, about)


def changed_room(room: LoadedRoom, change: LoadedChange) -> LoadedRoom:
    """The room with the change made. Raises RoomFileError; every fault names the CHANGE file."""
    raw = apply_change(room.raw, change.tables, file=str(change.path))
    made = room_from(raw, change.path, change.sha256)
    return replace(made, usual={**_still_usual(room, made.full), **made.usual}, asked=room.asked)


def _still_usual(room: LoadedRoom, full: Mapping[str, Any]) -> dict[tuple[str | int, ...], str]:
    """The usual values of the room that the change left as they were, at their places now."""
    return {path: source for path, source in room.usual.items() if value_at(full, path) == value_at(room.full, path)}


def apply_change(raw: dict[str, Any], change: dict[str, Any], *, file: str = "CHANGE") -> dict[str, Any]:
    """A new set of tables: `raw` with `change` merged in; neither argument is touched.

    Both may be short, the result is in full.

    Raises RoomFileError with every fault of the merging itself; whether the result is a possible room is for
    `load.scenario_from` to say.
    """
    merge = _Merge(file)
    raw = with_plan(raw) if "sowing" in change else raw
    merged = merge.table(raw, change, (), "")
    if merge.faults:
        raise RoomFileError(merge.faults)
    full = expand(merged)  # what is new may be short
    if full.findings:
        raise RoomFileError([Fault(file, *finding) for finding in full.findings])
    return full.tables


def merged(pieces: Iterable[Mapping[str, Any]]) -> dict[str, Any]:
    """Pieces of a CHANGE file as one: tables key by key, lists of tables by name."""
    whole: dict[str, Any] = {}
    for piece in pieces:
        _put_into(whole, piece)
    return whole


def _put_into(into: dict[str, Any], piece: Mapping[str, Any]) -> None:
    for key, value in piece.items():
        if isinstance(value, Mapping) and "distribution" not in value and "value" not in value:
            _put_into(into.setdefault(key, {}), value)
        elif isinstance(value, list) and value and isinstance(value[0], Mapping):
            known = into.setdefault(key, [])
            for entry in value:
                same = next((other for other in known if other["name"] == entry["name"]), None)
                if same is None:
                    same = {}
                    known.append(same)
                _put_into(same, entry)
        else:
            into[key] = value


class _Merge:
    """One merge; collects faults on the way."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def table(self, base: dict[str, Any], change: dict[str, Any], keys: Keys, shown: str) -> dict[str, Any]:
        """Both tables as one. keys: where we are in the models; shown: the same as the reader sees it.

        `like` in a change lays a profile over what the room says, and the change's other keys over that.
        """
        merged = copy.deepcopy(base)
        if LIKE in change and merged:
            merged, change = liked(merged, change, tuple(key for key in keys if isinstance(key, str)))
        for key, new in change.items():
            here, words = (*keys, key), f"{shown}.{key}" if shown else key
            if key == REMOVE:  # only at the top: below, whoever holds the table sees to it
                self._fault(words, "would take the whole room away", "put it into the table that is to go")
            elif self._is_removal(new, words):
                if key in merged:
                    del merged[key]
                else:
                    self._unknown(words, key, [str(known) for known in merged])
            else:
                merged[key] = self._value(merged.get(key), _without_remove(new), here, words)
        return merged

    def _value(self, old: Any, new: Any, keys: Keys, shown: str) -> Any:
        what = _anatomy(keys)
        if what is not None and what.kind == "figure":
            return _figure(old, new)
        if _is_tables(new) and (what is None or what.kind == "tables"):
            known = old if _is_tables(old) else []
            return self._list(known, new, keys, shown)
        if isinstance(new, dict) and (what is None or what.kind == "table"):
            return self.table(old if isinstance(old, dict) else {}, new, keys, shown)
        return copy.deepcopy(new)  # a plain value; one of the wrong kind is refused when the room is checked

    def _list(self, old: list[dict[str, Any]], new: list[dict[str, Any]], keys: Keys, shown: str) -> list[Any]:
        what = _anatomy(keys)
        model = what.table if what is not None else None
        by = "crop" if model is not None and "name" not in model.model_fields else "name"
        merged = copy.deepcopy(list(old))
        seen: list[Any] = []
        for place, entry in enumerate(new, start=1):
            name = _name(entry, by)
            words = f"{shown}.{name or f'entry {place}'}"
            if model is not None and COUNT not in model.model_fields and (COUNT in entry or NAMES in entry):
                merged.append(copy.deepcopy(entry))  # new, and several at once
                continue
            if not name:
                self._fault(words, f"has no {by}", f"give the {by} of the entry it changes, or a new one")
                continue
            if (name, entry.get("months")) in seen:
                self._fault(words, "is changed twice in this file", "put the two together")
                continue
            seen.append((name, entry.get("months")))
            places = _places(merged, entry, by, name)
            if len(places) > 1:
                self._fault(words, "stands in the room more than once", "give its months too, to say which is meant")
            elif self._is_removal(entry, words):
                if places:
                    del merged[places[0]]
                else:
                    self._unknown(words, name, [_name(other, by) for other in merged])
            elif places:
                merged[places[0]] = self.table(merged[places[0]], _without_remove(entry), (*keys, 0), words)
            else:
                self._complete(entry, model, words, name, [_name(other, by) for other in merged])
                merged.append(self.table({}, _without_remove(entry), (*keys, 0), words))
        return merged

    def _complete(
        self, entry: dict[str, Any], model: type[Table] | None, shown: str, name: str, known: list[str]
    ) -> None:
        """A new entry needs all its keys; one that lacks some is more likely a misspelled name."""
        if model is None:
            return
        if LIKE in entry or (model is Shelves and TRAYS in entry):
            return  # the rest is usual, or follows from the trays
        lacking = [key for key, field in model.model_fields.items() if field.is_required() and key not in entry]
        if model is Rack and entry.get("shelves"):
            lacking = [key for key in lacking if key not in OWN]  # a rack may bring its own
        if lacking:
            right = nearest(name, known)
            remedy = f"did you mean '{right}'" if right else f"give them, or name one there is: {listing(known)}"
            self._fault(shown, f"is new to the room, and a new one needs {', '.join(lacking)} too", remedy)

    def _is_removal(self, value: Any, shown: str) -> bool:
        if not isinstance(value, dict) or REMOVE not in value:
            return False
        if not isinstance(value[REMOVE], bool):
            self._fault(f"{shown}.{REMOVE}", f"is {reading.as_written(value[REMOVE])}", "write true, or take it out")
            return False
        return bool(value[REMOVE])

    def _unknown(self, shown: str, name: str, known: list[str]) -> None:
        right = nearest(name, known)
        remedy = (
            f"did you mean '{right}'" if right else f"there are: {listing(known)}" if known else "take this entry out"
        )
        self._fault(shown, f"is to be removed, and the room has no '{name}'", remedy)

    def _fault(self, key: str, problem: str, remedy: str) -> None:
        self.faults.append(Fault(self.file, key, problem, remedy))


def _anatomy(keys: Keys) -> Anatomy | None:
    field = field_at(Scenario, keys)
    return anatomy_of(field) if field is not None else None


def _is_tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(entry, dict) for entry in value)


def _name(entry: dict[str, Any], by: str) -> str:
    value = entry.get(by)
    return value.strip() if isinstance(value, str) else ""


def _without_remove(entry: Any) -> Any:
    return {key: value for key, value in entry.items() if key != REMOVE} if isinstance(entry, dict) else entry


def _places(merged: list[dict[str, Any]], entry: dict[str, Any], by: str, name: str) -> list[int]:
    """Where in the list the entry's namesake stands; orders of one crop are told apart by their months."""
    places = [i for i, other in enumerate(merged) if _name(other, by) == name]
    if by == "crop" and "months" in entry:
        same = [i for i in places if merged[i].get("months") == entry["months"]]
        return same if same or len(places) > 1 else places
    return places


def _figure(old: Any, new: Any) -> Any:
    """The new figure, completed from the old where that makes sense; an old source does not vouch for a new figure."""
    if isinstance(old, dict) and isinstance(new, dict):
        both = {**{key: value for key, value in old.items() if key != "source"}, **new}
        try:
            Uncertain.model_validate(both)
        except ValidationError:
            return copy.deepcopy(new)
        return copy.deepcopy(both)
    return copy.deepcopy(new)


def change_text(tables: Mapping[str, Any], about: Mapping[str, Any], remarks: Sequence[str] = ()) -> str:
    """The text of a CHANGE file. tables: what differs. about: its own name, price, note. remarks: a line each, on top.

    A name too long for a CHANGE is cut; what is empty in `about` is left out. Raises TypeError for what has no TOML.
    """
    said = {key: value for key, value in about.items() if value not in ("", None)}
    if isinstance(said.get("name"), str):
        said["name"] = _cut(said["name"])
    whole = {**({TABLE: said} if said else {}), **{key: table for key, table in tables.items() if key != TABLE}}
    return "".join(f"# {_NOT_IN_A_REMARK.sub(' ', remark)}\n" for remark in remarks) + toml_text(whole)


def file_name(name: str, taken: Collection[str] = ()) -> str:
    """A name for the file of a change called so: plain letters and figures, and none of those taken."""
    stem = re.sub(r"[^a-z0-9]+", "-", name.lower())[:_LONGEST_STEM].strip("-") or TABLE
    number, found = 1, f"{stem}{ENDING}"
    while found in taken:
        number += 1
        found = f"{stem}-{number}{ENDING}"
    return found


def _cut(name: str) -> str:
    return name if len(name) <= LONGEST_NAME else f"{name.strip()[: LONGEST_NAME - 1].rstrip()}…"
