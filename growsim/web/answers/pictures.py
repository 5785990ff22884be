"""The figures of an answer with the words under them, taken from the answer's own report.

A figure's caption says what it shows; the report has the numbers behind it. That is its text alternative here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from html.parser import HTMLParser
from pathlib import Path

from growsim.report.figures import NARROW

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
    return list(_read(report, report.stat().st_mtime_ns)) if report.is_file() else []


@lru_cache(maxsize=128)
def _read(report: Path, _: int) -> tuple[Picture, ...]:
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
