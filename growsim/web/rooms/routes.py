"""The rooms of the chosen folder: which there are, a new one, one from a file, one as a file or as text; and each
room's page."""

from __future__ import annotations

import datetime as dt
import json
from typing import Any
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError, RoomFileError
from growsim.run.writing import write_text
from growsim.scenario import reading
from growsim.scenario.anatomy import anatomy_of
from growsim.scenario.asked import count_of, in_short
from growsim.scenario.begin import begun_by_steps
from growsim.scenario.origin import figures_of
from growsim.scenario.scenario import Scenario
from growsim.scenario.schema import json_schema
from growsim.vocabulary.regions import REGION_NAMES, region_of
from growsim.web.answers.routes import days_of
from growsim.web.ask.listed import record_tables
from growsim.web.checking import Checked, checked, checked_room, label_of
from growsim.web.folder import ROOM_FILE, Folder, RoomFolder, plain_name
from growsim.web.forms.entries import fault_address, table_at
from growsim.web.forms.page import titles_of
from growsim.web.guard import sent_form, text_of, uploads_of
from growsim.web.pages import address, folder_of, room_of, shown
from growsim.web.rooms.cards import MOST_RACKS, SCHEMA_FILE, cards_of, first_picture
from growsim.web.rooms.plan import plan_of
from growsim.web.rooms.removed import aside_of
from growsim.web.runs.record import DONE, Run, folder_of_run, runs_of
from growsim.web.saving import StaleError, create, save
from growsim.web.walk.drawing import floor_of
from growsim.web.walk.reading import all_fit, as_written
from growsim.web.walk.steps import STEPS

GROUPS = (
    ("The place", ("room", "trays", "racks")),
    ("What grows", ("crops", "sowing")),
    ("The people", ("crew",)),
    ("Where the greens go", ("harvest", "partners")),
    ("Water, light and air", ("reservoirs", "lights", "climate", "co2", "power")),
    ("When something stops", ("outages", "protections")),
    ("Money and aims", ("prices", "goals", "rehearsal")),
)


def all_rooms(request: Request) -> Response:
    """The first page."""
    folder, asked = folder_of(request), request.query_params
    return shown(
        request,
        "rooms.html",
        rooms=cards_of(folder),
        most_racks=MOST_RACKS,
        picture=first_picture(),
        regions=REGION_NAMES,
        likely_region=region_of(request.headers.get("accept-language", "")),
        just_removed=(asked.get("removed", ""), asked.get("room", "")),
        aside=aside_of(folder),
    )


def one_room(request: Request) -> Response:
    """A room: whether it is complete, its plan, its parts."""
    room = room_of(request)
    now = checked_room(room)
    raw = now.raw or {}
    return shown(
        request,
        "room.html",
        room=room,
        now=now,
        called=_called(raw) or room.title,
        faults=[(fault, fault_address(room.name, fault, raw) if now.raw is not None else "") for fault in now.faults],
        warnings=[(fault, fault_address(room.name, fault, raw)) for fault in now.warnings],
        size=_size(now),
        groups=_groups(room, raw),
        plan=plan_of(raw),
        floor=floor_of(raw, as_written(now.content)),
        lived=_lived(room),
        reviewed=_reviewed(room),
        has_record=bool(record_tables(room)),
        saved=request.query_params.get("saved", ""),
        left=count_of(as_written(now.content)).left if all_fit(as_written(now.content)) else 0,
        first_step=STEPS[0].name,
        whose=_whose(now),
    )


def _reviewed(room: RoomFolder) -> Run | None:
    """The newest answer on how the week went."""
    return next((run for run in runs_of(room) if run.question == "review" and run.state == DONE), None)


def _lived(room: RoomFolder) -> Run | None:
    """The newest rehearsal, whose year can be stepped through."""
    done = (run for run in runs_of(room) if run.question == "rehearse" and run.state == DONE)
    return next((run for run in done if days_of(folder_of_run(room, run.id)) is not None), None)


def _whose(now: Checked) -> str:
    """Whose the figures of a room are, in a sentence; '' for one with faults."""
    if now.scenario is None:
        return ""
    return in_short(figures_of(now.scenario, now.raw or {}, now.usual), count_of(as_written(now.content)))


def _called(raw: dict[str, Any]) -> str:
    """What the planner calls the room."""
    name = table_at(raw, ("room",)).get("name")
    return name.strip() if isinstance(name, str) else ""


def _size(now: Checked) -> list[str]:
    if now.scenario is None:
        return []
    from growsim.run.prepare import prepare
    from growsim.study.room_air import room_on_paper

    return room_on_paper(prepare(now.scenario), now.raw)[1:-1]  # the last names a command


def _groups(room: RoomFolder, raw: dict[str, Any]) -> list[tuple[str, list[tuple[str, str, str]]]]:
    """Every part of the description, under the headings of GROUPS: words, address, what is in it."""
    parts = _parts(room, raw)
    grouped = [(heading, [parts.pop(key) for key in keys if key in parts]) for heading, keys in GROUPS]
    return [*grouped, ("Other", list(parts.values()))] if parts else grouped


def _parts(room: RoomFolder, raw: dict[str, Any]) -> dict[str, tuple[str, str, str]]:
    parts = {}
    for key, field in Scenario.model_fields.items():
        what = anatomy_of(field)
        if what.kind not in ("table", "tables"):
            continue
        titles = titles_of(raw.get(key))
        inside = ", ".join(titles[:6]) + (f" and {len(titles) - 6} more" if len(titles) > 6 else "")
        if what.kind == "table":
            held = raw.get(key)
            inside = _lists_in(held) if isinstance(held, dict) and held else "as usual"
        parts[key] = (what.meaning.rstrip("."), address(room.name, "form", key), inside or "none")
    return parts


def _lists_in(table: dict[str, Any]) -> str:
    counts = [
        f"{len(value)} {(key if len(value) != 1 else key.removesuffix('s')).replace('_', '-')}"
        for key, value in table.items()
        if isinstance(value, list) and value and all(isinstance(each, dict) for each in value)
    ]
    return ", ".join(counts) or " "


async def new_room(request: Request) -> Response:
    """A new room: the starter, under the name given."""
    form = await sent_form(request)
    called = " ".join(text_of(form, "name").split())[:60]
    region = text_of(form, "region")
    return await run_in_threadpool(_new_room, request, called, region if region in REGION_NAMES else "")


def _new_room(request: Request, called: str, region: str) -> Response:
    room = _to_be(folder_of(request), called)
    _make(room, begun_by_steps(called, region, dt.date.today()).encode())
    return RedirectResponse(address(room.name, "steps", STEPS[0].name), 303)


def _make(room: RoomFolder, content: bytes) -> None:
    """A new room, with what tells an editor of the file its entries beside it."""
    create(room, content)
    write_text(room.home / SCHEMA_FILE, json.dumps(json_schema(), indent=2, ensure_ascii=False) + "\n")


async def upload_room(request: Request) -> Response:
    """A room from a room file."""
    form = await sent_form(request)
    files = uploads_of(form, "file")
    if not files:
        raise InputError("No file was chosen; choose a room file, whose name ends in .toml.")
    content = await files[0].read(reading.LARGEST_FILE_BYTES + 1)
    called = text_of(form, "name").strip() or (files[0].filename or "").replace("\\", "/").rpartition("/")[2]
    return await run_in_threadpool(_keep_upload, request, called.removesuffix(".toml"), content)


def _keep_upload(request: Request, called: str, content: bytes) -> Response:
    if len(content) > reading.LARGEST_FILE_BYTES:
        raise InputError("The file is larger than 5 MB; a room file is far smaller.")
    looked = checked(content, f"{called}.toml")
    if looked.raw is None:
        raise RoomFileError(list(looked.faults))
    if not as_written(content).keys() & Scenario.model_fields.keys():
        raise InputError(f"{called}.toml: holds nothing that a room file has; choose a room file.")
    room = _to_be(folder_of(request), called)
    _make(room, content)
    return RedirectResponse(f"{address(room.name)}?saved=new", 303)


async def copy_room(request: Request) -> Response:
    """The same room once more, under another name."""
    room = room_of(request)
    form = await sent_form(request)
    return await run_in_threadpool(_keep_upload, request, text_of(form, "name"), reading.whole_file(room.file))


def _to_be(folder: Folder, called: str) -> RoomFolder:
    """Where a room of that name is to lie. Raises InputError for a name that makes no file name."""
    name = plain_name(called)
    if not name:
        raise InputError("The room needs a name with letters or digits in it, such as “Mill Street”.")
    home = folder.path / name
    return RoomFolder(name, home / ROOM_FILE, home)


def download(request: Request) -> Response:
    """The room file."""
    room = room_of(request)
    named = quote(f"{room.title}.toml", safe="")
    return Response(
        reading.whole_file(room.file),
        media_type="application/toml",
        headers={"Content-Disposition": f"attachment; filename*=UTF-8''{named}"},
    )


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
    return await run_in_threadpool(_take_text, request, room_of(request), text, fingerprint, do)


def _take_text(request: Request, room: RoomFolder, text: str, fingerprint: str, do: str) -> Response:
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
    Route("/", all_rooms, methods=["GET"]),
    Route("/new", new_room, methods=["POST"]),
    Route("/upload", upload_room, methods=["POST"]),
    Route("/rooms/{room}", one_room, methods=["GET"]),
    Route("/rooms/{room}/copy", copy_room, methods=["POST"]),
    Route("/rooms/{room}/download", download, methods=["GET"]),
    Route("/rooms/{room}/text", show_text, methods=["GET"]),
    Route("/rooms/{room}/text", send_text, methods=["POST"]),
]
