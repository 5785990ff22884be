"""Forms are made from the room's own models: every figure has a field, and a field shows what the file says."""

from __future__ import annotations

import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from page_visit import Visitor, forms_of, visit
from strategies import room_tables
from wrong_rooms import TINY, WRONG_ROOMS, Case

from growsim.cli.options import open_room
from growsim.errors import RoomFileError
from growsim.scenario.anatomy import anatomy_of
from growsim.scenario.base import Table
from growsim.scenario.load import load_scenario
from growsim.scenario.scenario import Scenario
from growsim.scenario.toml.text import toml_text
from growsim.web.forms.boxes import LEFT_OUT, boxes_of, value_of
from growsim.web.forms.words import noun_of

ROOT = Path(__file__).parents[2]
RESERVOIR = "/rooms/tiny/form/reservoirs/0"
ROOMS = {
    "tiny": "scenarios/tiny/room.toml",
    "millrace": "scenarios/millrace/room.toml",
    "starter": "growsim/scenario/starter/room.toml",
    "every_key": "tests/cases/every_key.toml",
}


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor to a folder with the invented rooms in it."""
    for home, file in ROOMS.items():
        (tmp_path / home).mkdir()
        shutil.copy(ROOT / file, tmp_path / home / "room.toml")
    with visit(tmp_path) as coming:
        yield coming


def pages_of(visitor: Visitor, room: str) -> list[str]:
    """The address of every page of a room's form, found by following links from the room's own page."""
    waiting, found = [f"/rooms/{room}"], []
    while waiting:
        here = waiting.pop()
        for address in re.findall(r'href="([^"#?]+)"', visitor.get(here).text):
            if address.startswith(f"/rooms/{room}/form/") and address not in found:
                found.append(address)
                waiting.append(address)
    return found


def every_key(model: type[Table], at: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """Every key of a room file that holds a value."""
    for key, field in model.model_fields.items():
        what = anatomy_of(field)
        if what.kind in ("table", "tables"):
            assert what.table is not None
            yield from every_key(what.table, (*at, key))
        else:
            yield (*at, key)


def test_every_figure_of_the_models_has_a_field(visitor: Visitor) -> None:
    """No figure of a room file can be reached by text alone: somewhere in the forms stands its field."""
    starter = visitor.app.state.folder.path / "every_key" / "room.toml"
    outage = '\n[[outages]]\nname = "a"\nmachine = "power"\nstart_day = 1\nhours = 2\n'
    protection = '\n[[protections]]\nname = "pump alarm"\n'
    by_crop = '\n[[crew.tasks.by_crop]]\ncrop = "loose-leaf"\nminutes_per_unit = 1\n'
    starter.write_text(starter.read_text(encoding="utf-8") + by_crop + outage + protection, encoding="utf-8")
    there = set()
    for address in pages_of(visitor, "every_key"):
        for form in forms_of(visitor.get(address).text):
            for name, _ in form.fields:
                there.add(
                    tuple(step for step in name.partition(":")[0].split("/") if not re.fullmatch(r"\d+|new", step))
                )
            page = visitor.get(address).text
            ticks = re.findall(r'type="checkbox" name="([^"]+)"', page)
            there |= {tuple(step for step in name.split("/") if not step.isdecimal()) for name in ticks}

    assert set(every_key(Scenario)) - there == set()


@pytest.mark.parametrize("room", ROOMS)
def test_a_form_saved_as_it_stands_changes_no_byte(visitor: Visitor, room: str) -> None:
    """Opening a page and pressing Save, on every page of the room: the file stays byte for byte what it was."""
    file = visitor.app.state.folder.path / room / "room.toml"
    before = file.read_bytes()
    pages = [address for address in pages_of(visitor, room) if not re.search(r"/(new|[2-9]|1\d)$", address)]

    saved = 0
    for address in pages:
        for form in forms_of(visitor.get(address).text):
            if form.method == "post" and form.action == address:
                answer = visitor.post(address, [*form.fields, ("do", "save")])
                assert answer.headers["location"].endswith("?saved=same"), address
                saved += 1

    assert saved > 15
    assert file.read_bytes() == before


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(raw=room_tables())
def test_boxes_and_values_are_the_same_thing(raw: dict[str, object]) -> None:
    """Whatever a room may hold, its boxes say it, and what the boxes say is what the room held."""

    def look(model: type[Table], table: dict[str, object]) -> None:
        for key, field in model.model_fields.items():
            what, value = anatomy_of(field), table.get(key, LEFT_OUT)
            if what.kind == "table" and isinstance(value, dict):
                assert what.table is not None
                look(what.table, value)
            elif what.kind == "tables" and isinstance(value, list):
                assert what.table is not None
                for entry in value:
                    look(what.table, entry)
            elif what.kind not in ("table", "tables"):
                again = value_of(what, boxes_of(what, value))
                assert again == value or (value == [] and again is LEFT_OUT)

    look(Scenario, raw)


@pytest.mark.parametrize("case", WRONG_ROOMS, ids=[case[0] for case in WRONG_ROOMS])
def test_faults_are_those_of_check(case: Case, tmp_path: Path) -> None:
    """A faulty room's page says each fault in the very sentence of `growsim check`; the field's page marks it."""
    _, edits, _ = case
    text = TINY.read_text(encoding="utf-8")
    for old, new in edits:
        text = text.replace(old, new, 1)
    (tmp_path / "faulty").mkdir()
    (tmp_path / "faulty" / "room.toml").write_text(text, encoding="utf-8")
    with pytest.raises(RoomFileError) as refusal:
        open_room(tmp_path / "faulty")

    with visit(tmp_path) as visitor:
        page = plain(visitor.get("/rooms/faulty").text)
        for fault in refusal.value.faults:
            assert str(fault).removeprefix(f"{tmp_path}/") in page
        links = re.findall(r'<li><a href="([^"]+/form/[^"]+)">faulty/room.toml', visitor.get("/rooms/faulty").text)
        for address in links:
            there = visitor.get(address)
            assert there.status_code == 200
            assert "To correct" in there.text


def plain(page: str) -> str:
    """The text of a page, as it is read."""
    import html

    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split()).replace(" .", ".")


def test_a_fault_stands_beside_its_field(visitor: Visitor) -> None:
    """Too long a flood is refused beside its own box, nothing is saved, and the box keeps what was typed."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    before = file.read_bytes()

    answer = visitor.save("/rooms/tiny/form/reservoirs/0", reservoirs__0__flood_minutes="-3")

    assert answer.status_code == 422
    beside = re.search(r'id="f-reservoirs-0-flood_minutes-field">.*?value="-3"', answer.text, re.DOTALL)
    assert beside is not None
    assert "Is -3, which is not possible; give a number from 0 to 600 (min)" in beside.group()
    assert 'aria-invalid="true"' in answer.text
    assert file.read_bytes() == before


def test_a_comma_for_a_point_is_read(visitor: Visitor) -> None:
    """Half the world's keyboards have one; the file has the number."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    answer = visitor.save("/rooms/tiny/form/reservoirs/0", reservoirs__0__flood_minutes="2,5")

    assert answer.status_code == 303
    assert "flood_minutes = 2.5\n" in file.read_text(encoding="utf-8")


def test_a_comma_that_could_be_of_a_thousand_is_told(visitor: Visitor) -> None:
    """Both numbers it could be, in the sentence of `check`."""
    answer = visitor.save("/rooms/tiny/form/reservoirs/0", reservoirs__0__capacity_l="1,200")

    assert answer.status_code == 422
    assert "could be 1.2 or 1200; write it as one of these" in answer.text


def test_a_fault_can_be_saved_and_mended_later(visitor: Visitor) -> None:
    """Who says so may save a faulty room; its first page then says what is to be corrected."""
    address = "/rooms/tiny/form/reservoirs/0"
    visitor.post(address, [*visitor.form(address).with_values(reservoirs__0__flood_minutes="-3"), ("do", "anyway")])

    page = plain(visitor.get("/rooms/tiny").text)
    assert "1 thing to correct" in page
    assert "tiny/room.toml, reservoirs.reservoir.flood_minutes: is -3" in page

    visitor.save(address, reservoirs__0__flood_minutes="3")
    assert "This room can be rehearsed" in visitor.get("/rooms/tiny").text


def test_texts_of_many_lines_and_odd_names_stay(visitor: Visitor) -> None:
    """What only a hand could have written, a note of two lines or a name of two, is not changed by passing through."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    text = file.read_text(encoding="utf-8")
    odd = re.sub(r"(?m)^note = .*$", 'note = """one\\n  two\\n\\n"""', text, count=1)
    odd = odd.replace('"Monday"', '"Mon\\nday \\t<&>"', 1)
    assert tomllib.loads(odd)["room"]["note"] == "one\n  two\n\n"
    file.write_text(odd, encoding="utf-8")

    for address in ("room", "crew/shifts/0"):
        assert visitor.save(f"/rooms/tiny/form/{address}").headers["location"].endswith("?saved=same")
    assert visitor.save("/rooms/tiny/form/room", room__note="a\r\nb").headers["location"].endswith("?saved=1")

    assert tomllib.loads(file.read_text(encoding="utf-8"))["room"]["note"] == "a\nb"


def test_a_figure_gains_a_range(visitor: Visitor) -> None:
    """A number becomes a range in the form, and only that line of the file changes."""
    file = visitor.app.state.folder.path / "every_key" / "room.toml"
    before = file.read_text(encoding="utf-8").splitlines()
    at = "crops/0/typical_mass_g"

    answer = visitor.post(
        "/rooms/every_key/form/crops/0",
        [
            *visitor.form("/rooms/every_key/form/crops/0").filled(
                {f"{at}:kind": "range", f"{at}:low": "15", f"{at}:likely": "20", f"{at}:high": "27.5"}
            ),
            ("do", "save"),
        ],
    )

    assert answer.headers["location"].endswith("?saved=1")
    after = file.read_text(encoding="utf-8").splitlines()
    assert [(a, b) for a, b in zip(before, after, strict=True) if a != b] == [
        ("typical_mass_g = 20", "typical_mass_g = { low = 15, likely = 20, high = 27.5 }")
    ]


def test_an_entry_is_added_like_another_and_removed(visitor: Visitor) -> None:
    """A new shift begins as a copy under a free name; removing it again leaves the file as it was."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    before = file.read_text(encoding="utf-8")
    shifts = tomllib.loads(before)["crew"]["shifts"]

    answer = visitor.save("/rooms/tiny/form/crew/shifts/new?like=0", crew__shifts__new__weekday="sun")
    made = tomllib.loads(file.read_text(encoding="utf-8"))["crew"]["shifts"]
    visitor.post(
        f"/rooms/tiny/remove/crew/shifts/{len(shifts)}",
        visitor.form(f"/rooms/tiny/remove/crew/shifts/{len(shifts)}").fields,
    )

    assert answer.status_code == 303
    assert made == [*shifts, {**shifts[0], "name": f"{shifts[0]['name']} 2", "weekday": "sun"}]
    assert file.read_text(encoding="utf-8") == before


def test_shelves_come_and_go_without_saving(visitor: Visitor) -> None:
    """One more group of shelves is on the form at once; the file changes only when it is saved."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    before = file.read_bytes()
    address = "/rooms/tiny/form/racks/0"
    groups = len(tomllib.loads(before.decode())["racks"][0]["shelves"])

    more = visitor.post(address, [*visitor.form(address).fields, ("do", "more racks/0/shelves")])
    unsaved = file.read_bytes()
    form = next(form for form in forms_of(more.text) if form.action == address)
    saved = visitor.post(address, [*form.with_values(racks__0__shelves__new1__name="extra"), ("do", "save")])
    after = tomllib.loads(file.read_text(encoding="utf-8"))["racks"][0]["shelves"]
    less = visitor.post(address, [*visitor.form(address).fields, ("do", f"less racks/0/shelves/{groups}")])

    assert unsaved == before
    assert saved.status_code == 303
    assert [group["name"] for group in after][-1] == "extra"
    assert after[-1] == {**after[-2], "name": "extra"}
    assert f'value="{groups}"' not in "".join(re.findall(r'name="racks/0/shelves/@ids" value="\d+"', less.text))


def test_a_new_name_is_taken_over_by_whatever_names_it(visitor: Visitor) -> None:
    """A newcomer calls a crop, its stage and the reservoir by their own names: the room stays possible."""
    file = visitor.app.state.folder.path / "every_key" / "room.toml"

    visitor.save("/rooms/every_key/form/crops/1", crops__1__name="oak leaf", crops__1__stages__1__name="heading up")
    visitor.save("/rooms/every_key/form/reservoirs/0", reservoirs__0__name="blue reservoir")
    visitor.save("/rooms/every_key/form/trays/0", trays__0__name="mini sheet")

    room = load_scenario(file).scenario
    assert [line.crop for line in room.sowing] == ["loose-leaf", "oak leaf"]
    assert room.partners[0].orders[0].crop == "oak leaf"
    assert room.racks[0].shelves[1].stages == ("leaf", "heading up")
    assert room.racks[0].reservoir == "blue reservoir"
    assert {stage.tray for crop in room.crops for stage in crop.stages} == {"mini sheet", "finishing tray"}


def test_a_short_room_stays_short_under_the_forms(visitor: Visitor) -> None:
    """In the starter nothing but what is changed is written: one of two racks' lamps, a usual mass, a new name for a
    crop, a reservoir and a tray."""
    file = visitor.app.state.folder.path / "starter" / "room.toml"
    before = file.read_text(encoding="utf-8")

    assert "Usual value: 2.30 umol/J" in visitor.get("/rooms/starter/form/lights/1").text
    refused = visitor.save("/rooms/starter/form/lights/1", lights__1__hours_per_day="25")
    assert refused.status_code == 422 and 'id="f-lights-1-hours_per_day-fault"' in refused.text
    visitor.save("/rooms/starter/form/lights/1", lights__1__ppfd_umol_m2_s="240")
    visitor.save("/rooms/starter/form/crops/1", crops__1__name="oak leaf", crops__1__shelf_life_days="5")
    visitor.save("/rooms/starter/form/trays/0", trays__0__name="mini sheet")

    room, after = load_scenario(file).scenario, file.read_text(encoding="utf-8")
    assert [bank.ppfd_umol_m2_s for bank in room.lights] == [215, 240]
    assert (room.crops[1].name, room.crops[1].shelf_life_days) == ("oak leaf", 5)
    assert room.partners[0].orders[1].crop == "oak leaf"
    assert {stage.tray for crop in room.crops for stage in crop.stages} == {"mini sheet", "spacing tray", "head tray"}
    assert "count = 2" in after
    assert len(after.splitlines()) <= len(before.splitlines()) + 40


def test_a_stage_that_another_crop_has_too_keeps_its_shelves(visitor: Visitor) -> None:
    """Both crops begin as seedlings: one renames its own, the other's shelves stay, and the room says what is left."""
    answer = visitor.save("/rooms/every_key/form/crops/1", crops__1__stages__0__name="baby")

    assert answer.status_code == 422
    assert "crops.butterhead.stages.baby" in plain(answer.text)


def test_removing_what_others_need_says_so(visitor: Visitor) -> None:
    """Before a reservoir goes, the page says which rack would be left without."""
    page = plain(visitor.get("/rooms/tiny/remove/reservoirs/0").text)

    assert "Without it, this would be left to correct" in page
    assert "racks.rack.reservoir" in page


def test_the_plan_follows_what_is_typed(visitor: Visitor) -> None:
    """The drawn plan, asked for while a form is being filled in, shows the shelves as typed; nothing is saved."""
    address = "/rooms/tiny/form/racks/0"
    form = visitor.form(address).with_values(racks__0__shelves__0__slots="9")

    drawn = visitor.post(address, [*form, ("do", "preview")])

    assert drawn.status_code == 200
    assert "of 9 slots" in drawn.text
    boxes = re.compile(r'<rect class="s-(?:free|tray)')
    assert len(boxes.findall(drawn.text)) == len(boxes.findall(visitor.get(address).text)) + 5  # 9 where 4 were
    assert "of 9 slots" not in visitor.get(address).text
    assert visitor.post(RESERVOIR, [*visitor.form(RESERVOIR).fields, ("do", "preview")]).status_code == 404


def test_every_list_has_a_word_for_one_of_it() -> None:
    """A button says "One more rack", never "One more LightBank"."""

    def nouns(model: type[Table]) -> Iterator[str]:
        for field in model.model_fields.values():
            what = anatomy_of(field)
            if what.kind in ("table", "tables") and what.table is not None:
                if what.kind == "tables":
                    yield noun_of(what.table)
                yield from nouns(what.table)

    assert all(noun == noun.lower() and noun for noun in nouns(Scenario))
    assert {"rack", "light bank", "sowing line", "shift", "order", "stage"} <= set(nouns(Scenario))


def test_a_room_made_up_by_chance_can_be_saved_page_by_page(tmp_path: Path) -> None:
    """Made-up rooms too: what their forms show is what they hold."""

    @settings(max_examples=5, deadline=None, suppress_health_check=[HealthCheck.too_slow])
    @given(raw=room_tables(), number=st.integers(0, 10**9))
    def saved_as_it_stands(raw: dict[str, object], number: int) -> None:
        folder = tmp_path / str(number)
        shutil.rmtree(folder, ignore_errors=True)
        (folder / "made").mkdir(parents=True)
        file = folder / "made" / "room.toml"
        file.write_text(toml_text(raw), encoding="utf-8")
        before = file.read_bytes()
        with visit(folder) as visitor:
            for address in (
                "racks/0",
                "crops/0",
                "crops/1",
                "reservoirs/0",
                "crew",
                "crew/shifts/0",
                "climate",
                "room",
            ):
                answer = visitor.save(f"/rooms/made/form/{address}")
                assert answer.headers["location"].endswith("?saved=same")
        assert file.read_bytes() == before

    saved_as_it_stands()
