"""Cautions, shown beside the part of an answer where the work can hurt. They defer to local code and licensed work.

The words are the rows of growsim.vocabulary.dangers; here they get the reader's units and the published limits of the
room's region, with their sources (growsim.vocabulary.regions), or none.
"""

from __future__ import annotations

from collections.abc import Iterable

from growsim import units
from growsim.report.words import number
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.dangers import DANGERS, OF_TABLE, ROWS, Danger
from growsim.vocabulary.regions import BY_NAME, Region

ALWAYS = (
    "Follow the local code and ask a licensed professional. This report helps to plan; it certifies nothing, and no "
    "figure in it is a safety limit."
)
_KG_A_LITER = 1.0


def beside(dangers: Iterable[Danger], region: str) -> tuple[str, ...]:
    """The caution of each danger in full, the worst first, each once."""
    asked = set(dangers)
    fill = _of(BY_NAME[region])
    return tuple(ROWS[danger].text.format(**fill) for danger in DANGERS if danger in asked)


def in_short(dangers: Iterable[Danger]) -> tuple[str, ...]:
    """The same, a line each, for a sheet that is read standing."""
    asked = set(dangers)
    return tuple(ROWS[danger].short for danger in DANGERS if danger in asked)


def beside_tables(tables: Iterable[str], region: str) -> tuple[str, ...]:
    """Cautions beside tables of the room file, such as a form for one or a change to some."""
    return beside((danger for table in tables for danger in OF_TABLE.get(table, ())), region)


def of_machines(scenario: Scenario) -> tuple[Danger, ...]:
    """Dangers of pumps, reservoirs, lights and air."""
    gas: tuple[Danger, ...] = ("carbon dioxide",) if scenario.co2.supply_kg_per_day > 0 else ()
    return (*gas, "water and power", "chemicals", "hot room", "glare")


def beside_machines(scenario: Scenario) -> tuple[str, ...]:
    """Cautions for the part about pumps, reservoirs, lights and air."""
    return beside(of_machines(scenario), scenario.room.region)


def warm_greens(region: str) -> str:
    """What becomes of greens that were not kept cold."""
    cold = BY_NAME[region].cold
    if cold is None or cold.warm_hours is None:
        return "Greens that have stood warm are thrown away once they have for as long as the food authority allows."
    return (
        f"Greens that have been above {_degrees(cold.at_most_c)} for more than {number(cold.warm_hours)} hours are "
        f"thrown away ({cold.warm_source})."
    )


def _of(region: Region) -> dict[str, str]:
    """What stands in the rows for this region, in the reader's units."""
    cold, whose = region.cold, region.rules
    return {
        "guarded": region.guarded,
        "water": f"a {units.worded('liter')} of water weighs {_weight()}",
        "limits": _limits(region),
        "chilled": (
            "as cold as the food authority asks"
            if cold is None
            else f"{_degrees(cold.at_most_c)} or below for {cold.of} ({cold.source})"
        ),
        "rules": f"Whether {whose} applies" if whose else "Which rules hold for greens handed out",
    }


def _limits(region: Region) -> str:
    if not region.carbon_dioxide:
        return "Keep below the limits of the authority for workplaces."
    said = [f"{number(limit.ppm)} ppm {limit.over} ({limit.source})" for limit in region.carbon_dioxide]
    return f"Limits: {'; '.join(said)}."


def _weight() -> str:
    """A liter of water, or a gallon where that is what is measured."""
    kilograms = _KG_A_LITER / units.as_shown("L").factor
    seen = units.amount(kilograms, "kg")
    return f"a {units.worded('kilogram')}" if seen == 1.0 else f"{number(seen, 1)} {units.unit('kg')}"


def _degrees(celsius: float) -> str:
    return units.amount_with_unit(celsius, "°C")
