"""The rooms of a comparison: today's, and today's with each change made.

A crop's pace of growth is a property of the plant, found once from the planner's typical days and mass in today's room.
A change to light, air, spacing or timetable keeps it, or brighter light would change nothing. It is found again, in the
changed room, only for a crop that is new or whose typical figures the change itself states otherwise.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from growsim.errors import Fault, RoomFileError
from growsim.run.look_ahead import warnings_with_growth
from growsim.run.prepare import Prepared, prepare_room
from growsim.scenario.change import LoadedChange, changed_room
from growsim.scenario.crop import Crop
from growsim.scenario.load import LoadedRoom
from growsim.scenario.scenario import Scenario

TODAY = ""  # the name of today's room among the alternatives; no file has it


@dataclass(frozen=True)
class Alternative:
    """Today's room with one change made.

    prepared: the changed room, its crops at their pace. found_anew: crops whose pace was found in the changed room.
    warnings: what is possible in the changed room but surely not meant, and was not so in today's.
    """

    change: LoadedChange
    prepared: Prepared
    found_anew: tuple[str, ...]
    warnings: tuple[Fault, ...]

    @property
    def name(self) -> str:
        """Short name: the file's, without its ending."""
        return self.change.name

    @property
    def scenario(self) -> Scenario:
        """The changed room."""
        return self.prepared.scenario


def alternatives_of(room: LoadedRoom, today: Prepared, changes: Sequence[LoadedChange]) -> tuple[Alternative, ...]:
    """Every change made to today's room. Raises RoomFileError with the faults of all of them."""
    faults = _named_twice(changes)
    made: list[Alternative] = []
    for change in changes:
        try:
            made.append(_alternative(room, today, change))
        except RoomFileError as refusal:
            faults += refusal.faults
    if faults:
        raise RoomFileError(faults)
    return tuple(made)


def keep_pace(today: Prepared, changed: Scenario) -> tuple[Scenario, tuple[str, ...]]:
    """The changed room with its crops at today's pace, and the names of those whose pace is to be found again."""
    before = {crop.name: crop for crop in today.scenario.crops}
    crops, found_anew = [], []
    for crop in changed.crops:
        if crop.growth_rate is not None:  # the file states it
            crops.append(crop)
        elif crop.name in before and _typical(before[crop.name]) == _typical(crop):
            crops.append(crop.model_copy(update={"growth_rate": today.curves.growth_rate[crop.name]}))
        else:
            crops.append(crop)
            found_anew.append(crop.name)
    return changed.model_copy(update={"crops": tuple(crops)}), tuple(found_anew)


def _alternative(room: LoadedRoom, today: Prepared, change: LoadedChange) -> Alternative:
    changed = changed_room(room, change)
    scenario, found_anew = keep_pace(today, changed.scenario)
    known = {(warning.key, warning.problem) for warning in warnings_with_growth(room, today)}
    prepared = prepare_room(replace(changed, scenario=scenario))
    said = warnings_with_growth(changed, prepared)
    warnings = tuple(warning for warning in said if (warning.key, warning.problem) not in known)
    return Alternative(change, prepared, found_anew, warnings)


def _typical(crop: Crop) -> tuple[object, ...]:
    """What the planner says the plant does: how heavy after how many days, from what seed, up after how long."""
    up = (crop.emergence.temperature_c, crop.emergence.days)
    typical_mass_g = crop.typical_mass_g.expected()
    seed = (crop.sown_by, crop.seed_sown_g) if crop.is_cut_whole else crop.seed_mass_mg
    return crop.typical_days, typical_mass_g, crop.dry_matter_fraction, seed, up


def _named_twice(changes: Sequence[LoadedChange]) -> list[Fault]:
    faults: list[Fault] = []
    for place, change in enumerate(changes):
        for other in changes[:place]:
            if change.name == other.name:
                remedy = "name each change once, in files of different names"
                faults.append(Fault(str(change.path), "", f"has the same name as {other.path}", remedy))
            elif change.title == other.title:
                problem = f"is {change.title!r}, which {other.path} is called too"
                faults.append(Fault(str(change.path), "change.name", problem, "give each change a name of its own"))
    return faults
