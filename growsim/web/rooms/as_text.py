"""The room file as text, for whoever would rather type, and for a file that no form can read."""

from __future__ import annotations

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError
from growsim.scenario import reading
from growsim.web.checking import checked, checked_room, label_of
from growsim.web.folder import RoomFolder
from growsim.web.guard import sent_form, text_of
from growsim.web.pages import address, room_of, shown
from growsim.web.saving import StaleError, save


def show_text(request: Request) -> Response:
    """The text as the file has it."""
    room = room_of(request)
    now = checked_room(room)
    return shown(
        request,
        "text.html",
        room=room,
        text=now.text,
        faults=now.faults,
        fingerprint=now.fingerprint,
        saved=request.query_params.get("saved", ""),
        state="",
        other="",
    )


async def send_text(request: Request) -> Response:
    """Save the text. One that cannot be read, or has new faults, is saved only when asked twice."""
    form = await sent_form(request)
    text, fingerprint, do = text_of(form, "text"), text_of(form, "fingerprint"), text_of(form, "do")
    return await run_in_threadpool(_take, request, room_of(request), text, fingerprint, do)


def _take(request: Request, room: RoomFolder, text: str, fingerprint: str, do: str) -> Response:
    now = checked_room(room)
    newline = "\r\n" if "\r\n" in now.text else "\n"
    content = text.replace("\n", newline).encode("utf-8", errors="replace")
    if len(content) > reading.LARGEST_FILE_BYTES:
        raise InputError("The text is larger than 5 MB; a room file is far smaller.")
    looked = checked(content, label_of(room))
    state, other = "", ""
    if now.fingerprint != fingerprint:
        state, other = "changed", now.text
    elif do != "anyway" and any(fault not in now.faults for fault in looked.faults):
        state = "refused"
    elif content != now.content:
        try:
            save(room, now.fingerprint, content)
        except StaleError:
            now = checked_room(room)
            state, other = "changed", now.text
    if not state:
        return RedirectResponse(f"{address(room.name, 'text')}?saved=1", 303)
    return shown(
        request,
        "text.html",
        room=room,
        status=409 if state == "changed" else 422,
        text=text,
        faults=looked.faults,
        fingerprint=now.fingerprint,
        saved="",
        state=state,
        other=other,
    )


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/text", show_text, methods=["GET"]),
    Route("/rooms/{room}/text", send_text, methods=["POST"]),
]
