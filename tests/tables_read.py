"""Tables of a page as a reader sees them: caption, heads, rows of cells; for tests that hold them cell by cell."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser


@dataclass
class Read:
    """One table. rows: cells as text, the row's head first."""

    caption: str = ""
    heads: list[str] = field(default_factory=list)
    rows: list[list[str]] = field(default_factory=list)

    def column(self, head: str) -> list[str]:
        """The cells below one head. Raises ValueError where there is none."""
        place = self.heads.index(head)
        return [row[place] for row in self.rows]


class _Tables(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tables: list[Read] = []
        self._in: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        if tag == "table":
            self.tables.append(Read())
        elif self.tables and tag == "tr" and "tbody" in self._in:
            self.tables[-1].rows.append([])
        elif self.tables and tag in ("th", "td"):
            (self.tables[-1].heads if "thead" in self._in else self.tables[-1].rows[-1]).append("")
        if tag in ("table", "thead", "tbody", "caption", "th", "td"):
            self._in.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if tag in self._in:
            del self._in[self._in.index(tag) :]

    def handle_data(self, data: str) -> None:
        inside = self._in[-1] if self._in else ""
        if inside == "caption":
            self.tables[-1].caption += data
        elif inside in ("th", "td"):
            cells = self.tables[-1].heads if "thead" in self._in else self.tables[-1].rows[-1]
            cells[-1] += data


def tables_of(page: str) -> list[Read]:
    """Every table, in order, blanks put right."""
    reader = _Tables()
    reader.feed(page)
    return [
        Read(
            " ".join(table.caption.split()),
            [" ".join(head.split()) for head in table.heads],
            [[" ".join(cell.split()) for cell in row] for row in table.rows],
        )
        for table in reader.tables
    ]
