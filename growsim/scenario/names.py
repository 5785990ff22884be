"""Names: none twice, and every name that is used exists. Works on the tables as written, so that a room with other
faults is still checked for its names.

Old words are found there too, told once each, and put right so that the rest can be checked.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Any

from growsim.scenario.reading import dotted, short
from growsim.scenario.wording import Finding, listing, nearest
from growsim.vocabulary.old_words import is_now

Path = tuple[str | int, ...]
Found = tuple[Path, dict[str, Any]]

ANY_CROP = "any"


def name_faults(raw: dict[str, Any]) -> list[Finding]:
    """Duplicate names and unknown references, as (key, problem, remedy)."""
    return [*_duplicates(raw), *_unknown(raw), *_reserved(raw)]


def _tables(holder: Any, key: str, at: Path = ()) -> list[Found]:
    """The tables of a list, with their paths; whatever is not a table is left to the validator."""
    entries = holder.get(key) if isinstance(holder, dict) else None
    if not isinstance(entries, (list, tuple)):
        return []
    return [((*at, key, i), entry) for i, entry in enumerate(entries) if isinstance(entry, dict)]


def _text(table: dict[str, Any], key: str) -> str:
    value = table.get(key)
    return value.strip() if isinstance(value, str) else ""


def _names(found: list[Found]) -> list[str]:
    return [name for _, table in found if (name := _text(table, "name"))]


def _lists(raw: dict[str, Any]) -> Iterator[tuple[str, str, list[Found]]]:
    """Every list of named tables: what one is called, the dotted key of the list, its tables."""
    for key, word in (
        ("trays", "trays"),
        ("racks", "racks"),
        ("crops", "crops"),
        ("reservoirs", "reservoirs"),
        ("lights", "light banks"),
        ("sowing", "sowing lines"),
        ("partners", "partners"),
        ("outages", "outages"),
        ("protections", "protections"),
    ):
        yield word, key, _tables(raw, key)
    for key, word in (("shifts", "shifts"), ("walk_throughs", "walk_throughs"), ("tasks", "tasks")):
        yield word, f"crew.{key}", _tables(raw.get("crew"), key, ("crew",))
    for path, rack in _tables(raw, "racks"):
        yield "groups of shelves", dotted(raw, (*path, "shelves")), _tables(rack, "shelves", path)
    for path, crop in _tables(raw, "crops"):
        yield "stages", dotted(raw, (*path, "stages")), _tables(crop, "stages", path)


def _duplicates(raw: dict[str, Any]) -> list[Finding]:
    findings = []
    for word, key, tables in _lists(raw):
        names = Counter(_names(tables))
        by_lower: dict[str, str] = {}
        for name, times in names.items():
            if times > 1:
                findings.append((f"{key}.{name}", f"{times} {word} have this name", "give each its own name"))
            other = by_lower.setdefault(name.casefold(), name)  # records and tables of shelves are read in any case
            if other != name:
                findings.append((f"{key}.{name}", f"'{short(other)}' differs by capitals only", "give another name"))
    return findings


def _reserved(raw: dict[str, Any]) -> list[Finding]:
    return [
        (dotted(raw, (*path, "name")), f"a crop cannot be called '{ANY_CROP}'", "orders use that word for every crop")
        for path, crop in _tables(raw, "crops")
        if _text(crop, "name") == ANY_CROP
    ]


def _unknown(raw: dict[str, Any]) -> list[Finding]:
    reservoirs, banks = _names(_tables(raw, "reservoirs")), _names(_tables(raw, "lights"))
    crops, trays = _names(_tables(raw, "crops")), _names(_tables(raw, "trays"))
    stages = sorted({name for path, crop in _tables(raw, "crops") for name in _names(_tables(crop, "stages", path))})
    findings: list[Finding] = []

    def look(path: Path, table: dict[str, Any], key: str, word: str, known: list[str]) -> None:
        given = _text(table, key)
        if given and given not in known:
            findings.append((dotted(raw, (*path, key)), *unknown_name(word, given, known)))

    for path, rack in _tables(raw, "racks"):
        look(path, rack, "reservoir", "reservoir", reservoirs)
        look(path, rack, "lights", "light bank", banks)
        for shelf_path, shelves in _tables(rack, "shelves", path):
            permitted = shelves.get("stages")
            for name in permitted if isinstance(permitted, (list, tuple)) else ():
                if isinstance(name, str) and name.strip() not in stages:
                    key = dotted(raw, (*shelf_path, "stages"))
                    findings.append((key, *unknown_name("stage of any crop", name, stages)))
    for path, crop in _tables(raw, "crops"):
        own = _names(_tables(crop, "stages", path))
        for stage_path, stage in _tables(crop, "stages", path):
            look(stage_path, stage, "tray", "tray", trays)
            look(stage_path, stage, "after", "stage of this crop", own)
    for path, line in _tables(raw, "sowing"):
        look(path, line, "crop", "crop", crops)
    for path, partner in _tables(raw, "partners"):
        for order_path, order in _tables(partner, "orders", path):
            look(order_path, order, "crop", "crop", [*crops, ANY_CROP])
    for path, task in _tables(raw.get("crew"), "tasks", ("crew",)):
        for crop_path, minutes in _tables(task, "by_crop", path):
            look(crop_path, minutes, "crop", "crop", crops)
    for path, outage in _tables(raw, "outages"):
        look(path, outage, "where", "reservoir or light bank", [*reservoirs, *banks])
    return findings


def unknown_name(word: str, given: str, known: list[str]) -> tuple[str, str]:
    """Problem and remedy for a name nobody bears."""
    right = nearest(given, known)
    remedy = f"did you mean '{right}'" if right else f"known: {listing(known)}" if known else "add it to the file"
    return f"'{short(given, 60)}' is no {word}", remedy


def in_words_of_today(raw: dict[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    """The tables with every old word replaced, and a finding for each of them, once however often it stands there."""
    found: Counter[Finding] = Counter()

    def walked(given: Any, where: str, shown: str) -> Any:
        """where: the table as it is called now; shown: as the file calls it. Entries of a list go without a name."""
        if isinstance(given, (list, tuple)):
            return [walked(entry, where, shown) for entry in given]
        if isinstance(given, str) and (new := is_now(where, given)):
            found[shown, f'"{given}" is now called "{new}"', "rename it"] += 1
            return new
        if not isinstance(given, dict):
            return given
        today: dict[str, Any] = {}
        for key, value in given.items():
            new, old = is_now(where, key), f"{shown}.{key}".lstrip(".")
            if new is not None:
                found[old, f"is now called {new}", "keep one of the two" if new in given else "rename it"] += 1
            today[new or key] = walked(value, f"{where}.{new or key}".lstrip("."), old)
        return today

    today = walked(raw, "", "")
    findings = [
        (key, problem, remedy + (f", in all {times} places" if times > 1 else ""))
        for (key, problem, remedy), times in found.items()
    ]
    return (today if found else raw), findings
