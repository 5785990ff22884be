"""Cross-checks of crops, their stages and the sowing plan against the trays and shelves there are."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

from growsim.scenario import on_paper
from growsim.scenario.names import ANY_CROP
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding, listing
from growsim.units import amount_with_unit


def stage_lines(scenario: Scenario) -> Iterator[Finding]:
    """Stages make one line from first to last."""
    for crop in scenario.crops:
        try:
            crop.stages_in_order()
        except ValueError as error:
            names = ", ".join(stage.name for stage in crop.stages)
            yield (
                f"crops.{crop.name}.stages",
                f"{error} (stages: {names})",
                "leave `after` out for the first stage and name the stage before it in every other",
            )


def stage_places(scenario: Scenario) -> Iterator[Finding]:
    """Every stage is permitted on some shelf, and its tray fits a slot of such a shelf."""
    trays, groups = on_paper.trays_by_name(scenario), on_paper.shelf_groups(scenario)
    for crop in scenario.crops:
        for stage in crop.stages:
            key = f"crops.{crop.name}.stages.{stage.name}"
            permitted = [group for group in groups if stage.name in group.stages and group.total_slots]
            tray = trays.get(stage.tray)
            if not permitted:
                yield key, "no shelf permits this stage", f"add '{stage.name}' to the stages of some shelves"
            elif tray is not None and not any(group.fits(tray) for group in permitted):
                slots = sorted({f"{g.slot_length_cm:g} x {g.slot_width_cm:g} cm" for g in permitted})
                yield (
                    f"{key}.tray",
                    f"the {tray.name} ({tray.length_cm:g} x {tray.width_cm:g} cm) fits no slot that permits this stage "
                    f"({listing(slots)})",
                    "name a smaller tray, or permit the stage on shelves with larger slots",
                )


def emergence_tables(scenario: Scenario) -> Iterator[Finding]:
    """Emergence tables are complete and rising, and seedlings are up before they leave their first tray."""
    for crop in scenario.crops:
        key, table = f"crops.{crop.name}.emergence", crop.emergence
        rows = len(table.temperature_c)
        sound = True
        for name in ("days", "relative_fraction"):
            count = len(getattr(table, name))
            if count != rows:
                sound = False
                yield f"{key}.{name}", f"has {count} figures for {rows} temperatures", f"give {rows} figures"
        if any(b <= a for a, b in itertools.pairwise(table.temperature_c)):
            sound = False
            yield f"{key}.temperature_c", "the temperatures do not rise", "put them in order, each once"
        if max(table.relative_fraction) <= 0:
            sound = False
            yield f"{key}.relative_fraction", "nothing ever germinates", "give 1 at the best temperature"
        if sound:
            yield from _up_in_time(scenario, crop.name)


def _up_in_time(scenario: Scenario, name: str) -> Iterator[Finding]:
    crop, temperature = on_paper.crops_by_name(scenario)[name], scenario.climate.air_temperature_c
    days, share = on_paper.emergence_at(crop, temperature)
    first = next((stage for stage in crop.stages if not stage.after), None)
    if share <= 0:
        yield (
            f"crops.{name}.emergence",
            f"nothing germinates at the room's {amount_with_unit(temperature, '°C')}",
            "set the air (climate.air_temperature_c) to where it germinates",
        )
    if first is not None and first.days < days:
        yield (
            f"crops.{name}.stages.{first.name}.days",
            f"is {first.days:g} days, but seeds take {days:.3g} days to germinate at the room's "
            f"{amount_with_unit(temperature, '°C')}",
            f"give at least {math.ceil(days)} days",
        )


def spreads(scenario: Scenario) -> Iterator[Finding]:
    """A share between 0 and 1 can only spread so far: sd < sqrt(mean x (1 - mean))."""
    for crop in scenario.crops:
        mean, sd = crop.germination_fraction.expected(), crop.germination_spread_sd
        if sd > 0 and sd * sd >= mean * (1 - mean):
            yield (
                f"crops.{crop.name}.germination_spread_sd",
                f"is {sd:g}, more than a share of {mean:g} can spread",
                f"give less than {math.sqrt(max(0.0, mean * (1 - mean))):.2g}",
            )
    for month, mean in enumerate(scenario.crew.chance_of_coming, start=1):
        sd = scenario.crew.chance_spread_sd
        if 0 < mean < 1 and sd * sd >= mean * (1 - mean):
            yield (
                "crew.chance_spread_sd",
                f"is {sd:g}, more than the chance of {mean:g} in month {month} can spread",
                f"give less than {math.sqrt(mean * (1 - mean)):.2g}",
            )
            return


def sowing_fits(scenario: Scenario) -> Iterator[Finding]:
    """One sowing fits the slots of its first stage; its dates are in order."""
    crops, trays = on_paper.crops_by_name(scenario), on_paper.trays_by_name(scenario)
    for line in scenario.sowing:
        key = f"sowing.{line.name}"
        if line.from_date and line.until_date and line.until_date < line.from_date:
            yield f"{key}.until_date", f"is before from_date {line.from_date}", "give a later date"
        crop = crops.get(line.crop)
        first = next((stage for stage in crop.stages if not stage.after), None) if crop else None
        if crop is None or first is None or first.tray not in trays:
            continue
        sheets = math.ceil(line.cells / trays[first.tray].places)
        slots = on_paper.slots_for(scenario, first)
        if 0 < slots < sheets:
            unit, most = crop.sown_unit, slots * trays[first.tray].places
            many = f"is {sheets} trays" if unit == "tray" else f"{line.cells} {unit}s are {sheets} trays"
            yield (
                f"{key}.cells",
                f"{many}, and only {slots} slots permit the {first.name} stage",
                f"sow at most {most} {unit}s, or permit the stage on more shelves",
            )


def crops_are_sown(scenario: Scenario) -> Iterator[Finding]:
    """Warning: a crop without a sowing line, though others have one, and some order could be filled with it.

    Of a crop that is ordered by name, `promises_on_paper` tells.
    """
    orders = {order.crop for partner in scenario.partners for order in partner.orders}
    if not scenario.sowing or (orders and ANY_CROP not in orders):
        return
    sown = {line.crop for line in scenario.sowing}
    for crop in scenario.crops:
        if crop.name not in sown:
            yield f"crops.{crop.name}", "is never sown", "add a [[sowing]] line for it, or take the crop out"
