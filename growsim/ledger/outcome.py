"""What is left of a replication once it has been measured: small, picklable, enough for every report."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class Outage:
    """A spell of a machine being down. Minutes count from the start of the window.

    where is the reservoir or light bank, or "" for the room's own machines; noticed_minute and repaired_minute are None
    where the window ended first.
    """

    machine: str
    where: str
    down_minute: int
    noticed_minute: int | None
    repaired_minute: int | None


@dataclass(frozen=True)
class Outcome:
    """One replication, measured over its window.

    measures: catalogue key -> value; a figure that does not exist (cost per kg with no kg) is absent, never NaN.
    weeks: series name -> one value a week (last week may be short: it is left out). Names:
        plants_harvested, kg_packed, kg_handed_out, kg_to_partners, kg_surplus, kg_wasted, kg_ordered, servings,
        orders_met (1 or 0), crew_hours_worked, crew_hours_needed, crew_hours_present, volunteers_came,
        volunteers_signed_up, tasks_done, tasks_late, kwh, liters, air_temperature_max_c, floods_missed,
        cost (what the week costs, of the accounts of money),
        kg_packed:<crop>, plants_harvested:<crop>, seeds_sown:<crop>, lost:<loss>, slots:<rack>:<stage>, (mean slots in
        use), slots_free:<rack>, crew_hours_worked:<task>, kg_to:<partner>, kg_ordered:<partner>,
        kg_ordered_of:<crop>, kg_given_of:<crop> (of orders for that crop, or for "any"), came:<shift>,
        signed_up:<shift>, done:<task>, late:<task>.
    fates: (crop, fate) -> plants, of seeds sown in the window; fate is the key of one of vocabulary.losses.FATES.
    accounts: account -> total over the window, in the unit named: kwh:lights, kwh:pumps, kwh:heat pump, kwh:fans,
        liters:reservoirs, liters:washing, kg:nutrient, kg:co2, hours:volunteers, hours:lead, money:electricity,
        money:water, money:nutrient, money:seed, money:plugs, money:packing, money:co2, money:repairs, money:lead,
        money:fixed.
    outages: machines that went down, in order; those of the warm-up too, at negative minutes.
    held_up: (crop, what, obstacle) -> how much of it was held up so (see ledger.tallies.held_up).
    aftermath: plants that machines down killed, and what stands at the end (see ledger.aftermath).
    """

    replication: int
    measures: dict[str, float]
    weeks: dict[str, tuple[float, ...]]
    fates: dict[tuple[str, str], int]
    accounts: dict[str, float]
    outages: tuple[Outage, ...] = field(default=())
    held_up: dict[tuple[str, str, str], float] = field(default_factory=dict)
    aftermath: dict[str, float] = field(default_factory=dict)

    @property
    def counted_outages(self) -> tuple[Outage, ...]:
        """Machines that went down in the window."""
        return tuple(outage for outage in self.outages if outage.down_minute >= 0)
