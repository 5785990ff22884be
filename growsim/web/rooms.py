"""The rooms of the chosen folder: which there are, and a new one."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import BaseRoute, Route

from growsim.web.pages import folder_of, room_of, shown


def all_rooms(request: Request) -> Response:
    """The first page."""
    folder = folder_of(request)
    return shown(request, "rooms.html", rooms=folder.rooms(), where=str(folder.path))


def one_room(request: Request) -> Response:
    """A room: its plan and its sections."""
    return shown(request, "room.html", room=room_of(request))


ROUTES: list[BaseRoute] = [
    Route("/", all_rooms),
    Route("/rooms/{room}", one_room),
]
