"""Changes made to a TOML text in place, so that its remarks stay; and, from two sets of tables, one of them with a
CHANGE merged in, the edits of a text that lead from one to the other.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from growsim.errors import InputError
from growsim.scenario.toml.lines import Path, Piece, comments_in, pieces_of
from growsim.scenario.toml.text import entry_lines, key_text, long_value_text, name_text


@dataclass(frozen=True)
class Give:
    """A key is given a value."""

    path: Path
    value: Any


@dataclass(frozen=True)
class LeaveOut:
    """A key is taken out of its table."""

    path: Path


@dataclass(frozen=True)
class Remove:
    """An entry of a list of tables goes, with all in it."""

    path: Path


@dataclass(frozen=True)
class Add:
    """A new entry at the end of a list of tables."""

    path: Path
    table: Mapping[str, Any]


Edit = Give | LeaveOut | Remove | Add


class LayoutError(InputError):
    """The text is laid out in a way that cannot be changed in place."""


def applied(raw: Mapping[str, Any], edits: Sequence[Edit]) -> dict[str, Any]:
    """The tables with the edits made; `raw` is not touched. What is in the way of a table gives way to it."""
    tables = copy.deepcopy(dict(raw))
    for edit in edits:
        holder, last = _holder(tables, edit.path), edit.path[-1]
        if isinstance(edit, Give):
            holder[last] = copy.deepcopy(edit.value)
        elif isinstance(edit, Add):
            if not isinstance(holder.get(last), list):
                holder[last] = []
            holder[last].append(copy.deepcopy(dict(edit.table)))
        elif isinstance(edit, Remove):
            del holder[last]
        else:
            holder.pop(last, None)
    return tables


def edited(text: str, edits: Sequence[Edit]) -> str:
    """The text with the edits made, in order. Raises LayoutError where the text cannot be changed in place."""
    newline = "\r\n" if "\r\n" in text else "\n"
    raw = tomllib.loads(text.removeprefix("\ufeff"))
    text = text.replace("\r\n", "\n")
    for edit in edits:
        raw = applied(raw, [edit])
        text = _Editor(text, raw).made(edit)
    text = text.replace("\n", newline)
    try:
        sound = _filled(tomllib.loads(text.removeprefix("\ufeff"))) == _filled(raw)
    except tomllib.TOMLDecodeError:
        sound = False
    if not sound:
        raise LayoutError(
            "This room file is laid out in a way that cannot be changed without loss; change it as text instead."
        )
    return text


def _filled(value: Any) -> Any:
    """Tables without empty lists: a list written as [[headings]] is gone with its last entry."""
    if isinstance(value, dict):
        return {key: _filled(inner) for key, inner in value.items() if inner != []}
    return [_filled(each) for each in value] if isinstance(value, list) else value


def _holder(tables: Any, path: Path) -> Any:
    """The table that holds the last step of a path; what is in the way of a table on the way there gives way to it."""
    here = tables
    for step, following in pairwise(path):
        inner = here[step] if isinstance(step, int) else here.get(step)
        if not isinstance(inner, list if isinstance(following, int) else dict):
            inner = here[step] = {}
        here = inner
    return here


class _Editor:
    """One edit of one text. raw: the tables as they are to be afterwards."""

    def __init__(self, text: str, raw: Mapping[str, Any]) -> None:
        self.text, self.raw = text, raw
        self.pieces = pieces_of(text)

    def made(self, edit: Edit) -> str:
        around = self._key_around(edit.path)
        if around is not None:
            if around.path == edit.path and isinstance(edit, LeaveOut):
                return self._behind_a_hash(around)
            return self._rewritten(around)
        if isinstance(edit, Give):
            return self._given(edit)
        if isinstance(edit, Remove):
            return self._removed(edit.path)
        if isinstance(edit, Add):
            return self._added(edit)
        return self.text if not self._below(edit.path) else self._removed(edit.path)

    def _key_around(self, path: Path) -> Piece | None:
        """The key whose value is, or holds, what the path names."""
        for piece in self.pieces:
            if piece.kind == "key" and path[: len(piece.path)] == piece.path:
                return piece
        return None

    def _below(self, path: Path) -> list[int]:
        """Numbers of the pieces that belong to what the path names, in order."""
        return [i for i, piece in enumerate(self.pieces) if piece.kind != "other" and piece.path[: len(path)] == path]

    def _rewritten(self, piece: Piece) -> str:
        """The value again; remarks that stood inside it come to stand above."""
        value: Any = self.raw
        for step in piece.path:
            value = value[step]
        line = self.text[piece.start : piece.value_start]
        indent = line[: len(line) - len(line.lstrip(" \t"))]
        remarks = comments_in(self.text, piece.value_start, piece.value_end)
        above = "".join(f"{indent}{remark}\n" for remark in remarks)
        head = self.text[: piece.start] + above + line
        return head + long_value_text(value) + self.text[piece.value_end :]

    def _behind_a_hash(self, piece: Piece) -> str:
        lines = self.text[piece.start : piece.end].splitlines(keepends=True)
        return self.text[: piece.start] + "".join(f"#{line}" for line in lines) + self.text[piece.end :]

    def _given(self, edit: Give) -> str:
        table, key = edit.path[:-1], edit.path[-1]
        line = f"{key_text(str(key))} = {long_value_text(edit.value)}\n"
        own = next((i for i, p in enumerate(self.pieces) if p.kind == "heading" and p.path == table), None)
        if own is None and table:
            return self._in_a_new_table(table, line)
        first = own + 1 if own is not None else 0
        headings = (i for i in range(first, len(self.pieces)) if self.pieces[i].kind == "heading")
        region = range(first, next(headings, len(self.pieces)))
        for i in region:
            piece = self.pieces[i]
            behind = _behind(self.text[piece.start : piece.end], str(key)) if piece.kind == "other" else None
            if behind is not None:
                return self.text[: piece.start] + line.rstrip("\n") + behind + self.text[piece.end :]
        keys = [i for i in region if self.pieces[i].kind == "key"]
        if keys:
            return self._inserted(self.pieces[keys[-1]].end, line)
        if own is not None:
            return self._inserted(self.pieces[own].end, line)
        return self._inserted(self.pieces[region[-1]].end if region else 0, f"{line}\n")

    def _in_a_new_table(self, table: Path, line: str) -> str:
        dotted = [p for p in self.pieces if p.kind == "key" and p.path[: len(table)] == table]
        dotted = [p for p in dotted if len(self._heading_above(p)) < len(table)]
        if dotted:  # the table is written as pump.count = 2
            piece = dotted[-1]
            prefix = ".".join(key_text(str(step)) for step in table[len(self._heading_above(piece)) :])
            return self._inserted(piece.end, f"{prefix}.{line}")
        return self._inserted(self._end_of_nearest(table), f"\n[{name_text(table)}]\n{line}")

    def _heading_above(self, piece: Piece) -> Path:
        above = [p for p in self.pieces if p.kind == "heading" and p.end <= piece.start]
        return above[-1].path if above else ()

    def _end_of_nearest(self, path: Path) -> int:
        """Where the last thing ends that belongs to the same table or entry of a list; else the end of the text."""
        for length in range(len(path) - 1, 0, -1):
            below = self._below(path[:length])
            if below:
                return self.pieces[below[-1]].end
        return len(self.text)

    def _removed(self, path: Path) -> str:
        below = self._below(path)
        gone = set(below)
        for one, other in pairwise(below):
            between = range(one + 1, other)
            if all(self.pieces[i].kind == "other" for i in between):
                gone.update(between)
        if below and below[0] > 0:
            before = self.pieces[below[0] - 1]
            if before.kind == "other" and not self.text[before.start : before.end].strip():
                gone.add(below[0] - 1)
        kept = [self.text[p.start : p.end] for i, p in enumerate(self.pieces) if i not in gone]
        return ("\ufeff" if self.text.startswith("\ufeff") else "") + "".join(kept)

    def _added(self, edit: Add) -> str:
        below = self._below(edit.path)
        end = self.pieces[below[-1]].end if below else self._end_of_nearest(edit.path)
        return self._inserted(end, "\n" + "\n".join(entry_lines(edit.path, edit.table)) + "\n")

    def _inserted(self, at: int, new: str) -> str:
        head = self.text[:at]
        if head.strip("\ufeff") and not head.endswith("\n"):
            head += "\n"
        if not head.strip("\ufeff \n"):
            new = new.lstrip("\n")
        return head + new + self.text[at:]


def _behind(remark: str, key: str) -> str | None:
    """What stands behind the value of a key that waits behind a #, to the end of the line; None where none waits."""
    line = remark.lstrip(" \t").removeprefix("#").removeprefix(" ")
    if not line.startswith(key_text(key)):
        return None
    try:
        found = tomllib.loads(line)
    except tomllib.TOMLDecodeError:  # a remark in words
        return None
    return line[pieces_of(line)[0].value_end :] if list(found) == [key] else None


def edits_between(old: Mapping[str, Any], new: Mapping[str, Any], at: Path = ()) -> Iterator[Edit]:
    """What turns one set of tables into the other, for tables that a CHANGE was merged into."""
    for key, value in new.items():
        here, held = (*at, key), old.get(key)
        if isinstance(value, dict) and isinstance(held, dict):
            yield from edits_between(held, value, here)
        elif isinstance(held, list) and _tables(held) and _tables(value):
            yield from _list_edits(held, value, here)
        elif _tables(value) and not held:
            yield from (Add(here, entry) for entry in value)
        elif key not in old or held != value:
            yield Give(here, value)
    yield from (LeaveOut((*at, key)) for key in old if key not in new)


def _list_edits(old: list[dict[str, Any]], new: list[dict[str, Any]], at: Path) -> Iterator[Edit]:
    """Merging keeps the order: what is there is changed or gone, what is new stands at the end."""
    left = list(new)
    gone: list[Edit] = []
    for place, entry in enumerate(old):
        if left and _mark(left[0]) == _mark(entry):
            yield from edits_between(entry, left.pop(0), (*at, place))
        else:
            gone.append(Remove((*at, place)))
    yield from reversed(gone)
    yield from (Add(at, entry) for entry in left)


def _mark(entry: Mapping[str, Any]) -> Any:
    return entry.get("name", entry.get("crop"))


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, dict) for each in value)
