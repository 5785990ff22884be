"""Numbers as words: every amount with its unit, in the one system the reader uses, "5.2 kg" or "11.5 lb"; differences,
which have a sign, "+4 of 100"; and the two ranges a figure travels with, of one week or year and of the average.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from growsim import units
from growsim.ledger.catalogue import CATALOGUE, YEAR_DAYS, unit_over
from growsim.run.intervals import FEWEST
from growsim.scenario.checks.closings import without_effect
from growsim.vocabulary.days import MONTHS, SHORT_MONTHS, WEEKDAY_NAMES
from growsim.vocabulary.machines import HEAT_PUMP

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate
    from growsim.scenario.scenario import Scenario


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
    """A mass with its unit: "35.8 kg"; small ones with two decimals, so that none reads as zero."""
    return f"{mass_cell(kilograms, _mass_decimals(kilograms))} {units.unit('kg')}"


def mass_range(low: float, high: float, joined: str = "to") -> str:
    """Two masses: "28.1 to 43.0 kg"."""
    decimals = _mass_decimals(max(abs(low), abs(high)))
    return f"{mass_cell(low, decimals)} {joined} {mass_cell(high, decimals)} {units.unit('kg')}"


def mass_cell(kilograms: float, decimals: int = 1) -> str:
    """A cell under a heading that says the unit: "35.8"."""
    return number(units.amount(kilograms, "kg"), decimals)


def grams(grams: float) -> str:
    """A small mass: "150 g", "5.3 oz"."""
    seen = units.as_shown("g")
    return f"{number(units.amount(grams, 'g'), (0 if grams >= 10 else 1) + seen.more)} {seen.name}"


def mass_plus(kilograms: float, decimals: int = 1) -> str:
    """A difference of masses under a heading that says the unit: "+0.4"."""
    return plus(units.difference(kilograms, "kg"), decimals)


def small_mass_cell(grams: float) -> str:
    """A cell under a heading that says the unit of a plant's mass: "129" (g), "4.6" (oz)."""
    return number(units.amount(grams, "g"), units.as_shown("g").more)


def temperature(celsius: float) -> str:
    """ "21.0 °C"."""
    return f"{number(units.amount(celsius, '°C'), 1)} {units.unit('°C')}"


def volume(liters: float) -> str:
    """ "60 L"."""
    return f"{number(units.amount(liters, 'L'))} {units.unit('L')}"


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
    """The price of a unit of mass: "USD 6.02 a kg"."""
    return f"{money(units.amount(a_kilogram, 'money/kg'), currency)} a {units.unit('kg')}"


def counted(count: float, one: str, many: str | None = None, decimals: int = 0) -> str:
    """A count with its noun in the right form: "1 tray", "2 trays"."""
    text = number(count, decimals)
    return f"{text} {one if text == '1' else (many or one + 's')}"


_HEATER = "heater"
_AS_TYPED = re.compile(r"(`[^`]*`|<(?:code|pre)\b.*?</(?:code|pre)>|<[^>]*>)", re.DOTALL)


def upper_first(text: str) -> str:
    """As a sentence begins."""
    return text[:1].upper() + text[1:]


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
    return f"{WEEKDAY_NAMES[date.weekday()]}{',' if units.month_first() else ''} {long_date(date)}"


def short_date(date: dt.date) -> str:
    """ "13 Mar 2031", "Mar 13, 2031"."""
    return f"{short_day(date)}{',' if units.month_first() else ''} {date.year}"


def dates(scenario: Scenario, days: int) -> str:
    """The days counted: "3 Mar 2031 to 29 Feb 2032"."""
    start = scenario.room.start_date
    return f"{short_date(start)} to {short_date(start + dt.timedelta(days=days - 1))}"


def of_the_room(text: str, scenario: Scenario) -> str:
    """A text, or a page, as this room has it: what only heats is a heater, no heat pump. Commands stay as typed."""
    climate, name = scenario.climate, HEAT_PUMP.label
    if not climate.heating_kw or climate.cooling_kw or name not in text.lower():
        return text
    pieces = _AS_TYPED.split(text)
    for place in range(0, len(pieces), 2):
        for way in (str.lower, str.capitalize, str.upper):
            pieces[place] = pieces[place].replace(way(name), way(_HEATER))
    return "".join(pieces)


def closed_in_vain(scenario: Scenario, than: Scenario | None = None) -> str:
    """That closed days lie outside the days counted and do nothing; "" where none does. than: a room that has the same
    is told of elsewhere."""
    known = without_effect(than) if than is not None else {}
    told = [each for key, found in without_effect(scenario).items() for each in found if each not in known.get(key, ())]
    if not told:
        return ""
    named = [short_date(one) if one == end else f"{short_date(one)} to {short_date(end)}" for one, end in told[:2]]
    more = f" and {counted(len(told) - 2, 'more time')}" if len(told) > 2 else ""
    return f"Outside these dates, so without effect: closed {listed(named) if not more else ', '.join(named) + more}."


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


def rehearsals(count: int, days: int) -> str:
    """ "20 rehearsed years" or "20 rehearsals of 90 days"."""
    if is_a_year(days):
        return counted(count, "rehearsed year")
    return f"{counted(count, 'rehearsal')} of {counted(days, 'day')}"


def too_few(count: int) -> str:
    """ ", too few for ranges: ask for 5 or more", said where there are none; else ""."""
    return f", too few for ranges: ask for {FEWEST} or more" if count < FEWEST else ""


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
    """A difference in a figure of the catalogue, signed, without its unit."""
    if value is None:
        return "–"
    unit, text = CATALOGUE[key].unit, differences_as(key, value)(value)
    if unit == "fraction":
        return f"{text} of 100"
    return f"{currency} {text}" if unit.startswith("money/") else text


def differences_as(key: str, *values: float) -> Callable[[float], str]:
    """How such differences in a figure of the catalogue are written side by side: signed, their unit left out; of
    shares of 100. Small amounts get two decimals, so that none reads as zero."""
    measure = CATALOGUE[key]
    if measure.unit == "fraction":
        return lambda value: plus(100 * value, 1)
    largest = max(abs(units.difference(value, measure.unit)) for value in values)
    decimals = measure.decimals + units.as_shown(measure.unit).more
    if measure.unit.startswith("money/"):
        decimals = 0 if largest >= 100 else 2
    elif measure.unit.startswith("kg/") and 0 < largest < (0.1 if len(values) == 1 else 1.0):
        decimals = max(decimals, 2)
    return lambda value: plus(units.difference(value, measure.unit), decimals)


def difference_alone(key: str, value: float, currency: str) -> str:
    """The same where no column's head says the unit: "+0.5 kg", "-11 kWh", "+4 g"."""
    unit, said = CATALOGUE[key].unit, as_difference(key, value, currency)
    if unit == "g" or unit.startswith("kg/"):
        return f"{said} {units.unit(unit.split('/')[0])}"
    return f"{said} kWh" if unit == "kWh/week" else said


def amount(key: str, size: float, currency: str) -> str:
    """The size of a difference with its unit, unsigned: "5.2 kg", "4.1 of 100", "3.1 hours", "USD 0.21"."""
    unit = CATALOGUE[key].unit
    if unit == "fraction":
        return f"{number(100 * size, 1)} of 100"
    if unit.startswith("kg/"):
        return f"{_size(size)} {units.unit('kg')}"
    if unit == "h/week":
        return f"{number(size, 1)} hours"
    if unit == "money/kg":
        return money(units.difference(size, unit), currency)
    raise ValueError(f"no words for a difference in {unit!r}")


def sizes(key: str, low: float, high: float, currency: str) -> str:
    """Two sizes of a difference that are both unsigned: "4.1 to 6.3 kg"."""
    unit = CATALOGUE[key].unit
    if unit == "fraction":
        return f"{number(100 * low, 1)} to {number(100 * high, 1)} of 100"
    if unit.startswith("kg/"):
        return f"{_size(low)} to {_size(high)} {units.unit('kg')}"
    if unit == "h/week":
        return f"{number(low, 1)} to {number(high, 1)} hours"
    if unit == "money/kg":
        low, high = units.difference(low, unit), units.difference(high, unit)
        return f"{money(low, currency)} to {number(high, 2)}"
    raise ValueError(f"no words for a difference in {unit!r}")


def _size(kilograms: float) -> str:
    """Small amounts with two decimals, so that none reads as zero."""
    return mass_cell(kilograms, 2 if 0 < kilograms < 0.1 else 1)


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


def down(kilograms: float) -> str:
    """A mass rounded down: "18.4 kg"."""
    return f"{down_cell(kilograms)} {units.unit('kg')}"


def down_cell(kilograms: float) -> str:
    """The same under a heading that says the unit: "18.4"."""
    return number(floor(units.amount(kilograms, "kg")), 1)


def floor(amount: float) -> float:
    """To a tenth, down."""
    return math.floor(amount * 10.0 + 1e-6) / 10.0


def long_day(date: dt.date) -> str:
    """ "3 March", "March 3"."""
    day, month = str(date.day), MONTHS[date.month - 1]
    return f"{month} {day}" if units.month_first() else f"{day} {month}"


def long_date(date: dt.date) -> str:
    """ "3 March 2031", "March 3, 2031"."""
    return f"{long_day(date)}{',' if units.month_first() else ''} {date.year}"


def short_day(date: dt.date) -> str:
    """ "3 Mar", "Mar 3"."""
    day, month = str(date.day), SHORT_MONTHS[date.month - 1]
    return f"{month} {day}" if units.month_first() else f"{day} {month}"
