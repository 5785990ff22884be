"""A form changes only what was changed: the rest of the file, remarks above all, stays byte for byte."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from strategies import room_tables

from growsim.scenario.toml.edit import Add, Edit, Give, LayoutError, LeaveOut, Remove, applied, edited
from growsim.scenario.toml.lines import pieces_of
from growsim.scenario.toml.text import toml_text

ROOT = Path(__file__).parents[2]
EVERY_KEY = (ROOT / "tests" / "cases" / "every_key.toml").read_text(encoding="utf-8")
FILES = sorted([*ROOT.glob("scenarios/*/room.toml"), *ROOT.glob("scenarios/*/changes/*.toml")])

HAND_MADE = """# First remark
about = 'kept' # beside
[room] # the room
name = "A \\"quoted\\" # name"   # not a remark inside
closed_days = [ # holidays
  2031-07-04, # July
  2031-12-25,
]
note = \"\"\"two
lines # no remark
\"\"\"
heat . "odd key" = 1
[[racks]]
name = "one"
shelves = [ { name = "top", stages = ["a", "b"] }, # the top
]
  [racks.deep.er]
  x = 1
# before two
[[racks]]
name = "two"

# --- crops
[[crops]]
name = "basil"
[[crops.stages]]
name = "a"
[[crops]]
name = "mint"
"""


def remarks(text: str) -> list[str]:
    """Every remark of a text: what follows a # outside quotes."""
    bare = re.sub(r'"""(?:[^\\]|\\.)*?"""|\'\'\'.*?\'\'\'', "", text, flags=re.DOTALL)
    lines = (re.sub(r'^((?:[^#"\']|"(?:[^"\\]|\\.)*"|\'[^\']*\')*)', "", line) for line in bare.splitlines())
    return sorted(line.strip() for line in lines if line.startswith("#"))


@pytest.mark.parametrize("text", [EVERY_KEY, HAND_MADE, *(file.read_text(encoding="utf-8") for file in FILES)])
def test_every_key_is_found_where_it_stands(text: str) -> None:
    """The pieces make up the text, and each value, cut out, is the value that the TOML reader finds there."""
    raw, pieces = tomllib.loads(text), pieces_of(text)

    assert "".join(text[piece.start : piece.end] for piece in pieces) == text
    keys = [piece for piece in pieces if piece.kind == "key"]
    assert keys
    for piece in keys:
        value: Any = raw
        for step in piece.path:
            value = value[step]
        assert tomllib.loads(f"x = {text[piece.value_start : piece.value_end]}")["x"] == value


def test_a_value_is_changed_on_its_line() -> None:
    """One figure changed is one line changed, the remark behind it kept."""
    after = edited(HAND_MADE, [Give(("about",), "new"), Give(("room", "name"), 'B "2"')])

    assert after == HAND_MADE.replace("'kept'", '"new"').replace('"A \\"quoted\\" # name"', '"B \\"2\\""')


def test_what_is_left_out_waits_behind_a_hash_and_comes_back() -> None:
    """A key left out is put behind a #, as a room with every key in it has it, and given again on the same line."""
    out = edited(EVERY_KEY, [LeaveOut(("climate", "fans_w"))])
    back = edited(out, [Give(("climate", "fans_w"), 40)])

    assert out == EVERY_KEY.replace("\nfans_w = 40\n", "\n#fans_w = 40\n")
    assert back == EVERY_KEY


def test_a_remark_in_words_is_no_key_that_waits() -> None:
    """A remark that happens to begin like a key stays; one behind a value stays behind it, out and in again."""
    text = "[co2]\n# supply = what the bottle gives\nsetpoint_ppm = 800 # ask first\n"

    given = edited(text, [Give(("co2", "supply"), 2)])
    again = edited(edited(text, [LeaveOut(("co2", "setpoint_ppm"))]), [Give(("co2", "setpoint_ppm"), 900)])

    assert given == text + "supply = 2\n"
    assert again == text.replace("800", "900")


def test_a_usual_value_is_given_under_its_own_explanation() -> None:
    """A room may explain each key it leaves out; given a value, the key stands under that explanation."""
    after = edited(EVERY_KEY, [Give(("reservoirs", 0, "uptake_ec_ms_cm"), 1.2)])

    assert after == EVERY_KEY.replace("#uptake_ec_ms_cm = 1.4", "uptake_ec_ms_cm = 1.2")


def test_a_new_entry_stands_before_the_next_heading_remark() -> None:
    """A new rack comes after the last rack, not under the remark that begins the reservoirs."""
    after = edited(EVERY_KEY, [Add(("racks",), {"name": "rack B", "reservoir": "reservoir A", "lights": "lights A"})])

    lines = after.splitlines()
    new = lines.index('name = "rack B"')
    assert lines[new - 1] == "[[racks]]"
    assert new < next(i for i, line in enumerate(lines) if line.startswith("# ------") and "reservoirs" in line)
    assert remarks(after) == remarks(EVERY_KEY)


def test_an_entry_goes_and_the_next_heading_remark_stays() -> None:
    """The last tray goes; the remark that begins the racks does not go with it."""
    after = edited(EVERY_KEY, [Remove(("trays", 1))])

    assert "# -------------------- racks and their shelves" in after
    assert remarks(after) == remarks(EVERY_KEY)


def test_remarks_inside_a_list_are_kept() -> None:
    """A list over several lines is written again; what was remarked in it stands above it."""
    after = edited(HAND_MADE, [Give(("room", "closed_days"), []), Give(("racks", 0, "shelves", 0, "name"), "upper")])

    assert remarks(after) == remarks(HAND_MADE)
    assert tomllib.loads(after)["racks"][0]["shelves"][0] == {"name": "upper", "stages": ["a", "b"]}


@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_line_ends_and_the_mark_at_the_start_stay(newline: str) -> None:
    """A file from another system keeps its line ends and its byte-order mark."""
    text = "\ufeff" + EVERY_KEY.replace("\n", newline)

    after = edited(text, [Give(("room", "height_m"), 3)])

    assert after == text.replace("height_m = 2.6", "height_m = 3")


def paths(value: Any, at: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    """Every path into nested tables."""
    found: list[tuple[str | int, ...]] = []
    if isinstance(value, dict):
        for key, inner in value.items():
            found += [(*at, key), *paths(inner, (*at, key))]
    elif isinstance(value, list) and value and all(isinstance(each, dict) for each in value):
        for place, inner in enumerate(value):
            found += [(*at, place), *paths(inner, (*at, place))]
    return found


VALUES = st.one_of(
    st.integers(-10, 10**6),
    st.floats(allow_nan=False, allow_infinity=False),
    st.text(max_size=12),
    st.booleans(),
    st.lists(st.integers(0, 9), max_size=4),
    st.just({"low": 1, "likely": 2, "high": 3}),
)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data(), room=st.one_of(st.sampled_from([EVERY_KEY, HAND_MADE]), room_tables().map(toml_text)))
def test_any_edits_do_what_they_say(data: st.DataObject, room: str) -> None:
    """Whatever is given, left out, added or removed, in any order: the file then says that, and keeps its remarks."""
    raw = tomllib.loads(room)
    edits: list[Edit] = []
    now = raw
    for _ in range(data.draw(st.integers(1, 4))):
        path = data.draw(st.sampled_from(paths(now)))
        held: Any = now
        for step in path:
            held = held[step]
        edit: Edit
        if isinstance(path[-1], int):
            edit = Remove(path)
        elif isinstance(held, list) and held and isinstance(held[0], dict):
            edit = Add(path, {"name": data.draw(st.text(max_size=8)), "deep": {"a": 1}, "list": [{"b": [1, 2]}]})
        elif isinstance(held, dict):
            edit = Give((*path, data.draw(st.sampled_from(["fresh", "odd key", "note"]))), data.draw(VALUES))
        else:
            edit = data.draw(st.sampled_from([Give(path, data.draw(VALUES)), LeaveOut(path)]))
        edits.append(edit)
        now = applied(now, [edit])
        assume(paths(now))

    try:
        after = edited(room, edits)
    except LayoutError:
        assume(False)
    assert tomlkit.parse(after).unwrap() == tomllib.loads(after)  # another reader of TOML sees the same
    assert edited(room, []) == room
    if not any(isinstance(edit, Remove) for edit in edits):
        given = {f"#{edit.path[-1]} =" for edit in edits if isinstance(edit, Give)}  # may have waited behind a #
        assert [line for line in remarks(room) if line not in after and not line.startswith(tuple(given))] == []
