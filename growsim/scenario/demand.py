"""What is sown, what is promised, what things cost."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import Field, field_validator

from growsim.scenario.base import CalendarDay, Table, days_in_a_row, figure, name_field
from growsim.scenario.people import Months
from growsim.vocabulary.days import Weekday


class Sowing(Table):
    """A line of the sowing plan: so many cells of a crop, on a weekday, every so many weeks."""

    name: str = name_field("Name of this line of the plan.", "butterhead Mondays")
    crop: str = name_field("Which crop.", "butterhead")
    cells: int = figure("Cells sown each time.", "cells", ge=1, le=100000)
    weekday: Weekday = figure("Day of the week.")
    every_weeks: int = figure("Every how many weeks.", "weeks", default=1, ge=1, le=52)
    first_week: int = figure("Weeks to skip before the first sowing.", "weeks", default=0, ge=0, le=520)
    from_date: CalendarDay | None = figure("No sowing before this date.", "date", default=None)
    until_date: CalendarDay | None = figure("No sowing after this date.", "date", default=None)
    months: Months = figure("Only in these months (1-12); empty for all.", default=())

    def is_in_season(self, date: dt.date) -> bool:
        """Whether its dates and months allow a sowing on a day; the weekday is not looked at."""
        too_early = self.from_date is not None and date < self.from_date
        too_late = self.until_date is not None and date > self.until_date
        return not too_early and not too_late and (not self.months or date.month in self.months)


class Order(Table):
    """A standing order of a partner: so much of a crop at each pick-up."""

    crop: str = name_field("Which crop, or 'any'.", "butterhead")
    kg: float = figure(
        "How much at each pick-up.",
        "kg",
        gt=0,
        le=1e5,
        plausible=(0.02, 500, "a partner takes some kilograms at a pick-up"),
    )
    months: Months = figure("Only in these months (1-12); empty for all.", default=())


class Partner(Table):
    """A partner agency that collects greens."""

    name: str = name_field("Name of the partner.", "food pantry")
    priority: int = figure("Lower is served first; equals share fairly.", "", default=1, ge=0, le=99)
    weekday: Weekday = figure("Day of pick-up.")
    hour: float = figure("Hour of pick-up.", "h", ge=0, lt=24)
    months: Months = figure("Only collects in these months (1-12); empty for all.", default=())
    closed_days: tuple[CalendarDay, ...] = figure(
        'Days on which it does not collect; many in a row as "2031-07-01 to 2031-08-15". Nothing is ordered then.',
        "date",
        default=(),
    )
    orders: Annotated[tuple[Order, ...], Field(min_length=1)] = figure("What it takes.")

    _many_in_a_row = field_validator("closed_days", mode="before")(days_in_a_row)

    def collects(self, date: dt.date) -> bool:
        """Whether its months and closed days allow a pick-up on a day; the weekday is not looked at."""
        return (not self.months or date.month in self.months) and date not in self.closed_days

    def ordered_in(self, month: int) -> list[Order]:
        """What it takes at a pick-up in a month (1 for January)."""
        if self.months and month not in self.months:
            return []
        return [order for order in self.orders if not order.months or month in order.months]


class Harvest(Table):
    """When greens are harvested and where what is left over goes."""

    weekdays: Annotated[tuple[Weekday, ...], Field(min_length=1, max_length=7)] = figure(
        "Days on which lots are harvested."
    )
    longest_wait_days: float = figure(
        "Greens older than this are not handed out, whatever the crop.", "days", default=7, gt=0, le=60
    )
    surplus_weekday: Weekday = figure("Day on which what no order needs before it spoils goes to open distribution.")
    surplus_hour: float = figure("Hour of that day.", "h", default=17, ge=0, lt=24)
    serving_g: float = figure(
        "Grams that count as one serving (one cup-equivalent: 2 cups of raw leafy greens).",
        "g",
        default=72,
        gt=5,
        le=1000,
        plausible=(20, 300, "a serving of leafy greens is 70 to 100 g"),
    )


class Prices(Table):
    """Money. All in one currency."""

    currency: str = Field("USD", description="Name of the currency.", min_length=1, max_length=10)
    electricity_per_kwh: float = figure("Electricity.", "money/kWh", ge=0, le=100)
    water_per_m3: float = figure("Water.", "money/m³", default=0.0, ge=0, le=1000)
    nutrient_g_per_l: float = figure(
        "Dry nutrient in a liter of fresh solution.",
        "g/L",
        default=1.2,
        ge=0,
        le=50,
        plausible=(0, 6, "a strong solution has 3 g of dry nutrient in a liter"),
    )
    nutrient_per_kg: float = figure("Dry nutrient.", "money/kg", default=0.0, ge=0, le=10000)
    plug_each: float = figure("One starter plug.", "money", default=0.0, ge=0, le=100)
    packing_per_kg: float = figure("Packing for a kilogram packed.", "money/kg", default=0.0, ge=0, le=1000)
    co2_per_kg: float = figure("CO2.", "money/kg", default=0.0, ge=0, le=1000)
    fixed_per_week: float = figure("Rent, insurance and other fixed costs.", "money/week", default=0.0, ge=0, le=1e6)
    lead_hour: float = figure(
        "A paid hour of a lead; 0 where the lead is a volunteer.", "money/h", default=0.0, ge=0, le=10000
    )
    volunteer_hour_value: float = figure(
        "Value of a volunteer hour; shown beside the cost, not in it.", "money/h", default=0.0, ge=0, le=10000
    )
    wash_liters_per_tray: float = figure("Water to wash one tray.", "L", default=5.0, ge=0, le=1000)


class Rehearsal(Table):
    """Defaults of a rehearsal; the command line may say otherwise."""

    days: int = figure("Days counted.", "days", default=364, ge=1, le=36500)
    warm_up_days: int = figure(
        "Days the room runs before counting starts, so that it starts filled.", "days", default=112, ge=0, le=3650
    )
    start: Literal["filled", "empty"] = figure(
        "What stands on the shelves when counting starts: filled, the plan has been running for a while; empty, "
        "nothing: a room just built.", default="filled",
    )  # fmt: skip
    replications: int = figure("How many years are rehearsed.", "", default=60, ge=1, le=1000000)
    seed: int = figure("The random seed.", "", default=2031, ge=0, le=2**63 - 1)


class Goals(Table):
    """What the planner has promised themselves."""

    orders_filled_fraction: float = figure(
        "Share of ordered greens that should be handed out.", "fraction", default=0.95, ge=0, le=1
    )
    tasks_on_time_fraction: float = figure(
        "Share of tasks that should be done in time.", "fraction", default=0.95, ge=0, le=1
    )
