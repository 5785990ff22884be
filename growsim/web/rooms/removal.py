"""Removing a room: asked once, on a page that says what goes with it and how it comes back; never under a question."""

from __future__ import annotations

from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError
from growsim.web.ask.routes import keeper_of
from growsim.web.folder import RoomFolder
from growsim.web.forms.page import CHANGED
from growsim.web.guard import sent_form, text_of
from growsim.web.pages import address, folder_of, room_of, shown
from growsim.web.rooms.removed import bring_back, put_aside, what_goes, why_it_stays
from growsim.web.saving import StaleError, brought_back, taken_away


def ask(request: Request) -> Response:
    """Whether to remove the room."""
    return _page(request, room_of(request))


async def remove(request: Request) -> Response:
    """Remove it, if it is still what the page had shown and nothing is at work on it."""
    form = await sent_form(request)
    return await run_in_threadpool(_remove, request, text_of(form, "seen"))


def _remove(request: Request, seen: str) -> Response:
    folder, room = folder_of(request), room_of(request)
    if why_it_stays(folder, room) or what_goes(room).seen != seen:
        return _page(request, room, status=CHANGED)

    def move() -> str:
        return taken_away(room, lambda: what_goes(room).seen == seen, lambda: put_aside(folder, room)).parent.name

    try:
        day = keeper_of(request).with_no_question(room, move)
    except StaleError:
        return _page(request, room, status=CHANGED)
    except InputError as refusal:
        return _page(request, room, status=CHANGED, refusal=str(refusal))
    return RedirectResponse(f"/?{urlencode({'removed': day, 'room': room.name})}", 303)


async def back(request: Request) -> Response:
    """Bring a removed room back."""
    day, name = request.path_params["day"], request.path_params["name"]
    await run_in_threadpool(brought_back, lambda: bring_back(folder_of(request), day, name))
    return RedirectResponse("/", 303)


def _page(request: Request, room: RoomFolder, *, status: int = 200, refusal: str = "") -> Response:
    folder = folder_of(request)
    going = what_goes(room)
    why_not = why_it_stays(folder, room) or keeper_of(request).why_busy(room) or refusal
    return shown(
        request,
        "remove_room.html",
        room=room,
        status=status,
        going=going,
        why_not=why_not,
        changed=status == CHANGED and not why_not,
        only=len(folder.rooms()) == 1,
        up=[("Room", address(room.name))],
    )


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/remove", ask, methods=["GET"]),
    Route("/rooms/{room}/remove", remove, methods=["POST"]),
    Route("/removed/{day}/{name}/back", back, methods=["POST"]),
]
