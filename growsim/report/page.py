"""A page made of blocks: one template for every report. Everything a user wrote is escaped."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from growsim.report.tables import Table

if TYPE_CHECKING:
    from jinja2 import Environment
    from markupsafe import Markup

    from growsim.report.front import Front

TO_TYPE = re.compile(r"`([^`]+)`")


@dataclass(frozen=True)
class Text:
    """A paragraph."""

    text: str
    kind: str = "text"


@dataclass(frozen=True)
class Command:
    """A command line to be typed as it stands."""

    text: str
    kind: str = "command"


@dataclass(frozen=True)
class Bullets:
    """A list of sentences."""

    items: tuple[str, ...]
    kind: str = "bullets"


@dataclass(frozen=True)
class Picture:
    """A figure with its caption and the tables behind it. svg: trusted markup made by `figures.for_page`."""

    name: str
    caption: str
    svg: str
    behind: tuple[Table, ...] = ()
    kind: str = "picture"


@dataclass(frozen=True)
class Grid:
    """A table in the flow of the page."""

    table: Table
    kind: str = "grid"


@dataclass(frozen=True)
class Behind:
    """A table that is folded away until asked for; too long to stand in the flow."""

    table: Table
    kind: str = "behind"


@dataclass(frozen=True)
class Caution:
    """A warning, set apart."""

    items: tuple[str, ...]
    kind: str = "caution"


@dataclass(frozen=True)
class Facts:
    """Pairs of what and value."""

    pairs: tuple[tuple[str, str], ...]
    kind: str = "facts"


Block = Text | Command | Bullets | Picture | Grid | Behind | Caution | Facts


@dataclass(frozen=True)
class Section:
    """A heading and what stands under it."""

    anchor: str
    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Page:
    """A whole report: the page of the answer (front and the picture it shows; else answers: (head, sentence)), then
    the rest. notes: said at once under the title, such as 'invented data'.
    """

    title: str
    under_title: str
    answers: tuple[tuple[str, str], ...]
    sections: tuple[Section, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    front: Front | None = None
    shows: Picture | None = None


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates, with escaping on and nothing undefined let pass."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    made = Environment(
        loader=PackageLoader("growsim.report", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["said"] = said
    return made


def said(text: object) -> Markup:
    """A sentence for a page, escaped, what stands between backticks (to be typed) set as such."""
    from markupsafe import Markup, escape

    return Markup(TO_TYPE.sub(r"<code>\1</code>", str(escape(text))))


def render(page: Page) -> str:
    """The page as one self-contained HTML text: no script, nothing fetched."""
    return environment().get_template("page.html").render(page=page)
