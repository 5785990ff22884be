"""Looks through a page for units of the other system: it is told in one, the room's."""

from __future__ import annotations

import re
from html.parser import HTMLParser

from growsim.units import System

_BLOCKS = ("p", "li", "tr", "caption", "figcaption", "h1", "h2", "h3", "dt", "dd", "summary", "legend", "label", "text")
_ASIDE = ("script", "style", "pre", "code")
# Words of each system; kWh, mL, W and the like are the trade's in both, and a dotted key of the room file is a key.
_WORDS: dict[System, re.Pattern[str]] = {
    "metric": re.compile(
        r"°C\b|(?<![\w_/.])(?:kg|kilograms?|cm|liters?|litres?)(?![\w_])|"
        r"(?<![\w.,])[\d.,]+ (?:g|L|m|m²)(?![\w/])|Celsius"
    ),
    "us": re.compile(
        r"°F\b|(?<![\w_])(?:lbs?|oz|pounds?|gallons?|sq ft)(?![\w_])|(?<![\w.,])[\d.,]+ (?:gal|ft)\b|"
        r"× [\d.]+ in\b|Fahrenheit"
    ),
}


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


def foreign(page: str, system: System = "metric", but_for: tuple[str, ...] = ()) -> list[str]:
    """Paragraphs, lines of lists and of tables, and texts of drawings that speak in the other system than `system`.

    but_for: words that excuse one. Commands are passed by.
    """
    reader = _Texts()
    reader.feed(page)
    words = _WORDS["us" if system == "metric" else "metric"]
    texts = [" ".join(text.split()) for text in reader.texts]
    return [text for text in texts if words.search(text) and not any(word in text for word in but_for)]
