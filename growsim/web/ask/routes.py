"""The questions of a room: choose one, say the few things it needs, and put it into the queue."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError
from growsim.scenario.load import LoadedRoom
from growsim.study.funder.record import span_of
from growsim.vocabulary.questions import BY_NAME, PERIOD_DAYS, QUESTIONS
from growsim.web.ask import files as ask_files
from growsim.web.ask import likely_time as ask_time
from growsim.web.ask.checks import value_of, values_of, words_of
from growsim.web.ask.files import BY_RECORD, Files, Upload, table_by_record
from growsim.web.ask.listed import change_title, loaded, said_here
from growsim.web.ask.questions import FILES, ON_ASK_PAGE, Form, form_of
from growsim.web.folder import NotHereError, RoomFolder
from growsim.web.guard import sent_form
from growsim.web.pages import address, folder_of, room_of, shown
from growsim.web.runs.keeper import Keeper
from growsim.web.runs.record import load, runs_of

MOST_FILES = 1


@dataclass
class Filled:
    """A form as somebody filled it in."""

    given: dict[str, tuple[str, ...]] = field(default_factory=dict)
    uploads: dict[str, Upload] = field(default_factory=dict)


def keeper_of(request: Request) -> Keeper:
    """Who keeps the queue."""
    keeper: Keeper = request.app.state.keeper
    return keeper


async def filled_in(request: Request, most_files: int = MOST_FILES) -> Filled:
    """The form that was sent."""
    form = await sent_form(request, most_files)
    filled = Filled()
    for name, value in form.multi_items():
        if isinstance(value, UploadFile):
            if value.filename:
                filled.uploads[name] = Upload(value.filename, await value.read())
        else:
            filled.given[name] = (*filled.given.get(name, ()), value)
    return filled


def all_questions(request: Request) -> Response:
    """The questions, each with how long it is likely to take here."""
    room = room_of(request)
    now, wrong = loaded(room)
    earlier = runs_of(room)
    times = ask_time.busy()
    likely = {} if now is None else {
        name: ask_time.in_words(ask_time.likely_seconds(name, now.scenario, {}, earlier, times=times))
        for name in ON_ASK_PAGE
    }  # fmt: skip
    questions = [question for question in QUESTIONS if question.place in ("ask", "records")]
    return shown(request, "ask.html", room=room, questions=questions, likely=likely, wrong=wrong)


def one_question(request: Request) -> Response:
    """The form of one question; ?again=<answer> fills it in as it was then."""
    room = room_of(request)
    given: Mapping[str, tuple[str, ...]] | None = None
    said = ""
    again = request.query_params.get("again")
    if again:
        run = load(room, again)
        given, said = run.given, run.said if run.state == "refused" else ""
    begun = {"changes": tuple(request.query_params.getlist("change"))}
    begun |= {key: (request.query_params[key],) for key in ("shelves", "date") if key in request.query_params}
    return _form(request, room, _name(request), given, {}, said, begun=begun)


async def put(request: Request) -> Response:
    """Put the question into the queue, or say beside each field what is wrong with it."""
    filled = await filled_in(request)
    return await run_in_threadpool(_put, request, filled)


def _put(request: Request, filled: Filled) -> Response:
    room, name = room_of(request), _name(request)
    now, _ = loaded(room)
    if now is None:
        return _form(request, room, name, filled.given, {}, "", 400)
    form = form_of(BY_NAME[name], room, now.scenario, dt.date.today())
    by_record = _by_record(room, filled)
    options, faults = words_of(form, filled.given)
    faults |= by_record
    files = Files()
    for field_ in form.fields:
        try:
            if field_.kind == "changes":
                files.changes = ask_files.chosen_changes(room, now, filled.given.get("changes", ()))
            elif field_.kind == "table":
                _shelves(room, now, form, filled, files)
            elif field_.kind == "records" and not faults.keys() & {"dates", "from", "until"}:
                faults |= _records(room, now, form, filled, files)
        except InputError as refusal:
            faults[field_.name] = said_here(room, str(refusal))
    if not faults.keys() & {"from", "until"}:  # else no dates to be looked at together
        faults = _together(form, filled, now.scenario.room.start_date) | faults
    if faults:
        return _form(request, room, name, filled.given, faults, "", 400)
    fill = ask_files.filler(folder_of(request), room, form.question, options, files)
    title = _title(form, filled, files)
    seconds = _likely(room, now, name, filled.given)
    run = keeper_of(request).ask(room, name, title, filled.given, fill, seconds)
    return RedirectResponse(address(room.name, "answers", run.id), 303)


def _likely(
    room: RoomFolder, now: LoadedRoom, name: str, given: Mapping[str, tuple[str, ...]], times: float = 1.0
) -> float:
    """Seconds it is likely to take; times: see `busy`."""
    record = partial(ask_files.record_span, room, now, next(iter(given.get("dates", ())), ""))
    return ask_time.likely_seconds(name, now.scenario, given, runs_of(room), record=record, times=times)


def _by_record(room: RoomFolder, filled: Filled) -> dict[str, str]:
    """Put a table of what the record says in the place of that choice; what is wrong with it, by field."""
    if filled.given.get("shelves") != (BY_RECORD,) or "shelves_file" in filled.uploads:
        return {}
    given = (filled.given.get("date") or ("",))[0]
    try:
        date = dt.date.fromisoformat(given) if given else dt.date.today()
        filled.given |= {"shelves": (table_by_record(room, date),), "date": (date.isoformat(),)}
    except ValueError:
        return {}  # no date; its field says so
    except InputError as refusal:
        filled.given["shelves"] = ("",)
        return {"shelves": str(refusal)}
    return {}


def _title(form: Form, filled: Filled, files: Files) -> str:
    """What the answer is called in lists: the question in short, and what sets this one apart."""
    given = values_of(form, filled.given) | {"changes": ", ".join(change_title(path) for path in files.changes)}
    said = ", ".join(given[name] for name in form.question.set_apart if given[name])
    return f"{form.question.short}: {said}" if said else form.question.short


def _shelves(room: RoomFolder, now: LoadedRoom, form: Form, filled: Filled, files: Files) -> None:
    upload, name = filled.uploads.get("shelves_file"), (filled.given.get("shelves") or ("",))[0]
    if upload is not None:
        files.shelves = ask_files.kept_table(room, upload)
        filled.given["shelves"] = (files.shelves.relative_to(room.home).as_posix(),)
    elif name:
        files.shelves = ask_files.chosen_table(room, name)
    elif form.question.name == "promise":
        raise InputError("Choose a table of what stands on the shelves, or send one.")
    if files.shelves is not None:
        date = next((field_ for field_ in form.fields if field_.name == "date"), None)
        try:
            counted = dt.date.fromisoformat(value_of(date, filled.given)) if date is not None else dt.date.today()
        except ValueError:
            counted = dt.date.today()
        ask_files.check_shelves(files.shelves, now, counted)


def _records(room: RoomFolder, now: LoadedRoom, form: Form, filled: Filled, files: Files) -> dict[str, str]:
    """Take the record along; what the command says of it, by field."""
    given = values_of(form, filled.given)
    if not given["records"]:
        return {}
    files.records = ask_files.chosen_records(room, given["records"])
    since, until = (dt.date.fromisoformat(given[day]) if given.get(day) else None for day in ("from", "until"))
    try:
        ask_files.check_records(room, now, given["dates"] or None, since, until)
    except InputError as refusal:
        options, colon, sentence = str(refusal).partition(": ")
        if colon and options.startswith("--"):
            return {options.partition(",")[0].removeprefix("--"): sentence}
        raise
    return {}


def _days_of_funder(given: Mapping[str, str], start: dt.date) -> dict[str, str]:
    """What is wrong with the days asked for where no record is chosen."""
    if given["dates"]:
        return {"dates": "speaks of a record; choose the record too"}
    if given["until"] and given["period"]:
        return {"period": "the last day says how long a time already; leave one of the two empty"}
    since, until = (dt.date.fromisoformat(given[day]) if given.get(day) else None for day in ("from", "until"))
    try:
        span_of(start, PERIOD_DAYS["year"], since=since, until=until)
    except InputError as refusal:
        option, _, sentence = str(refusal).partition(": ")
        return {option.removeprefix("--"): sentence}
    return {}


def _together(form: Form, filled: Filled, start: dt.date) -> dict[str, str]:
    """What the command says of answers that do not go together."""
    given = values_of(form, filled.given)
    if form.question.name == "outage" and not given["machine"]:
        idle = next((name for name in ("where", "date", "hour", "hours") if given[name]), "")
        return {"machine": "say which machine, or leave the day, the hour and the place empty"} if idle else {}
    if form.question.name == "outage" and not given["date"]:
        return {"date": f"{given['machine']}: say when"}
    if form.question.name == "sheet" and given["date"] and not (given["shelves"] or "shelves_file" in filled.uploads):
        return {"date": "says when the shelves were counted; choose or send the count too"}
    if form.question.name == "funder" and not given["records"]:
        return _days_of_funder(given, start)
    if form.question.name == "funder" and given["period"]:
        return {"period": "with a record the time is the record's; say from which day and until which day instead"}
    return {}


def _form(
    request: Request,
    room: RoomFolder,
    name: str,
    given: Mapping[str, tuple[str, ...]] | None,
    faults: Mapping[str, str],
    said: str,
    status: int = 200,
    begun: Mapping[str, tuple[str, ...]] | None = None,
) -> Response:
    """The form. given: as filled in, what it leaves unsaid is the room's; None where it is fresh. begun: what a fresh
    one holds besides."""
    now, wrong = loaded(room)
    if now is None:
        values: dict[str, Any] = {"likely": "", "given": {}, "fields": ()}
    else:
        form = form_of(BY_NAME[name], room, now.scenario, dt.date.today())
        fresh = {
            field_.name: (field_.standard,)
            for field_ in form.fields
            if field_.standard and (given is None or field_.kind not in FILES)  # no file sent: none was asked with
        }
        held = {**fresh, **(begun or {}), **(given or {})}
        likely = ask_time.in_words(_likely(room, now, name, held, ask_time.busy()))
        values = {"likely": likely, "given": held, "fields": form.fields}
    values |= {"question": BY_NAME[name], "faults": faults, "said": said.splitlines(), "wrong": wrong}
    return shown(request, "ask_one.html", room=room, status=status, **values)


def _name(request: Request) -> str:
    name: str = request.path_params["question"]
    if name not in ON_ASK_PAGE:
        raise NotHereError("There is no such question.")
    return name


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/ask", all_questions),
    Route("/rooms/{room}/ask/{question}", one_question, methods=["GET"]),
    Route("/rooms/{room}/ask/{question}", put, methods=["POST"]),
]
