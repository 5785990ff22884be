"""Made-up outcomes over the tiny invented room: numbers with the shape of real ones, no simulation behind them."""

from __future__ import annotations

import random
from pathlib import Path

from growsim.ledger.outcome import Outage, Outcome
from growsim.run.intervals import summarize
from growsim.run.rehearse import Rehearsal
from growsim.run.warmup import WarmUp
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.losses import FATES

ROOMS = Path(__file__).parents[2] / "scenarios"
WEEKLY_PLAN = {"cutting leaf": (60, 25.0), "small head": (30, 110.0)}
LOSSES = {"no_room": 0.02, "dried_out": 0.03, "heat": 0.0, "overgrown": 0.05, "transplanting": 0.01, "too_small": 0.02}


def tiny_room() -> Scenario:
    """The tiny invented room."""
    return load_scenario(ROOMS / "tiny").scenario


def outcome(scenario: Scenario, replication: int, weeks: int, *, luck: bool = True) -> Outcome:
    """One made-up year of so many weeks. luck=False gives the plan on paper."""
    dice = random.Random(f"made up {replication}")

    def about(value: float, spread: float = 0.15) -> float:
        return max(0.0, dice.gauss(value, spread * value)) if luck else value

    series: dict[str, list[float]] = {}
    fates: dict[tuple[str, str], int] = {}

    def add(name: str, value: float) -> None:
        series.setdefault(name, []).append(value)

    outages = tuple(_outages(dice, weeks)) if luck else ()
    down_weeks = {outage.down_minute // 10080 for outage in outages}
    crops = [crop for crop in scenario.crops if crop.name in WEEKLY_PLAN]
    rack, ordered_kg = scenario.racks[0].name, sum(o.kg for p in scenario.partners for o in p.orders)
    for week in range(weeks):
        summer = 0.7 if 24 <= week % 52 < 34 and luck else 1.0
        packed = 0.0
        lost_in_week = dict.fromkeys(LOSSES, 0)
        for crop in crops:
            seeds = WEEKLY_PLAN[crop.name][0] * crop.seeds_per_cell
            counts = {fate.key: 0 for fate in FATES}
            counts["not_emerged"] = round(about(0.12 * seeds))
            counts["thinned"] = round(0.36 * seeds) if crop.seeds_per_cell > 1 else 0
            for fate, share in LOSSES.items():
                worse = 6.0 if fate == "dried_out" and week in down_weeks else (2.0 if summer < 1 else 1.0)
                counts[fate] = round(about(share * seeds * worse, 0.6)) if luck else 0
                lost_in_week[fate] += counts[fate]
            growing = week >= weeks - 4
            rest = max(0, seeds - sum(counts.values()))
            counts["harvested"] = 0 if growing else rest
            for fate, number in counts.items():
                fates[crop.name, fate] = fates.get((crop.name, fate), 0) + number
            key = (crop.name, "growing_at_end")
            fates[key] = fates.get(key, 0) + (rest if growing else 0)
            fates[crop.name, "harvested"] += seeds - sum(counts.values()) - (rest if growing else 0)
            kilograms = rest * about(WEEKLY_PLAN[crop.name][1], 0.1) / 1000
            add(f"kg_packed:{crop.name}", kilograms)
            add(f"plants_harvested:{crop.name}", float(rest))
            packed += kilograms
        add("plants_harvested", sum(series[f"plants_harvested:{crop.name}"][-1] for crop in crops))
        add("kg_packed", packed)
        for fate, number in lost_in_week.items():
            add(f"lost:{fate}", float(number))
        to_partners = min(packed, ordered_kg)
        add("kg_ordered", ordered_kg)
        add("kg_to_partners", to_partners)
        add("kg_surplus", packed - to_partners)
        add("kg_wasted", 0.0)
        add("kg_handed_out", packed)
        add("servings", packed / 0.072)
        add("orders_met", float(packed >= ordered_kg - 1e-9))
        for partner in scenario.partners:
            own = sum(order.kg for order in partner.orders)
            add(f"kg_ordered:{partner.name}", own)
            add(f"kg_to:{partner.name}", to_partners * own / ordered_kg)
        present = 0.0
        for shift in scenario.crew.shifts:
            came = float(sum(dice.random() < 0.85 * summer for _ in range(shift.people))) if luck else 2.0
            add(f"came:{shift.name}", came)
            add(f"signed_up:{shift.name}", float(shift.people))
            present += (came + 1) * shift.hours
        needed = about(6.4, 0.2)
        add("crew_hours_needed", needed)
        add("crew_hours_present", present)
        add("crew_hours_worked", min(needed, present))
        for task, share in (("sow", 0.2), ("transplant", 0.3), ("harvest", 0.3), ("wash", 0.2)):
            add(f"crew_hours_worked:{task}", share * min(needed, present))
            add(f"late:{task}", float(needed > present))
        add("volunteers_came", sum(series[f"came:{shift.name}"][-1] for shift in scenario.crew.shifts))
        add("tasks_done", 9.0)
        add("tasks_late", 4.0 if needed > present else 0.0)
        add("kwh", about(95, 0.03))
        add("air_temperature_max_c", about(23, 0.02))
        for stage, slots in (("seedling", 2.4), ("leaf", 4.5), ("head", 6.1)):
            add(f"slots:{rack}:{stage}", about(slots, 0.08) * min(1.0, (week + 5) / 6))
    means = {name: sum(values) / weeks for name, values in series.items()} if weeks else {}
    totals = {fate: sum(n for (_, f), n in fates.items() if f == fate.key) for fate in FATES}
    measures = {fate.measure: float(n) for fate, n in totals.items()}
    measures |= {
        "seeds_sown": float(sum(totals.values())),
        "machine_failures": float(len(outages)),
        "slots_waiting_mean": 0.3 if luck else 0.0,
        "shelf_fill_fraction": 0.78,
        "days_harvested_late_mean": 0.4,
        "hours_harvest_to_pickup_mean": 5.0,
    }
    if weeks:
        measures |= {
            "kg_packed_per_week": means["kg_packed"],
            "plants_harvested_per_week": means["plants_harvested"],
            "kg_handed_out_per_week": means["kg_handed_out"],
            "kg_surplus_per_week": means["kg_surplus"],
            "servings_per_week": means["servings"],
            "orders_filled_fraction": means["kg_to_partners"] / ordered_kg if ordered_kg else 1.0,
            "weeks_all_orders_met_fraction": means["orders_met"],
            "crew_hours_needed_per_week": means["crew_hours_needed"],
            "crew_hours_present_per_week": means["crew_hours_present"],
            "crew_hours_worked_per_week": means["crew_hours_worked"],
            "tasks_on_time_fraction": 1 - means["tasks_late"] / means["tasks_done"],
            "kwh_per_week": means["kwh"],
            "kwh_per_kg": means["kwh"] / means["kg_handed_out"],
            "cost_per_kg": 9.4 + dice.random(),
            "cost_per_plant": 0.42,
            "cost_per_week": 37.0,
            "volunteer_value_per_week": 210.0,
            "air_temperature_max_c": max(series["air_temperature_max_c"]),
        }
    accounts = {
        "kg:packed": sum(series.get("kg_packed", ())),
        "kwh:lights": 71.0 * weeks,
        "kwh:pumps": 0.9 * weeks,
        "kwh:heat pump": 18.0 * weeks,
        "kwh:fans": 5.0 * weeks,
        "liters:reservoirs": 60.0 * weeks,
        "liters:washing": 45.0 * weeks,
        "hours:volunteers": 2 * means.get("volunteers_came", 0.0) * weeks,
        "hours:lead": 4.0 * weeks,
        "money:electricity": 14.2 * weeks,
        "money:seed": 1.2 * weeks,
        "money:plugs": 3.6 * weeks,
        "money:packing": 1.1 * weeks,
        "money:repairs": 60.0 * len(outages),
    }
    weekly = {name: tuple(values) for name, values in series.items()}
    return Outcome(replication, measures, weekly, fates, accounts, outages)


def _outages(dice: random.Random, weeks: int) -> list[Outage]:
    found = []
    for _ in range(dice.randrange(4)):
        down = dice.randrange(max(1, weeks * 10080))
        noticed = down + dice.randrange(60, 3000)
        found.append(Outage("pump", "reservoir", down, noticed, noticed + dice.randrange(60, 6000)))
    if weeks:
        found.append(Outage("lights", "lights", weeks * 10080 - 5000, weeks * 10080 - 3000, None))
    return sorted(found, key=lambda outage: outage.down_minute)


def rehearsal(scenario: Scenario | None = None, *, replications: int = 20, days: int = 364, seed: int = 7) -> Rehearsal:
    """A whole made-up rehearsal."""
    room = scenario or tiny_room()
    plan = RunPlan(days=days, warm_up_days=56)
    outcomes = tuple(outcome(room, i, days // 7) for i in range(replications))
    filling = tuple(min(1.0, week / 8) * 3.9 for week in range(112))
    return Rehearsal(
        scenario=room,
        plan=plan,
        seed=seed,
        outcomes=outcomes,
        estimates=summarize(outcomes),
        warm_up=WarmUp(filling, 5, True, "From a bare room the weekly harvest holds its level from week 6 on."),
        on_paper=outcome(room, -1, days // 7, luck=False),
    )


def empty_rehearsal(scenario: Scenario, *, replications: int, days: int) -> Rehearsal:
    """A rehearsal of a room in which nothing ever happens."""
    weeks = dict.fromkeys(("kg_packed", "kg_ordered", "crew_hours_needed", "crew_hours_present"), (0.0,) * (days // 7))
    outcomes = tuple(Outcome(i, {"kg_packed_per_week": 0.0}, weeks, {}, {}) for i in range(replications))
    return Rehearsal(
        scenario=scenario,
        plan=RunPlan(days=days, start="empty"),
        seed=1,
        outcomes=outcomes,
        estimates=summarize(outcomes),
        warm_up=WarmUp((), None, True, "Counting starts in the bare room: filling it is part of the answer."),
        on_paper=Outcome(-1, {"kg_packed_per_week": 0.0}, weeks, {}, {}),
    )
