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
    one year (one replication). better is "more", "less" or "" (neither).
    """

    key: str
    label: str
    unit: str
    better: Literal["more", "less", ""]
    decimals: int = 1
    weekly: str = ""


CATALOGUE: dict[str, Measure] = {
    m.key: m
    for m in (
        Measure("plants_harvested_per_week", "Plants harvested a week", "plants/week", "more", 0, "plants_harvested"),
        Measure("kg_packed_per_week", "Greens packed a week", "kg/week", "more", 1, "kg_packed"),
        Measure("kg_handed_out_per_week", "Greens handed out a week", "kg/week", "more", 1, "kg_handed_out"),
        Measure("kg_to_partners_per_week", "Greens to partners a week", "kg/week", "more", 1, "kg_to_partners"),
        Measure("kg_surplus_per_week", "Greens to open distribution a week", "kg/week", "", 1, "kg_surplus"),
        Measure("kg_wasted_per_week", "Greens gone too old in the cooler a week", "kg/week", "less", 2, "kg_wasted"),
        Measure("servings_per_week", "Servings handed out a week", "servings/week", "more", 0, "servings"),
        Measure("orders_filled_fraction", "Share of ordered kilograms handed out", "fraction", "more", 3),
        Measure("weeks_all_orders_met_fraction", "Share of weeks with every order met", "fraction", "more", 3),
        Measure("seeds_sown", "Seeds sown", "seeds/year", "", 0),
        *(
            Measure(loss.measure, loss.title, "plants/year", "" if loss.of == "extra seedlings" else "less", 0)
            for loss in LOSSES
        ),
        Measure(
            "plants_dried_low_reservoir", "Plants dried out, their reservoir not filled up", "plants/year", "less", 0
        ),
        Measure("plants_harvested", "Plants harvested (of those sown in the year)", "plants/year", "more", 0),
        Measure("plants_growing_at_end", "Plants still growing at the end", "plants", "", 0),
        Measure("sowings_skipped", "Sowings skipped", "sowings/year", "less", 1),
        Measure("shelf_fill_fraction", "Share of slots in use", "fraction", "", 3),
        Measure("slots_waiting_mean", "Trays waiting for a slot, on average", "trays", "less", 2),
        Measure("crew_hours_worked_per_week", "Crew hours worked a week", "h/week", "", 1, "crew_hours_worked"),
        Measure(
            "crew_hours_needed_per_week",
            "Crew hours of work falling due a week",
            "h/week",
            "less",
            1,
            "crew_hours_needed",
        ),
        Measure("crew_hours_present_per_week", "Crew hours present a week", "h/week", "", 1, "crew_hours_present"),
        Measure("volunteers_came_per_week", "Volunteer attendances a week", "people/week", "", 1, "volunteers_came"),
        Measure("tasks_on_time_fraction", "Share of tasks done in time", "fraction", "more", 3),
        Measure("days_harvested_late_mean", "Days from harvest day to harvest, on average", "days", "less", 2),
        Measure("days_sown_to_harvest_mean", "Days from sowing to (first) harvest, on average", "days", "less", 1),
        Measure("grams_per_plant_mean", "Packed mass of a plant", "g", "more", 0),
        Measure("hours_harvest_to_pickup_mean", "Hours from harvest to hand-over, on average", "h", "less", 1),
        Measure("machine_failures", "Machine failures", "failures/year", "less", 1),
        Measure("power_outages", "Power outages", "outages/year", "less", 1),
        Measure("floods_missed", "Floods missed", "floods/year", "less", 0),
        Measure("air_temperature_max_c", "Warmest air of the year", "°C", "less", 1),
        Measure("kwh_per_week", "Electricity a week", "kWh/week", "less", 0, "kwh"),
        Measure("kwh_per_kg", "Electricity per kilogram handed out", "kWh/kg", "less", 1),
        Measure("liters_per_kg", "Water per kilogram handed out", "L/kg", "less", 1),
        Measure("cost_per_week", "Cost a week", "money/week", "less", 0),
        Measure("cost_per_kg", "Cost per kilogram handed out", "money/kg", "less", 2),
        Measure("cost_per_plant", "Cost per plant harvested", "money/plant", "less", 2),
        Measure("volunteer_value_per_week", "Value of volunteer hours a week", "money/week", "", 0),
    )
}
