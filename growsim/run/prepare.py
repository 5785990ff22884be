"""A scenario with its growth curves worked out once, ready to be rehearsed any number of times."""

from __future__ import annotations

from dataclasses import dataclass

from growsim.errors import Fault, InputError, RoomFileError
from growsim.growth.crops import Curves, build_curves
from growsim.scenario.load import LoadedRoom
from growsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Prepared:
    """A room and its mass curves. Frozen and picklable: it travels to worker processes as it stands."""

    scenario: Scenario
    curves: Curves


def prepare(scenario: Scenario) -> Prepared:
    """Calibrate every crop and integrate its curves.

    Raises InputError where no growth rate gives the typical days and mass that the room file states.
    """
    try:
        return Prepared(scenario, build_curves(scenario))
    except ValueError as impossible:  # growth knows no files and speaks in plain ValueErrors, each a sentence
        raise InputError(str(impossible)) from impossible


def prepare_room(room: LoadedRoom) -> Prepared:
    """`prepare` for a room that was read from a file. Raises RoomFileError: the file and the crop at fault."""
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
