"""What a change does to the room's CO2 by way of its plants: told beside a comparison, which leaves it out.

Today's typical days have today's air in them. More plants in the same air, or brighter light on them, take more CO2
out of it, and all grow the slower. How much is known on paper only, and hangs on how much outside air comes in; so the
comparison itself keeps the CO2 of the room file, and the changed room is lived through once more at the speed its air
would let the plants have.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from growsim.growth.canopy import CanopyAir, canopy_air
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared, prepare
from growsim.scenario.scenario import Scenario
from growsim.study.alternatives import Alternative
from growsim.study.pay_back import Range
from growsim.study.relief import gain_of, kilograms

NOTICED = 0.01  # change of growth, as a share, from which it is told
SLOWEST_RATE = 0.011  # as slow as a room file can say


@dataclass(frozen=True)
class AirShift:
    """What a change does to the room's CO2 on paper, and by that to growth.

    gain: what the change brings with that growth, kilograms handed out a week; None where it was not rehearsed.
    """

    before: CanopyAir
    after: CanopyAir
    gain: Range | None = None

    @property
    def growth(self) -> float:
        """Speed of growth in the changed room against what the comparison reckons (1)."""
        return self.after.growth / self.before.growth


def shifts_of(today: Prepared, alternatives: Sequence[Alternative]) -> dict[str, AirShift]:
    """What each change does to the room's CO2, by its name; those that do little are left out."""
    found = {each.name: air_shift(today, each.prepared) for each in alternatives}
    return {name: shift for name, shift in found.items() if shift is not None}


def air_shift(today: Prepared, changed: Prepared) -> AirShift | None:
    """What a change does to the room's CO2; None where it does little, or where nothing grows on paper as it is."""
    before, after = (canopy_air(room.scenario, room.curves) for room in (today, changed))
    if before.growth <= 0.0 or abs(after.growth / before.growth - 1.0) < NOTICED:
        return None
    return AirShift(before, after)


def lived_in_their_air(
    alternatives: Sequence[Alternative],
    shifts: Mapping[str, AirShift],
    today: Sequence[Outcome],
    rehearse: Callable[[Prepared, Sequence[int]], list[Outcome]],
    doubt: float,
) -> dict[str, AirShift]:
    """The shifts, each with what its change brings with plants at the speed that its air lets them have."""
    keys = [outcome.replication for outcome in today]
    found = {}
    for each in alternatives:
        if each.name in shifts:
            shift = shifts[each.name]
            lived = rehearse(prepare(in_its_air(each.prepared, each.found_anew, shift)), keys)
            found[each.name] = replace(shift, gain=gain_of(kilograms(today), kilograms(lived), doubt))
    return found


def in_its_air(changed: Prepared, found_anew: Collection[str], shift: AirShift) -> Scenario:
    """The changed room with its crops at the speed that its air lets them have.

    Crops whose pace was found again in it grow as they are said to.
    """
    rates = {
        name: max(SLOWEST_RATE, rate * shift.growth)
        for name, rate in changed.curves.growth_rate.items()
        if name not in found_anew
    }
    crops = tuple(
        crop.model_copy(update={"growth_rate": rates[crop.name]}) if crop.name in rates else crop
        for crop in changed.scenario.crops
    )
    return changed.scenario.model_copy(update={"crops": crops})
