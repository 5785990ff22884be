"""The files of an answer: which there are, what each is, and no way to any other."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import lru_cache
from html import escape
from html.parser import HTMLParser
from pathlib import Path

from growsim.report.figures import NARROW
from growsim.scenario.spreadsheets import Cell
from growsim.web.folder import NotHereError
from growsim.web.runs import record

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
TYPES = {
    ".csv": "text/csv; charset=utf-8",
    ".html": "text/html; charset=utf-8",
    ".ics": "text/calendar; charset=utf-8",
    ".json": "application/json",
    ".jsonl": "application/jsonl",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".toml": "application/toml",
    ".txt": "text/plain; charset=utf-8",
    ".xlsx": XLSX,
}
# What a file is, in the reader's words; {name} is its own name in words.
_KINDS = {
    ".csv": "table",
    ".html": "page to read or print",
    ".ics": "for a calendar program",
    ".json": "figures for other programs",
    ".jsonl": "the year day by day, for other programs",
    ".toml": "CHANGE file",
    ".txt": "text",
    ".xlsx": "workbook",
}
# A report may bring its own look and pictures, and nothing else: no script, no forms, no links that act.
REPORT_POLICY = (
    "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
PICTURE_POLICY = "sandbox; default-src 'none'; style-src 'unsafe-inline'; img-src data:"
MOST_TABLE_ROWS = 60_000  # in one workbook; larger tables are there as CSV files
_NUMBER = re.compile(r"-?\d{1,15}(\.\d+)?([eE][+-]?\d{1,3})?")


@dataclass(frozen=True)
class FileHere:
    """A file of an answer. name: its path within the answer, with / between."""

    name: str
    path: Path
    bytes: int

    @property
    def kind(self) -> str:
        """What it is, in words."""
        return _KINDS.get(self.path.suffix, "file")

    @property
    def size(self) -> str:
        """How large, in words."""
        return f"{self.bytes / 1e6:.1f} MB" if self.bytes >= 1e6 else f"{max(1, round(self.bytes / 1e3))} kB"

    @property
    def is_page(self) -> bool:
        """Whether it is a page of its own."""
        return self.path.suffix == ".html"

    @property
    def is_picture(self) -> bool:
        """Whether it is a picture."""
        return self.path.suffix in (".svg", ".png")


def files_of(run_folder: Path) -> dict[str, FileHere]:
    """Every file of a finished answer that may be handed out, by name. Links are passed by."""
    found: dict[str, FileHere] = {}
    for part in (record.ANSWER, record.DAYS):
        root = run_folder / part
        if not root.is_dir() or root.is_symlink():
            continue
        for path in sorted(root.rglob("*")):
            inside = path.relative_to(root)
            linked = any((root / Path(*inside.parts[: n + 1])).is_symlink() for n in range(len(inside.parts)))
            if linked or not path.is_file() or path.suffix not in TYPES or path.name.startswith("."):
                continue
            name = inside.as_posix() if part == record.ANSWER else f"{part}/{inside.as_posix()}"
            found[name] = FileHere(name, path, path.stat().st_size)
    return found


def file_named(run_folder: Path, name: str) -> FileHere:
    """One of the answer's files by its exact name. Raises NotHereError for any other."""
    found = files_of(run_folder).get(name)
    if found is None:
        raise NotHereError(f"There is no file “{name[:80]}” with this answer.")
    return found


def with_a_way_back(file: FileHere, back: str) -> str:
    """The text of a page of an answer, with a link back to the answer above it; not printed. back: its address."""
    style = "<style>.way-back{margin:.2rem 0 .6rem}@media print{.way-back{display:none}}</style>"
    link = f'<nav class="way-back" aria-label="Way back"><a href="{escape(back)}">Back to the answer</a></nav>'
    return re.sub(r"<body[^>]*>", lambda found: found[0] + style + link, file.path.read_text(encoding="utf-8"), count=1)


def workbook_of(run_folder: Path) -> bytes:
    """Every table of the answer as a sheet of one workbook. Raises NotHereError where it has none."""
    from growsim.scenario.spreadsheets import workbook_bytes

    sheets: dict[str, list[list[Cell]]] = {}
    widths: dict[str, list[int]] = {}
    left = MOST_TABLE_ROWS
    for file in files_of(run_folder).values():
        if file.path.suffix != ".csv" or "/" in file.name:
            continue
        with file.path.open(encoding="utf-8", newline="") as page:
            rows: list[list[Cell]] = [[_cell(text) for text in row] for row in csv.reader(page)]
        if len(rows) <= left and rows:
            left -= len(rows)
            name = file.path.stem[:31]
            sheets[name] = rows
            widths[name] = [min(50, max(len(str(row[i])) for row in rows[:50] if i < len(row)) + 3)
                            for i in range(len(rows[0]))]  # fmt: skip
    if not sheets:
        raise NotHereError("This answer has no tables.")
    return workbook_bytes(sheets, widths)


def _cell(text: str) -> Cell:
    """A number as a number; the apostrophe that guards a text in a CSV file is not needed in a workbook."""
    if _NUMBER.fullmatch(text):
        return float(text) if "." in text or "e" in text.lower() else int(text)
    return text[1:] if text[:2] in ("'=", "'+", "'-", "'@") else text


FIGURES = "figures"


@dataclass(frozen=True)
class Picture:
    """A figure. heading: of the section it stands in. file, narrow: its names among the answer's files, the second as
    drawn for a phone."""

    name: str
    heading: str
    caption: str
    file: str
    narrow: str


def pictures_of(answer: Path) -> list[Picture]:
    """The figures of a report that lie beside it as SVG, in the report's order."""
    report = answer / "report.html"
    return list(_pictures_in(report, report.stat().st_mtime_ns)) if report.is_file() else []


@lru_cache(maxsize=128)
def _pictures_in(report: Path, _: int) -> tuple[Picture, ...]:
    """An answer's report never changes any more: it is read once."""
    reader = _Reader()
    reader.feed(report.read_text(encoding="utf-8"))
    found = []
    for name, heading, caption in reader.figures:
        file, narrow = f"{FIGURES}/{name}.svg", f"{FIGURES}/{name}{NARROW}.svg"
        if name.replace("-", "").replace("_", "").isalnum() and (report.parent / file).is_file():
            found.append(Picture(name, heading, " ".join(caption.split()), file,
                                 narrow if (report.parent / narrow).is_file() else file))  # fmt: skip
    return tuple(found)


class _Reader(HTMLParser):
    """Reads <h2>, <figure id=...> and its <figcaption> off a report; what is inside the drawing is passed by."""

    def __init__(self) -> None:
        super().__init__()
        self.figures: list[tuple[str, str, str]] = []
        self._heading, self._name, self._caption = "", "", ""
        self._into = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Begin to listen."""
        if tag == "h2":
            self._heading, self._into = "", "h2"
        elif tag == "figure":
            self._name, self._caption = dict(attrs).get("id") or "", ""
        elif tag == "figcaption":
            self._into = "figcaption"

    def handle_endtag(self, tag: str) -> None:
        """Stop listening."""
        if tag == self._into:
            self._into = ""
        if tag == "figure" and self._name:
            self.figures.append((self._name, self._heading.strip(), self._caption))
            self._name = ""

    def handle_data(self, data: str) -> None:
        """Listen."""
        if self._into == "h2":
            self._heading += data
        elif self._into == "figcaption":
            self._caption += data
