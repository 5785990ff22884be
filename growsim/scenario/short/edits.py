"""Changes to the text of a short room file. They speak of the room in full; what is written stays as short as it was.

A change to one of a group becomes an entry of its own name that says what differs; a change to what a rack brought
along goes into the rack; a change to a usual value is written over it.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from growsim.scenario import usual
from growsim.scenario.short.expand import COUNT, LIKE, NAMES, Expanded, expand
from growsim.scenario.short.follow import with_plan
from growsim.scenario.short.laying import REMOVE, is_tables, kind_at, name_of, value_at
from growsim.scenario.toml import edit as text_edit
from growsim.scenario.toml.edit import Add, Edit, Give, LayoutError, LeaveOut, Remove, applied
from growsim.scenario.understood import in_full_words

Path = tuple[str | int, ...]
CANNOT = (
    "This room file says several things at once (count, names, like), and this change does not fit one of them alone. "
    "Give the things their own names with names = [...], or write that one out as an entry of its own."
)


def edited(text: str, edits: Sequence[Edit], *, follow: bool = False) -> str:
    """The text with the edits made, in order; their paths are those of the room in full.

    follow: usual values that follow from what is changed, such as the reservoir of a rack with one shelf more, move
    along; else they stay as they were, and are written down. Raises LayoutError where the text cannot be changed in
    place, or says more than one thing where one is to change.
    """
    written = tomllib.loads(text.removeprefix("\ufeff"))
    goal, mine = expand(written).tables, list[Edit]()
    is_short = goal != written
    if "sowing" not in written:
        edits, mine = _of_the_plan(edits, goal)
        written, goal = applied(written, mine), applied(goal, mine)
    if not is_short:
        return text_edit.edited(text, [*mine, *edits])
    for each in edits:
        for own in _shelves_named(each, written, goal):
            written = applied(written, [own])
            mine.append(own)
        for own in [*_shelves_renamed(each, written, goal), *_written(each, written, expand(written), goal)]:
            written = applied(written, [own])
            mine.append(own)
        goal = applied(goal, [each])
    for own in _left_over(expand(written), goal):
        written = applied(written, [own])
        mine.append(own)
    for path, moved, value in list(_moved(expand(written), goal)):
        if follow:
            goal = applied(goal, [Give(path, moved)])
            continue
        for own in _written(Give(path, value), written, expand(written), goal):
            written = applied(written, [own])
            mine.append(own)
    if _in_order(expand(written).tables) != _in_order(goal):
        raise LayoutError(CANNOT)
    return text_edit.edited(text, mine)


def _of_the_plan(edits: Sequence[Edit], full: dict[str, Any]) -> tuple[list[Edit], list[Edit]]:
    """The edits of a room whose plan is growsim's own, and those that write this plan out first: from then on it is the
    planner's. What it would be after the other edits anyway is not written."""
    others = [each for each in edits if each.path[0] != "sowing"]
    if len(others) == len(edits):
        return others, []
    plan = _plan_of(full)
    asked = applied({**full, "sowing": plan}, edits)["sowing"]
    if _nameless(asked) == _nameless(_plan_of(applied(full, others))):
        return others, []
    return list(edits), [Add(("sowing",), line) for line in plan]


def _plan_of(full: dict[str, Any]) -> list[dict[str, Any]]:
    """growsim's own plan for a room whose texts may be in a planner's words."""
    return list(with_plan(in_full_words(full)[1])["sowing"])


def _nameless(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [{key: value for key, value in line.items() if key not in ("name", "source")} for line in lines]


def _in_order(value: Any) -> Any:
    """Tables whose named entries stand in the order of their names, which decides nothing; without empty lists and the
    remarks on where figures come from."""
    if isinstance(value, dict):
        return {key: _in_order(inner) for key, inner in value.items() if inner != [] and key != "source"}
    if is_tables(value):
        return sorted((_in_order(each) for each in value), key=lambda each: str(name_of(each)))
    return value


def _left_over(now: Expanded, goal: Mapping[str, Any]) -> list[Edit]:
    """What a rack brought along and the change keeps without it."""
    edits: list[Edit] = []
    for key in ("reservoirs", "lights"):
        there = {name_of(each) for each in now.tables.get(key, [])}
        edits += [Add((key,), each) for each in goal.get(key, []) if name_of(each) not in there]
    return edits


def _moved(now: Expanded, goal: dict[str, Any]) -> Iterator[tuple[Path, Any, Any]]:
    """Usual values that are not what they are to be: where in the goal, as they are now, as they are there."""
    for path in now.usual:
        there: list[str | int] = []
        for length, step in enumerate(path):
            name = name_of(value_at(now.tables, path[: length + 1])) if isinstance(step, int) else ""
            listed = value_at(goal, tuple(there)) or () if name else ()
            there.append(next((i for i, each in enumerate(listed) if name_of(each) == name), -1) if name else step)
        moved, value = value_at(now.tables, path), None if -1 in there else value_at(goal, tuple(there))
        if value is not None and moved != value:
            yield tuple(there), moved, value


def _written(edit: Edit, written: dict[str, Any], now: Expanded, goal: Mapping[str, Any]) -> list[Edit]:
    """One edit of the room in full as edits of what is written."""
    path = edit.path
    if isinstance(edit, Give):
        path, value = _whole_figure(path, goal, edit.value)
        if len(path) == 3 and path[0] == "racks" and path[2] in ("reservoir", "lights"):
            kept_in = "reservoirs" if path[2] == "reservoir" else "lights"
            if (name_of(goal["racks"][path[1]]), path[2]) == now.own.get((kept_in, value)):
                return []  # the rack's own, called as it is asked to be
        edit = Give(path, value)
    path, missing, rest = _place(path, written, now, goal)
    if not missing:
        return _direct(edit, path, written)
    entry: dict[str, Any] = {"name": missing}
    if isinstance(edit, Remove) and not rest:
        there = {name_of(each) for each in value_at(now.tables, path) or []}
        if (path and (path[0], missing) in now.own) or missing not in there:
            return []  # goes, or went, with its rack
        return [Add(path, {**entry, REMOVE: True})]
    if isinstance(edit, LeaveOut):
        raise LayoutError(CANNOT)
    if path == ("trays",) and missing in usual.names("trays"):
        entry[LIKE] = missing
    after = applied(goal, [edit])
    _say(entry, rest, after, edit.path[: len(edit.path) - len(rest)])
    return [Add(path, entry)]


def _shelves_named(edit: Edit, written: dict[str, Any], goal: Mapping[str, Any]) -> list[Edit]:
    """Shelves of several racks at once get the name they have anyway, where those of one of them are to differ."""
    if edit.path[:1] != ("racks",) or edit.path[2:3] != ("shelves",):
        return []
    rack, edits = value_at(goal, edit.path[:2]), list[Edit]()
    for place, each in enumerate(written.get("racks", [])):
        alike = expand({"racks": [each]}).groups if _grouped(each) else []
        if any(name_of(rack) in members for key, _, members in alike if key == "racks"):
            for at, (own, full) in enumerate(zip(each.get("shelves", []), rack["shelves"], strict=False)):
                if not name_of(own):
                    edits.append(Give(("racks", place, "shelves", at, "name"), name_of(full)))
    return edits


def _shelves_renamed(edit: Edit, written: dict[str, Any], goal: Mapping[str, Any]) -> list[Edit]:
    """Shelves are told by the names of their trays: a new name for a tray is theirs too."""
    if not (isinstance(edit, Give) and edit.path[:1] == ("trays",) and edit.path[2:] == ("name",)):
        return []
    old, edits = name_of(value_at(goal, edit.path[:2])), list[Edit]()
    for place, rack in enumerate(written.get("racks", [])):
        for at, shelves in enumerate(rack.get("shelves", [])):
            if old in (names := _names_in(shelves.get("trays"))):
                path = ("racks", place, "shelves", at, "trays")
                edits.append(Give(path, [edit.value if name == old else name for name in names]))
    return edits


def _names_in(trays: Any) -> list[Any]:
    return trays if isinstance(trays, list) else [trays]


def _direct(edit: Edit, path: Path, written: dict[str, Any]) -> list[Edit]:
    if isinstance(edit, Give):
        edits: list[Edit] = [Give(path, edit.value)]
        if len(path) == 3 and path[0] == "racks" and path[2] == "name":
            rack = written["racks"][path[1]]
            for key in ("reservoir", "lights"):
                own = rack.get(key, {})
                if isinstance(own, dict) and "name" not in own:
                    edits.append(Give((*path[:2], key, "name"), name_of(rack)))
        return edits
    if isinstance(edit, Add):
        return [Add(path, edit.table)]
    return [Remove(path)] if isinstance(edit, Remove) else [LeaveOut(path)]


def _whole_figure(path: Path, goal: Mapping[str, Any], value: Any) -> tuple[Path, Any]:
    """A part of a figure is given with the whole of it: a usual figure is replaced, not patched."""
    for length in range(1, len(path)):
        keys = tuple(step for step in path[:length] if isinstance(step, str))
        if kind_at(keys) == "figure":
            figure = value_at(goal, path[:length])
            figure = copy.deepcopy(figure) if isinstance(figure, dict) else {}
            figure.pop("source", None)
            return path[:length], {**figure, str(path[length]): value}
    return path, value


def _place(path: Path, written: dict[str, Any], now: Expanded, goal: Mapping[str, Any]) -> tuple[Path, str, Path]:
    """Where a path of the full room stands in what is written: the path, or that of the list in which the entry would
    have to be, its name and the rest of the path."""
    if len(path) > 1 and (brought := now.own.get((str(path[0]), name_of(value_at(goal, path[:2]))))) is not None:
        rack, key = brought
        places = [i for i, each in enumerate(written["racks"]) if name_of(each) == rack and not _grouped(each)]
        own = [each for each in written.get(str(path[0]), []) if name_of(each) == name_of(value_at(goal, path[:2]))]
        if places and not own and len(path) > 2:
            return ("racks", places[0], key, *path[2:]), "", ()
    here: Any = written
    there: Any = goal
    found: list[str | int] = []
    for length, step in enumerate(path):
        inner = there[step] if isinstance(step, int) else there.get(step, {}) if isinstance(there, dict) else {}
        if isinstance(step, int):
            listed = here if isinstance(here, list) else []
            name, single = name_of(inner), [found[-1] == "shelves" or not _grouped(each) for each in listed]
            places = [i for i, each in enumerate(listed) if name and name_of(each) == name and single[i]]
            if not places and length > 1 and len(listed) == len(there) and all(single):
                places = [step]
            if not places:
                return tuple(found), name, path[length + 1 :]
            found.append(places[0])
            here = listed[places[0]]
        else:
            found.append(step)
            here = here.get(step) if isinstance(here, dict) else None
        there = inner
    return tuple(found), "", ()


def _say(entry: dict[str, Any], rest: Path, after: Mapping[str, Any], at: Path) -> None:
    """Put what stands at the rest of the path into an entry that says only what differs."""
    here = entry
    for number, step in enumerate(rest):
        at = (*at, step)
        following = rest[number + 1] if number + 1 < len(rest) else None
        if isinstance(step, int):
            continue
        if isinstance(following, int) and name_of(value_at(after, (*at, following))) and number + 2 < len(rest):
            inner: dict[str, Any] = {"name": name_of(value_at(after, (*at, following)))}
            here[step] = [inner]
            here = inner
        elif following is None or isinstance(following, int):
            here[step] = copy.deepcopy(value_at(after, at))
            return
        else:
            here[step] = {}
            here = here[step]


def _grouped(entry: Any) -> bool:
    return isinstance(entry, dict) and (COUNT in entry or NAMES in entry)
