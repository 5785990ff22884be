"""Looks through a page for kilograms without pounds and °C without °F: the customer's readers use either."""

from __future__ import annotations

import re
from html.parser import HTMLParser

_BLOCKS = ("p", "li", "tr", "caption", "figcaption", "h1", "h2", "h3", "dt", "dd", "summary", "legend", "label")
_ASIDE = ("script", "style", "svg", "pre")
_PAIRS = (
    (re.compile(r"(?<![\w/])kg\b(?!/)"), re.compile(r"\blb\b|pounds?\b")),
    (re.compile(r"°C"), re.compile(r"°F")),
)


class _Texts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.texts: list[str] = [""]
        self._aside = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._aside += tag in _ASIDE
        if tag in _BLOCKS:
            self.texts.append("")
        self.texts[-1] += "".join(f" {value}" for name, value in attrs if name in ("alt", "aria-label") and value)

    def handle_endtag(self, tag: str) -> None:
        self._aside -= tag in _ASIDE
        if tag in _BLOCKS:
            self.texts.append("")

    def handle_data(self, data: str) -> None:
        if not self._aside:
            self.texts[-1] += f" {data}"


def alone_in(page: str, but_for: tuple[str, ...] = ()) -> list[str]:
    """Paragraphs, lines of lists and of tables that speak of kg or °C only. but_for: words that excuse one.

    Drawings are passed by (their tables stand below them), and so are commands.
    """
    reader = _Texts()
    reader.feed(page)
    texts = [" ".join(text.split()) for text in reader.texts]
    return [
        text
        for text in texts
        if any(own.search(text) and not other.search(text) for own, other in _PAIRS)
        and not any(words in text for words in but_for)
    ]
