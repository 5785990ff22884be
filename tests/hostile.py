"""Room files that somebody spoiled: a key missing, of the wrong type, negative, zero, nan, inf, huge, tiny, unknown,
twice, dangling; a text cut, doubled, nested, encoded otherwise."""

from __future__ import annotations

import copy
import math
import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from growsim.scenario.anatomy import Anatomy, anatomy_of, field_at
from growsim.scenario.scenario import Scenario

Path = tuple[str | int, ...]
WRONG_TYPES: tuple[Any, ...] = ("a stone or two", True, [], {}, [[1]], {"low": 1}, 5.5, -7)
REFERENCES = ("reservoir", "lights", "tray", "after", "crop")


@dataclass(frozen=True)
class Spoiled:
    """A room's tables with one thing spoiled. how: in a word. key: which. must_refuse: whether it cannot be meant."""

    how: str
    path: Path
    tables: dict[str, Any]
    must_refuse: bool

    def __str__(self) -> str:
        return f"{self.how} {'.'.join(map(str, self.path))}"


def leaves(value: Any, path: Path = ()) -> Iterator[Path]:
    """The place of every value that is no table, and of every table and list."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from leaves(inner, (*path, place))


def spoiled(tables: dict[str, Any], chance: random.Random, count: int) -> Iterator[Spoiled]:
    """So many of all the ways to spoil one thing, drawn evenly from every key and way."""
    ways = [(path, how) for path in leaves(tables) for how in _WAYS]
    for path, how in chance.sample(ways, min(count, len(ways))):
        made = copy.deepcopy(tables)
        holder: Any = made
        for step in path[:-1]:
            holder = holder[step]
        must = _WAYS[how](holder, path[-1], _what(path), chance)
        if must is not None:
            yield Spoiled(how, path, made, must)


def _what(path: Path) -> Anatomy | None:
    """The anatomy of a key of a table; None inside a list or a figure."""
    field = field_at(Scenario, path)
    if field is None or isinstance(path[-1], int):
        return None
    return anatomy_of(field)


def spoiled_texts(text: bytes, chance: random.Random, count: int) -> Iterator[tuple[str, bytes]]:
    """So many texts in which bytes or lines are cut, doubled, swapped, nested, or encoded otherwise."""
    lines = text.split(b"\n")
    for number in range(count):
        how = _TEXTS[number % len(_TEXTS)]
        at, to = sorted((chance.randrange(len(text)), chance.randrange(len(text))))
        line = chance.randrange(len(lines))
        noise = bytes(chance.randrange(256) for _ in range(chance.randrange(1, 9)))
        deep = chance.randrange(1, 1000)
        made = {
            "cut short": text[:at],
            "cut out": text[:at] + text[min(to, at + 200) :],
            "noise": text[:at] + noise + text[at:],
            "line twice": b"\n".join([*lines[:line], lines[line], *lines[line:]]),
            "line gone": b"\n".join([*lines[:line], *lines[line + 1 :]]),
            "list nested": b"\n".join([*lines[:line], b"x = " + b"[" * deep + b"]" * deep, *lines[line:]]),
            "table nested": b"\n".join([*lines[:line], b"x = " + b"{a=" * deep + b"1" + b"}" * deep, *lines[line:]]),
            "heading nested": b"\n".join([*lines, b"[" + b".".join([b"a"] * deep) + b"]"]),
            "letter gone": text[:at] + text[at + 1 :],
            "encoded otherwise": text.decode().encode(chance.choice(["utf-16", "utf-32", "utf-8-sig", "cp037"])),
            "line ends": text.replace(b"\n", chance.choice([b"\r\n", b"\r", b"\n\r"])),
        }[how]
        yield f"{how} {number}", made


def _number(holder: Any, step: Any, value: Any) -> bool:
    if isinstance(holder[step], bool) or not isinstance(holder[step], (int, float)):
        return False
    holder[step] = value
    return True


def _missing(holder: Any, step: Any, what: Anatomy | None, chance: random.Random) -> bool | None:
    del holder[step]
    return what is not None and what.required and not isinstance(step, int) and what.kind not in _MAY_COME_OF_USUAL


def _wrong_type(holder: Any, step: Any, what: Anatomy | None, chance: random.Random) -> bool | None:
    before = holder[step]
    holder[step] = chance.choice([each for each in WRONG_TYPES if type(each) is not type(before)])
    return (
        isinstance(before, (int, float))
        and holder[step] in ("a stone or two", True, [[1]])
        and type(before) is not bool
    )


def _set_to(value: float, *, refused: bool) -> Any:
    def spoil(holder: Any, step: Any, what: Anatomy | None, chance: random.Random) -> bool | None:
        if not _number(holder, step, value):
            return None
        out = what is not None and not _may_be(what, value)
        return refused or out

    return spoil


def _may_be(what: Anatomy, value: float) -> bool:
    bounds = what.bounds
    return bounds.get("ge", -math.inf) <= value <= bounds.get("le", math.inf) and bounds.get(
        "gt", -math.inf
    ) < value < bounds.get("lt", math.inf)


def _unknown(holder: Any, step: Any, what: Anatomy | None, chance: random.Random) -> bool | None:
    if not isinstance(holder, dict):
        return None
    holder[f"{step}x{chance.randrange(100)}"] = holder[step]
    return True


def _twice(holder: Any, step: Any, what: Anatomy | None, chance: random.Random) -> bool | None:
    if not isinstance(holder, list):
        return None
    holder.insert(step, copy.deepcopy(holder[step]))
    return isinstance(holder[step], dict) and "name" in holder[step]


def _dangling(holder: Any, step: Any, what: Anatomy | None, chance: random.Random) -> bool | None:
    if step not in REFERENCES or not isinstance(holder[step], str):
        return None
    holder[step] = f"no such {step}"
    return True


def _long(holder: Any, step: Any, what: Anatomy | None, chance: random.Random) -> bool | None:
    if step != "name" or not isinstance(holder[step], str):
        return None
    holder[step] = chance.choice(["n" * 100_000, "two\nlines", "a\ttab", "\x1b[31mred", "\u202eright to left", " "])
    return True


_MAY_COME_OF_USUAL = ("text",)
_TEXTS = (
    "cut short", "cut out", "noise", "line twice", "line gone", "list nested", "table nested", "heading nested",
    "letter gone", "encoded otherwise", "line ends",
)  # fmt: skip
_WAYS = {
    "missing": _missing,
    "wrong type": _wrong_type,
    "negative": _set_to(-3, refused=False),
    "zero": _set_to(0, refused=False),
    "not a number": _set_to(math.nan, refused=True),
    "infinite": _set_to(math.inf, refused=True),
    "huge": _set_to(1e12, refused=False),
    "huge whole": _set_to(10**30, refused=True),
    "tiny": _set_to(1e-300, refused=True),
    "unknown": _unknown,
    "twice": _twice,
    "dangling": _dangling,
    "name": _long,
}
