"""Opening a room for a command: read, checked, and its crops' growth found."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from growsim.errors import Fault, InputError, RoomFileError

if TYPE_CHECKING:
    from growsim.run.prepare import Prepared
    from growsim.spec.load import LoadedRoom


def open_room(path: Path) -> tuple[LoadedRoom, Prepared]:
    """The room and its growth curves. Raises RoomFileError with every fault."""
    from growsim.spec.load import load_scenario

    room = load_scenario(path)
    return room, prepared(room)


def prepared(room: LoadedRoom) -> Prepared:
    """The room's crops on the growth model. Raises RoomFileError for a crop that cannot grow as the file says."""
    from growsim.run.prepare import prepare

    try:
        return prepare(room.scenario)
    except InputError as refusal:
        raise RoomFileError([_growth_fault(room, str(refusal))]) from None


def _growth_fault(room: LoadedRoom, said: str) -> Fault:
    """The calibration's sentence ('basil cannot weigh ...; look at ...') as a fault of that crop."""
    problem, _, advice = said.partition(";")
    named = [crop.name for crop in room.scenario.crops if problem.startswith(f"{crop.name} ")]
    crop = max(named, key=len, default="")
    key = f"crops.{crop}.typical_mass_g" if crop else "crops"
    return Fault(str(room.path), key, problem.removeprefix(crop).strip(), advice.strip() or "give other figures")
