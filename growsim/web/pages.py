"""Templates to answers. Everything a person wrote is escaped."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from growsim.report.page import said
from growsim.web.forms.words import with_article
from growsim.web.navigation import links

if TYPE_CHECKING:
    from growsim.web.folder import Folder, RoomFolder


@lru_cache(maxsize=1)
def environment() -> Environment:
    """The templates of the page, with escaping on and nothing undefined let pass."""
    made = Environment(
        loader=PackageLoader("growsim.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters["article"] = with_article
    made.filters["said"] = said
    return made


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
