"""A change that was tried and is wanted: made in the room itself, remarks kept."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import RoomFileError
from growsim.spec.change import LoadedChange, apply_change, load_change
from growsim.web.alter import change_file
from growsim.web.checking import Checked, checked_room
from growsim.web.folder import Room
from growsim.web.form_page import CHANGED, after_edits
from growsim.web.forms import sent_form, text_of
from growsim.web.navigation import address
from growsim.web.pages import room_of, shown
from growsim.web.saving import save
from growsim.web.toml_edit import Add, Edit, Give, LeaveOut, Remove
from growsim.web.toml_lines import Path


def edits_between(old: Mapping[str, Any], new: Mapping[str, Any], at: Path = ()) -> Iterator[Edit]:
    """What turns one set of tables into the other, for tables that a CHANGE was merged into."""
    for key, value in new.items():
        here, held = (*at, key), old.get(key)
        if isinstance(value, dict) and isinstance(held, dict):
            yield from edits_between(held, value, here)
        elif isinstance(held, list) and _tables(held) and _tables(value):
            yield from _list_edits(held, value, here)
        elif _tables(value) and not held:
            yield from (Add(here, entry) for entry in value)
        elif key not in old or held != value:
            yield Give(here, value)
    yield from (LeaveOut((*at, key)) for key in old if key not in new)


def _list_edits(old: list[dict[str, Any]], new: list[dict[str, Any]], at: Path) -> Iterator[Edit]:
    """Merging keeps the order: what is there is changed or gone, what is new stands at the end."""
    left = list(new)
    gone: list[Edit] = []
    for place, entry in enumerate(old):
        if left and _mark(left[0]) == _mark(entry):
            yield from edits_between(entry, left.pop(0), (*at, place))
        else:
            gone.append(Remove((*at, place)))
    yield from reversed(gone)
    yield from (Add(at, entry) for entry in left)


def _mark(entry: Mapping[str, Any]) -> Any:
    return entry.get("name", entry.get("crop"))


def _tables(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and all(isinstance(each, dict) for each in value)


def show(request: Request) -> Response:
    """Whether to make a change in the room."""
    room = room_of(request)
    return _page(request, room, checked_room(room), load_change(change_file(request)))


def _page(request: Request, room: Room, now: Checked, change: LoadedChange, *, status: int = 200) -> Response:
    after = _after(room, now, change)
    return shown(
        request,
        "adopt.html",
        room=room,
        status=status,
        change=change,
        worse=[fault for fault in after.faults if fault not in now.faults],
        text=change_file(request).read_text(encoding="utf-8", errors="replace"),
        fingerprint=now.fingerprint,
        changed=status == CHANGED,
    )


def _after(room: Room, now: Checked, change: LoadedChange) -> Checked:
    if now.raw is None:
        raise RoomFileError(list(now.faults))
    merged = apply_change(now.raw, change.tables, file=change.path.name)
    return after_edits(room, now, list(edits_between(now.raw, merged)))


async def send(request: Request) -> Response:
    """Make a change in the room."""
    form = await sent_form(request)
    return await run_in_threadpool(_take, request, text_of(form, "fingerprint"))


def _take(request: Request, fingerprint: str) -> Response:
    room = room_of(request)
    now, change = checked_room(room), load_change(change_file(request))
    after = _after(room, now, change)
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
