"""From what a form sent to the edits it asks for: only what differs from what the form had shown is touched."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from growsim.scenario.anatomy import anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.toml.edit import Add, Edit, Give, LeaveOut, Remove
from growsim.web.forms.boxes import LEFT_OUT, boxes_of, value_of

FormPath = tuple[str | int, ...]  # places of entries; a new entry of a list inside a form has a text such as "new1"
IDS = "@ids"
_MOST_ENTRIES = 200


def name_of(path: FormPath) -> str:
    """The name of a field: racks/0/name."""
    return "/".join(str(step) for step in path)


def in_a_form(path: FormPath) -> bool:
    """Whether a list of tables at `path` stands inside its holder's form; others have pages of their own."""
    return any(isinstance(step, int) or step.startswith("new") for step in path)


class Sent:
    """The boxes of a form, by the name of their field."""

    def __init__(self, items: Iterable[tuple[str, str]]) -> None:
        self._boxes: dict[str, dict[str, list[str]]] = {}
        for key, value in items:
            name, colon, suffix = key.partition(":")
            boxes = self._boxes.setdefault(name, {})
            boxes.setdefault(colon + suffix, []).append(value.replace("\r\n", "\n").replace("\r", "\n"))

    def boxes(self, path: FormPath) -> Mapping[str, Sequence[str]] | None:
        """The boxes of a field; None where it was not on the form."""
        return self._boxes.get(name_of(path))

    def ids(self, path: FormPath) -> list[str] | None:
        """Entries of a list on the form, in order; None where the list was not on the form."""
        sent = self._boxes.get(f"{name_of(path)}/{IDS}")
        if sent is None:
            return None
        wanted = [text for text in sent.get("", []) if text.isascii() and (text.isdecimal() or text[:3] == "new")]
        return list(dict.fromkeys(text[:12] for text in wanted if "/" not in text))

    def with_one_more(self, listed: str) -> Sent:
        """The same with one more entry in a list on the form: like the last, but for its name."""
        sent = self._boxes.get(f"{listed}/{IDS}")
        if sent is None or len(sent.get("", [])) > _MOST_ENTRIES:
            return self
        ids = sent.get("", [])
        fresh = next(new for n in range(1, len(ids) + 2) if (new := f"new{n}") not in ids)
        more = self._copy()
        if ids:
            old, new = f"{listed}/{ids[-1]}/", f"{listed}/{fresh}/"
            for name, boxes in self._boxes.items():
                if name.startswith(old) and name.removeprefix(old) not in ("name", "crop"):
                    more._boxes[new + name.removeprefix(old)] = boxes
        more._boxes[f"{listed}/{IDS}"] = {"": [*ids, fresh]}
        return more

    def with_one_less(self, entry: str) -> Sent:
        """The same without an entry of a list on the form."""
        listed, _, gone = entry.rpartition("/")
        less = self._copy()
        ids = less._boxes.get(f"{listed}/{IDS}", {}).get("", [])
        if gone in ids:
            less._boxes[f"{listed}/{IDS}"] = {"": [each for each in ids if each != gone] or [""]}
        return less

    def moved(self, old: FormPath, new: FormPath) -> Sent:
        """The same for a table that stands elsewhere now."""
        if old == new:
            return self
        was, here = name_of(old), name_of(new)
        moved = Sent(())
        for name, boxes in self._boxes.items():
            moved._boxes[here + name.removeprefix(was) if f"{name}/".startswith(f"{was}/") else name] = boxes
        return moved

    def changed_from(self, model: type[Table], path: FormPath, table: Mapping[str, Any]) -> Sent:
        """Only what a person changed, of a form that had shown this table."""
        edits = edits_of(model, path, table, self)
        given = {name_of(edit.path) for edit in edits if isinstance(edit, (Give, LeaveOut))}
        lists = {name_of(edit.path if isinstance(edit, Add) else edit.path[:-1]) for edit in edits}
        kept = Sent(())
        for name, boxes in self._boxes.items():
            is_new = any(step.startswith("new") for step in name.split("/"))
            if name in given or is_new or (name.endswith(IDS) and name.removesuffix(f"/{IDS}") in lists):
                kept._boxes[name] = boxes
        return kept

    def typed(self) -> list[tuple[str, str]]:
        """Everything in the boxes, as (field, text)."""
        return [
            (name + suffix, ", ".join(texts))
            for name, boxes in self._boxes.items()
            for suffix, texts in boxes.items()
            if "/" in name and not name.endswith(IDS) and any(texts) and suffix != ":sent"
        ]

    def _copy(self) -> Sent:
        copied = Sent(())
        copied._boxes = dict(self._boxes)
        return copied


def edits_of(model: type[Table], path: FormPath, table: Mapping[str, Any], sent: Sent) -> list[Edit]:
    """What the form asks to be changed in the table of the file that stands at `path`."""
    edits: list[Edit] = []
    for key, field in model.model_fields.items():
        what, here = anatomy_of(field), (*path, key)
        if what.kind == "table":
            assert what.table is not None
            edits += edits_of(what.table, here, _table(table.get(key)), sent)
        elif what.kind == "tables":
            assert what.table is not None
            if in_a_form(here):
                edits += _list_edits(what.table, here, table.get(key), sent)
        else:
            boxes = sent.boxes(here)
            if boxes is None or _as_shown(boxes, boxes_of(what, table.get(key, LEFT_OUT))):
                continue
            value = value_of(what, boxes)
            if value is not LEFT_OUT:
                edits.append(Give(here, value))
            elif key in table:
                edits.append(LeaveOut(here))
    return edits


def table_of(model: type[Table], path: FormPath, sent: Sent) -> dict[str, Any]:
    """A new table from the boxes of a form."""
    table: dict[str, Any] = {}
    for key, field in model.model_fields.items():
        what, here = anatomy_of(field), (*path, key)
        if what.kind == "table":
            assert what.table is not None
            inner = table_of(what.table, here, sent)
            if inner:
                table[key] = inner
        elif what.kind == "tables":
            assert what.table is not None
            entries = [table_of(what.table, (*here, each), sent) for each in sent.ids(here) or ()]
            if entries:
                table[key] = entries
        else:
            boxes = sent.boxes(here)
            value = LEFT_OUT if boxes is None else value_of(what, boxes)
            if value is not LEFT_OUT and (value != [] or what.required):
                table[key] = value
    return table


def _list_edits(model: type[Table], path: FormPath, given: Any, sent: Sent) -> list[Edit]:
    """Entries changed, then those gone (the last first, so that places hold), then those new."""
    ids = sent.ids(path)
    if ids is None:
        return []
    entries = given if isinstance(given, list) else []
    edits: list[Edit] = []
    for place, entry in enumerate(entries):
        if str(place) in ids:
            edits += edits_of(model, (*path, place), _table(entry), sent)
    edits += [Remove((*path, place)) for place in reversed(range(len(entries))) if str(place) not in ids]
    new = (each for each in ids if not each.isdecimal())
    return edits + [Add(path, table_of(model, (*path, each), sent)) for each in new]


def _table(value: Any) -> Mapping[str, Any]:
    return value if isinstance(value, dict) else {}


def _as_shown(boxes: Mapping[str, Sequence[str]], shown: Mapping[str, Sequence[str]]) -> bool:
    """Whether every box holds what was shown in it; spaces around, and the order of ticks, do not count."""
    return all(
        sorted(text.strip() for text in boxes.get(suffix, ()) if text.strip())
        == sorted(text.strip() for text in texts if text.strip())
        for suffix, texts in shown.items()
    )
