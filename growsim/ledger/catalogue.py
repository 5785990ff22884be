"""Every figure the tool can state: key, label, unit, which way is better, and how it is spoken of.

Tables, figures and sentences take their words from here, so a figure has one name everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from growsim.vocabulary.losses import LOSSES


@dataclass(frozen=True)
class Measure:
    """One figure.

    weekly names the weekly series behind it (see ledger.outcome) when p10/p50/p90 speak of one week; else they speak of
    one year (one replication). better is "more", "less" or "" (neither). whole: the figure that this one and others add
    up to. hangs_on: the figure of what happens now and then (perhaps this one): where that was seen in no year, nobody
    knows how high this one may be.
    """

    key: str
    label: str
    unit: str
    better: Literal["more", "less", ""]
    decimals: int = 1
    weekly: str = ""
    whole: str = ""
    hangs_on: str = ""


def _now_and_then(key: str, label: str, unit: str, decimals: int, weekly: str = "", whole: str = "") -> Measure:
    """What happens in some years and not in others, the less the better."""
    return Measure(key, label, unit, "less", decimals, weekly, whole, hangs_on=key)


_GIVEN = "kg_handed_out_per_week"
_SOWN = "seeds_sown"
_FAILURES = "machine_failures"

YEAR_DAYS = range(350, 381)
"""So many days are near enough to a year to be called one."""


def unit_over(unit: str, days: int) -> str:
    """The unit of a figure counted over so many days, true to their number: "plants/year" or "plants/90 days"."""
    return unit if days in YEAR_DAYS else unit.replace("/year", f"/{days} day{'' if days == 1 else 's'}")


CATALOGUE: dict[str, Measure] = {
    m.key: m
    for m in (
        Measure("plants_harvested_per_week", "Plants harvested a week", "plants/week", "more", 0, "plants_harvested"),
        Measure("kg_packed_per_week", "Greens packed a week", "kg/week", "more", 1, "kg_packed", _GIVEN),
        Measure(_GIVEN, "Greens handed out a week", "kg/week", "more", 1, "kg_handed_out", _GIVEN),
        Measure("kg_to_partners_per_week", "Greens to partners a week", "kg/week", "more", 1, "kg_to_partners", _GIVEN),
        Measure("kg_surplus_per_week", "Greens to open distribution a week", "kg/week", "", 1, "kg_surplus", _GIVEN),
        _now_and_then(
            "kg_wasted_per_week", "Greens gone too old in the cooler a week", "kg/week", 2, "kg_wasted", _GIVEN
        ),
        Measure("servings_per_week", "Servings handed out a week", "servings/week", "more", 0, "servings", _GIVEN),
        Measure("orders_filled_fraction", "Orders filled", "fraction", "more", 3, whole=_GIVEN),
        Measure("weeks_all_orders_met_fraction", "Weeks with every order met", "fraction", "more", 3),
        Measure(_SOWN, "Seeds sown", "seeds/year", "", 0, whole=_SOWN),
        *(
            Measure(
                loss.measure,
                loss.title,
                "plants/year",
                "" if loss.of == "extra seedlings" else "less",
                0,
                whole=_SOWN,
                hangs_on=loss.measure,
            )
            for loss in LOSSES
        ),
        _now_and_then(
            "plants_dried_low_reservoir",
            "Plants dried out, their reservoir not filled up",
            "plants/year",
            0,
            whole=_SOWN,
        ),
        Measure(
            "plants_harvested", "Plants harvested (of those sown in the year)", "plants/year", "more", 0, whole=_SOWN
        ),
        Measure("plants_growing_at_end", "Plants still growing at the end", "plants", "", 0, whole=_SOWN),
        _now_and_then("sowings_skipped", "Sowings skipped", "sowings/year", 1),
        Measure("shelf_fill_fraction", "Share of slots in use", "fraction", "", 3),
        _now_and_then("slots_waiting_mean", "Trays waiting for a slot, on average", "trays", 2),
        Measure("crew_hours_worked_per_week", "Hours worked a week", "h/week", "", 1, "crew_hours_worked"),
        Measure(
            "crew_hours_needed_per_week",
            "Hours of work due a week",
            "h/week",
            "less",
            1,
            "crew_hours_needed",
        ),
        Measure("crew_hours_present_per_week", "Hours people are there a week", "h/week", "", 1, "crew_hours_present"),
        Measure("volunteers_came_per_week", "Volunteer attendances a week", "people/week", "", 1, "volunteers_came"),
        Measure("tasks_on_time_fraction", "Share of tasks done in time", "fraction", "more", 3),
        _now_and_then("days_harvested_late_mean", "Days from harvest day to harvest, on average", "days", 2),
        Measure("days_sown_to_harvest_mean", "Days from sowing to (first) harvest, on average", "days", "less", 1),
        Measure("grams_per_plant_mean", "Packed mass of a plant", "g", "more", 0),
        Measure("hours_harvest_to_pickup_mean", "Hours from harvest to hand-over, on average", "h", "less", 1),
        _now_and_then(_FAILURES, "Machine failures", "failures/year", 1),
        _now_and_then("power_outages", "Power outages", "outages/year", 1),
        _now_and_then("floods_missed", "Floods missed", "floods/year", 0),
        Measure("air_temperature_max_c", "Warmest air of the year", "°C", "less", 1),
        Measure("kwh_per_week", "Electricity a week", "kWh/week", "less", 0, "kwh"),
        Measure("kwh_per_kg", "Electricity per kilogram handed out", "kWh/kg", "less", 1),
        Measure("liters_per_kg", "Water per kilogram handed out", "L/kg", "less", 1),
        Measure("cost_per_week", "Running costs a week", "money/week", "less", 0, hangs_on=_FAILURES),
        Measure("cost_per_kg", "Cost per kilogram handed out", "money/kg", "less", 2, hangs_on=_FAILURES),
        Measure("cost_per_plant", "Cost per plant harvested", "money/plant", "less", 2, hangs_on=_FAILURES),
        Measure("volunteer_value_per_week", "Value of volunteer hours a week", "money/week", "", 0),
    )
}
