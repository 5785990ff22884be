"""Amounts as people type them, against conversions printed anywhere: 1 lb = 0.45359237 kg and 1 ft = 0.3048 m exactly
(international yard and pound agreement, 1959), 75 °F = 23.9 °C and 32 °F = 0 °C by definition, 1 US gallon = 231 cubic
inches, 12,000 Btu/h = 3.517 kW (a ton of refrigeration); all from memory."""

from __future__ import annotations

import pytest

from growsim.scenario.quantities import TwoMeaningsError, amount_in, slip

READ = [
    ("75 F", "°C", 23.8889),
    ("32°F", "°C", 0.0),
    ("24 °C", "°C", 24),
    ("-4 F", "°C", -20.0),
    ("8 ft", "m", 2.4384),
    ("250 cm", "m", 2.5),
    ("21 in", "cm", 53.34),
    ("300 sq ft", "m²", 27.8709),
    ("6 x 3.5", "m²", 21.0),
    ("6 m × 3,5 m", "m²", 21.0),
    ("20 x 12 ft", "m²", 22.2967),
    ("20 ft by 12 ft", "m²", 22.2967),
    ("12 lb", "kg", 5.44311),
    ("8 oz", "g", 226.796),
    ("500 g", "kg", 0.5),
    ("20 gal", "L", 75.7082),
    ("2500 W", "kW", 2.5),
    ("2.5 kW", "W", 2500.0),
    ("12000 Btu/h", "kW", 3.51685),
    ("85 %", "fraction", 0.85),
    ("85%", "fraction", 0.85),
    ("65 %", "%", 65.0),
    ("90 min", "h", 1.5),
    ("2 h", "min", 120.0),
    ("2 weeks", "days", 14.0),
    ("18:30", "h", 18.5),
    ("6 pm", "h", 18),
    ("12 am", "h", 0),
    ("$1,200", "money", 1200),
    ("$1,200.50", "money", 1200.5),
    ("1 200 kr", "money", 1200),
    ("€ 1.200,50", "money", 1200.5),
    ("NOK 5", "money/kWh", 5),
    ("2,5", "m", 2.5),
    ("0,125", "kg", 0.125),
    ("1,234.5", "W", 1234.5),
    ("1.234,5", "W", 1234.5),
    ("1,200,000", "kJ/K", 1200000),
    ("1 200", "W", 1200),
    ("60 W/K", "W/K", 60),
    ("220 µmol/m²/s", "µmol/m²/s", 220),
    ("60 cells", "cells", 60),
    ("1 person", "people", None),
    ("3", "kg", 3),
    ("1e3", "W", 1000.0),
    ("12 lb", "m", None),
    ("75 K", "°C", None),
    ("about 5", "kg", None),
    ("", "kg", None),
    ("5 kg 3", "kg", None),
    ("1,2,3", "kg", None),
    ("1.2.3", "kg", None),
    ("25:10", "h", None),
    ("nan", "kg", None),
    ("inf", "kg", None),
]


@pytest.mark.parametrize(("text", "unit", "amount"), READ, ids=[f"{text} in {unit}" for text, unit, _ in READ])
def test_what_is_typed_is_read(text: str, unit: str, amount: float | None) -> None:
    """In the file's unit, or not at all."""
    assert amount_in(text, unit) == (amount if amount is None else pytest.approx(amount, rel=1e-5, abs=1e-9))


def test_a_difference_of_temperatures_has_no_zero() -> None:
    """A spread of 1.8 °F is one of 1 °C."""
    assert amount_in("1.8 F", "°C", spread=True) == pytest.approx(1.0)


@pytest.mark.parametrize("text", ["1,200", "-3,500", "12,345 W"])
def test_what_could_be_two_numbers_is_neither(text: str) -> None:
    """Named with both; where only a whole number will do it is the one."""
    with pytest.raises(TwoMeaningsError, match=r"could be .* or "):
        amount_in(text, "W")
    assert amount_in(text, "W", whole=True) == int(text.replace(",", "").removesuffix(" W"))


@pytest.mark.parametrize(
    ("value", "unit", "low", "high", "said"),
    [
        (75, "°C", 5, 40, "75 °F is 23.89 °C"),
        (2500, "kW", 0, 100, "2500 W is 2.5 kW"),
        (0.15, "g", 1, 1500, "0.15 kg is 150 g"),
        (85, "fraction", 0, 1, "85 % is written 0.85"),
        (800, "kg", 0, 300, "800 g is 0.8 kg"),
        (8, "m", 1.8, 6, "8 ft is 2.438 m"),
        (240, "m", 1.8, 6, "240 cm is 2.4 m"),
        (400, "°C", 5, 40, ""),
        (3, "ppm", 200, 500, ""),
    ],
)
def test_the_usual_mistake_is_named(value: float, unit: str, low: float, high: float, said: str) -> None:
    """Only where it leads to what can be."""
    assert slip(value, unit, low, high) == said
