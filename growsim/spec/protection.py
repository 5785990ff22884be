"""What can be bought or done against outages, what it costs, and how it is set."""

from __future__ import annotations

from typing import Literal

from growsim.spec.base import Table, figure

ProtectionName = Literal[
    "spare pump",
    "spare timer",
    "spare for the lights",
    "spare for the heat pump",
    "spare for the CO2 supply",
    "pump alarm",
    "light alarm",
    "heat alarm",
    "daily look-in",
    "battery for pumps",
    "second pump",
    "thermostat",
]


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
    lasts_years: float = figure("Years until it must be bought anew.", "years", default=5.0, gt=0.05, le=100)
    price_per_year: float = figure(
        "What it costs every year besides, such as upkeep or fares.", "money/year", default=0.0, ge=0, le=1e6
    )
    setting: float | None = figure(
        "What it is set to: hours of a battery, minutes to an alarm, °C of a thermostat, hour of a look-in; leave out "
        "for a usual one.",
        "",
        default=None,
        ge=0,
        le=1440,
    )

    @property
    def cost_per_year(self) -> float | None:
        """Price spread over its years, with the yearly price (money a year); None where the price is not known."""
        return None if self.price is None else self.price / self.lasts_years + self.price_per_year
