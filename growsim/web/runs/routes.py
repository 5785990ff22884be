"""What has been asked of a room: the list, the buttons, and the state of each for whoever looks again and again."""

from __future__ import annotations

import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.web.ask.routes import keeper_of
from growsim.web.folder import RoomFolder
from growsim.web.pages import address, room_of, shown
from growsim.web.runs import record
from growsim.web.runs.child import Child
from growsim.web.runs.keeper import Keeper
from growsim.web.runs.record import Run

IN_WORDS = {
    record.WAITING: "waits its turn",
    record.AT_WORK: "at work",
    record.DONE: "answered",
    record.REFUSED: "needs correcting",
    record.STOPPED: "stopped",
    record.FAILED: "did not work",
    record.INTERRUPTED: "interrupted",
}


@dataclass(frozen=True)
class Seen:
    """A run as a page shows it. percent: None where it cannot be said. so_far: a sentence."""

    run: Run
    words: str
    doing: str = ""
    percent: int | None = None
    left: str = ""
    so_far: str = ""


def seen(keeper: Keeper, run: Run) -> Seen:
    """The run with its place in the line or its progress, in words."""
    if run.state == record.WAITING:
        before = keeper.place_in_line(run)
        others = "one other question" if before == 1 else f"{before} other questions"
        return Seen(run, IN_WORDS[run.state], f"Waits for {others} to be answered." if before > 0 else "It is next.")
    if run.state != record.AT_WORK:
        return Seen(run, IN_WORDS[run.state])
    progress = keeper.progress(run)
    percent = None if progress.fraction is None else int(100 * progress.fraction)
    left = left_in_words(progress.seconds_left)
    so_far = f"So far: {progress.so_far}. It goes on." if progress.so_far else ""
    return Seen(run, IN_WORDS[run.state], progress.what or "Getting ready", percent, left, so_far)


def left_in_words(seconds: float | None) -> str:
    """'about 20 seconds left', 'about 3 minutes left'; '' where nobody knows."""
    if seconds is None:
        return ""
    if seconds < 5:
        return "a few seconds left"
    if seconds < 100:
        return f"about {max(5, round(seconds / 5) * 5)} seconds left"
    if seconds < 5400:
        return f"about {round(seconds / 60)} minutes left"
    return f"about {round(seconds / 3600)} hours left"


def all_runs(request: Request) -> Response:
    """Everything asked of the room, newest first."""
    room, keeper = room_of(request), keeper_of(request)
    runs = [seen(keeper, run) for run in record.runs_of(room)]
    going = [each for each in runs if not each.run.is_over]
    done = [each for each in runs if each.run.is_over]
    answers = [each.run for each in runs if each.run.state == record.DONE]
    return shown(request, "runs.html", room=room, going=going[::-1], done=done, answers=answers)


def state(request: Request) -> Response:
    """How far one is, for the page's script."""
    room = room_of(request)
    run = record.load(room, request.path_params["run"])
    here = seen(keeper_of(request), run)
    return JSONResponse(
        {
            "over": run.is_over,
            "state": here.words,
            "doing": here.doing,
            "percent": here.percent,
            "left": here.left,
            "so_far": here.so_far,
        }
    )


async def stop(request: Request) -> Response:
    """Stop it, or take it out of the line."""
    return await run_in_threadpool(_stop, request)


def _stop(request: Request) -> Response:
    room = room_of(request)
    run = keeper_of(request).stop(room, request.path_params["run"])
    return RedirectResponse(address(room.name, "answers", run.id), 303)


async def again(request: Request) -> Response:
    """Ask the same again, with the same files as then."""
    return await run_in_threadpool(_again, request)


def _again(request: Request) -> Response:
    room = room_of(request)
    run = record.load(room, request.path_params["run"])
    before, keeper = record.folder_of_run(room, run.id), keeper_of(request)
    new = keeper.ask(
        room, run.question, run.title, run.given, lambda asked: _the_same(run, before, asked), run.likely_seconds
    )
    return RedirectResponse(address(room.name, "answers", new.id), 303)


def _the_same(run: Run, before: Path, asked: Path) -> list[str]:
    """Copies of the same files, and the same words with the new way to them."""
    shutil.copytree(before / record.ASKED, asked, dirs_exist_ok=True, symlinks=True)
    then, now = f"/{run.id}/{record.ASKED}/", f"/{asked.parent.name}/{record.ASKED}/"
    return [word.replace(then, now) for word in run.words]


async def remove(request: Request) -> Response:
    """Throw it away with its answer."""
    return await run_in_threadpool(_remove, request)


def _remove(request: Request) -> Response:
    room: RoomFolder = room_of(request)
    keeper_of(request).remove(room, request.path_params["run"])
    return RedirectResponse(address(room.name, "answers"), 303)


@asynccontextmanager
async def alive(app: Starlette) -> AsyncIterator[None]:
    """The keeper of the queue lives as long as the page does."""
    settings = app.state.settings
    keeper = Keeper(app.state.folder, workers=settings.get("workers"), begin_child=settings.get("begin_child", Child))
    app.state.keeper = keeper
    await run_in_threadpool(keeper.open)
    try:
        yield
    finally:
        await run_in_threadpool(keeper.close)


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/answers", all_runs),
    Route("/rooms/{room}/answers/{run}/state", state),
    Route("/rooms/{room}/answers/{run}/stop", stop, methods=["POST"]),
    Route("/rooms/{room}/answers/{run}/again", again, methods=["POST"]),
    Route("/rooms/{room}/answers/{run}/remove", remove, methods=["POST"]),
]
