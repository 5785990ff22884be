"""The machines: reservoirs with pumps and timers, lights, heat pump, CO2, utility power. What they do, how they fail,
and what can be bought or done against outages.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from pydantic import Field

from growsim.scenario.base import Table, figure, name_field
from growsim.scenario.uncertain import Uncertain, UncertainDays, UncertainFactor, UncertainHours, UncertainRunningHours
from growsim.vocabulary.machines import ALARMS, NAMED_PLACES, SPARES, MachineKey

PROTECTIONS = (
    *SPARES,
    *(alarm.name for alarm in ALARMS),
    "daily walk-through",
    "battery for pumps",
    "second pump",
    "thermostat",
)
if TYPE_CHECKING:
    ProtectionName = str
else:
    ProtectionName = Literal[PROTECTIONS]
_PLACES = " or ".join(place.word for place in NAMED_PLACES).capitalize()


class Reliability(Table):
    """How a machine fails, is noticed and is repaired.

    running_hours_to_failure is drawn afresh for every spell of work; left out, the machine never fails.
    A failure is noticed `alarm_minutes` after it happens, or, with no alarm, when somebody able next looks in.
    """

    running_hours_to_failure: UncertainRunningHours | None = figure(
        "Running hours between failures: a plain number is their mean, by pure chance. A life known for certain is "
        '{ distribution = "fixed", value = 5000 }. Leave out for a machine that never fails.',
        "h",
        default=None,
        example={"distribution": "exponential", "mean": 20000},
        plausible=(50, 500000, "pumps, timers and drivers last one to twenty years"),
    )
    hours_factor: UncertainFactor = figure(
        "What is not known of these hours: a factor around 1 on all of them, drawn once a replication for all machines "
        "of a kind.",
        "-",
        default=Uncertain(value=1.0),
    )
    alarm_minutes: float | None = figure(
        "Minutes from failure to alarm; leave out where there is no alarm.", "min", default=None, ge=0, le=1e5
    )
    repair_hours: UncertainHours = figure(
        "Hours of repair once part and person are there.", "h", default=Uncertain(value=2.0)
    )
    spares: int = figure("Spare parts on the shelf.", "pieces", default=0, ge=0, le=100)
    delivery_days: UncertainDays = figure("Days until an ordered part arrives.", "days", default=Uncertain(value=3.0))
    repair_price: float = figure("Price of a part.", "money", default=0.0, ge=0, le=1e6)


class Pump(Table):
    """Pump of a reservoir. With two, either can flood."""

    count: int = figure("Pumps that can each flood the rack alone.", "pumps", default=1, ge=1, le=10)
    power_w: float = figure(
        "Electric power while running.", "W", ge=0, le=1e5, plausible=(1, 2000, "a pump for racks draws 10 to 200 W")
    )
    reliability: Reliability = figure("How a pump fails and is repaired.", default=Reliability())


class Timer(Table):
    """The timer that starts the floods of a reservoir."""

    reliability: Reliability = figure("How the timer fails and is repaired.", default=Reliability())


class Reservoir(Table):
    """A reservoir of nutrient solution that is pumped up to flood a rack and drains back."""

    name: str = name_field("Name of the reservoir.", "north reservoir")
    capacity_l: float = figure(
        "Solution in the full reservoir.",
        "L",
        gt=0,
        le=1e5,
        plausible=(3, 20000, "a rack's reservoir holds 20 to 1000 L"),
    )
    lowest_flood_level_l: float = figure("Below this the pump draws air and cannot flood.", "L", ge=0, le=1e5)
    first_flood_hour: float = figure("Hour of the day of the first flood.", "h", default=0.0, ge=0, lt=24)
    flood_every_hours: float = figure(
        "Hours from one flood to the next; 0 where the pump runs all the time, as in channels.", "h", ge=0, le=48
    )
    flood_minutes: float = figure(
        "Minutes the pump runs for a flood; left out where it runs all the time.", "min", default=0, ge=0, le=600
    )
    top_up: Literal["by hand", "float valve"] = figure("How the reservoir is filled again.", default="by hand")
    change_every_weeks: int = figure(
        "Weeks between emptying and washing the reservoir; 0 for never.", "weeks", default=4, ge=0, le=104
    )
    fill_ec_ms_cm: float = figure("Strength of fresh solution.", "mS/cm", default=1.6, gt=0, le=10)
    uptake_ec_ms_cm: float = figure("Strength of what the plants take up.", "mS/cm", default=1.4, ge=0, le=10)
    lowest_ec_ms_cm: float = figure("Below this growth suffers.", "mS/cm", default=0.8, ge=0, le=10)
    highest_ec_ms_cm: float = figure("Above this growth suffers.", "mS/cm", default=3.0, gt=0, le=20)
    pump: Pump = figure("Its pump or pumps.")
    timer: Timer = figure("Its timer.", default=Timer())

    @property
    def flows_always(self) -> bool:
        """Whether the pump runs all the time, without a timer."""
        return self.flood_every_hours == 0


class LightBank(Table):
    """The lights of one rack."""

    name: str = name_field("Name of the light bank.", "north lights")
    ppfd_umol_m2_s: float = figure(
        "Light at the plants, averaged over the trays.",
        "µmol/m²/s",
        gt=0,
        le=2000,
        plausible=(20, 1000, "greens are grown under 100 to 400 µmol/m²/s"),
    )
    on_hour: float = figure("Hour of the day when the lights go on.", "h", ge=0, lt=24)
    hours_per_day: float = figure(
        "Hours of light a day.", "h", gt=0, le=24, plausible=(4, 24, "greens get 10 to 24 hours of light")
    )
    efficacy_umol_j: float = figure(
        "Light given per joule of electricity.",
        "µmol/J",
        gt=0.2,
        le=5,
        plausible=(0.5, 4.2, "fluorescent tubes give 0.8, the best LEDs under 4 µmol/J"),
    )
    light_on_trays_fraction: float = figure(
        "Share of the light that lands on trays.", "fraction", default=0.85, gt=0.05, le=1
    )
    reliability: Reliability = figure(
        "How the bank fails (its driver, most often) and is repaired.", default=Reliability()
    )

    def power_w(self, lit_area_m2: float) -> float:
        """Electric power (W) while it lights so many m² of slots; µmol per joule is mol per MJ. All ends as heat."""
        return self.ppfd_umol_m2_s * lit_area_m2 / (self.efficacy_umol_j * self.light_on_trays_fraction)


class Climate(Table):
    """Heat pump and set-points of the air."""

    air_temperature_c: float = figure(
        "Air temperature wanted.", "°C", ge=5, le=40, plausible=(12, 32, "greens are grown at 15 to 28 °C")
    )
    relative_humidity_percent: float = figure("Relative humidity wanted.", "%", default=65, ge=20, le=95)
    cooling_kw: float = figure(
        "Most heat the heat pump can take out.",
        "kW",
        ge=0,
        le=1e4,
        plausible=(0, 150, "a heat pump for a room has 2 to 20 kW"),
    )
    heating_kw: float = figure(
        "Most heat the heat pump can bring in.",
        "kW",
        ge=0,
        le=1e4,
        plausible=(0, 150, "a heater for a room has 1 to 20 kW"),
    )
    cooling_cop: float = figure("Heat taken out per electricity used.", "-", default=3.0, gt=0.3, le=15)
    heating_cop: float = figure("Heat brought in per electricity used.", "-", default=3.0, gt=0.3, le=15)
    fans_w: float = figure(
        "Electric power of the fans, day and night.",
        "W",
        default=0.0,
        ge=0,
        le=1e5,
        plausible=(0, 5000, "a fan for a room draws 10 to 100 W"),
    )
    lights_off_above_c: float | None = figure(
        "A thermostat puts the lights out above this; leave out where there is none.", "°C", default=None, ge=15, le=60
    )
    reliability: Reliability = figure("How the heat pump fails and is repaired.", default=Reliability())


class Co2(Table):
    """Carbon dioxide of the room's air."""

    setpoint_ppm: float = figure(
        "CO2 wanted while the lights are on.",
        "ppm",
        default=420,
        ge=200,
        le=5000,
        plausible=(300, 2000, "greens gain little above 1200 ppm, and people are at risk from 5000"),
    )
    outdoor_ppm: float = figure("CO2 of the air outside.", "ppm", default=420, ge=200, le=2000)
    supply_kg_per_day: float = figure(
        "Most CO2 the supply can give, to leaks and plants together; 0 where there is none.",
        "kg/day",
        default=0.0,
        ge=0,
        le=1e4,
        plausible=(0, 100, "a room's plants take up less than some kilograms a day"),
    )
    reliability: Reliability = figure("How the supply fails and is repaired.", default=Reliability())

    @property
    def is_supplied(self) -> bool:
        """Whether CO2 is fed, so that the room can lack it."""
        return self.supply_kg_per_day > 0 and self.setpoint_ppm > self.outdoor_ppm


class Power(Table):
    """Utility power."""

    outages_per_year: float = figure("Power outages a year, on average.", "1/year", default=0.0, ge=0, le=365)
    outage_hours: UncertainHours = figure(
        "How long a power outage lasts.",
        "h",
        default=Uncertain(value=4.0),
        plausible=(0.02, 240, "outages last minutes to some days"),
    )
    battery_pump_hours: float = figure("Hours a battery keeps pumps and timers going.", "h", default=0.0, ge=0, le=1000)


class PlannedOutage(Table):
    """An outage that is made to happen, to see what it costs."""

    name: str = name_field("Name of the outage.", "north pump in July")
    machine: MachineKey = figure("What fails.")
    where: str = Field("", description=f"{_PLACES} it concerns; empty for the room's own machines.")
    start_day: int = figure("Day of the rehearsal on which it begins.", "day", ge=0, le=36500)
    start_hour: float = figure("Hour of that day.", "h", default=0.0, ge=0, lt=24)
    hours: float = figure("How long it lasts.", "h", gt=0, le=8760)


class Protection(Table):
    """A protection against outages: price and setting. All of it is optional; `outage` weighs it either way.

    One that is in the room already is weighed by taking it away, one that is not by adding it.
    """

    name: ProtectionName = figure("Which protection.")
    price: float | None = figure(
        "Price of it for the whole room, paid once; leave out where it is not known.",
        "money",
        default=None,
        ge=0,
        le=1e7,
    )
    lasts_years: float = figure("Years until it must be bought again.", "years", default=5.0, gt=0.05, le=100)
    price_per_year: float = figure(
        "What else it costs every year, such as upkeep or fares.", "money/year", default=0.0, ge=0, le=1e6
    )
    setting: float | None = figure(
        "What it is set to: hours of a battery, minutes to an alarm, °C of a thermostat, hour of a walk-through. "
        "Leave out for a usual one.",
        "",
        default=None,
        ge=0,
        le=1440,
    )

    @property
    def cost_per_year(self) -> float | None:
        """Price spread over its years, with the yearly price (money a year); None where the price is not known."""
        return None if self.price is None else self.price / self.lasts_years + self.price_per_year
