"""Changes to a room: kept to be tried, made in short forms, brought in, and, where wanted, made in the room itself."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import Fault, InputError, RoomFileError
from growsim.report import cautions
from growsim.report.words import listed
from growsim.run.prepare import prepare_room
from growsim.run.writing import write_bytes
from growsim.scenario import reading
from growsim.scenario.change import LoadedChange, change_from, change_text, changed_room, load_change
from growsim.scenario.load import LoadedRoom
from growsim.study.keep.edits import edits_to_keep
from growsim.vocabulary.days import NAME_OF_WEEKDAY
from growsim.web.ask.listed import change_files
from growsim.web.changes.edits import change_tables
from growsim.web.changes.kinds import BY_KEY, KINDS, Kind, choices_in, edits_by_columns, edits_for_a_rack, rows_of
from growsim.web.checking import Checked, checked, checked_room, label_of
from growsim.web.folder import NotHereError, RoomFolder, file_inside, plain_name
from growsim.web.forms.other_units import number_in
from growsim.web.forms.page import CHANGED, after_edits, region_in
from growsim.web.forms.submitted import Sent
from growsim.web.guard import sent_form, text_of, uploads_of
from growsim.web.pages import address, room_of, shown
from growsim.web.saving import save


def all_changes(request: Request) -> Response:
    """The changes kept with a room, and those that can be made."""
    room = room_of(request)
    now = checked_room(room)
    kept = [_listed(room, now, path) for path in change_files(room)]
    return shown(
        request, "changes.html", room=room, kept=kept, kinds=KINDS, now=now, saved=request.query_params.get("saved", "")
    )


def _listed(room: RoomFolder, now: Checked, path: Path) -> dict[str, Any]:
    try:
        content = reading.whole_file(path)
        change, faults = _looked_at(now.content, label_of(room), content, path.name)
        return {
            "file": path.name,
            "title": change.title,
            "price": change.about.price,
            "note": change.about.note,
            "faults": faults,
        }
    except RoomFileError as refusal:
        return {
            "file": path.name,
            "title": path.stem,
            "price": None,
            "note": "",
            "faults": _named(refusal.faults, path.name),
        }


@lru_cache(maxsize=200)
def _looked_at(room: bytes, label: str, content: bytes, name: str) -> tuple[LoadedChange, Sequence[Fault]]:
    """A change and what is wrong with it, kept for the next time the list is shown. Raises RoomFileError."""
    file = Path(name)
    change = change_from(reading.tables_of(file, content), file, reading.fingerprint(content))
    return change, _faults_of(Path(label), checked(room, label), change)


def _faults_of(file: Path, now: Checked, change: LoadedChange) -> Sequence[Fault]:
    """What is wrong with the room once the change is made, said of the change's file."""
    if now.raw is None or now.scenario is None:
        return ()
    try:
        prepare_room(changed_room(LoadedRoom(now.scenario, dict(now.told), file, now.fingerprint), change))
    except RoomFileError as refusal:
        return _named(refusal.faults, change.path.name)
    return ()


def _named(faults: Sequence[Fault], file: str) -> list[Fault]:
    return [Fault(file, fault.key, fault.problem, fault.remedy) for fault in faults]


async def send_tables(request: Request) -> Response:
    """Keep a change that a form of the room has made (see describe)."""
    form = await sent_form(request)
    asked = {key: value for key, value in form.multi_items() if isinstance(value, str)}
    return await run_in_threadpool(_take_tables, request, asked)


def _take_tables(request: Request, asked: Mapping[str, str]) -> Response:
    room = room_of(request)
    now = sound_room(room)
    text = asked.get("tables", "")
    try:
        tables = reading.tables_of(Path("change.toml"), text.encode("utf-8", errors="replace"))
        keep(room, now, tables, asked)
    except RoomFileError as refusal:
        return name_page(request, room, now, text, asked, refusal.faults)
    except InputError as refusal:
        return name_page(request, room, now, text, asked, [refusal])
    return RedirectResponse(f"{address(room.name, 'changes')}?saved=1", 303)


def name_page(
    request: Request, room: RoomFolder, now: Checked, tables: str, about: Mapping[str, str], problems: Sequence[object]
) -> Response:
    """What the change is called and costs, before it is kept."""
    return shown(
        request,
        "change_name.html",
        room=room,
        status=422 if problems else 200,
        tables=tables,
        about=about,
        problems=problems,
        currency=now.scenario.prices.currency if now.scenario is not None else "",
    )


def keep(room: RoomFolder, now: Checked, tables: Mapping[str, Any], asked: Mapping[str, str]) -> Path:
    """Write a CHANGE file under the name it is given. Raises InputError: nothing is written then."""
    name = " ".join(asked.get("name", "").split())
    if not plain_name(name):
        raise InputError("Give the change a name, such as “one more rack”.")
    price, note = asked.get("price", "").strip(), asked.get("note", "").strip()
    path = file_inside(room.changes, f"{plain_name(name)}.toml")
    text = change_text(tables, {"name": name, "price": number_in(price) if price else None, "note": note})
    content = text.encode("utf-8")
    change = change_from(tomllib.loads(text), Path(path.name), reading.fingerprint(content))
    faults = _faults_of(room.file, now, change)
    if faults:
        raise RoomFileError(list(faults))
    _write_new(room, path, content)
    return path


def _write_new(room: RoomFolder, path: Path, content: bytes) -> None:
    if path.exists():
        raise InputError(f"There is a change called “{path.stem}” already; give this one another name.")
    try:
        room.changes.mkdir(parents=True, exist_ok=True)
        write_bytes(path, content)
    except OSError as refusal:
        why = (refusal.strerror or "refused by the system").lower()
        raise InputError(f"The change cannot be written ({why}).") from None


async def upload_change(request: Request) -> Response:
    """Keep a CHANGE file from elsewhere."""
    form = await sent_form(request)
    files = uploads_of(form, "file")
    if not files:
        raise InputError("No file was chosen; choose a change file, whose name ends in .toml.")
    content = await files[0].read(reading.LARGEST_FILE_BYTES + 1)
    return await run_in_threadpool(_take_upload, request, files[0].filename or "", content)


def _take_upload(request: Request, called: str, content: bytes) -> Response:
    room = room_of(request)
    now = sound_room(room)
    name = plain_name(called.replace("\\", "/").rpartition("/")[2].removesuffix(".toml"))
    if not name or len(content) > reading.LARGEST_FILE_BYTES:
        raise InputError("The file cannot be taken: a change is a small file with letters or digits in its name.")
    path = file_inside(room.changes, f"{name}.toml")
    shown_as = Path(path.name)
    change = change_from(reading.tables_of(shown_as, content), shown_as, reading.fingerprint(content))
    faults = _faults_of(room.file, now, change)
    if faults:
        raise RoomFileError(list(faults))
    _write_new(room, path, content)
    return RedirectResponse(f"{address(room.name, 'changes')}?saved=1", 303)


def hand_out(request: Request) -> Response:
    """A CHANGE file, to keep or to send."""
    path = change_file(request)
    return Response(
        reading.whole_file(path),
        media_type="application/toml",
        headers={"Content-Disposition": f"attachment; filename*=UTF-8''{quote(path.name, safe='')}"},
    )


async def remove(request: Request) -> Response:
    """Remove a CHANGE file."""
    path = change_file(request)
    path.unlink(missing_ok=True)
    return RedirectResponse(f"{address(room_of(request).name, 'changes')}?saved=removed", 303)


def change_file(request: Request) -> Path:
    """The CHANGE file named in the address. Raises NotHereError."""
    for path in change_files(room_of(request)):
        if path.name == request.path_params["file"]:
            return path
    raise NotHereError("There is no such change.")


def sound_room(room: RoomFolder) -> Checked:
    """The room, which must be sound: a change to a faulty room could not be told from its faults. Raises InputError."""
    now = checked_room(room)
    if now.scenario is None:
        raise InputError("The room itself has something to correct; do that first, then try changes.")
    return now


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


def show_making(request: Request) -> Response:
    """Whether to make a change in the room."""
    room = room_of(request)
    return _make_page(request, room, checked_room(room), load_change(change_file(request)))


def _make_page(
    request: Request, room: RoomFolder, now: Checked, change: LoadedChange, *, status: int = 200
) -> Response:
    after, paced = _with_it(room, now, change)
    return shown(
        request,
        "keep.html",
        room=room,
        status=status,
        change=change,
        paced=listed(paced),
        worse=[fault for fault in after.faults if fault not in now.faults],
        fingerprint=now.fingerprint,
        changed=status == CHANGED,
    )


def _with_it(room: RoomFolder, now: Checked, change: LoadedChange) -> tuple[Checked, list[str]]:
    """The room with the change made, and the crops whose pace is written down with it."""
    if now.raw is None:
        raise RoomFileError(list(now.faults))
    edits, paces = edits_to_keep(now.told, now.scenario, change.tables, file=change.path.name)
    return after_edits(room, now, edits, follow=False), list(paces)


async def make(request: Request) -> Response:
    """Make a change in the room."""
    form = await sent_form(request)
    return await run_in_threadpool(_make, request, text_of(form, "fingerprint"))


def _make(request: Request, fingerprint: str) -> Response:
    room = room_of(request)
    now, change = checked_room(room), load_change(change_file(request))
    after, _ = _with_it(room, now, change)
    if now.fingerprint != fingerprint:
        return _make_page(request, room, now, change, status=CHANGED)
    if any(fault not in now.faults for fault in after.faults):
        raise RoomFileError(list(after.faults))
    save(room, fingerprint, after.content)
    return RedirectResponse(f"{address(room.name)}?saved=change", 303)


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/changes", all_changes, methods=["GET"]),
    Route("/rooms/{room}/changes/keep", send_tables, methods=["POST"]),
    Route("/rooms/{room}/changes/upload", upload_change, methods=["POST"]),
    Route("/rooms/{room}/changes/files/{file}", hand_out, methods=["GET"]),
    Route("/rooms/{room}/changes/files/{file}/remove", remove, methods=["POST"]),
    Route("/rooms/{room}/changes/new/{kind}", show_kind, methods=["GET"]),
    Route("/rooms/{room}/changes/new/{kind}", send_kind, methods=["POST"]),
    Route("/rooms/{room}/changes/files/{file}/make", show_making, methods=["GET"]),
    Route("/rooms/{room}/changes/files/{file}/make", make, methods=["POST"]),
]
