"""From a file on disk to the tables written in it, or a sentence about why not. No meaning is looked at here."""

from __future__ import annotations

import datetime as dt
import hashlib
import math
import re
import tomllib
import unicodedata
from pathlib import Path
from typing import Any

from growsim.errors import Fault, RoomFileError

LARGEST_FILE_BYTES = 5_000_000
_LARGEST_TOML_BYTES = 1_000_000  # fifty times what a large room is written in; the TOML reader is slow
_LARGEST_NUMBER = 2**63 - 1
_SMALLEST_NUMBER = 1e-12
_MOST_DEEP = 20  # tables within tables; a room file has five

# A key of a hundred parts; the time the TOML reader takes for one grows with the square of its parts.
_LONG_KEY = re.compile(r"""(?<![\w-])(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){100}""")

_MOST_MENDED = 20
_LACKS_QUOTES = ("goes on after its value", "has no value that can be read")
_KEY_AND_VALUE = re.compile(r"(\s*)([A-Za-z0-9_-]+)\s*=\s*([^#]*?)\s*(?:#.*)?")
_WORDS = re.compile(r"[$€£]?[\w.,:%°µ²³/ $€£+'-]*\d[\w.,:%°µ²³/ $€£'-]*")  # an amount or a date, without quotes
_CLOCK = re.compile(r"(=\s*)(\d{1,2}:\d{2}(?:\s*[ap]m)?|\d{1,2}\s*[ap]m)(?=\s*(?:[,}\]#]|$))", re.IGNORECASE)

# What the TOML reader says, and how we say it: (its words, problem, remedy).
_SYNTAX: tuple[tuple[str, str, str], ...] = (
    ("invalid date", "holds a date that is not on the calendar", "give a date such as 2031-01-06"),
    ("cannot declare", "opens a table that the file has opened already", "keep one of the two, or write [[...]] twice"),
    ("cannot overwrite", "gives the same key twice", "keep one of the two"),
    ("cannot mutate", "adds to a table that was closed already", "put all its keys in one place"),
    ("duplicate inline", "gives the same key twice", "keep one of the two"),
    ("unclosed array", "opens a list with [ that is never closed", "add the missing ]"),
    ("unclosed inline", "opens a table with { that is not closed on the same line", "add the missing }"),
    ("unterminated string", "opens a text with a quote that is never closed", "add the missing quote"),
    ("illegal character", "holds a character that cannot be in a text on one line", "close the quote on the same line"),
    ("unescaped", "holds a \\ inside a text in double quotes", "write the text in single quotes"),
    ("expected newline", "goes on after its value", "one key = value a line; decimals take a point, text takes quotes"),
    ("expected '='", "has no = after its key", "write key = value, or begin a remark with #"),
    ("expected ']'", "opens a heading with [ that is never closed", "add the missing ]"),
    ("expected ']]'", "opens a heading with [[ that is never closed", "add the missing ]]"),
    ('expected "\'"', "opens a text with a quote that is never closed", "add the missing quote"),
    ("expected '\"'", "opens a text with a quote that is never closed", "add the missing quote"),
    ("invalid value", "has no value that can be read", 'give a number, "text in quotes", true, false or a date'),
    ("invalid statement", "is no key, no heading and no remark", "write key = value, [heading] or # remark"),
    ("invalid initial character", "has a key with a character it cannot have", "put the key in quotes"),
)


def whole_file(path: Path, *, or_else: str = "") -> bytes:
    """The bytes of a file. or_else: what helps, besides checking the name, where there is none: ", or ...".

    Raises RoomFileError where it cannot be read, is a folder, or is larger than 5 MB.
    """
    try:
        size = path.stat().st_size
        if path.is_dir():
            raise _refused(path, "is a folder, not a file", "name a file")
        if not path.is_file():
            raise _refused(path, "is not an ordinary file", "name a file on this computer's disk")
        if size > LARGEST_FILE_BYTES:
            raise _refused(path, f"is {size / 1e6:.1f} MB large", "keep it below 5 MB")
        return path.read_bytes()
    except FileNotFoundError:
        raise _refused(path, "there is no such file", f"check the name{or_else}") from None
    except NotADirectoryError:
        raise _refused(path, "goes through something that is no folder", "check the name") from None
    except PermissionError:
        raise _refused(path, "may not be read by you", "ask for permission to read it") from None
    except (OSError, ValueError) as error:  # a name too long, a NUL in the name, a broken disk
        reason = getattr(error, "strerror", None) or "the name cannot be used"
        raise _refused(path, f"cannot be read ({reason})", "check the name and the disk") from None


def text_of(path: Path, content: bytes) -> str:
    """The file's text. Raises RoomFileError where it is empty, binary or not UTF-8."""
    if not content.strip():
        raise _refused(path, "is empty", "start from the room that `growsim new` writes")
    if b"\0" in content:
        raise _refused(path, "is not a text file", "name a text file, saved as UTF-8")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise _refused(path, f"line {line} is not written in UTF-8", "save the file as UTF-8") from None


def tables_of(path: Path, content: bytes) -> dict[str, Any]:
    """The tables of a TOML file. Raises RoomFileError: syntax with its line."""
    if len(content) > _LARGEST_TOML_BYTES:
        raise _refused(path, f"is {len(content) / 1e6:.1f} MB large", "a room file stays below 1 MB")
    text = text_of(path, content).replace("\r\n", "\n")
    if found := _LONG_KEY.search(text):
        line = text.count("\n", 0, found.start()) + 1
        raise _refused(path, f"line {line} has a name of a hundred parts and more", "take the extra ones out")
    faults: list[Fault] = []
    lost: list[str] = []
    try:
        while True:
            try:
                raw = tomllib.loads(text)
                break
            except tomllib.TOMLDecodeError as error:
                fault = _syntax_fault(path, text, str(error))
                faults.append(fault)
                mended = _mended(text, _line_of(text, str(error)), fault.problem, lost)
                if mended is None or len(faults) >= _MOST_MENDED:
                    raise RoomFileError(faults) from None
                text = mended
        _refuse_deep(raw)
    except RecursionError:
        raise _refused(path, "nests lists or tables too deeply to read", "take the extra [ or { out") from None
    except ValueError:  # a whole number with thousands of digits
        raise _refused(path, "holds a number that is far too long", "give figures of ordinary size") from None
    if faults:
        raise PartlyReadError(faults, raw, tuple(lost))
    return raw


class PartlyReadError(RoomFileError):
    """Some lines cannot be read as TOML; the rest can. rest: its tables. lost: keys of the lines left out."""

    def __init__(self, faults: list[Fault], rest: dict[str, Any], lost: tuple[str, ...]) -> None:
        super().__init__(faults)
        self.rest, self.lost = rest, lost


def _mended(text: str, line: int, problem: str, lost: list[str]) -> str | None:
    """The text with one line put right or left out, for the others to be read; None where that is not to be told.

    An amount that lacks its quotes gets them; of what is left out the key is added to `lost`.
    """
    lines = text.split("\n")
    if line <= len(lines) and _CLOCK.search(lines[line - 1]):
        lines[line - 1] = _CLOCK.sub(r'\1"\2"', lines[line - 1])
        return "\n".join(lines)
    found = _KEY_AND_VALUE.fullmatch(lines[line - 1]) if line <= len(lines) else None
    if found is None or '"""' in lines[line - 1] or "'''" in lines[line - 1]:
        return None
    before, key, value = found.groups()
    if _WORDS.fullmatch(value) and problem.endswith(_LACKS_QUOTES):
        lines[line - 1] = f'{before}{key} = "{value.strip()}"'
    else:
        lines[line - 1] = ""
        lost.append(key)
    return "\n".join(lines)


def _refuse_deep(value: Any, depth: int = 0) -> None:
    """Raises RecursionError, as the reader of the file does, where tables or lists are nested beyond all use."""
    if depth > _MOST_DEEP:
        raise RecursionError
    if isinstance(value, (dict, list)):
        for inner in value.values() if isinstance(value, dict) else value:
            _refuse_deep(inner, depth + 1)


def fingerprint(content: bytes) -> str:
    """SHA-256 of the bytes, in hexadecimal."""
    return hashlib.sha256(content).hexdigest()


def dotted(raw: Any, path: tuple[str | int, ...]) -> str:
    """A path into nested tables as a reader knows it: `crops.butterhead.stages.finishing.days`.

    A table in a list goes by its name (an order by its crop); one without goes by its place, `crops.entry 2`.
    """
    words: list[str] = []
    here = raw
    for step in path:
        here = _inside(here, step)
        if isinstance(step, int):
            name = (here.get("name") or here.get("crop")) if isinstance(here, dict) else None
            words.append(short(name, 60) if isinstance(name, str) and name.strip() else f"entry {step + 1}")
        else:
            words.append(short(step, 60))
    return ".".join(words)


def _inside(here: Any, step: str | int) -> Any:
    if isinstance(step, int):
        return here[step] if isinstance(here, (list, tuple)) and step < len(here) else None
    return here.get(step) if isinstance(here, dict) else None


def unreadable_numbers(value: Any, path: tuple[str | int, ...] = (), raw: Any = None) -> list[tuple[str, str, str]]:
    """Every NaN, infinity, astronomically large or small number below `value`, as (key, problem, remedy)."""
    raw = value if raw is None else raw
    if isinstance(value, dict):
        return [found for key, inner in value.items() for found in unreadable_numbers(inner, (*path, key), raw)]
    if isinstance(value, (list, tuple)):
        return [found for i, inner in enumerate(value) for found in unreadable_numbers(inner, (*path, i), raw)]
    told = _unreadable(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else None
    return [(dotted(raw, path), *told)] if told else []


def _unreadable(number: float) -> tuple[str, str] | None:
    if isinstance(number, float) and not math.isfinite(number):
        return f"is {number}, which is no number to plan with", "give an ordinary number"
    if abs(number) > _LARGEST_NUMBER:
        return "is a number far too large", "give a figure of ordinary size"
    if 0.0 < abs(number) < _SMALLEST_NUMBER:
        return f"is {number}, which is next to nothing", "give 0 or a figure of ordinary size"
    return None


def readable(value: Any) -> Any:
    """The same tables, with 1 for every number that is not; what is told of those is told already."""
    if isinstance(value, dict):
        return {key: readable(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [readable(inner) for inner in value]
    is_number = isinstance(value, (int, float)) and not isinstance(value, bool)
    return 1 if is_number and _unreadable(value) else value


def as_written(value: Any) -> str:
    """A value as the file would show it, shortened to 40 characters."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (dt.date, dt.time)):
        return value.isoformat()
    if isinstance(value, dict):
        return "a table"
    text = f'"{value}"' if isinstance(value, str) else str(list(value) if isinstance(value, tuple) else value)
    return short(text)


def short(text: str, most: int = 40) -> str:
    """A text on one line, what is more than `most` letters cut off and what cannot be shown as "?"."""
    text = "".join(letter if is_shown(letter) else "?" for letter in " ".join(text[: 4 * most].split()))
    return text if len(text) <= most else text[: most - 3] + "..."


def is_shown(letter: str) -> bool:
    """Whether a letter is one that is seen where it stands: no control character, none that turns a line around."""
    return letter in "\u200c\u200d" or unicodedata.category(letter) not in ("Cc", "Cf", "Cs", "Zl", "Zp")


def _line_of(text: str, message: str) -> int:
    """The line that the TOML reader stumbled over."""
    found = re.search(r"line (\d+)", message)
    return int(found.group(1)) if found else max(1, len(text.rstrip("\n").split("\n")))


def _syntax_fault(path: Path, text: str, message: str) -> Fault:
    lines = text.split("\n")
    line = _line_of(text, message)
    written = lines[line - 1].strip() if line <= len(lines) else ""
    shown = short(written, 60)
    problem, remedy = "cannot be read as TOML", "compare it with the room that `growsim new` writes"
    for words, told_problem, told_remedy in _SYNTAX:
        if words in message.lower():
            problem, remedy = told_problem, told_remedy
            break
    found = _KEY_AND_VALUE.fullmatch(written)
    if time := _CLOCK.search(written):
        problem, remedy = f"has the time {time[2]} without quotes", f'write "{time[2]}"'
    elif found and _WORDS.fullmatch(found[3]) and problem in _LACKS_QUOTES:
        amount = found[3].replace(",", ".")
        is_comma = re.fullmatch(r"[+-]?\d+[.]\d+", amount) and not re.fullmatch(r"[1-9]\d{0,2},\d{3}", found[3])
        remedy = (
            f"decimals take a point: {found[2]} = {amount}"
            if is_comma
            else f'put it in quotes: {found[2]} = "{short(found[3], 40)}"'
        )
    where = f"line {line} (`{shown}`)" if shown else f"line {line}"
    return Fault(str(path), "", f"{where} {problem}", remedy)


def _refused(path: Path, problem: str, remedy: str) -> RoomFileError:
    return RoomFileError([Fault(str(path), "", problem, remedy)])
