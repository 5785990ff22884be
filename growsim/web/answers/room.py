"""What a page needs to know of the room an answer was asked of. It never changes any more, so it is read once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from growsim.errors import InputError
from growsim.report.cautions import ALWAYS, all_for, beside_machines
from growsim.scenario.load import ROOM_FILE, load_scenario
from growsim.web.folder import NotHereError
from growsim.web.runs import record


@dataclass(frozen=True)
class AskedRoom:
    """Its crops in the order of the room file, its currency, and the cautions that concern its machines, and all."""

    crops: tuple[str, ...] = ()
    currency: str = "money"
    machine_cautions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def room_file_of(run_folder: Path) -> Path:
    """The copy of the room file a question was asked with. Raises NotHereError where it has gone."""
    found = sorted((run_folder / record.ASKED).glob(f"*/{ROOM_FILE}"))
    if not found or found[0].is_symlink() or found[0].parent.is_symlink():
        raise NotHereError("The room this was asked of cannot be found any more.")
    return found[0]


def asked_room(run_folder: Path) -> AskedRoom:
    """The room a question was asked of; an empty one where it cannot be read any more."""
    try:
        return _read(room_file_of(run_folder))
    except InputError:
        return AskedRoom()


@lru_cache(maxsize=64)
def _read(file: Path) -> AskedRoom:
    scenario = load_scenario(file).scenario
    crops = tuple(crop.name for crop in scenario.crops)
    return AskedRoom(crops, scenario.prices.currency, (ALWAYS, *beside_machines(scenario)), all_for(scenario))
