"""An answer: the sentence first, then its range, the pictures, the figures and the files; and two side by side."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.errors import InputError
from growsim.report.rehearse.day_by_day import FILE as DAYS_FILE
from growsim.run.drawer import usual_place
from growsim.run.writing import write_bytes
from growsim.vocabulary.questions import BY_NAME, Question
from growsim.web.answers import files as handing
from growsim.web.answers.summary import Summary, asked_room, summary_of
from growsim.web.ask.routes import keeper_of
from growsim.web.folder import NotHereError, RoomFolder, file_inside
from growsim.web.pages import address, room_of, shown
from growsim.web.runs import record
from growsim.web.runs.record import Run
from growsim.web.runs.routes import seen


@dataclass(frozen=True)
class Answer:
    """Everything an answer's page shows."""

    run: Run
    question: Question
    summary: Summary
    pictures: list[handing.Picture]
    files: list[handing.FileHere]
    pages: list[handing.FileHere]
    changes: list[handing.FileHere]
    has_tables: bool
    days: Path | None
    cautions: tuple[str, ...] = ()


def one_answer(request: Request) -> Response:
    """The answer; or, while there is none, how far it is or why there is none."""
    room = room_of(request)
    run = record.load(room, request.path_params["run"])
    if run.state != record.DONE:
        each = seen(keeper_of(request), run)
        question = BY_NAME.get(run.question, BY_NAME["rehearse"])
        return shown(
            request, "run.html", room=room, run=run, each=each, question=question, said=run.said.splitlines(),
            may_correct=question.place == "ask",
            goes_on=run.goes_on and usual_place() is not None,
        )  # fmt: skip
    return shown(request, "answer.html", room=room, answer=answer_of(room, run))


def answer_of(room: RoomFolder, run: Run) -> Answer:
    """A finished answer. Raises NotHereError where it is not finished or cannot be read."""
    folder = record.folder_of_run(room, run.id)
    if run.state != record.DONE:
        raise NotHereError(f"“{run.title}” has not been answered.")
    room_then, question = asked_room(folder), BY_NAME.get(run.question, BY_NAME["rehearse"])
    every = list(handing.files_of(folder).values())
    return Answer(
        run,
        question,
        summary_of(folder),
        handing.pictures_of(folder / record.ANSWER),
        [file for file in every if not file.is_picture],
        [file for file in every if file.is_page],
        [file for file in every if file.path.suffix == ".toml" and "/" not in file.name],
        any(file.path.suffix == ".csv" and "/" not in file.name for file in every),
        days_of(folder),
        room_then.cautions(question),
    )


def days_of(folder: Path) -> Path | None:
    """The file of the year day by day, if the answer has one."""
    for path in (folder / record.ANSWER / DAYS_FILE, folder / record.DAYS / DAYS_FILE):
        if path.is_file() and not path.is_symlink() and not path.parent.is_symlink():
            return path
    return None


def side_by_side(request: Request) -> Response:
    """Two answers beside each other, and, where both have a figure, how it differs."""
    room = room_of(request)
    ids = [request.query_params.get(side, "") for side in ("left", "right")]
    if not all(ids):
        raise InputError("Choose two answers to put side by side.")
    both = [answer_of(room, record.load(room, run_id)) for run_id in ids]
    left, right = ({one.key: one for one in (*each.summary.headlines, *each.summary.others)} for each in both)
    figures = [(left[key], right[key]) for key in left if key in right]
    return shown(request, "side_by_side.html", room=room, both=both, figures=figures, surer=BY_NAME["compare"].asks)


def hand_out(request: Request) -> Response:
    """One file of an answer: pictures and pages to look at, everything else to keep."""
    room = room_of(request)
    folder = _done(room, request.path_params["run"])
    file = handing.file_named(folder, request.path_params["name"])
    headers = {"Content-Security-Policy": handing.REPORT_POLICY if file.is_page else handing.PICTURE_POLICY}
    to_keep = "keep" in request.query_params or not (file.is_page or file.is_picture)
    name = f"{room.title}-{request.path_params['run']}-{file.path.name}"
    if file.is_page and not to_keep:
        text = handing.with_a_way_back(file, address(room.name, "answers", request.path_params["run"]))
        return HTMLResponse(text, headers=headers)
    if not to_keep:
        return FileResponse(file.path, media_type=handing.TYPES[file.path.suffix], headers=headers)
    return FileResponse(file.path, media_type=handing.TYPES[file.path.suffix], headers=headers, filename=name)


def workbook(request: Request) -> Response:
    """Every table of an answer in one workbook."""
    room = room_of(request)
    content = handing.workbook_of(_done(room, request.path_params["run"]))
    name = quote(f"{room.title}-{request.path_params['run']}.xlsx")
    return Response(
        content, media_type=handing.XLSX, headers={"Content-Disposition": f"attachment; filename*=UTF-8''{name}"}
    )


async def keep_change(request: Request) -> Response:
    """Keep a CHANGE file of an answer among the room's changes, and go on to comparing it, or to making it so."""
    return await run_in_threadpool(_keep_change, request)


def _keep_change(request: Request) -> Response:
    room, run_id = room_of(request), request.path_params["run"]
    file = handing.file_named(_done(room, run_id), request.path_params["name"])
    if file.path.suffix != ".toml":
        raise NotHereError(f"“{file.name}” is no CHANGE file.")
    room.changes.mkdir(parents=True, exist_ok=True)
    target = file_inside(room.changes, f"{file.path.stem}-{run_id.partition('-')[0]}.toml")
    write_bytes(target, file.path.read_bytes())
    if request.query_params.get("then") == "make":
        return RedirectResponse(address(room.name, "changes", "files", target.name, "make"), 303)
    return RedirectResponse(f"{address(room.name, 'ask', 'compare')}?change={quote(target.name)}", 303)


def _done(room: RoomFolder, run_id: str) -> Path:
    """The folder of a finished answer; nothing is handed out of half a one."""
    if record.load(room, run_id).state != record.DONE:
        raise NotHereError("There is no answer yet.")
    return record.folder_of_run(room, run_id)


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/answers/side-by-side", side_by_side),
    Route("/rooms/{room}/answers/{run}/files/{name:path}", hand_out),
    Route("/rooms/{room}/answers/{run}/tables.xlsx", workbook),
    Route("/rooms/{room}/answers/{run}/keep/{name}", keep_change, methods=["POST"]),
    Route("/rooms/{room}/answers/{run}", one_answer),
]
