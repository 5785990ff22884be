"""Files to a Scenario, or every fault of the file at once, one sentence each."""

from __future__ import annotations

import shlex
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from growsim.errors import Fault, RoomFileError
from growsim.scenario import reading
from growsim.scenario.asked import Count, count_of
from growsim.scenario.checks.all import faults_of, faults_of_the_rest, nobody_comes, nothing_is_sown, warnings_of
from growsim.scenario.names import in_words_of_today, name_faults
from growsim.scenario.scenario import Scenario
from growsim.scenario.short.expand import LIKE
from growsim.scenario.short.follow import followed
from growsim.scenario.understood import in_full_words
from growsim.scenario.wording import Finding, sentences
from growsim.units import SYSTEMS, shown_in
from growsim.vocabulary.regions import BY_NAME

ROOM_FILE = "room.toml"
MAKE_ONE = ", or make a room with `growsim new`"


@dataclass(frozen=True)
class LoadedRoom:
    """A room file, read and found whole.

    raw: its tables, written out in full, for CHANGE files to be merged into. full: the same with what follows, such as
    a sowing plan of growsim's own. sha256: of the file's bytes. warnings: what is possible but surely not meant, one
    sentence each. usual: path into `full` of each figure that is a usual value -> its source; decides nothing. asked:
    how many of the figures that a first answer asks for are the planner's.
    """

    scenario: Scenario
    raw: dict[str, Any]
    path: Path
    sha256: str
    warnings: tuple[Fault, ...] = ()
    usual: Mapping[tuple[str | int, ...], str] = field(default_factory=dict)
    full: Mapping[str, Any] = field(default_factory=dict)
    asked: Count | None = None


@contextmanager
def told_as_in(path: Path) -> Iterator[None]:
    """Within it, amounts and dates are told as the room file there asks; as without one where it cannot be read."""
    try:
        room = tomllib.loads(room_path(path).read_bytes()[: reading.LARGEST_FILE_BYTES].decode()).get("room", {})
        system, region = room.get("units"), BY_NAME.get(room.get("region"), BY_NAME["elsewhere"])
    except (OSError, ValueError, RecursionError, AttributeError, TypeError, RoomFileError):
        system, region = None, BY_NAME["elsewhere"]
    with shown_in(system if system in SYSTEMS else SYSTEMS[0], month_first=region.month_first):
        yield


def room_path(path: Path) -> Path:
    """The TOML file that ROOM means: itself, or the room.toml inside it. Raises RoomFileError where there is none."""
    if not _is_folder(path):
        return path
    inside = path / ROOM_FILE
    if not inside.exists():
        others = sorted(found.name for found in path.glob("*.toml"))
        remedy = f"name the file itself, e.g. {path / others[0]}" if others else "make one with `growsim new`"
        raise RoomFileError([Fault(str(path), "", f"has no {ROOM_FILE} in it", remedy)])
    return inside


def load_scenario(path: Path) -> LoadedRoom:
    """Read ROOM (a folder with room.toml, or a TOML file). Raises RoomFileError with every fault found."""
    file = room_path(path)
    content = reading.whole_file(file, or_else=MAKE_ONE)
    raw = tables_in(file, content)
    if "change" in raw and "room" not in raw:  # one sentence, not every table that a room would need besides
        remedy = f"name the room first: `growsim compare ROOM {shlex.quote(str(file))}`"
        raise RoomFileError([Fault(str(file), "change", "this is a CHANGE file, not a room", remedy)])
    return room_from(raw, file, reading.fingerprint(content))


def tables_in(file: Path, content: bytes) -> dict[str, Any]:
    """The tables. Where some lines cannot be read, the refusal tells what is wrong in the others, too."""
    try:
        return reading.tables_of(file, content)
    except reading.PartlyReadError as partly:
        try:
            room_from(partly.rest, file, "")
        except RoomFileError as more:
            rest = [fault for fault in more.faults if not _follows(fault, partly.lost)]
            raise RoomFileError([*partly.faults, *rest]) from None
        raise RoomFileError(list(partly.faults)) from None


def _follows(fault: Fault, lost: Sequence[str]) -> bool:
    """Whether a fault comes of lines that were left out: a key among them is missing, or a name."""
    return "name" in lost or any(fault.key.endswith(f".{key}") or fault.key == key for key in lost)


def scenario_from(raw: dict[str, Any], file: str) -> tuple[Scenario, tuple[Fault, ...]]:
    """Tables, short or in full, to a Scenario and its warnings. `file` is named in faults. Raises RoomFileError."""
    room = room_from(raw, Path(file), "")
    return room.scenario, room.warnings


def room_from(raw: dict[str, Any], path: Path, sha256: str, *, in_full: bool = False) -> LoadedRoom:
    """Tables, short or in full, to a room. `path` is named in every fault. Raises RoomFileError with every fault.

    in_full: faults are said of the room in full, as forms show it, and not of what a short file says once.
    """
    raw, findings = in_words_of_today(raw)
    unreadable = reading.unreadable_numbers(raw)
    room, told, in_doubt = in_full_words(reading.readable(raw) if unreadable else raw)
    full, follows = followed(told)
    file, placed = str(path), list[Finding] if in_full else room.as_written
    findings += [*unreadable, *room.findings, *in_doubt, *name_faults(full)]
    try:
        scenario = Scenario.model_validate(full)
    except ValidationError as error:
        known = {key for key, _, _ in (*in_doubt, *unreadable)}
        liked = tuple(key.removesuffix(LIKE) for key, _, _ in room.findings if key.endswith(f".{LIKE}"))
        errors = error.errors(include_url=False)
        findings += [
            finding
            for finding in sentences(Scenario, full, errors)
            if finding[0] not in known and not (finding[1] == "is missing" and finding[0].startswith(liked))
        ]
        if not unreadable:
            findings += faults_of_the_rest(full, {str(each["loc"][0]) for each in errors})
        raise RoomFileError(_faults(placed(findings), file)) from None
    findings += faults_of(scenario) if not unreadable else []
    if findings:
        raise RoomFileError(_faults(placed(findings), file))
    warnings = tuple(_faults(placed(list(warnings_of(scenario))), file))
    return LoadedRoom(scenario, told, path, sha256, warnings, {**room.usual, **follows}, full, count_of(raw))


def refuse_lacking(
    room: LoadedRoom, *, hands: bool = True, plan: bool = True, changed: Sequence[Scenario] = ()
) -> None:
    """Raise RoomFileError, one sentence for each thing lacking, where a rehearsal would be a page of zeros.

    A room file may lack hands or plan while it is being written, or because `growsim sow` shall find the plan; so
    neither is a fault of the file, and `check` says it as a warning.

    hands, plan: whether somebody must come, and something be sown. changed: rooms compared with this one; if one of
    them has what this one lacks, there is something to tell.
    """

    def lacks(scenario: Scenario) -> list[Finding]:
        return [
            *(nobody_comes(scenario) if hands else ()),
            *(nothing_is_sown(scenario) if plan else ()),
        ]

    found = lacks(room.scenario)
    if found and all(lacks(each) for each in changed):
        raise RoomFileError([Fault(str(room.path), *each) for each in found])


def _faults(findings: list[tuple[str, str, str]], file: str) -> list[Fault]:
    """Findings as faults, each once, in the order found."""
    return [Fault(file, *finding) for finding in dict.fromkeys(findings)]


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False
