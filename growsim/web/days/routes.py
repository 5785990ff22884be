"""The room, stepped through day by day: what stands where, who works, what is down. For one rehearsed year."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import BaseRoute, Route

from growsim.report.rehearse.day_by_day import read_day, read_room
from growsim.vocabulary.questions import BY_NAME
from growsim.web.answers.routes import days_of
from growsim.web.answers.summary import asked_room, room_file_of, summary_of
from growsim.web.ask.checks import reader
from growsim.web.ask.routes import filled_in, keeper_of
from growsim.web.days.words import STATES, day_in_words, day_on_shelves
from growsim.web.folder import NotHereError, RoomFolder
from growsim.web.pages import address, folder_of, room_of, shown
from growsim.web.runs import record
from growsim.web.runs.record import Run
from growsim.web.shelves import codes_of, color_of


def one_day(request: Request) -> Response:
    """A day of the year; ?day=<n> counted from 0. With ?part only what changes from day to day, for the script."""
    room = room_of(request)
    run = record.load(room, request.path_params["run"])
    file = _days_file(room, run)
    here = read_room(file)
    day = _wanted(request.query_params.get("day", "0"), int(here["days"]))
    seen = read_day(file, day)
    crops = _crops(room, run, seen)
    trays = seen.get("trays", [])
    values: dict[str, Any] = {
        "run": run,
        "here": here,
        "day": day,
        "words": day_in_words(here, seen, asked_room(record.folder_of_run(room, run.id)).region),
        "racks": day_on_shelves(here["shelves"], trays, crops),
        "crops": [(crop, codes_of(crops)[crop], color_of(crops, crop)) for crop in crops],
        "states": STATES,
    }
    template = "day_part.html" if "part" in request.query_params else "day.html"
    return shown(request, template, room=room, year=here, **{k: v for k, v in values.items() if k != "here"})


def _days_file(room: RoomFolder, run: Run) -> Path:
    file = days_of(record.folder_of_run(room, run.id)) if run.state == record.DONE else None
    if file is None:
        raise NotHereError("This answer has no year to step through.")
    return file


def _wanted(text: str, days: int) -> int:
    """The day asked for, or the nearest there is."""
    try:
        return min(days - 1, max(0, int(text[:9])))
    except ValueError:
        return 0


def _crops(room: RoomFolder, run: Run, seen: dict[str, Any]) -> list[str]:
    """Crops in the order of the room file as it was asked with, then others that stand there."""
    there = dict.fromkeys(str(trays["crop"]) for trays in seen.get("trays", ()) if trays.get("crop"))
    named = asked_room(record.folder_of_run(room, run.id)).crops
    return [*named, *(crop for crop in there if crop not in named)]


async def another_year(request: Request) -> Response:
    """Ask for another rehearsed year of the same room, by its number."""
    filled = await filled_in(request)
    return await run_in_threadpool(_another_year, request, (filled.given.get("number") or ("",))[0].strip())


def _another_year(request: Request, number: str) -> Response:
    room = room_of(request)
    run = record.load(room, request.path_params["run"])
    folder = record.folder_of_run(room, run.id)
    if days_of(folder) is None:
        raise NotHereError("This answer has no year to step through.")
    reader("rehearse").parse_args(["room", "--replication", number])  # refuses in the command's own words
    raw = summary_of(folder).raw

    def fill(asked: Path) -> list[str]:
        source = room_file_of(folder).parent
        shutil.copytree(source, asked / source.name)
        words = ["rehearse", (asked / source.name).relative_to(folder_of(request).path).as_posix()]
        words += ["--replication", number, "--trace", "--seed", str(raw["seed"]), "--days", str(raw["days"])]
        return [*words, "--start", "empty" if raw.get("warm_up_days") == 0 else "filled"]

    title = f"{BY_NAME['replay'].short}: number {number}"
    new = keeper_of(request).ask(room, "replay", title, {"number": (number,)}, fill)
    return RedirectResponse(address(room.name, "answers", new.id), 303)


ROUTES: list[BaseRoute] = [
    Route("/rooms/{room}/answers/{run}/days", one_day, methods=["GET"]),
    Route("/rooms/{room}/answers/{run}/days", another_year, methods=["POST"]),
]
