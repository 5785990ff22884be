"""Changes that people often want to try, in short forms of their own (`change_kinds`)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError, RoomFileError
from growsim.report import cautions
from growsim.vocabulary.days import NAME_OF_WEEKDAY
from growsim.web.changes.edits import change_tables
from growsim.web.changes.kinds import BY_KEY, Kind, choices_in, edits_by_columns, edits_for_a_rack, rows_of
from growsim.web.changes.routes import keep, sound_room
from growsim.web.checking import Checked
from growsim.web.folder import NotHereError, RoomFolder
from growsim.web.forms.page import region_in
from growsim.web.forms.submitted import Sent
from growsim.web.guard import sent_form
from growsim.web.pages import address, room_of, shown


def show_kind(request: Request) -> Response:
    """The short form of a common change."""
    room, kind = room_of(request), _kind(request)
    now = sound_room(room)
    return _kind_page(request, room, now, kind, Sent(()), {}, ())


def _kind_page(
    request: Request,
    room: RoomFolder,
    now: Checked,
    kind: Kind,
    sent: Sent,
    about: Mapping[str, str],
    problems: Sequence[object],
) -> Response:
    raw = now.raw or {}
    return shown(
        request,
        "change_kind.html",
        room=room,
        status=422 if problems else 200,
        kind=kind,
        rows=rows_of(kind, raw, sent) if kind.columns else [],
        racks=choices_in(raw, "racks"),
        lines=choices_in(raw, "sowing"),
        days=NAME_OF_WEEKDAY,
        about=about,
        problems=problems,
        currency=now.scenario.prices.currency if now.scenario is not None else "",
        cautions=cautions.beside_tables([str(kind.listed[0])], region_in(raw)),
    )


async def send_kind(request: Request) -> Response:
    """Keep a common change."""
    form = await sent_form(request)
    items = [(key, value) for key, value in form.multi_items() if isinstance(value, str)]
    return await run_in_threadpool(_take_kind, request, items)


def _take_kind(request: Request, items: Sequence[tuple[str, str]]) -> Response:
    room, kind = room_of(request), _kind(request)
    now = sound_room(room)
    sent, asked = Sent(items), dict(items)
    try:
        raw = now.raw or {}
        edits = edits_by_columns(kind, raw, sent) if kind.columns else edits_for_a_rack(raw, asked)
        if not edits:
            raise InputError("Nothing is different yet; change at least one figure.")
        keep(room, now, change_tables(raw, edits), asked)
    except RoomFileError as refusal:
        return _kind_page(request, room, now, kind, sent, asked, refusal.faults)
    except InputError as refusal:
        return _kind_page(request, room, now, kind, sent, asked, [refusal])
    return RedirectResponse(f"{address(room.name, 'changes')}?saved=1", 303)


def _kind(request: Request) -> Kind:
    kind = BY_KEY.get(request.path_params["kind"])
    if kind is None:
        raise NotHereError("There is no such kind of change.")
    return kind


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/changes/new/{kind}", show_kind, methods=["GET"]),
    Route("/rooms/{room}/changes/new/{kind}", send_kind, methods=["POST"]),
]
