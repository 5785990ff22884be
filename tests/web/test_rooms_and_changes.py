"""Rooms come, go out and are copied; changes to try are made in forms and kept as CHANGE files."""

from __future__ import annotations

import datetime as dt
import html
import re
import shutil
import tomllib
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from page_visit import HOME, Visitor, visit

from growsim.errors import InputError
from growsim.run.prepare import prepare_room
from growsim.scenario.change import apply_change, changed_room, load_change
from growsim.scenario.load import load_scenario
from growsim.scenario.toml.edit import Add, Give, LeaveOut, Remove, applied
from growsim.study.alternatives import alternatives_of
from growsim.study.room_air import room_on_paper
from growsim.web.changes.edits import change_tables

ROOT = Path(__file__).parents[2]
MILLRACE = load_scenario(ROOT / "scenarios" / "millrace").raw


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor to a folder with the millrace room and its changes in it."""
    shutil.copytree(ROOT / "scenarios" / "millrace", tmp_path / "millrace")
    with visit(tmp_path) as coming:
        yield coming


def test_a_new_room_is_the_starter_under_its_name(visitor: Visitor) -> None:
    """Begin, and there is a room with the schema beside it; it is the starter's but for what the steps ask for."""
    answer = visitor.post("/new", {"name": "  Mill  Street "}, follow=True)

    assert "The place" in answer.text
    home = visitor.app.state.folder.path / "mill-street"
    starter = (ROOT / "growsim" / "scenario" / "starter" / "room.toml").read_text(encoding="utf-8")
    written = (home / "room.toml").read_text(encoding="utf-8")
    told, from_starter = tomllib.loads(written), tomllib.loads(starter)
    assert told["room"].pop("source").startswith("invented: start_date")
    begins = told["room"].pop("start_date")  # the year begins now, and its closings fall into it
    assert begins.weekday() == 0 and 0 <= (begins - dt.date.today()).days <= 7
    assert all(0 <= (day - begins).days <= 366 for day in told["room"].pop("closed_days"))
    kept = {key: value for key, value in from_starter["room"].items() if key not in ("start_date", "closed_days")}
    assert told["room"] == kept | {"name": "Mill Street"}
    assert "sowing" not in told and "harvest" not in told  # which follow
    del from_starter["partners"][0]["orders"][1]  # one promise to begin with
    for key in ("racks", "climate", "partners", "prices"):
        assert repr(told[key]).replace(", 'source': 'invented'", "") == repr(from_starter[key]), key
    assert (home / "room.schema.json").is_file()
    assert visitor.post("/new", {"name": "mill street"}).status_code == 400
    assert "needs a name with letters" in visitor.post("/new", {"name": " !? "}).text


def test_a_room_is_told_with_its_size_and_its_air(visitor: Visitor) -> None:
    """As `growsim check` tells it, but for the sentence that names a command."""
    page = unescape(visitor.get("/rooms/millrace").text)
    said = room_on_paper(prepare_room(load_scenario(ROOT / "scenarios" / "millrace")))

    assert any(sentence.startswith("CO2: ") for sentence in said)
    assert [sentence in page for sentence in said[1:]] == [True] * (len(said) - 2) + [False]


def test_a_room_goes_out_and_comes_in_again_unchanged(visitor: Visitor) -> None:
    """Downloaded, brought in under another name, copied: the same bytes each time."""
    original = (ROOT / "scenarios" / "millrace" / "room.toml").read_bytes()

    out = visitor.get("/rooms/millrace/download")
    visitor.ask("POST", "/upload", files={"file": ("again.toml", out.content)}, headers={"Origin": HOME})
    visitor.post("/rooms/millrace/copy", {"name": "Once more"})

    assert out.content == original
    assert out.headers["content-disposition"].startswith("attachment")
    folder = visitor.app.state.folder.path
    assert (folder / "again" / "room.toml").read_bytes() == original
    assert (folder / "once-more" / "room.toml").read_bytes() == original


def test_a_loose_room_file_is_a_room_too(visitor: Visitor) -> None:
    """A .toml with a room in it, lying in the folder, is listed, and its changes lie in a folder of its name."""
    folder: Path = visitor.app.state.folder.path
    shutil.copy(ROOT / "scenarios" / "tiny" / "room.toml", folder / "loose.toml")

    assert "loose" in visitor.get("/").text
    visitor.post("/rooms/loose.toml/changes/new/seeds", {"crops/0/seeds_per_cell": "3", "name": "three seeds"})
    assert (folder / "loose" / "changes" / "three-seeds.toml").is_file()


def test_the_first_page_leads_a_newcomer_on(tmp_path: Path) -> None:
    """In an empty folder the first page says what growsim does and offers a room to begin with."""
    with visit(tmp_path) as visitor:
        page = visitor.get("/").text

    assert "Begin with a room" in page
    assert 'action="/new"' in page


def kept(visitor: Visitor, name: str) -> Any:
    """A change kept with the millrace room, and the room with the change made."""
    home = visitor.app.state.folder.path / "millrace"
    change = load_change(home / "changes" / f"{name}.toml")
    return change, changed_room(load_scenario(home), change).scenario


def test_one_more_rack_brings_reservoir_lights_and_sowing(visitor: Visitor) -> None:
    """A rack like another, with its own reservoir and lights, and a sowing to fill it: the room is possible, with a
    price.
    """
    address = "/rooms/millrace/changes/new/rack"
    form = visitor.form(address).with_values(
        rack="2", rack_name="wide five", sow="2", cells="60", weekday="tue", name="One wide rack", price="2900"
    )

    answer = visitor.post(address, form)

    assert answer.status_code == 303
    change, room = kept(visitor, "one-wide-rack")
    assert (change.about.name, change.about.price) == ("One wide rack", 2900)
    assert (room.racks[-1].name, room.racks[-1].reservoir, room.racks[-1].lights) == (
        "wide five",
        "wide five",
        "wide five",
    )
    assert room.racks[-1].shelves == room.racks[2].shelves
    assert (room.sowing[-1].cells, room.sowing[-1].weekday) == (60, "tue")
    page = visitor.get("/rooms/millrace/changes").text
    assert "One wide rack" in page
    assert "Costs 2,900 " in page
    assert "/rooms/millrace/ask/compare?change=one-wide-rack.toml" in page


def test_another_crop_mix_changes_and_takes_out(visitor: Visitor) -> None:
    """Cells changed and a line taken out with 0; nothing else is in the file."""
    address = "/rooms/millrace/changes/new/mix"
    form = visitor.form(address).with_values(sowing__0__cells="0", sowing__1__cells="90", name="more of one")

    assert visitor.post(address, form).status_code == 303

    change, room = kept(visitor, "more-of-one")
    names = [line["name"] for line in MILLRACE["sowing"]]
    assert change.tables == {"sowing": [{"name": names[1], "cells": 90}, {"name": names[0], "remove": True}]}
    assert [line.name for line in room.sowing] == names[1:]


def test_any_form_can_be_kept_as_a_change(visitor: Visitor) -> None:
    """Instead of saving: what is different in a form becomes a change; the room stays as it is."""
    file = visitor.app.state.folder.path / "millrace" / "room.toml"
    before = file.read_bytes()
    address = "/rooms/millrace/form/lights/0"
    named = visitor.post(address, [*visitor.form(address).with_values(lights__0__hours_per_day="14"), ("do", "change")])
    text = re.search(r"<textarea[^>]*>(.*?)</textarea>", named.text, re.DOTALL)
    assert text is not None

    keep = {"tables": html.unescape(text.group(1)), "name": "fourteen hours", "price": ""}
    assert visitor.post("/rooms/millrace/changes/keep", keep).status_code == 303

    change, room = kept(visitor, "fourteen-hours")
    assert change.tables == {"lights": [{"name": room.lights[0].name, "hours_per_day": 14}]}
    assert room.lights[0].hours_per_day == 14
    assert file.read_bytes() == before


def test_a_change_that_cannot_be_is_said_at_once(visitor: Visitor) -> None:
    """Wrong figures, no name, a name that is taken, nothing different: one sentence each, and nothing is kept."""
    folder = visitor.app.state.folder.path / "millrace" / "changes"
    before = sorted(folder.iterdir())
    address = "/rooms/millrace/changes/new/people"
    form = visitor.form(address)

    for changed, said in (
        ({"crew/shifts/0/people": "-1", "name": "none"}, "is -1, which is not possible"),
        ({"crew/shifts/0/people": "many", "name": "none"}, "is the text &#34;many&#34;"),
        ({"crew/shifts/0/people": "9", "name": ""}, "Give the change a name"),
        ({"crew/shifts/0/people": "9", "name": "float valves"}, "already; give this one another name"),
        ({"name": "nothing"}, "Nothing is different yet"),
        ({"crew/shifts/0/people": "9", "name": "x", "price": "-5"}, "is -5, which is not possible"),
    ):
        answer = visitor.post(address, form.filled(changed))
        assert answer.status_code == 422
        assert said in answer.text
    assert sorted(folder.iterdir()) == before


def test_a_change_that_no_longer_fits_is_marked(visitor: Visitor) -> None:
    """The room changes, and a change kept earlier names what is gone: the list says so and offers no comparing."""
    folder = visitor.app.state.folder.path / "millrace" / "changes"
    for file in folder.iterdir():
        file.unlink()
    (folder / "odd.toml").write_text('[[racks]]\nname = "gone"\nremove = true\n', encoding="utf-8")

    page = visitor.get("/rooms/millrace/changes").text

    assert "odd.toml, racks.gone: is to be removed, and the room has no" in page
    assert "ask/compare" not in page
    assert visitor.post("/rooms/millrace/changes/files/odd.toml/remove", {}).status_code == 303
    assert not (folder / "odd.toml").exists()


def test_one_list_of_changes_serves_all(visitor: Visitor) -> None:
    """What is listed can be asked with, handed out, made and removed; what cannot be is listed nowhere."""
    folder = visitor.app.state.folder.path / "millrace" / "changes"
    content = (folder / "float-valves.toml").read_bytes()
    for file in folder.iterdir():
        file.unlink()
    for name in ("SHOUTED.TOML", ".hidden.toml", "odd#name.toml", "notes.txt"):
        (folder / name).write_bytes(content)
    (folder / "link.toml").symlink_to(folder / "notes.txt")
    (folder / "folder.toml").mkdir()

    listed = visitor.get("/rooms/millrace/changes").text
    asked = visitor.get("/rooms/millrace/ask/compare").text
    own = "/rooms/millrace/changes/files"

    assert re.findall(r"/changes/files/([^/\"]+)\"", listed) == ["SHOUTED.TOML"]
    assert re.findall(r'name="changes" value="([^"]+)"', asked) == ["SHOUTED.TOML"]
    for other in ("hidden.toml", ".hidden.toml", "odd%23name.toml", "notes.txt", "link.toml", "folder.toml"):
        assert visitor.get(f"{own}/{other}").status_code == 404
        assert visitor.post(f"{own}/{other}/remove", {}).status_code == 404
    assert visitor.get(f"{own}/SHOUTED.TOML").content == content
    assert visitor.get(f"{own}/SHOUTED.TOML/make").status_code == 200
    assert visitor.post(f"{own}/SHOUTED.TOML/remove", {}).status_code == 303
    assert not (folder / "SHOUTED.TOML").exists()
    assert (folder / "notes.txt").exists()


def test_a_change_file_is_brought_in(visitor: Visitor) -> None:
    """A file from elsewhere is kept as it is if it fits this room; one that does not is refused in a sentence."""
    content = (ROOT / "scenarios" / "millrace" / "changes" / "float-valves.toml").read_bytes()
    address = "/rooms/millrace/changes/upload"

    good = visitor.ask("POST", address, files={"file": ("from a friend.toml", content)}, headers={"Origin": HOME})
    bad = visitor.ask("POST", address, files={"file": ("b.toml", b"[nothing]\nx = 1\n")}, headers={"Origin": HOME})

    folder = visitor.app.state.folder.path / "millrace" / "changes"
    assert good.status_code == 303
    assert (folder / "from-a-friend.toml").read_bytes() == content
    assert visitor.get("/rooms/millrace/changes/files/from-a-friend.toml").content == content
    assert bad.status_code == 400
    assert "is not a key of this table" in bad.text


CHANGES = sorted(path.name for path in (ROOT / "scenarios" / "millrace" / "changes").glob("*.toml"))


@pytest.mark.parametrize("file", CHANGES)
def test_a_change_that_is_wanted_is_made_in_the_room(visitor: Visitor, file: str) -> None:
    """Every invented change, made in the room: the room is then what `compare` rehearsed, and its remarks are kept."""
    home = visitor.app.state.folder.path / "millrace"
    before = (home / "room.toml").read_text(encoding="utf-8")
    today, change = load_scenario(home), load_change(home / "changes" / file)
    wanted = changed_room(today, change).scenario
    paces = alternatives_of(today, prepare_room(today), [change])[0].prepared.curves.growth_rate
    address = f"/rooms/millrace/changes/files/{file}/make"

    asked = visitor.get(address).text
    answer = visitor.post(address, visitor.form(address).fields)

    assert answer.status_code == 303
    made = load_scenario(home)
    assert prepare_room(made).curves.growth_rate == paces
    crops = zip(made.scenario.crops, wanted.crops, strict=True)
    stated = [crop.name for crop in made.scenario.crops if crop.growth_rate is not None]
    assert ("is written down with it (growth rate)" in asked) == bool(stated)
    as_wanted = tuple(crop.model_copy(update={"growth_rate": want.growth_rate}) for crop, want in crops)
    assert made.scenario.model_copy(update={"crops": as_wanted}) == wanted
    after = (home / "room.toml").read_text(encoding="utf-8")
    assert [line for line in before.splitlines() if line.startswith("#") and line not in after.splitlines()] == []


def test_a_change_is_made_only_in_the_room_that_was_shown(visitor: Visitor) -> None:
    """Another window changed the room meanwhile: the change is not made, and is asked again."""
    address = "/rooms/millrace/changes/files/float-valves.toml/make"
    agreed = visitor.form(address).fields
    visitor.save("/rooms/millrace/form/climate", climate__fans_w="77")

    assert visitor.post(address, agreed).status_code == 409
    room = load_scenario(visitor.app.state.folder.path / "millrace").scenario
    assert {reservoir.top_up for reservoir in room.reservoirs} == {"by hand"}


EDITS = st.one_of(
    st.builds(lambda i, n: Give(("sowing", i, "cells"), n), st.integers(0, 3), st.integers(1, 500)),
    st.builds(lambda i, n: Give(("reservoirs", i, "pump", "power_w"), n), st.integers(0, 3), st.integers(1, 500)),
    st.builds(lambda n: Give(("crops", 0, "stages", 1, "days"), n), st.integers(1, 40)),
    st.builds(lambda n: Give(("crops", 1, "typical_mass_g"), {"low": n, "likely": n, "high": n}), st.integers(1, 40)),
    st.builds(lambda n: Give(("climate", "air_temperature_c"), n), st.integers(5, 40)),
    st.just(LeaveOut(("climate", "fans_w"))),
    st.builds(lambda i: Remove(("partners", i)), st.integers(0, 3)),
    st.just(
        Add(
            ("racks", 0, "shelves"),
            {"name": "one more", "count": 1, "slots": 2, "slot_length_cm": 5, "slot_width_cm": 5},
        )
    ),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(edits=st.lists(EDITS, min_size=1, max_size=4, unique_by=lambda edit: edit.path))
def test_edits_and_the_change_made_of_them_do_the_same(edits: list[Any]) -> None:
    """A room changed in place and the room with the CHANGE made are one room, by the merging that `compare` uses."""
    edits.sort(key=lambda edit: isinstance(edit, Remove))
    gone = [edit for edit in edits if isinstance(edit, Remove)]
    edits = [edit for edit in edits if not isinstance(edit, Remove)] + gone[:1]

    merged = apply_change(MILLRACE, change_tables(MILLRACE, edits))

    assert merged == applied(MILLRACE, edits)


def test_what_no_change_can_say_is_refused() -> None:
    """Another name is another thing to a CHANGE."""
    with pytest.raises(InputError, match="cannot rename"):
        change_tables(MILLRACE, [Give(("racks", 0, "name"), "new name")])
