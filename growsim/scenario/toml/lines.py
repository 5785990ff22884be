"""Where in a TOML text each key and heading stands, so that one value can be changed and every other byte kept.

The text is known to be sound TOML (`tomllib` has read it); this only finds places. Grammar: toml.io/en/v1.0.0.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

Path = tuple[str | int, ...]

_BLANK = re.compile(r"[ \t]*(?:#[^\n]*)?(?:\n|$)")
_KEY_PART = re.compile(r"""[ \t]*(?:([A-Za-z0-9_-]+)|"((?:[^"\\]|\\.)*)"|'([^']*)')[ \t]*""")
_STRINGS = re.compile(
    r'"""(?:[^\\]|\\.)*?"""(?:"{0,2})|\'\'\'.*?\'\'\'(?:\'{0,2})|"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'', re.DOTALL
)
_COMMENT = re.compile(r"#[^\n]*")
_SIMPLE = re.compile(r"[^\s#,\[\]{}\"'][^\n#,\[\]{}\"']*")


@dataclass(frozen=True)
class Piece:
    """A stretch of whole lines. kind: heading ([a] or [[a]]), key, or other (a remark, an empty line).

    path: of the table a heading opens, or of the key; list places are whole numbers. value_start, value_end: of a key's
    value.
    """

    kind: Literal["heading", "key", "other"]
    start: int
    end: int
    path: Path = ()
    value_start: int = 0
    value_end: int = 0


def pieces_of(text: str) -> list[Piece]:
    """The whole text, piece by piece."""
    return list(_Reader(text).pieces())


def comments_in(text: str, start: int, end: int) -> list[str]:
    """The remarks inside a value, such as a list over several lines."""
    found: list[str] = []
    at = start
    while at < end:
        string = _STRINGS.match(text, at)
        remark = _COMMENT.match(text, at)
        if string:
            at = string.end()
        elif remark:
            found.append(remark.group().rstrip())
            at = remark.end()
        else:
            at += 1
    return found


class _Reader:
    def __init__(self, text: str) -> None:
        self.text = text
        self.last: dict[Path, int] = {}  # of each list of tables, the place of its last entry

    def pieces(self) -> Iterator[Piece]:
        text, at, table = self.text, 1 if self.text.startswith("\ufeff") else 0, ()
        here: Path = table
        while at < len(text):
            blank = _BLANK.match(text, at)
            if blank:
                yield Piece("other", at, blank.end())
                at = blank.end()
                continue
            start = at
            at += len(text[at:]) - len(text[at:].lstrip(" \t")) if text[at] in " \t" else 0
            if text[at] == "[":
                is_list = text.startswith("[[", at)
                keys, at = self._keys(at + (2 if is_list else 1))
                here = self._opened(keys, is_list)
                at = self._line_end(at + (2 if is_list else 1))
                yield Piece("heading", start, at, here)
            else:
                keys, at = self._keys(at)
                value = self._past_space(at + 1)
                stop = self._value_end(value)
                at = self._line_end(stop)
                yield Piece("key", start, at, (*here, *keys), value, stop)

    def _keys(self, at: int) -> tuple[tuple[str, ...], int]:
        """Keys with dots between, from `at` on; and where they end."""
        keys: list[str] = []
        while True:
            part = _KEY_PART.match(self.text, at)
            assert part is not None, "the text is not sound TOML"
            bare, double, single = part.groups()
            keys.append(bare if bare is not None else single if double is None else _unescaped(double))
            at = part.end()
            if self.text[at] != ".":
                return tuple(keys), at
            at += 1

    def _opened(self, keys: tuple[str, ...], is_list: bool) -> Path:
        """The path a heading opens: names of lists are followed by the place of the entry meant."""
        path: Path = ()
        for step, key in enumerate(keys):
            path = (*path, key)
            if is_list and step == len(keys) - 1:
                self.last[path] = self.last.get(path, -1) + 1
            if path in self.last:
                path = (*path, self.last[path])
        if is_list:  # lists inside the new entry begin again
            self.last = {known: place for known, place in self.last.items() if known[: len(path)] != path}
        return path

    def _past_space(self, at: int) -> int:
        while self.text[at] in " \t":
            at += 1
        return at

    def _line_end(self, at: int) -> int:
        found = self.text.find("\n", at)
        return len(self.text) if found < 0 else found + 1

    def _value_end(self, at: int) -> int:
        text, depth = self.text, 0
        while True:
            string = _STRINGS.match(text, at)
            if string:
                at = string.end()
            elif text[at] in "[{":
                depth, at = depth + 1, at + 1
            elif text[at] in "]}":
                depth, at = depth - 1, at + 1
            elif text[at] == "#":
                at = _COMMENT.match(text, at).end()  # type: ignore[union-attr]
            elif depth == 0:
                simple = _SIMPLE.match(text, at)
                assert simple is not None, "the text is not sound TOML"
                return at + len(simple.group().rstrip())
            else:
                at += 1
            if depth == 0:
                return at


def _unescaped(inner: str) -> str:
    """A key in double quotes, with TOML's escapes (JSON's, and \\U with eight digits) undone."""
    wide = re.sub(r"\\U([0-9A-Fa-f]{8})", lambda found: chr(int(found.group(1), 16)), inner)
    key = json.loads(f'"{wide}"', strict=False)
    assert isinstance(key, str)
    return key
