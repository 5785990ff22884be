"""Describing a room in forms: show a page, and take what it sends. Nothing is saved by mistake, or half."""

from __future__ import annotations

from collections.abc import Sequence

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError
from growsim.scenario.toml.edit import Remove
from growsim.scenario.toml.text import toml_text
from growsim.units import shown_in
from growsim.web.changes.edits import change_tables
from growsim.web.changes.routes import name_page
from growsim.web.checking import Checked, checked_room
from growsim.web.folder import NotHereError, RoomFolder
from growsim.web.forms.boxes import pieces_of
from growsim.web.forms.conflict import conflict
from growsim.web.forms.entries import NEW, Spot, form_address, spot_at, value_at
from growsim.web.forms.field import BESIDE
from growsim.web.forms.other_units import said_beside
from growsim.web.forms.page import (
    CHANGED,
    REFUSED,
    after_edits,
    asked_edits,
    form_page,
    last_place,
    plan_beside,
    titles_of,
    way_up,
)
from growsim.web.forms.submitted import Sent
from growsim.web.forms.words import noun_of
from growsim.web.guard import sent_form
from growsim.web.pages import address, room_of, shown
from growsim.web.saving import StaleError, save, seen_by

LONGEST_AMOUNT = 300  # characters of a box that the page's script asks about


def show_form(request: Request) -> Response:
    """A page of the form as the file has it."""
    room = room_of(request)
    now = checked_room(room)
    if now.raw is None:
        return _as_text(room)
    spot = spot_at(request.path_params["path"], now.raw)
    seen_by(request.app).note(now)
    like = request.query_params.get("like", "")
    return form_page(request, room, now, spot, like=int(like) if like.isascii() and like.isdecimal() else None)


async def send_form(request: Request) -> Response:
    """What a form sent: save it, or show it again with an entry more or less, or draw its plan."""
    form = await sent_form(request)
    items = [(key, value) for key, value in form.multi_items() if isinstance(value, str)]
    return await run_in_threadpool(_take, request, items)


def _take(request: Request, items: Sequence[tuple[str, str]]) -> Response:
    room = room_of(request)
    now = checked_room(room)
    if now.raw is None:
        return _as_text(room)
    sent, asked, path = Sent(items), dict(items), request.path_params["path"]
    do, fingerprint, entry = asked.get("do", "save"), asked.get("fingerprint", ""), asked.get("entry", "")
    is_new = path.endswith(f"/{NEW}")
    if fingerprint != now.fingerprint and not is_new and do != "preview":
        return conflict(request, room, now, sent, fingerprint, entry)
    spot = spot_at(path, now.raw)
    word, _, name = do.partition(" ")
    if word in ("more", "less"):
        sent = sent.with_one_more(name) if word == "more" else sent.with_one_less(name)
        after = after_edits(room, now, asked_edits(spot, now.raw, sent))
        return form_page(request, room, now, spot, sent=sent, after=after)
    edits = asked_edits(spot, now.raw, sent)
    after = after_edits(room, now, edits)
    if do == "preview":
        plan = plan_beside(spot, after)
        if plan is None:
            raise NotHereError("This page has no plan to draw.")
        return shown(request, "plan.html", room=room, plan=plan)
    if do == "change" and edits and now.scenario is not None:
        return name_page(request, room, now, toml_text(change_tables(now.raw, edits)), {}, ())
    if not edits:
        return RedirectResponse(f"{form_address(room.name, spot)}?saved=same", 303)
    if do != "anyway" and any(fault not in now.faults for fault in after.faults):
        return form_page(request, room, now, spot, sent=sent, after=after, status=REFUSED)
    try:
        save(room, now.fingerprint, after.content)
    except StaleError:
        if is_new:
            raise
        return conflict(request, room, checked_room(room), sent, fingerprint, entry)
    if is_new:
        made = "/".join(str(step) for step in (*spot.list_path, last_place(after, spot)))
        spot = spot_at(made, after.raw or {})
    is_other_money = any(edit.path == ("prices", "currency") for edit in edits)
    return RedirectResponse(f"{form_address(room.name, spot)}?saved={'currency' if is_other_money else '1'}", 303)


def in_other_unit(request: Request) -> Response:
    """What stands beside a box while somebody types: the amount in the room's unit, or that it cannot be read."""
    asked = request.query_params
    text, unit, currency = (asked.get(name, "")[:LONGEST_AMOUNT].strip() for name in ("text", "unit", "currency"))
    texts = pieces_of(text) if asked.get("list") else [text] if text else []
    with shown_in("us" if asked.get("system") == "us" else "metric"):
        said = said_beside(texts, unit, currency, spread=bool(asked.get("spread")))
    return PlainTextResponse(said)


def show_removal(request: Request) -> Response:
    """Whether to remove an entry, and what would be wrong then."""
    room = room_of(request)
    now = checked_room(room)
    return _as_text(room) if now.raw is None else _removal(request, room, now)


async def remove(request: Request) -> Response:
    """Remove an entry."""
    form = await sent_form(request)
    return await run_in_threadpool(_remove, request, str(form.get("fingerprint", "")))


def _remove(request: Request, fingerprint: str) -> Response:
    room = room_of(request)
    now = checked_room(room)
    if now.raw is None:
        return _as_text(room)
    if now.fingerprint != fingerprint:
        return _removal(request, room, now, status=CHANGED)
    spot = _entry(request, now)
    save(room, fingerprint, after_edits(room, now, [Remove(spot.path)]).content)
    return RedirectResponse(f"{way_up(room, spot)[-1][1]}?saved=removed", 303)


def _removal(request: Request, room: RoomFolder, now: Checked, *, status: int = 200) -> Response:
    spot = _entry(request, now)
    after = after_edits(room, now, [Remove(spot.path)])
    return shown(
        request,
        "remove.html",
        room=room,
        status=status,
        noun=noun_of(spot.model),
        title=titles_of(value_at(now.raw, spot.list_path))[int(spot.path[-1])],
        worse=[fault for fault in after.faults if fault not in now.faults],
        fingerprint=now.fingerprint,
        changed=status == CHANGED,
        back=form_address(room.name, spot),
        up=way_up(room, spot),
    )


def _entry(request: Request, now: Checked) -> Spot:
    spot = spot_at(request.path_params["path"], now.raw or {})
    if spot.kind != "entry":
        raise InputError("Only an entry of a list can be removed.")
    return spot


def _as_text(room: RoomFolder) -> Response:
    return RedirectResponse(address(room.name, "text"), 303)


ROUTES: list[BaseRoute] = [
    Route(BESIDE, in_other_unit, methods=["GET"]),
    Route("/rooms/{room}/form/{path:path}", show_form, methods=["GET"]),
    Route("/rooms/{room}/form/{path:path}", send_form, methods=["POST"]),
    Route("/rooms/{room}/remove/{path:path}", show_removal, methods=["GET"]),
    Route("/rooms/{room}/remove/{path:path}", remove, methods=["POST"]),
]
