"""Numbers as words: every amount with its unit, in the units both kinds of reader use, "5.2 kg (11.5 lb)"; differences,
which have a sign, "+4 points"; and the two ranges a figure travels with, of one week or year and of the average.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from growsim.ledger.catalogue import CATALOGUE, YEAR_DAYS, unit_over
from growsim.units import FAHRENHEIT_PER_CELSIUS, KG_PER_POUND, fahrenheit, ounces, pounds
from growsim.vocabulary.days import MONTHS, SHORT_MONTHS, WEEKDAY_NAMES

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate


def number(value: float, decimals: int = 0) -> str:
    """A number with thousands separated; never "-0"."""
    text = f"{value:,.{decimals}f}"
    return text.removeprefix("-") if float(text.replace(",", "")) == 0 else text


def seen(value: float, decimals: int = 0) -> str:
    """A number that is not shown as 0 where it is more: with as many decimals as it takes, up to three."""
    text = number(value, decimals)
    return sensible(value) if text == number(0.0, decimals) and abs(value) >= 0.0005 else text


def sensible(value: float) -> str:
    """A number to about three figures: 0.034, 0.52, 5.2, 52, 5,200."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "unknown"
    decimals = next((places for least, places in ((10, 0), (1, 1), (0.1, 2)) if abs(value) >= least), 3)
    return number(value, decimals)


def _mass_decimals(kilograms: float) -> int:
    return 2 if 0 < abs(kilograms) < 1 else 1


def mass(kilograms: float) -> str:
    """kg with lb beside it: "35.8 kg (78.9 lb)"."""
    decimals = _mass_decimals(kilograms)
    return f"{number(kilograms, decimals)} kg ({number(pounds(kilograms), decimals)} lb)"


def mass_range(low: float, high: float, joined: str = "to") -> str:
    """Two masses: "28.1 to 43.0 kg (61.9 to 94.8 lb)"."""
    decimals = _mass_decimals(max(abs(low), abs(high)))
    kilograms = f"{number(low, decimals)} {joined} {number(high, decimals)} kg"
    return f"{kilograms} ({number(pounds(low), decimals)} {joined} {number(pounds(high), decimals)} lb)"


def kg_and_lb(kilograms: float, decimals: int = 1) -> str:
    """A cell under a heading that says "kg (lb)": "35.8 (78.9)"."""
    return f"{number(kilograms, decimals)} ({number(pounds(kilograms), decimals)})"


def grams(grams: float) -> str:
    """g with oz beside it: "150 g (5.3 oz)"."""
    return f"{number(grams, 0 if grams >= 10 else 1)} g ({number(ounces(grams), 1 if grams >= 10 else 2)} oz)"


def grams_and_oz(grams: float) -> str:
    """A cell under a heading that says "g (oz)": "129 (4.6)"."""
    return f"{number(grams)} ({number(ounces(grams), 1)})"


def temperature(celsius: float) -> str:
    """°C with °F beside it: "21.0 °C (69.8 °F)"."""
    return f"{number(celsius, 1)} °C ({number(fahrenheit(celsius), 1)} °F)"


def percent(fraction: float, decimals: int = 0) -> str:
    """A fraction as a percentage. Never rounds a share short of one up to 100%, nor one above zero down to 0%."""
    value = 100 * fraction
    if 0 < value < 0.5 * 10**-decimals:
        return f"under {number(10**-decimals, decimals)}%"
    if 100 - 0.5 * 10**-decimals <= value < 100 - 1e-9:
        return f"over {number(100 - 10**-decimals, decimals)}%"
    return f"{number(value, decimals)}%"


def money(amount: float, currency: str, decimals: int | None = None) -> str:
    """An amount with its currency before it: "USD 12.30"; whole units from 100 up."""
    shown = (0 if abs(amount) >= 100 else 2) if decimals is None else decimals
    return f"{currency} {number(amount, shown)}"


def money_per_mass(a_kilogram: float, currency: str) -> str:
    """The price of a kilogram, and of a pound beside it: "USD 6.02 (USD 2.73 a lb)"."""
    return f"{money(a_kilogram, currency)} ({money(a_kilogram * KG_PER_POUND, currency)} a lb)"


def counted(count: float, one: str, many: str | None = None, decimals: int = 0) -> str:
    """A count with its noun in the right form: "1 tray", "2 trays"."""
    text = number(count, decimals)
    return f"{text} {one if text == '1' else (many or one + 's')}"


def listed(items: Sequence[str], joined: str = "and") -> str:
    """ "a", "a and b", "a, b and c"."""
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {joined} {items[-1]}"


def hour_of_day(hour: float) -> str:
    """ "09:30" from 9.5."""
    minutes = round(hour * 60)
    return f"{minutes // 60:02d}:{minutes % 60:02d}"


def day_and_date(date: dt.date) -> str:
    """ "Thursday 13 March 2031"; independent of the computer's language."""
    return f"{WEEKDAY_NAMES[date.weekday()]} {date.day} {MONTHS[date.month - 1]} {date.year}"


def short_date(date: dt.date) -> str:
    """ "13 Mar 2031"."""
    return f"{date.day} {SHORT_MONTHS[date.month - 1]} {date.year}"


def span(minutes: float) -> str:
    """A length of time in the unit a person would use."""
    if minutes < 90:
        return counted(minutes, "minute")
    if minutes < 48 * 60:
        return f"{number(minutes / 60, 1)} hours"
    return f"{number(minutes / 1440, 1)} days"


def is_a_year(days: int) -> bool:
    """Whether that many days are near enough to a year to be called one."""
    return days in YEAR_DAYS


def period(days: int) -> str:
    """The counted time: "year" or "90 days"."""
    return "year" if is_a_year(days) else counted(days, "day")


def a_period(days: int) -> str:
    """How often: "a year" or "in 90 days"."""
    return "a year" if is_a_year(days) else f"in {counted(days, 'day')}"


def rehearsals(count: int, days: int, kind: str = "rehearsed") -> str:
    """ "20 rehearsed years" or "20 rehearsals of 90 days"."""
    if is_a_year(days):
        return counted(count, f"{kind} year")
    return f"{counted(count, 'rehearsal')} of {counted(days, 'day')}"


def eight_in_ten(of: str, days: int) -> str:
    """ "eight weeks in ten", "eight years in ten" or "eight rehearsals in ten"."""
    noun = "weeks" if of == "one week" else ("years" if is_a_year(days) else "rehearsals")
    return f"eight {noun} in ten"


def per_period(unit: str, days: int) -> str:
    """The unit of a figure counted over the whole window, true to its length: "plants/year" or "plants/90 days"."""
    return unit_over(unit, days)


def plus(value: float, decimals: int) -> str:
    """A number with its sign: "+2.3", "-0.4", "0.0"."""
    text = number(value, decimals)
    return f"+{text}" if value > 0 and float(text.replace(",", "")) != 0 else text


def as_difference(key: str, value: float | None, currency: str) -> str:
    """A difference in a figure of the catalogue, signed, in the units both kinds of reader use."""
    if value is None:
        return "–"
    measure = CATALOGUE[key]
    if measure.unit == "fraction":
        return f"{plus(100 * value, 1)} points"
    if measure.unit.startswith("kg/"):
        decimals = max(measure.decimals, 2 if 0 < abs(value) < 0.1 else 0)
        return f"{plus(value, decimals)} ({plus(pounds(value), decimals)} lb)"
    if measure.unit == "°C":
        return f"{plus(value, 1)} ({plus(value * FAHRENHEIT_PER_CELSIUS, 1)} °F)"
    if measure.unit == "g":
        return f"{plus(value, measure.decimals)} ({plus(ounces(value), 1)} oz)"
    if measure.unit.startswith("money/"):
        per_pound = f" ({plus(value * KG_PER_POUND, 2)} per lb)" if measure.unit == "money/kg" else ""
        return f"{currency} {plus(value, 2)}{per_pound}"
    if measure.unit.endswith("/kg"):
        return f"{plus(value, measure.decimals)} ({plus(value * KG_PER_POUND, measure.decimals)} per lb)"
    return plus(value, measure.decimals)


def difference_alone(key: str, value: float, currency: str) -> str:
    """The same where no column's head says the unit: "+0.5 kg (+1.0 lb)", "-11 kWh", "+4 g (+0.1 oz)"."""
    unit, said = CATALOGUE[key].unit, as_difference(key, value, currency)
    if unit == "g" or unit.startswith("kg/"):
        return said.replace(" (", f" {unit.split('/')[0]} (", 1)
    return f"{said} kWh" if unit == "kWh/week" else said


def amount(key: str, size: float, currency: str) -> str:
    """The size of a difference with its unit, unsigned: "5.2 kg (11.5 lb)", "4.1 points", "3.1 hours", "USD 0.21"."""
    unit = CATALOGUE[key].unit
    if unit == "fraction":
        return f"{number(100 * size, 1)} points"
    if unit.startswith("kg/"):
        return f"{_kg(size)} kg ({_kg(pounds(size))} lb)"
    if unit == "h/week":
        return f"{number(size, 1)} hours"
    if unit == "money/kg":
        return money(size, currency)
    raise ValueError(f"no words for a difference in {unit!r}")


def sizes(key: str, low: float, high: float, currency: str) -> str:
    """Two sizes of a difference that are both unsigned: "4.1 to 6.3 kg, 9.0 to 13.9 lb"."""
    unit = CATALOGUE[key].unit
    if unit == "fraction":
        return f"{number(100 * low, 1)} to {number(100 * high, 1)} points"
    if unit.startswith("kg/"):
        return f"{_kg(low)} to {_kg(high)} kg, {_kg(pounds(low))} to {_kg(pounds(high))} lb"
    if unit == "h/week":
        return f"{number(low, 1)} to {number(high, 1)} hours"
    if unit == "money/kg":
        return f"{money(low, currency)} to {number(high, 2)}"
    raise ValueError(f"no words for a difference in {unit!r}")


def _kg(size: float) -> str:
    """Kilograms or pounds; small amounts with two decimals, so that none reads as zero."""
    return number(size, 2 if 0 < size < 0.1 else 1)


def in_practice(estimate: Estimate, days: int) -> str:
    """The range of one week or one year: "eight weeks in ten: 4.9 to 8.1 h"."""
    name = eight_in_ten(estimate.of, days)
    measure = CATALOGUE[estimate.key]
    if measure.unit == "fraction":
        return f"{name}: {percent(estimate.p10)} to {percent(estimate.p90)}"
    if measure.unit.startswith("kg/"):
        return f"{name}: {mass_range(estimate.p10, estimate.p90)}"
    low, high = (number(value, measure.decimals) for value in (estimate.p10, estimate.p90))
    return f"{name}: {low} to {high} {per_period(measure.unit, days).split('/')[0]}"


def not_seen(estimate: Estimate, days: int) -> str:
    """How often at most, where it may happen and did in no rehearsal (rule of three: Hanley & Lippman-Hand 1983, JAMA
    249(13):1743-1745); "" where it was seen, or cannot happen."""
    if not estimate.not_seen:
        return ""
    seen = f"not seen in {rehearsals(estimate.n, days)}"
    third = round(estimate.n / 3.0)
    if third < 2:
        return seen
    return f"{seen}: rarer than about once in {number(third)}{'' if is_a_year(days) else ' of them'}"


def of_the_average(estimate: Estimate, days: int) -> str:
    """The range of the average, or why there is none."""
    rehearsed = rehearsals(estimate.n, days)
    if estimate.mean_low is not None and estimate.unseen:
        return not_seen(estimate, days) or f"the average is {mass(estimate.mean_low)} or more"
    if estimate.mean_low is None or estimate.mean_high is None:
        return f"how well the average is known cannot be said from {rehearsed}"
    return (
        f"the average itself lies between {mass_range(estimate.mean_low, estimate.mean_high, 'and')}, with 95% "
        f"confidence from {rehearsed}"
    )


def down(kilograms: float) -> str:
    """Kilograms and pounds, each rounded down: "18.4 kg (40.5 lb)"."""
    return f"{number(floor(kilograms), 1)} kg ({number(floor(pounds(kilograms)), 1)} lb)"


def floor(amount: float) -> float:
    """To a tenth, down."""
    return math.floor(amount * 10.0 + 1e-6) / 10.0


def short_day(date: dt.date) -> str:
    """ "3 Mar"."""
    return f"{date.day} {SHORT_MONTHS[date.month - 1]}"
