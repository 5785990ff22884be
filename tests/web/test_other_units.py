"""°C and °F, kg and lb: shown side by side on every form, and typed in either; the file keeps its own unit.

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
from page_visit import Visitor, visit

from growsim.units import OTHER_UNITS, in_both, ounces
from growsim.web.forms.other_units import beside, number_in, numbers_in, said_beside

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
    """The room file as it stands."""
    file: Path = visitor.app.state.folder.path / "millrace" / "room.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


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
    assert beside(["5"], "°C", spread=True) == "9 °F"


def test_a_unit_behind_the_last_of_a_list_holds_for_all() -> None:
    """50, 59, 68 °F; a unit behind some of them only says nothing of the others."""
    assert numbers_in(["50", "59", "68 F"], "°C") == [10.0, 15.0, 20.0]
    assert numbers_in(["10", "15", "20"], "°C") == [10, 15, 20]
    assert numbers_in(["50 F", "59", "68 F"], "°C") == [10.0, "59", 20.0]
    assert said_beside(["50 F", "59"], "°C") == "cannot be read"
    assert said_beside(["50", "68 F"], "°C") == "= 10, 20 °C"
    assert said_beside(["10", "20"], "°C") == "= 50, 68 °F"


@pytest.mark.parametrize("unit", ["°C", "kg", "g"])
@given(tenths=st.integers(-1000, 20_000))
def test_what_was_typed_is_shown_again(unit: str, tenths: int) -> None:
    """An amount to a tenth of a °F, lb or oz comes back as it was typed, beside what the file keeps."""
    typed = tenths / 10 if unit == "°C" else abs(tenths) / 10
    other = OTHER_UNITS[unit].name
    kept = number_in(f"{typed} {other}", unit)
    shown = beside([repr(kept)], unit).removesuffix(f" {other}").replace(",", "")

    assert not isinstance(kept, str)
    assert abs(float(shown) - typed) < (0.51 if typed >= 999 else 0.02)  # whole numbers from a thousand on


@settings(max_examples=300, deadline=None)
@given(texts=st.lists(TEXTS, max_size=3), unit=st.sampled_from([*OTHER_UNITS, "h", ""]), spread=st.booleans())
def test_whatever_is_typed_is_answered(texts: list[str], unit: str, spread: bool) -> None:
    """Nothing that somebody types is too odd to be shown again."""
    said = said_beside(texts, unit, "USD", spread=spread)
    assert "nan" not in said and "inf" not in said
    assert len(numbers_in(texts, unit)) == len(texts)


def test_sentences_about_a_room_have_both_units() -> None:
    """As `check` says them."""
    assert in_both(5, "°C") == "5 °C (41 °F)"
    assert in_both(0.45359237, "kg") == "0.453592 kg (1 lb)"
    assert ounces(28.349523125) == pytest.approx(1.0, rel=1e-12)


def test_forms_take_either_unit(visitor: Visitor) -> None:
    """°F and lb typed are °C and kg in the file; the page shows both; nothing else in the file has moved."""
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
    assert ">= 75 °F</output>" in visitor.get(AIR).text
    assert ">= 12 lb</output>" in visitor.get(PARTNER).text


def test_every_kind_of_box_takes_either_unit(visitor: Visitor) -> None:
    """Twelve months, a list, a range; and limits are said in both."""
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
    assert "From 5 to 40 °C (from 41 to 104 °F)." in visitor.get(AIR).text


def test_a_thermostats_setting_is_a_temperature(visitor: Visitor) -> None:
    """The setting of a protection has the unit of what it sets: only a thermostat's is shown in °F, and read so."""
    file = visitor.app.state.folder.path / "millrace" / "room.toml"
    more = '\n[[protections]]\nname = "thermostat"\nsetting = 30\n'
    more += '\n[[protections]]\nname = "daily walk-through"\nsetting = 7\n'
    file.write_text(
        re.sub(r"(?s)\n\[\[protections\]\].*", "", file.read_text(encoding="utf-8")) + more, encoding="utf-8"
    )

    warm, look = ("/rooms/millrace/form/protections/0", "/rooms/millrace/form/protections/1")
    assert "= 86 °F" in visitor.get(warm).text
    assert "°F</output>" not in visitor.get(look).text
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


def test_every_form_shows_both_units(visitor: Visitor) -> None:
    """Page by page of the room's forms: a field in °C, kg or g has °F, lb or oz beside each number it holds."""
    waiting, found, with_both = ["/rooms/millrace"], set[str](), 0
    while waiting:
        page = visitor.get(waiting.pop()).text
        for address in re.findall(r'href="(/rooms/millrace/form/[^"#?]+)"', page):
            if address not in found:
                found.add(address)
                waiting.append(address)
        for field in page.split('<div class="field')[1:]:
            unit = re.search(r'class="unit">(°C|kg|g|°C h|kg/day|USD/kg)<', field)
            if unit is None:
                continue
            boxes = re.findall(r'value="([^"]*)"[^>]*data-beside="[^"]+"[^>]*>.*?<output[^>]*>([^<]*)</output>', field)
            assert boxes, field
            for value, shown in boxes:
                assert bool(value) == bool(re.fullmatch(r"= .+ (°F|lb|oz|°F h|lb/day|USD/lb)", shown)), (value, shown)
                with_both += bool(value)

    assert with_both > 40


@settings(max_examples=60, deadline=None)
@given(text=TEXTS, unit=st.sampled_from([*OTHER_UNITS, "h", "<b>"]), more=st.sampled_from(["", "&list=1", "&spread=1"]))
def test_the_pages_script_is_always_answered(text: str, unit: str, more: str) -> None:
    """The address that says what stands beside a box: plain text for whatever is typed."""
    with visit(ROOT / "scenarios") as coming:
        answer = coming.get(f"/in-other-unit?{urlencode({'unit': unit, 'text': text, 'currency': '<i>'})}{more}")
    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith("text/plain")
    assert answer.headers["x-content-type-options"] == "nosniff"
