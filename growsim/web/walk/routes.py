"""The steps as pages: each shows its few fields, saves them as one goes on or back, and draws the room so far."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError
from growsim.report import cautions
from growsim.report.own_plan import HEADS, plan_rows
from growsim.scenario.asked import count_of, value_of
from growsim.scenario.quantities import currency_in
from growsim.scenario.record.cells import order_in
from growsim.scenario.short.expand import expand
from growsim.scenario.short.follow import followed
from growsim.scenario.toml.edit import edited
from growsim.web.ask import likely_time as ask_time
from growsim.web.checking import Checked, checked, checked_room, label_of
from growsim.web.folder import NotHereError, RoomFolder
from growsim.web.forms.page import CHANGED, REFUSED, region_in
from growsim.web.guard import sent_form
from growsim.web.pages import address, room_of, shown
from growsim.web.runs.record import runs_of
from growsim.web.saving import StaleError, save
from growsim.web.walk.answers import edits_to, with_answers
from growsim.web.walk.drawing import drawing_of, spacing_of
from growsim.web.walk.page import MISSING, Shown, flat, said_of, shown_fields, step_of
from growsim.web.walk.reading import as_written, count_of_step, fits, from_box, place_of
from growsim.web.walk.steps import BY_NAME, MOST_CROPS, STEPS, Field, Step

TOUCHED = "touched"
RIGHT = "right"  # the name of "all of this is right as it is"


@dataclass
class Filled:
    """What a page sent. typed: boxes by field, as they stand; only those that differ from what had been shown. touched:
    fields that somebody typed in, whatever stands there now."""

    typed: dict[str, list[str]]
    touched: set[str]
    right: bool
    do: str
    fingerprint: str


def show_step(request: Request) -> Response:
    """A step as the file has it."""
    room, step = room_of(request), _step(request)
    now = checked_room(room)
    if now.raw is None:
        return RedirectResponse(address(room.name, "text"), 303)
    return _page(request, room, step, now, as_written(now.content))


async def send_step(request: Request) -> Response:
    """What a step sent: save it and go on, or say what is wrong, or draw."""
    form = await sent_form(request)
    items = [(key, value) for key, value in form.multi_items() if isinstance(value, str)]
    return await run_in_threadpool(_take, request, items)


def _step(request: Request) -> Step:
    step = BY_NAME.get(request.path_params["step"])
    if step is None:
        raise NotHereError("There is no such step.")
    return step


def _filled(items: Sequence[tuple[str, str]], fields: Sequence[Field]) -> Filled:
    sent: dict[str, list[str]] = {}
    for name, value in items:
        sent.setdefault(name, []).append(value.replace("\r\n", "\n"))
    there = [field.name for field in fields if f"was:{field.name}" in sent]
    typed = {name: sent.get(name, []) for name in there}
    differs = {name: texts for name, texts in typed.items() if flat(texts) != flat(sent[f"was:{name}"])}
    one = {name: texts[0] for name, texts in sent.items()}
    return Filled(
        differs, {*sent.get(TOUCHED, ())} & {*there}, RIGHT in sent, one.get("do", "next"), one.get("fingerprint", "")
    )


def _take(request: Request, items: Sequence[tuple[str, str]]) -> Response:
    room, step = room_of(request), _step(request)
    now = checked_room(room)
    if now.raw is None:
        return RedirectResponse(address(room.name, "text"), 303)
    written = as_written(now.content)
    if not fits(step, written):
        raise InputError("This room says more of this than the short page can show; use the full forms.")
    fields = {field.name: field for field in step.inputs()}
    filled = _filled(items, tuple(fields.values()))
    order = order_in(value_of(written, ("room", "region")), value_of(written, ("room", "units")))
    given = {name: from_box(fields[name], texts, order) for name, texts in filled.typed.items()}
    money = [
        currency_in(text) for name, texts in filled.typed.items() if fields[name].unit[:5] == "money" for text in texts
    ]
    currency = next((each for each in money if each), "")
    if filled.do == "preview":
        tables = with_answers(step, written, _drawable(given), right=filled.right)
        drawing = drawing_of(followed(expand(tables).tables)[0], tables, step)
        return shown(request, "walk_drawing.html", room=room, drawing=drawing)
    if not given and not filled.touched and not filled.right:
        return _on(room, step, filled.do)
    if filled.fingerprint != now.fingerprint:
        return _page(request, room, step, now, written, filled=filled, status=CHANGED)
    problem = _of_crops(given)
    if problem:
        return _page(request, room, step, now, written, filled=filled, status=REFUSED, problem=problem)
    tables = with_answers(step, written, given, touched=filled.touched, right=filled.right)
    if currency and isinstance(tables.get("prices"), dict):
        tables["prices"]["currency"] = currency
    try:
        content = edited(now.content.decode("utf-8"), edits_to(written, tables)).encode("utf-8")
        after = checked(content, label_of(room))
        if filled.do != "anyway" and any(fault not in now.faults for fault in after.faults):
            return _page(request, room, step, now, written, filled=filled, after=after, status=REFUSED)
        save(room, now.fingerprint, content)
    except StaleError:
        now = checked_room(room)
        return _page(request, room, step, now, as_written(now.content), filled=filled, status=CHANGED)
    except InputError as refusal:
        return _page(request, room, step, now, written, filled=filled, status=REFUSED, problem=str(refusal))
    noted = [each for each in shown_fields(step, tables, warnings=after.warnings) if each.notes and not each.choices]
    return _on(room, step, filled.do, is_noted=any(each.field.name in given for each in noted))


def _drawable(given: Mapping[str, Any]) -> dict[str, Any]:
    """Answers as far as they can be drawn while somebody is still choosing."""
    return {**given, "crops": given["crops"][:MOST_CROPS]} if "crops" in given else dict(given)


def _of_crops(given: Mapping[str, Any]) -> str:
    if "crops" not in given or 1 <= len(given["crops"]) <= MOST_CROPS:
        return ""
    many = len(given["crops"])
    return f"{many} crops are ticked; tick one to {MOST_CROPS}. More crops go into the full forms, under “More” below."


def _on(room: RoomFolder, step: Step, do: str, *, is_noted: bool = False) -> Response:
    """Where a button leads."""
    place = STEPS.index(step)
    if do == "back":
        where = address(room.name, "steps", STEPS[place - 1].name) if place else address(room.name)
    elif is_noted:
        where = f"{address(room.name, 'steps', step.name)}?saved=noted#noted"
    else:
        where = address(room.name, "steps", STEPS[place + 1].name)
    return RedirectResponse(where, 303)


def _page(
    request: Request,
    room: RoomFolder,
    step: Step,
    now: Checked,
    written: Mapping[str, Any],
    *,
    filled: Filled | None = None,
    after: Checked | None = None,
    status: int = 200,
    problem: str = "",
) -> Response:
    """The page. filled, after: what was sent, and the file as it would be; without them, the file as it is."""
    is_shown = fits(step, written)
    looked = now if after is None else after
    asked = as_written(looked.content)
    typed = filled.typed if filled is not None else {}
    fields = shown_fields(step, written, [], typed, now.warnings, now.scenario) if is_shown else []
    if is_shown and fits(step, asked):  # faults are of the file as it would be
        faults = {each.field.name: each.faults for each in shown_fields(step, asked, looked.faults)}
        fields = [replace(each, faults=faults.get(each.field.name, ())) for each in fields]
    here = {text for each in fields for text in each.faults}
    place = STEPS.index(step)
    told = {each: step_of(each, asked) for each in looked.faults}
    if any(told.values()):  # what is missing elsewhere follows from that
        told = {each: where for each, where in told.items() if where is not None or each.problem != MISSING}
    theirs = [
        (each.field.label, each.was or "empty", flat(each.texts) or "empty")
        for each in fields
        if status == CHANGED and each.field.name in typed and flat(each.texts) != each.was
    ]
    return shown(
        request,
        "walk.html",
        room=room,
        status=status,
        step=step,
        steps=[(each, count_of_step(each, written) if fits(each, written) else None) for each in STEPS],
        number=place + 1,
        before=STEPS[place - 1] if place else None,
        following=STEPS[place + 1] if place + 1 < len(STEPS) else None,
        is_shown=is_shown,
        singles=[each for each in fields if each.field.row is None],
        rows=_rows(step, fields, written),
        spacing={crop: spacing_of(crop) for crop, _ in step.fields[0].choices} if step.name == "crops" else {},
        total=count_of(written),
        fingerprint=now.fingerprint,
        problem=problem,
        refused=status == REFUSED and not problem,
        theirs=theirs if status == CHANGED else None,
        right=filled.right if filled is not None else False,
        elsewhere=[
            (said_of(fault), where) for fault, where in told.items() if where is not step and said_of(fault) not in here
        ],
        noted=[(said_of(each), step_of(each, asked)) for each in looked.warnings] if step is STEPS[-1] else [],
        unplaced=[said_of(fault) for fault, where in told.items() if where is step and said_of(fault) not in here],
        drawing=drawing_of(now.raw or {}, written, step),
        plan=plan_rows(now.scenario) if now.scenario is not None and step.name in ("promises", "answer") else [],
        plan_heads=HEADS,
        saved=request.query_params.get("saved", "") if filled is None else "",
        cautions=cautions.beside_tables([where for _, where in step.more], region_in(now.raw or {})),
        likely=_likely(room, now) if step is STEPS[-1] else "",
    )


def _rows(step: Step, fields: Sequence[Shown], written: Mapping[str, Any]) -> list[tuple[str, list[Shown], bool]]:
    """Each row: what it is called, its fields, and whether it is folded away as the first that stands empty."""
    found = []
    for row in range(step.rows.most if step.rows else 0):
        here = [each for each in fields if each.field.row == row]
        is_empty = all(place_of(step, each.field, written) is None for each in here)
        is_empty = is_empty and not any(each.faults or flat(each.texts) != each.was for each in here)
        found.append((f"{step.rows.legend} {row + 1}" if step.rows else "", here, is_empty))
    return found


def _likely(room: RoomFolder, now: Checked) -> str:
    if now.scenario is None:
        return ""
    return ask_time.in_words(
        ask_time.likely_seconds("rehearse", now.scenario, {}, runs_of(room), times=ask_time.busy())
    )


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/steps/{step}", show_step, methods=["GET"]),
    Route("/rooms/{room}/steps/{step}", send_step, methods=["POST"]),
]
