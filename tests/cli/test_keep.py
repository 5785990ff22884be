"""`growsim keep` at the command line: a room folder with the change made in it, and nobody's work lost."""

from __future__ import annotations

import json
import shlex
import shutil
from pathlib import Path

import pytest

from growsim.cli import main
from growsim.run.prepare import prepare_room
from growsim.scenario.change import changed_room, load_change
from growsim.scenario.load import load_scenario
from growsim.study.alternatives import alternatives_of

ROOMS = Path(__file__).parents[2] / "scenarios"
MILLRACE = ROOMS / "millrace"
SHIPPED = sorted((MILLRACE / "changes").glob("*.toml"))
MORE_HANDS = '[change]\nname = "more hands"\n[[crew.shifts]]\nname = "tuesday"\npeople = 5\n'
FEWER_SEEDS = '[change]\nname = "half the heads"\n[[sowing]]\nname = "heads"\ncells = 6\n'


@pytest.fixture(autouse=True)
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder to work in, with a small room and two changes that fit it."""
    monkeypatch.chdir(tmp_path)
    shutil.copytree(ROOMS / "tiny", "mine")
    room = load_scenario(Path("mine")).scenario
    hands = MORE_HANDS.replace("tuesday", room.crew.shifts[0].name)
    seeds = FEWER_SEEDS.replace('"heads"', json.dumps(room.sowing[0].name))
    Path("hands.toml").write_text(hands, encoding="utf-8")
    Path("seeds.toml").write_text(seeds, encoding="utf-8")
    return tmp_path


def inside(folder: str) -> dict[str, bytes]:
    """Every file of a folder, by its name inside."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in Path(folder).rglob("*") if path.is_file()
    }


@pytest.mark.parametrize("change", SHIPPED, ids=[path.stem for path in SHIPPED])
def test_the_room_kept_is_the_room_compared(change: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """For every invented change: the figures of the room file, its remarks, and each crop's pace as `compare` has it,
    which goes another way (merged tables, never text)."""
    before = load_scenario(MILLRACE)
    compared = alternatives_of(before, prepare_room(before), [load_change(change)])[0].prepared

    assert main(["keep", str(MILLRACE), str(change), "--out", "kept"]) == 0

    kept = prepare_room(load_scenario(Path("kept")))
    assert kept.curves.growth_rate == compared.curves.growth_rate
    as_now = {crop.name: crop.growth_rate for crop in changed_room(before, load_change(change)).scenario.crops}
    crops = tuple(crop.model_copy(update={"growth_rate": as_now[crop.name]}) for crop in kept.scenario.crops)
    assert kept.scenario.model_copy(update={"crops": crops}) == changed_room(before, load_change(change)).scenario
    old, new = (Path(room, "room.toml").read_text("utf-8").splitlines() for room in (MILLRACE, "kept"))
    assert [line for line in old if line.startswith("#") and line not in new] == []
    assert "kept is the room of" in capsys.readouterr().out


def test_brighter_light_still_brings_more_once_it_is_kept(capsys: pytest.CaptureFixture[str]) -> None:
    """The point of a pace that is kept: under brighter lamps the plants of the new room weigh more on their day."""
    change = MILLRACE / "changes" / "brighter-light.toml"
    assert main(["keep", str(MILLRACE), str(change), "--out", "kept"]) == 0

    told = json.loads(Path("kept/kept.json").read_text("utf-8"))["growth_rates_stated"]
    before, after = load_scenario(MILLRACE), load_scenario(Path("kept"))
    today = prepare_room(before).curves.growth_rate
    assert told and told == {name: today[name] for name in told}
    assert main(["check", "kept"]) == 0
    assert f"Pace: how fast {' and '.join([', '.join([*told][:-1]), [*told][-1]])} grow" in capsys.readouterr().out
    assert {crop.name: crop.growth_rate for crop in after.scenario.crops if crop.growth_rate is not None} == told


def test_the_default_folder_lies_beside_the_room(capsys: pytest.CaptureFixture[str]) -> None:
    """Room and changes by name; what was taken in lies there as it was given, and the commands named can be typed."""
    room = inside("mine")

    assert main(["keep", "mine", "hands.toml", "seeds.toml"]) == 0

    out = capsys.readouterr().out
    assert out.startswith("mine-with-hands-seeds is the room of mine with “more hands” and “half the heads” made in it")
    made = inside("mine-with-hands-seeds")
    assert set(made) == {"room.toml", "kept.json", "kept-changes/1-hands.toml", "kept-changes/2-seeds.toml"}
    assert made["kept-changes/1-hands.toml"] == Path("hands.toml").read_bytes()
    scenario = load_scenario(Path("mine-with-hands-seeds")).scenario
    assert (scenario.crew.shifts[0].people, scenario.sowing[0].cells) == (5, 6)
    assert inside("mine") == room
    typed = [shlex.split(line) for line in out.splitlines() if line.startswith("  growsim check")]
    assert main(typed[0][1:]) == 0


def test_json_is_what_lies_in_the_folder(capsys: pytest.CaptureFixture[str]) -> None:
    """--json prints the record of what was taken in, whose fingerprints are those of the files."""
    assert main(["keep", "mine", "hands.toml", "--out", "new", "--json"]) == 0

    printed = json.loads(capsys.readouterr().out)
    left = json.loads(Path("new/kept.json").read_text("utf-8"))
    assert {key: left[key] for key in printed} == printed
    assert printed["room_sha256"] == load_scenario(Path("new")).sha256 == left["files_sha256"]["room.toml"]
    assert printed["made_from"]["sha256"] == load_scenario(Path("mine")).sha256


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[racks]]\nname = "gone"\nremove = true\n', "racks.gone: is to be removed, and the room has no 'gone'"),
        ("[nothing]\nx = 1\n", "change.toml, nothing"),
        ('[change]\nname = "x"\n', "change.toml: changes nothing; name at least one key that differs."),
        ("[climate]\nair_temperature_c = 90\n", "change.toml, climate.air_temperature_c"),
    ],
    ids=["removes what is not there", "no such table", "empty", "impossible"],
)
def test_a_change_that_does_not_fit_is_refused(text: str, said: str, capsys: pytest.CaptureFixture[str]) -> None:
    """One sentence that names the change's file, exit code 2, and nothing is left behind."""
    Path("change.toml").write_text(text, encoding="utf-8")
    before = sorted(Path().iterdir())

    assert main(["keep", "mine", "change.toml"]) == 2

    err = capsys.readouterr().err
    assert said in err
    assert len(err.splitlines()) == 1
    assert sorted(Path().iterdir()) == before


def test_a_change_that_fits_only_before_another_names_the_second(capsys: pytest.CaptureFixture[str]) -> None:
    """Changes are made one after the other: what the first took away, the second cannot take away again."""
    name = json.dumps(load_scenario(Path("mine")).scenario.sowing[0].name)
    for file in ("a.toml", "b.toml"):
        Path(file).write_text(f"[[sowing]]\nname = {name}\nremove = true\n", encoding="utf-8")

    assert main(["keep", "mine", "a.toml", "b.toml"]) == 2
    assert capsys.readouterr().err.startswith("b.toml, sowing.")


def test_nothing_is_written_over() -> None:
    """Not the room itself, not a folder of somebody's, not a kept room that was worked on since; --replace gives way
    only to what the command itself left, untouched."""
    Path("somebody").mkdir()
    Path("somebody/notes.txt").write_text("mine", encoding="utf-8")
    keep = ["keep", "mine", "hands.toml"]

    assert main([*keep, "--out", "new"]) == 0
    first = inside("new")
    assert main([*keep, "--out", "new"]) == 2
    assert main([*keep, "--out", "mine", "--replace"]) == 2
    assert main([*keep, "--out", ".", "--replace"]) == 2
    assert main([*keep, "--out", "somebody", "--replace"]) == 2
    assert main(["keep", "new", "seeds.toml", "--out", "new", "--replace"]) == 2
    assert inside("new") == first
    assert main(["keep", "mine", "seeds.toml", "--out", "new", "--replace"]) == 0
    assert set(inside("new")) == {"room.toml", "kept.json", "kept-changes/1-seeds.toml"}

    with Path("new/room.toml").open("a", encoding="utf-8") as room:
        room.write("# and a remark of my own\n")
    worked_on = inside("new")
    assert main([*keep, "--out", "new", "--replace"]) == 2
    assert inside("new") == worked_on


def test_the_reasons_are_said(capsys: pytest.CaptureFixture[str]) -> None:
    """In one sentence each."""
    assert main(["keep", "mine", "hands.toml", "--out", "mine"]) == 2
    assert capsys.readouterr().err == (
        "mine: holds the room itself, which stays as it is; give another folder with --out.\n"
    )
    assert main(["keep", "mine", "hands.toml", "--out", "new"]) == 0
    Path("new/records").mkdir()
    Path("new/records/attendance.csv").write_text("date\n", encoding="utf-8")
    capsys.readouterr()
    assert main(["keep", "mine", "hands.toml", "--out", "new", "--replace"]) == 2
    assert capsys.readouterr().err == "new: was added to since it was written; give another folder with --out.\n"


def test_a_loose_room_and_the_folder_one_stands_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """A room file outside a room folder becomes a folder beside it; `.` is called by its name."""
    shutil.copy("mine/room.toml", "loose.toml")
    assert main(["keep", "loose.toml", "hands.toml"]) == 0
    assert Path("loose-with-hands/room.toml").is_file()

    monkeypatch.chdir("mine")
    assert main(["keep", ".", "../hands.toml"]) == 0
    assert Path("../mine-with-hands/room.toml").is_file()


def test_the_schema_that_helps_editors_comes_along() -> None:
    """A room that `growsim new` began names a schema in its first line; the new folder has it too."""
    assert main(["new", "fresh"]) == 0
    shift = json.dumps(load_scenario(Path("fresh")).scenario.crew.shifts[0].name)
    Path("c.toml").write_text(f"[[crew.shifts]]\nname = {shift}\npeople = 4\n", encoding="utf-8")

    assert main(["keep", "fresh", "c.toml"]) == 0

    old, new = inside("fresh"), inside("fresh-with-c")
    assert new["room.schema.json"] == old["room.schema.json"]
    assert new["room.toml"].startswith(old["room.toml"].splitlines()[0])


def test_the_commands_that_write_a_change_say_how_it_is_kept(capsys: pytest.CaptureFixture[str]) -> None:
    """`compare` ends with a line that can be typed as it stands."""
    quick = ["--days", "14", "--replications", "2", "--workers", "1", "--no-why"]
    assert main(["compare", "mine", "hands.toml", *quick]) == 0

    last = capsys.readouterr().out.splitlines()[-1]
    assert last == "  growsim keep mine hands.toml"
    assert main(shlex.split(last)[1:]) == 0
