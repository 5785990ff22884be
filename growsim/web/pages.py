"""Templates to answers, and the links at the head of every page. Everything a person wrote is escaped."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from growsim.report.page import said
from growsim.vocabulary.questions import QUESTIONS
from growsim.web.forms.words import with_article

if TYPE_CHECKING:
    from growsim.web.folder import Folder, RoomFolder

# What a room offers: words, and what follows /rooms/<room>.
OF_A_ROOM: tuple[tuple[str, str], ...] = (
    ("Room", ""),
    ("Ask", "/ask"),
    ("Changes", "/changes"),
    ("Answers", "/answers"),
    ("Write down", "/shift"),
    ("Records", "/records"),
)

_COMMAND = re.compile(r"(?:`|<code>)growsim ([a-z]+)[^`<]*(?:`|</code>)")
_ASKS = {question.name: question.asks.partition("? ")[0].rstrip(".?") for question in QUESTIONS}
_ASKS["keep"] = "Make it so"  # here a button, and no question


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates of the page, with escaping on and nothing undefined let pass."""
    made = Environment(
        loader=ChoiceLoader([PackageLoader("growsim.web", "templates"), PackageLoader("growsim.report", "templates")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.finalize = _without_commands
    made.filters["article"] = with_article
    made.filters["said"] = said
    return made


def _without_commands(value: Any) -> Any:
    """A text for the page: where it names a command, what that command asks stands there, as on the page's buttons."""
    if not isinstance(value, str) or "growsim " not in value:
        return value
    said = _COMMAND.sub(lambda found: f"“{_ASKS.get(found[1], found[0])}”", value)
    return type(value)(said)


def shown(
    request: Request, template: str, *, room: RoomFolder | None = None, status: int = 200, **values: Any
) -> HTMLResponse:
    """A page from a template that extends base.html. room: the one that is open, for the links at the head."""
    page = environment().get_template(template)
    here = request.url.path
    text = page.render(here=here, links=links(room.name if room is not None else None, here), room=room, **values)
    return HTMLResponse(text, status)


def refused(
    request: Request, status: int, problem: str, *, room: RoomFolder | None = None, heading: str = "That did not work"
) -> HTMLResponse:
    """A clear page about why something was not done. problem: one sentence a line."""
    return shown(request, "refused.html", room=room, status=status, heading=heading, problems=problem.splitlines())


def folder_of(request: Request) -> Folder:
    """The chosen folder."""
    folder: Folder = request.app.state.folder
    return folder


def room_of(request: Request) -> RoomFolder:
    """The room named in the address ({room}). Raises NotHereError."""
    return folder_of(request).room(request.path_params["room"])


@dataclass(frozen=True)
class Link:
    """A link at the head. current: whether the page shown is it, or one below it."""

    words: str
    address: str
    current: bool


def address(room: str, *steps: str) -> str:
    """The address of a page of a room: address("my room", "ask") is /rooms/my%20room/ask."""
    return "/rooms/" + "/".join(quote(step, safe="") for step in (room, *steps))


def links(room: str | None, here: str) -> list[Link]:
    """The links at the head of the page at `here`, which has `room` open or none."""
    every = Link("All rooms", "/", here == "/")
    if room is None:
        return [every]
    whole = f"/rooms/{room}"
    own = [Link(words, f"/rooms/{quote(room, safe='')}{end}", False) for words, end in OF_A_ROOM]
    below = here.removeprefix(whole)
    current = max(
        (i for i, (_, end) in enumerate(OF_A_ROOM) if below.startswith(end)), key=lambda i: len(OF_A_ROOM[i][1])
    )
    return [every, *(Link(link.words, link.address, i == current) for i, link in enumerate(own))]
