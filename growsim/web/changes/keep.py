"""A change that was tried and is wanted: made in the room itself, remarks kept."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import RoomFileError
from growsim.report.words import listed
from growsim.scenario.change import LoadedChange, load_change
from growsim.study.keep.edits import edits_to_keep
from growsim.web.changes.routes import change_file
from growsim.web.checking import Checked, checked_room
from growsim.web.folder import RoomFolder
from growsim.web.forms.page import CHANGED, after_edits
from growsim.web.guard import sent_form, text_of
from growsim.web.pages import address, room_of, shown
from growsim.web.saving import save


def show(request: Request) -> Response:
    """Whether to make a change in the room."""
    room = room_of(request)
    return _page(request, room, checked_room(room), load_change(change_file(request)))


def _page(request: Request, room: RoomFolder, now: Checked, change: LoadedChange, *, status: int = 200) -> Response:
    after, paced = _after(room, now, change)
    return shown(
        request,
        "keep.html",
        room=room,
        status=status,
        change=change,
        paced=listed(paced),
        worse=[fault for fault in after.faults if fault not in now.faults],
        text=change_file(request).read_text(encoding="utf-8", errors="replace"),
        fingerprint=now.fingerprint,
        changed=status == CHANGED,
    )


def _after(room: RoomFolder, now: Checked, change: LoadedChange) -> tuple[Checked, list[str]]:
    """The room with the change made, and the crops whose pace is written down with it."""
    if now.raw is None:
        raise RoomFileError(list(now.faults))
    edits, paces = edits_to_keep(now.raw, now.scenario, change.tables, file=change.path.name)
    return after_edits(room, now, edits), list(paces)


async def send(request: Request) -> Response:
    """Make a change in the room."""
    form = await sent_form(request)
    return await run_in_threadpool(_take, request, text_of(form, "fingerprint"))


def _take(request: Request, fingerprint: str) -> Response:
    room = room_of(request)
    now, change = checked_room(room), load_change(change_file(request))
    after, _ = _after(room, now, change)
    if now.fingerprint != fingerprint:
        return _page(request, room, now, change, status=CHANGED)
    if any(fault not in now.faults for fault in after.faults):
        raise RoomFileError(list(after.faults))
    save(room, fingerprint, after.content)
    return RedirectResponse(f"{address(room.name)}?saved=change", 303)


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/changes/files/{file}/make", show, methods=["GET"]),
    Route("/rooms/{room}/changes/files/{file}/make", send, methods=["POST"]),
]
