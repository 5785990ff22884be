"""The room and its changes, asked from Python: what `growsim.check`, `.rehearse`, `.compare`, `.keep`, `.crew`,
`.outage` and `.outage_event` are.

    import growsim

    growsim.check("scenarios/millrace").sentences
    year = growsim.rehearse("scenarios/millrace", replications=20)
    year.to_frame().set_index("measure").loc["kg_packed_per_week", ["mean", "mean_low", "mean_high"]]
    rack = growsim.compare("scenarios/millrace", "scenarios/millrace/changes/one-more-wide-rack.toml")
    rack.to_frame().query("verdict == 'more'")
    less = growsim.compare("scenarios/tiny", {"change": {"name": "cooler"}, "climate": {"air_temperature_c": 20}})
    room = growsim.keep("scenarios/millrace", "scenarios/millrace/changes/one-more-wide-rack.toml", "with-rack")
    growsim.rehearse(room.folder)
    found = growsim.crew("scenarios/millrace", replications=40, workers=2)
    found.to_frame().pivot(index="shift", columns="month", values="people_needed")
    all_of_it = growsim.outage("scenarios/millrace", replications=20, workers=2)
    all_of_it.to_frame()[["protection", "kg", "kg_low", "kg_high", "net"]]
    event = growsim.outage_event("scenarios/millrace", machine="pump", where="wide one", day=130, hour=20, hours=24)
    event.to_frame().query("measure == 'kg_missing'")

Results are frozen; everything they rest on hangs on them. Same files, seed and numbers: same results, to the last bit.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import asdict, dataclass
from dataclasses import replace as dataclass_replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from pydantic import ValidationError

from growsim.errors import Fault, InputError
from growsim.run.look_ahead import warnings_with_growth
from growsim.run.prepare import prepare_room
from growsim.run.rehearse import Rehearsal
from growsim.run.rehearse import rehearse as rehearse_room
from growsim.run.rehearsers import Progress
from growsim.scenario.change import TABLE, LoadedChange, change_from, change_text, file_name, load_change
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.load import LoadedRoom, load_scenario, refuse_lacking
from growsim.scenario.plan import RunPlan
from growsim.scenario.reading import fingerprint, whole_file
from growsim.scenario.size import Size, size_of
from growsim.study.compare.answer import Comparison
from growsim.study.compare.question import TOO_SMALL_PERCENT
from growsim.study.compare.question import compare as compare_rooms
from growsim.study.crew.answer import CrewStudy
from growsim.study.crew.goals import ON_TIME, ORDERS
from growsim.study.crew.question import crew as crew_of
from growsim.study.keep.question import KeptRoom
from growsim.study.keep.question import keep as keep_in
from growsim.study.outage.event import OutageEvent, study_event
from growsim.study.outage.question import Outages, study_outages
from growsim.study.room_air import room_on_paper
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    import pandas as pd

ChangeGiven = str | Path | Mapping[str, Any]


@dataclass(frozen=True)
class Checked:
    """A room file found complete and possible: its size on paper, and what is possible but surely not meant."""

    name: str
    size: Size
    sentences: tuple[str, ...]
    warnings: tuple[Fault, ...]

    def to_frame(self) -> pd.DataFrame:
        """One row a figure of the room's size on paper: figure, value."""
        import pandas as pd

        return pd.DataFrame(asdict(self.size).items(), columns=["figure", "value"])


def check(room: str | Path) -> Checked:
    """Read a room file and say how large the room is. Raises RoomFileError with every fault (`.faults`)."""
    loaded = load_scenario(Path(room))
    prepared = prepare_room(loaded)
    name, size = loaded.scenario.room.name, size_of(loaded.scenario)
    return Checked(name, size, tuple(room_on_paper(prepared, loaded.raw)), warnings_with_growth(loaded, prepared))


def rehearse(
    room: str | Path,
    *,
    seed: int | None = None,
    replications: int | None = None,
    precision_percent: float | None = None,
    days: int | None = None,
    start: Literal["filled", "empty"] | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Rehearsal:
    """Live through many rehearsed years of a room.

    What is left out is the room file's. precision_percent: go on until the average kilograms handed out a week are
    known that well. workers: processes; executor: any concurrent.futures.Executor instead. Neither changes a number.
    progress: called with (done, total). Raises RoomFileError, or InputError for a number that cannot be.
    """
    loaded = _opened(room)
    refuse_lacking(loaded)
    return rehearse_room(
        loaded.scenario,
        seed=_seed(loaded, seed),
        replications=replications,
        precision_percent=precision_percent,
        plan=_plan(loaded, days, start),
        workers=workers,
        progress=progress,
        executor=executor,
    )


def compare(
    room: str | Path,
    *changes: ChangeGiven,
    seed: int | None = None,
    replications: int | None = None,
    too_small_percent: float = TOO_SMALL_PERCENT,
    days: int | None = None,
    start: Literal["filled", "empty"] | None = None,
    why: bool = True,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Comparison:
    """Compare a room with each change made to it, under shared luck.

    changes: CHANGE files, or their tables as a dictionary. replications: rehearsed years at most; it stops sooner where
    every headline is decided or within `too_small_percent` of today's figure. why: also try what would bring more.
    The rest as in `rehearse`.
    Raises RoomFileError, or InputError for a number that cannot be.
    """
    loaded = load_scenario(Path(room))
    return compare_rooms(
        loaded,
        [_change(given, place) for place, given in enumerate(changes, start=1)],
        plan=_plan(loaded, days, start),
        seed=_seed(loaded, seed),
        at_most=_replications("compare", loaded, replications),
        too_small_percent=too_small_percent,
        why=why,
        workers=workers,
        progress=progress,
        executor=executor,
    )


def keep(
    room: str | Path, change: ChangeGiven | Sequence[ChangeGiven], out: str | Path, *, replace: bool = False
) -> KeptRoom:
    """Make a change that is wanted in the room, in the new folder `out`; the room itself stays as it is.

    change: a CHANGE file, its tables as a dictionary, or several of these, made one after the other. Each crop keeps
    the pace it was compared with. replace: `out` may be a folder kept before, if nothing in it was changed since.
    `.folder` can be given to every other question; `.warnings` are what is surely not meant. Raises RoomFileError for a
    change that does not fit, OutputError where the folder is in the way or cannot be written.
    """
    several = [change] if isinstance(change, (str, Path, Mapping)) else list(change)
    if not several:
        raise InputError("change: none is given; name at least one CHANGE file.")
    given = [_with_text(each, place) for place, each in enumerate(several, start=1)]
    return keep_in(load_scenario(Path(room)), given, Path(out), replaced=replace)


def _with_text(given: ChangeGiven, place: int) -> tuple[LoadedChange, bytes]:
    """A change and the text of its file, which is written for one given as tables."""
    if isinstance(given, (str, Path)):
        return load_change(Path(given)), whole_file(Path(given))
    change, text = _change(given, place), change_text(given, given.get(TABLE, {})).encode("utf-8")
    return dataclass_replace(change, path=Path(file_name(change.path.name)), sha256=fingerprint(text)), text


def _change(given: ChangeGiven, place: int) -> LoadedChange:
    """A change from its file, or from tables; these are named by their [change] name or by their place."""
    if isinstance(given, (str, Path)):
        return load_change(Path(given))
    tables = dict(given)
    written = json.dumps(tables, sort_keys=True, default=str, ensure_ascii=False)
    about = tables.get("change")
    name = about.get("name") if isinstance(about, Mapping) else None
    path = Path(name if isinstance(name, str) and name else f"change {place}")
    return change_from(tables, path, hashlib.sha256(written.encode()).hexdigest())


def _opened(room: str | Path) -> LoadedRoom:
    loaded = load_scenario(Path(room))
    prepare_room(loaded)  # a crop that cannot grow is said of the file and crop
    return loaded


def _plan(room: LoadedRoom, days: int | None, start: Literal["filled", "empty"] | None = None) -> RunPlan:
    defaults = room.scenario.rehearsal
    return RunPlan(defaults.days if days is None else days, defaults.warm_up_days, start or defaults.start)


def _replications(question: str, room: LoadedRoom, said: int | None) -> int:
    years = BY_NAME[question].years
    assert years is not None
    return years.unless_said(said, room.scenario.rehearsal.replications)


def _seed(room: LoadedRoom, seed: int | None) -> int:
    return room.scenario.rehearsal.seed if seed is None else seed


def crew(
    room: str | Path,
    *,
    tasks_on_time_fraction: float | None = None,
    orders_filled_fraction: float | None = None,
    seed: int | None = None,
    replications: int | None = None,
    precision_percent: float | None = None,
    days: int | None = None,
    start: Literal["filled", "empty"] | None = None,
    at_least: int = 1,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> CrewStudy:
    """The sign-up by shift and month that meets the goals and is easiest to recruit, with what it rests on.

    What is left out is the room file's. replications: fresh years of the proof; the search takes more. workers:
    processes; executor: any concurrent.futures.Executor instead. Neither changes a number. Raises RoomFileError, or
    InputError for a number that cannot be.
    """
    loaded = load_scenario(Path(room))
    given = {ON_TIME: tasks_on_time_fraction, ORDERS: orders_filled_fraction}
    return crew_of(
        loaded,
        plan=_plan(loaded, days, start),
        seed=_seed(loaded, seed),
        replications=replications,
        precision_percent=precision_percent,
        goals={key: goal for key, goal in given.items() if goal is not None},
        at_least=at_least,
        workers=workers,
        progress=progress,
        executor=executor,
    )


def outage(
    room: str | Path,
    *,
    seed: int | None = None,
    replications: int | None = None,
    days: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> Outages:
    """Study all outages of a room: how long there is, what they cost in a year, what each protection is worth.

    What is left out is the room file's. workers: processes; executor: any concurrent.futures.Executor instead. Neither
    changes a number. Raises RoomFileError, or InputError for a number that cannot be.
    """
    loaded = _opened(room)
    refuse_lacking(loaded)
    return study_outages(
        loaded.scenario,
        seed=_seed(loaded, seed),
        replications=_replications("outage", loaded, replications),
        plan=_plan(loaded, days),
        workers=workers,
        progress=progress,
        executor=executor,
    )


def outage_event(
    room: str | Path,
    *,
    machine: str,
    where: str = "",
    day: int,
    hour: float = 0.0,
    hours: float = 24.0,
    seed: int | None = None,
    replications: int | None = None,
    days: int | None = None,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> OutageEvent:
    """What one outage costs, against the same year without it.

    machine: what fails, as in the [[outages]] of a room file. where: the reservoir or light bank. day:
    counted from 0. The rest as in `outage`. Raises RoomFileError, or InputError for an outage that cannot be.
    """
    loaded = _opened(room)
    try:
        given = PlannedOutage.model_validate(
            {
                "name": "given",
                "machine": machine,
                "where": where,
                "start_day": day,
                "start_hour": hour,
                "hours": hours,
            }
        )
    except ValidationError as refused:
        first = refused.errors(include_url=False)[0]
        raise InputError(f"{first['loc'][0]}: {first['input']!r} is not possible ({first['msg']}).") from None
    return study_event(
        loaded.scenario,
        given,
        seed=_seed(loaded, seed),
        replications=_replications("outage", loaded, replications),
        plan=_plan(loaded, days),
        workers=workers,
        progress=progress,
        executor=executor,
    )
