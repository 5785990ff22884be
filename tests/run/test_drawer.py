"""Years kept beside a study: found again only where they are of that study, and never where they are damaged."""

from __future__ import annotations

import errno
import pickle
import shutil
import zlib
from collections.abc import Callable
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from types import ModuleType

import pytest

from growsim.ledger.outcome import Outage, Outcome
from growsim.run import drawer as drawers
from growsim.run import fingerprint
from growsim.run.drawer import Drawer, arranged, waiting_in
from growsim.run.fingerprint import program_mark, study_mark
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearsers import Rehearsers
from growsim.run.replicate import replicate
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan, ShelfLot

ROOT = Path(__file__).parents[2]
PLAN = RunPlan(days=28, warm_up_days=14)


@pytest.fixture(scope="module")
def tiny() -> Prepared:
    """The tiny room."""
    return prepare(load_scenario(ROOT / "scenarios" / "tiny").scenario)


def a_year(i: int) -> Outcome:
    """An outcome with something in every place."""
    return Outcome(
        replication=i,
        measures={"kg_packed_per_week": 0.1 + i, "plants_harvested": 3},
        weeks={"kg_packed": (1 / 3, 2.0, 5e-324)},
        fates={("basil", "harvested"): 7},
        accounts={"kwh:lights": 1e300},
        outages=(Outage("pump", "reservoir", -5, None, None), Outage("power", "", 7, 8, 90)),
    )


def kept(folder: Path, *years: Outcome, mark: str = "mine") -> Path:
    """A drawer's folder with these years in it, in one file; gives the file."""
    drawer = Drawer(folder)
    drawer.keep(mark, years)
    drawer.lay_in()
    (file,) = [file for file in folder.iterdir() if file.suffix == ".years"]
    return file


def test_a_year_comes_back_as_it_was(tmp_path: Path) -> None:
    """To the last bit, whole numbers as whole numbers; what was not kept is not found."""
    years = [a_year(4), a_year(9)]
    kept(tmp_path / "drawer", *years)
    found = Drawer(tmp_path / "drawer", resume=True).find("mine", [3, 4, 9])

    assert found == years
    assert repr(found) == repr(years)


def test_a_real_year_comes_back_as_it_was(tmp_path: Path, tiny: Prepared) -> None:
    """Whatever a replication measures can be kept."""
    year = replicate(tiny, 5, 2, PLAN)
    kept(tmp_path / "drawer", year)

    assert repr(Drawer(tmp_path / "drawer", resume=True).find("mine", [2])) == repr([year])


def test_years_of_another_study_are_not_taken(tmp_path: Path) -> None:
    """Not under another mark; and not at all unless asked to go on."""
    kept(tmp_path / "drawer", a_year(4))

    assert Drawer(tmp_path / "drawer", resume=True).find("other", [4]) == []
    assert Drawer(tmp_path / "drawer").find("mine", [4]) == []


@pytest.mark.parametrize(
    "damage",
    [
        lambda content: content[: len(content) // 2],
        lambda content: content[:-1],
        lambda content: b"",
        lambda content: content[:-9] + bytes([content[-9] ^ 1]) + content[-8:],
        lambda content: b"x" + content[1:],
        lambda content: content + b"\0",
    ],
    ids=["half of it", "all but a byte", "nothing", "one bit", "another head", "one byte more"],
)
def test_a_damaged_file_is_not_used_and_said_so(tmp_path: Path, damage: Callable[[bytes], bytes]) -> None:
    """Truncated or altered, a file is passed by, in a sentence; whole files beside it are used; it goes at the end."""
    broken = kept(tmp_path / "drawer", a_year(4))
    broken.write_bytes(damage(broken.read_bytes()))
    more = Drawer(tmp_path / "drawer")
    more.keep("mine", [a_year(5)])
    more.lay_in()
    said: list[str] = []
    drawer = Drawer(tmp_path / "drawer", resume=True, say=said.append)

    assert drawer.find("mine", [4, 5]) == [a_year(5)]
    assert said == [
        f"{tmp_path / 'drawer'}: a file of finished years is damaged and not used; those years are lived through again."
    ]
    drawer.clear()
    assert not (tmp_path / "drawer").exists()


def test_a_file_that_wants_something_run_is_refused(tmp_path: Path) -> None:
    """A pickle that names a function, even with a right checksum, is damaged as far as we are concerned."""
    file = kept(tmp_path / "drawer", a_year(4))
    content = zlib.compress(pickle.dumps([("mine", (4, print))]))
    file.write_bytes(drawers.HEAD + sha256(content).digest() + content)
    said: list[str] = []

    assert Drawer(tmp_path / "drawer", resume=True, say=said.append).find("mine", [4]) == []
    assert len(said) == 1


def test_a_half_written_file_of_a_killed_process_is_never_read(tmp_path: Path) -> None:
    """A temporary name is not a file of years; it is cleared away with the rest."""
    file = kept(tmp_path / "drawer", a_year(4))
    file.rename(file.with_name(f".{file.name}-abc"))
    drawer = Drawer(tmp_path / "drawer", resume=True)

    assert drawer.find("mine", [4]) == []
    drawer.clear()
    assert not (tmp_path / "drawer").exists()


def test_a_short_study_leaves_nothing(tmp_path: Path) -> None:
    """Years of a few seconds are not worth a folder, whether the study ends well or is stopped."""
    drawer = Drawer(tmp_path / "drawer", keep_seconds=1000)
    drawer.keep("mine", [a_year(4)])

    assert drawer.stopped() == 0
    drawer.clear()
    assert list(tmp_path.iterdir()) == []


def test_others_years_are_left_alone(tmp_path: Path) -> None:
    """A study that ends well takes out its own years, not those of a study it had nothing to do with."""
    kept(tmp_path / "drawer", a_year(4), mark="other")
    drawer = Drawer(tmp_path / "drawer", resume=True, keep_seconds=0)
    drawer.keep("mine", [a_year(1)])
    assert drawer.kept == 1
    drawer.clear()

    assert waiting_in(tmp_path / "drawer")
    assert Drawer(tmp_path / "drawer", resume=True).find("other", [4]) == [a_year(4)]


def test_a_drawer_that_cannot_be_written_costs_no_study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Said once; the study goes on."""

    def full(path: Path, content: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(drawers, "write_bytes", full)
    said: list[str] = []
    drawer = Drawer(tmp_path / "drawer", say=said.append, keep_seconds=0)
    for i in range(3):
        drawer.keep("mine", [a_year(i)])

    assert len(said) == 1
    assert "cannot be kept there (no space left on device)" in said[0]


@pytest.mark.parametrize("workers", [1, 2])
def test_only_what_is_missing_is_lived_through(fakes: ModuleType, tmp_path: Path, workers: int) -> None:
    """Years in the drawer are not rehearsed again; outcomes and their order are those of a study never stopped."""
    room = {"": fakes.prepared()}
    whole = Rehearsers(1, work=fakes.lucky).run(room, 20, range(9), fakes.PLAN)
    first = Drawer(tmp_path / "drawer", keep_seconds=0)
    with arranged(drawer=first), Rehearsers(1, work=fakes.lucky) as rehearsers:
        rehearsers.run(room, 20, [1, 2, 6], fakes.PLAN)
    first.lay_in()
    again = Drawer(tmp_path / "drawer", resume=True, keep_seconds=0)
    told: list[tuple[int, int]] = []
    with arranged(drawer=again), Rehearsers(workers, work=fakes.lucky) as rehearsers:
        found = rehearsers.run(room, 20, range(9), fakes.PLAN, lambda done, total: told.append((done, total)))

    again.lay_in()
    assert repr(found) == repr(whole)
    assert (again.taken, again.kept) == (3, 6)
    assert (told[0], told[-1]) == ((3, 9), (9, 9))


def test_another_work_room_seed_or_plan_has_another_mark(fakes: ModuleType, tiny: Prepared) -> None:
    """Whatever could change a year changes its mark; the same room, read again, does not."""
    scenario = tiny.scenario
    wider = scenario.model_copy(update={"room": scenario.room.model_copy(update={"floor_area_m2": 12.5})})
    lot = ShelfLot("a", "small head", "head", 30, 12)
    rate = {crop: rate * (1 + 1e-15) for crop, rate in tiny.curves.growth_rate.items()}
    marks = [
        study_mark(replicate, tiny, 5, PLAN),
        study_mark(fakes.lucky, tiny, 5, PLAN),
        study_mark(replicate, tiny, 6, PLAN),
        study_mark(replicate, replace(tiny, scenario=wider), 5, PLAN),
        study_mark(replicate, replace(tiny, curves=replace(tiny.curves, growth_rate=rate)), 5, PLAN),
        study_mark(replicate, tiny, 5, replace(PLAN, days=29)),
        study_mark(replicate, tiny, 5, replace(PLAN, start="shelves", shelves=(lot,))),
        study_mark(replicate, tiny, 5, replace(PLAN, start="shelves", shelves=(replace(lot, plants=13),))),
    ]

    assert len(set(marks)) == len(marks)
    again = prepare(load_scenario(ROOT / "scenarios" / "tiny").scenario)
    assert study_mark(replicate, pickle.loads(pickle.dumps(again)), 5, PLAN) == marks[0]


def test_another_program_has_another_mark(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A growsim with one word changed in its model does not take this one's years."""
    home = tmp_path / "growsim"
    shutil.copytree(fingerprint.HOME, home)
    monkeypatch.setattr(fingerprint, "HOME", home)
    same = program_mark.__wrapped__()
    model = home / "growth" / "water.py"
    model.write_text(model.read_text("utf-8").replace("=", "= ", 1), "utf-8")

    assert same == program_mark()
    assert program_mark.__wrapped__() != same


def test_a_thing_without_a_definite_value_has_no_mark(fakes: ModuleType) -> None:
    """What differs from process to process cannot say which years are its own."""
    with pytest.raises(TypeError, match="object has no definite value"):
        study_mark(fakes.lucky, fakes.prepared(object()), 5, PLAN)
