"""A page of the form: what it shows of the file, or of what was sent, with its faults, its plan and its way up."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from growsim.report import cautions
from growsim.scenario.short.edits import edited
from growsim.scenario.toml.edit import Add, Edit, applied
from growsim.vocabulary.days import SHORT_MONTHS
from growsim.vocabulary.regions import REGION_NAMES
from growsim.web.checking import Checked, checked, label_of
from growsim.web.folder import RoomFolder
from growsim.web.forms.boxes import FAMILY_WORDS
from growsim.web.forms.entries import Spot, fault_address, like_entry, spot_at, starter_entry, table_at, value_at
from growsim.web.forms.other_units import may_be_typed
from growsim.web.forms.renaming import with_namesakes
from growsim.web.forms.submitted import Sent, edits_of, table_of
from growsim.web.forms.tree import Block, Builder, flat
from growsim.web.forms.words import noun_of
from growsim.web.pages import address, shown
from growsim.web.rooms.plan import Plan, plan_of

WITH_A_PLAN = ("racks", "trays")
UNCHANGED = ("rehearsal", "room")  # hold what no change may differ in
REFUSED, CHANGED = 422, 409


def region_in(raw: Mapping[str, Any]) -> str:
    """The region of a room that may be half written."""
    said = table_at(raw, ("room",)).get("region")
    return said if said in REGION_NAMES else "elsewhere"


def asked_edits(spot: Spot, raw: Mapping[str, Any], sent: Sent) -> list[Edit]:
    """The edits that a form of this page asks for."""
    if spot.kind == "new":
        return [Add(spot.list_path, table_of(spot.model, spot.path, sent))]
    if spot.kind == "list":
        return []
    return with_namesakes(raw, edits_of(spot.model, spot.path, table_at(raw, spot.path) if spot.path else raw, sent))


def after_edits(room: RoomFolder, now: Checked, edits: Sequence[Edit], *, follow: bool = True) -> Checked:
    """The file as it would be with the edits made, looked at as `check` would. follow: see `edited`. Raises
    LayoutError."""
    if not edits:
        return now
    content = edited(now.content.decode("utf-8"), edits, follow=follow).encode("utf-8")
    after = checked(content, label_of(room))
    if after.raw is None:  # such as a number far too large: its faults, on the tables as asked for
        return Checked(content, applied(now.raw or {}, edits), after.faults)
    return after


def last_place(after: Checked, spot: Spot) -> int:
    """The place of the entry added last to the list of a page."""
    listed = value_at(after.raw, spot.list_path)
    return len(listed) - 1 if isinstance(listed, list) else 0


def form_page(
    request: Request,
    room: RoomFolder,
    now: Checked,
    spot: Spot,
    *,
    sent: Sent | None = None,
    after: Checked | None = None,
    like: int | None = None,
    status: int = 200,
    theirs: Sequence[tuple[str, str, str]] | None = None,
) -> Response:
    """The page. sent, after: what a person sent and the file as it would be; without them, the file as it is.

    theirs: after another window has saved, (what, in the file now, in this window).
    """
    raw = now.raw or {}
    looked = now if after is None else after
    builder = Builder(raw, looked.faults, sent=sent, after=looked.raw, usual=now.usual)
    block = _block(builder, spot, raw, like, last_place(looked, spot) if spot.kind == "new" and after else None)
    here = block.all_faults()
    return shown(
        request,
        "form.html",
        room=room,
        status=status,
        spot=spot,
        block=block,
        title=_title(spot, block),
        noun=noun_of(spot.model),
        families=FAMILY_WORDS,
        may_be_typed=may_be_typed([field.file_unit for field in flat(block)]),
        months=SHORT_MONTHS,
        may_change=now.scenario is not None and bool(spot.path) and spot.path[0] not in UNCHANGED and theirs is None,
        refused=status == REFUSED,
        theirs=theirs,
        unsaved=sent is not None or spot.kind == "new",
        saved=request.query_params.get("saved", "") if sent is None else "",
        fingerprint=now.fingerprint,
        labels={fault: field for field in flat(block) for fault in field.faults},
        faults_here=[fault for fault in looked.faults if fault in here],
        elsewhere=[
            (fault, fault_address(room.name, fault, looked.raw or {})) for fault in looked.faults if fault not in here
        ],
        new_elsewhere=[fault for fault in looked.faults if fault not in here and fault not in now.faults],
        siblings=titles_of(value_at(raw, spot.list_path if spot.kind in ("entry", "new") else spot.path)),
        plan=plan_beside(spot, looked),
        up=way_up(room, spot),
        cautions=cautions.beside_tables([str(step) for step in spot.path[:1]], region_in(raw)),
    )


def plan_beside(spot: Spot, looked: Checked) -> Plan | None:
    """The plan to show with a page: of the rack it is about, of the whole room, or none."""
    if not spot.path or spot.path[0] not in WITH_A_PLAN:
        return None
    raw = looked.raw or {}
    if spot.path[0] != "racks" or spot.kind == "list":
        return plan_of(raw)
    place = spot.path[1] if spot.kind == "entry" else last_place(looked, spot)
    return plan_of(raw, int(place))


def _title(spot: Spot, block: Block) -> str:
    if spot.kind == "new":
        return f"A new {noun_of(spot.model)}"
    noun = noun_of(spot.model)
    return f"{noun[0].upper()}{noun[1:]}: {block.title}" if spot.kind == "entry" else spot.heading


def _block(builder: Builder, spot: Spot, raw: Mapping[str, Any], like: int | None, place: int | None) -> Block:
    if spot.kind == "list":
        return builder.list_alone(spot.model, spot.path, value_at(raw, spot.path), spot.heading)
    if spot.kind == "new":
        listed = value_at(raw, spot.list_path)
        table: Mapping[str, Any] = {}
        if builder.sent is None:
            table = like_entry(spot.model, listed, like) or starter_entry(spot.list_path)
        to = (*spot.list_path, place) if place is not None else spot.path
        return builder.block(spot.model, spot.path, copy.deepcopy(dict(table)), place=to)
    if not spot.path:
        return builder.block(spot.model, (), raw, only_fields=True)
    return builder.block(spot.model, spot.path, table_at(raw, spot.path))


def titles_of(listed: Any) -> list[str]:
    """What the entries of a list are called."""
    if not isinstance(listed, list):
        return []
    return [
        str((entry.get("name") or entry.get("crop")) if isinstance(entry, dict) else "") or f"entry {place}"
        for place, entry in enumerate(listed, start=1)
    ]


def way_up(room: RoomFolder, spot: Spot) -> list[tuple[str, str]]:
    """The way down to a page: words and address."""
    way = [("Room", address(room.name))]
    above = spot.list_path if spot.kind in ("entry", "new") else spot.path[:-1]
    if above:
        first = str(above[0])
        way.append((spot_at(first, {}).heading, address(room.name, "form", first)))
    return way
