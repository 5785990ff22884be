"""Forms show one system, the room's; either is understood where its unit is typed; the file keeps SI.

Sources: 1 lb = 0.45359237 kg exactly, 16 oz to the pound, °C = (°F − 32) / 1.8 (NIST Special Publication 811, appendix
B, from memory); 41 °F (5 °C) and 135 °F (57 °C) are the FDA Food Code's own pairs (3-501.16, from memory).
"""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from one_system import foreign
from page_visit import Visitor, visit

from growsim.scenario.short.expand import expand
from growsim.units import US_UNITS, System, amount_with_unit, mass_text, shown_in, with_unit
from growsim.units import unit as name_of_unit
from growsim.web.forms.other_units import as_typed, beside, number_in, numbers_in, said_beside

ROOT = Path(__file__).parents[2]
AIR, CROP, PLACE, PARTNER = (f"/rooms/millrace/form/{page}" for page in ("climate", "crops/0", "room", "partners/0"))
TEXTS = st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=20) | st.from_regex(
    r"[-+−]?[0-9]{0,40}[.,]?[0-9]{0,4} ?(F|°C|lb|oz/|kg|e9|h)?", fullmatch=True
)


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor to the invented room."""
    shutil.copytree(ROOT / "scenarios" / "millrace", tmp_path / "millrace")
    with visit(tmp_path) as coming:
        yield coming


def tables(visitor: Visitor) -> dict[str, Any]:
    """The room file as it stands, written out in full."""
    file: Path = visitor.app.state.folder.path / "millrace" / "room.toml"
    return expand(tomllib.loads(file.read_text(encoding="utf-8"))).tables


@pytest.mark.parametrize(
    ("typed", "unit", "kept"),
    [
        ("41 F", "°C", 5.0), ("135°F", "°C", 57.22), ("212 deg F", "°C", 100.0), ("-40 fahrenheit", "°C", -40.0),
        ("−4 ºF", "°C", -20.0), ("24", "°C", 24), ("24.5 °C", "°C", 24.5), ("180 F h", "°C h", 100.0),
        ("1 lb", "kg", 0.4536), ("100 lbs.", "kg", 45.359), ("12 Pounds", "kg", 5.443), ("500 g", "kg", 0.5),
        ("0.01 oz", "kg", 0.0002835), ("5 oz", "g", 141.7), ("1 lb", "g", 453.6), ("10 lb a day", "kg/day", 4.536),
        ("1/lb", "money/kg", 2.2046), ("1.00 per pound", "money/kg", 2.2046), ("2.5/kg", "money/kg", 2.5),
        ("75 F", "kg", "75 F"), ("12 lb", "°C", "12 lb"), ("12 stone", "kg", "12 stone"), ("F", "°C", "F"),
        ("23,5", "°C", 23.5), ("1,200", "kg", "1,200"), ("75 F", "h", "75 F"), ("7 5 F", "°C", "7 5 F"),
    ],
)  # fmt: skip
def test_what_is_typed_is_kept_in_the_files_unit(typed: str, unit: str, kept: object) -> None:
    """Either unit, in the usual spellings; whatever is no amount of this unit stays the text it is."""
    assert number_in(typed, unit) == kept
    assert type(number_in(typed, unit)) is type(kept)


def test_a_difference_has_no_freezing_point() -> None:
    """A spread of 9 °F is one of 5 °C."""
    assert number_in("9 F", "°C", spread=True) == 5.0
    assert beside(["9 F"], "°C", spread=True) == "5 °C"
    with shown_in("us"):
        assert number_in("9", "°C", spread=True) == 5.0
        assert beside(["5 C"], "°C", spread=True) == "9 °F"


def test_a_unit_behind_the_last_of_a_list_holds_for_all() -> None:
    """50, 59, 68 °F; a unit behind some of them only says nothing of the others."""
    assert numbers_in(["50", "59", "68 F"], "°C") == [10.0, 15.0, 20.0]
    assert numbers_in(["10", "15", "20"], "°C") == [10, 15, 20]
    assert numbers_in(["50 F", "59", "68 F"], "°C") == [10.0, "59", 20.0]
    assert said_beside(["50 F", "59"], "°C") == "cannot be read"
    assert said_beside(["50", "68 F"], "°C") == "= 10, 20 °C"
    assert said_beside(["10", "20"], "°C") == ""
    with shown_in("us"):
        assert numbers_in(["50", "59", "68"], "°C") == [10.0, 15.0, 20.0]
        assert said_beside(["10", "20 C"], "°C") == "= 50, 68 °F"


@pytest.mark.parametrize("unit", [unit for unit in US_UNITS if unit not in ("kg/week", "kWh/kg", "L/kg")])
@given(tenths=st.integers(-1000, 20_000))
def test_what_was_typed_is_shown_again(unit: str, tenths: int) -> None:
    """An amount to a tenth of a °F, lb, gal or in comes back as it was typed, from what the file keeps."""
    typed = tenths / 10 if unit.startswith("°C") else abs(tenths) / 10
    with shown_in("us"):
        kept = number_in(f"{typed}", unit)
        assert not isinstance(kept, str)
        assert abs(float(as_typed(kept, unit)) - typed) <= max(0.11, 0.0003 * abs(typed))
    assert number_in(f"{typed}", unit) == typed


@settings(max_examples=300, deadline=None)
@given(texts=st.lists(TEXTS, max_size=3), unit=st.sampled_from([*US_UNITS, "h", ""]), spread=st.booleans())
def test_whatever_is_typed_is_answered(texts: list[str], unit: str, spread: bool) -> None:
    """Nothing that somebody types is too odd to be shown again."""
    said = said_beside(texts, unit, "USD", spread=spread)
    assert "nan" not in said and "inf" not in said
    assert len(numbers_in(texts, unit)) == len(texts)


def test_sentences_about_a_room_have_its_units() -> None:
    """As `check` says them."""
    assert (amount_with_unit(5, "°C"), mass_text(0.45359237)) == ("5 °C", "0.5 kg")
    assert with_unit("from 5 to 40", "°C") == "from 5 to 40 °C"
    with shown_in("us"):
        assert (amount_with_unit(5, "°C"), mass_text(0.45359237)) == ("41 °F", "1.0 lb")
        assert with_unit("from 5 to 40", "°C") == "from 41 to 104 °F"


def test_forms_take_either_unit(visitor: Visitor) -> None:
    """°F and lb typed are °C and kg in the file and on the page; nothing else in the file has moved."""
    file = visitor.app.state.folder.path / "millrace" / "room.toml"
    before = file.read_text(encoding="utf-8")

    assert visitor.save(AIR, climate__air_temperature_c="75 F").headers["location"].endswith("?saved=1")
    once = file.read_text(encoding="utf-8")
    assert visitor.save(PARTNER, partners__0__orders__0__kg="12 lb").status_code == 303

    after = file.read_text(encoding="utf-8")
    changed = [(old, new) for old, new in zip(before.splitlines(), once.splitlines(), strict=True) if old != new]
    assert [new.partition("#")[0].strip() for _, new in changed] == ["air_temperature_c = 23.89"]
    assert len(after.splitlines()) == len(before.splitlines())
    assert tables(visitor)["partners"][0]["orders"][0]["kg"] == 5.443
    assert 'value="23.89"' in visitor.get(AIR).text
    assert "°F" not in visitor.get(AIR).text.replace("such as 75 F", "")


def test_a_room_in_us_units_shows_them_and_keeps_si(visitor: Visitor) -> None:
    """Boxes, units, limits; a number alone is °F; what is not touched is not changed in the file."""
    visitor.save(PLACE, room__units="us")
    file = visitor.app.state.folder.path / "millrace" / "room.toml"
    before = file.read_text(encoding="utf-8")

    page = visitor.get(AIR).text
    assert 'value="71.6"' in page and 'class="unit">°F<' in page and "From 41 to 104 °F." in page
    assert visitor.save(AIR).headers["location"].endswith("?saved=same")
    assert file.read_text(encoding="utf-8") == before
    visitor.save(AIR, climate__air_temperature_c="75")
    assert tables(visitor)["climate"]["air_temperature_c"] == 23.89
    visitor.save(AIR, climate__air_temperature_c="24 C")
    assert tables(visitor)["climate"]["air_temperature_c"] == 24
    visitor.save("/rooms/millrace/form/reservoirs/0", reservoirs__0__capacity_l="20")
    assert tables(visitor)["reservoirs"][0]["capacity_l"] == 75.71


def test_every_kind_of_box_takes_either_unit(visitor: Visitor) -> None:
    """Twelve months, a list, a range; and limits are said."""
    visitor.save(PLACE, **{"room__outdoor_temperature_c:0": "23 F", "room__outdoor_temperature_c:6": "77 °F"})
    visitor.save(CROP, crops__0__emergence__temperature_c="50, 59, 68, 77, 86 F")
    visitor.save(CROP, **{"crops__0__typical_mass_g:low": "1 oz", "crops__0__typical_mass_g:likely": "1.5 oz",
                          "crops__0__typical_mass_g:high": "2oz"})  # fmt: skip

    room = tables(visitor)
    crop = room["crops"][0]
    assert room["room"]["outdoor_temperature_c"][0] == -5.0
    assert room["room"]["outdoor_temperature_c"][6] == 25.0
    assert crop["emergence"]["temperature_c"] == [10.0, 15.0, 20.0, 25.0, 30.0]
    assert [crop["typical_mass_g"][part] for part in ("low", "likely", "high")] == [28.35, 42.52, 56.7]
    assert "From 5 to 40 °C." in visitor.get(AIR).text


def test_a_thermostats_setting_is_a_temperature(visitor: Visitor) -> None:
    """The setting of a protection has the unit of what it sets: only a thermostat's is read in °F."""
    file = visitor.app.state.folder.path / "millrace" / "room.toml"
    more = '\n[[protections]]\nname = "thermostat"\nsetting = 30\n'
    more += '\n[[protections]]\nname = "daily walk-through"\nsetting = 7\n'
    file.write_text(
        re.sub(r"(?s)\nprotections = \[.*?\n\]\n", "\n", file.read_text(encoding="utf-8")) + more, encoding="utf-8"
    )

    warm, look = ("/rooms/millrace/form/protections/0", "/rooms/millrace/form/protections/1")
    assert "data-beside" in visitor.get(warm).text
    assert "data-beside" not in visitor.get(look).text
    visitor.save(warm, protections__0__setting="90 F")

    assert tables(visitor)["protections"][0]["setting"] == 32.22


def test_what_cannot_be_read_is_said_in_one_sentence(visitor: Visitor) -> None:
    """Beside the field, with an example; nothing is saved, and what was typed still stands in its box."""
    before = tables(visitor)
    answer = visitor.save(PARTNER, partners__0__orders__0__kg="a stone or two")
    field = re.findall(r'id="f-partners-0-orders-0-kg-field">(.*?)\n</div>\n<', answer.text, re.S)[0]
    said = [unescape(text) for text in re.findall(r"<p>(.*?)</p>", field)]

    assert answer.status_code == 422
    assert tables(visitor) == before
    assert said == [
        "“a stone or two” cannot be read here: give a number, which is taken as kg, or one with its unit behind it, "
        "such as 12 lb."
    ]
    assert 'value="a stone or two"' in field


@pytest.mark.parametrize("system", ["metric", "us"])
def test_every_form_shows_one_system(visitor: Visitor, system: System) -> None:
    """Page by page of the room's forms: no lb in a metric room, no kg in a US one."""
    visitor.save(PLACE, room__units=system)
    waiting, found, units = ["/rooms/millrace"], set[str](), set[str]()
    while waiting:
        page = visitor.get(waiting.pop()).text
        for address in re.findall(r'href="(/rooms/millrace/form/[^"#?]+)"', page):
            if address not in found:
                found.add(address)
                waiting.append(address)
        assert foreign(page, system, but_for=("a number with its own unit, such as", "°C of a thermostat")) == []
        units |= set(re.findall(r'class="unit">([^<]*)<', page))

    with shown_in(system):
        assert {name_of_unit(each) for each in ("°C", "kg", "g", "L", "cm", "m", "m²", "°C h")} <= units


@settings(max_examples=60, deadline=None)
@given(text=TEXTS, unit=st.sampled_from([*US_UNITS, "h", "<b>"]), more=st.sampled_from(["", "&list=1", "&spread=1"]))
def test_the_pages_script_is_always_answered(text: str, unit: str, more: str) -> None:
    """The address that says what stands beside a box: plain text for whatever is typed."""
    with visit(ROOT / "scenarios") as coming:
        answer = coming.get(f"/in-other-unit?{urlencode({'unit': unit, 'text': text, 'currency': '<i>'})}{more}")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain")
    assert answer.headers["x-content-type-options"] == "nosniff"


def test_another_currency_is_no_silent_matter(visitor: Visitor) -> None:
    """No price is converted: that is said; another price alone says nothing of it."""
    page = "/rooms/millrace/form/prices"
    same = visitor.save(page, prices__electricity_per_kwh="0.21")
    other = visitor.save(page, prices__currency="CHF")

    assert same.headers["location"].endswith("?saved=1")
    assert other.headers["location"].endswith("?saved=currency")
    assert "no price was converted" in visitor.get(other.headers["location"]).text


@pytest.mark.parametrize("system", ["metric", "us"])
@pytest.mark.parametrize("unit", ["kg", "°C", "L", "cm", "m", "g", "h", "fraction"])
@pytest.mark.parametrize("typed", ["5,5", "70,5", "0,25", "-1,5"])
def test_a_decimal_comma_is_in_the_unit_that_a_point_is_in(typed: str, unit: str, system: System) -> None:
    """Also beside lb and °F, where a number alone is not in the file's unit."""
    with shown_in(system):
        assert number_in(typed, unit) == number_in(typed.replace(",", "."), unit)
        assert number_in("1,200", unit) == "1,200"  # 1.2 or 1200
