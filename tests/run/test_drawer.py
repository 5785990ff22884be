"""The drawer of finished years: found again only under their mark, never where damaged, and never too many."""

from __future__ import annotations

import errno
import os
import pickle
import shutil
import zlib
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from growsim.ledger.outcome import Outage, Outcome
from growsim.run import drawer as drawers
from growsim.run import fingerprint
from growsim.run.drawer import Drawer, arranged, packed, usual_place
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
        held_up={("basil", "harvest", "closed"): 0.1},
        aftermath={"standing:rack:leaf": 7.0},
    )


def lay(folder: Path, *years: Outcome, mark: str = "mine", most_bytes: int = drawers.MOST_BYTES) -> Path:
    """Put these years into a drawer, in one file; gives the file."""
    before = set(folder.iterdir()) if folder.is_dir() else set()
    drawer = Drawer(folder, most_bytes=most_bytes)
    drawer.keep(mark, [(year.replication, packed(year)) for year in years])
    drawer.lay_in()
    (file,) = set(folder.iterdir()) - before
    return file


def test_a_year_comes_back_as_it_was(tmp_path: Path) -> None:
    """To the last bit, whole numbers as whole numbers; what was not kept is not found."""
    years = [a_year(4), a_year(9)]
    lay(tmp_path / "drawer", *years)
    found = Drawer(tmp_path / "drawer").find("mine", [3, 4, 9])

    assert found == years
    assert repr(found) == repr(years)


def test_a_real_year_comes_back_as_it_was(tmp_path: Path, tiny: Prepared) -> None:
    """Whatever a replication measures can be kept."""
    year = replicate(tiny, 5, 2, PLAN)
    lay(tmp_path / "drawer", year)

    assert repr(Drawer(tmp_path / "drawer").find("mine", [2])) == repr([year])


def test_years_under_another_mark_are_not_taken(tmp_path: Path) -> None:
    """Those of another room, seed, plan or program."""
    lay(tmp_path / "drawer", a_year(4))

    assert Drawer(tmp_path / "drawer").find("other", [4]) == []


@pytest.mark.parametrize(
    "damage",
    [
        lambda content: content[: len(content) // 2],
        lambda content: content[:-1],
        lambda content: b"",
        lambda content: content[:-9] + bytes([content[-9] ^ 1]) + content[-8:],
        lambda content: b"x" + content[1:],
        lambda content: content + b"\0",
        lambda content: content[: len(drawers.HEAD) + drawers.SIZE] + b"{" + content[len(drawers.HEAD) + 9 :],
    ],
    ids=["half of it", "all but a byte", "nothing", "one bit", "another head", "one byte more", "no table"],
)
def test_a_damaged_file_is_thrown_away(tmp_path: Path, damage: Callable[[bytes], bytes]) -> None:
    """Truncated or altered, a file goes and its years are not found; whole files beside it are used."""
    broken = lay(tmp_path / "drawer", a_year(4))
    broken.write_bytes(damage(broken.read_bytes()))
    lay(tmp_path / "drawer", a_year(5))

    assert Drawer(tmp_path / "drawer").find("mine", [4, 5]) == [a_year(5)]
    assert not broken.exists()


def test_a_file_that_wants_something_run_is_refused(tmp_path: Path) -> None:
    """A pickle that names a function, even with a right checksum, is damaged as far as we are concerned."""
    folder = tmp_path / "drawer"
    drawer = Drawer(folder)
    drawer.keep("mine", [(4, zlib.compress(pickle.dumps((4, print))))])
    drawer.lay_in()

    assert Drawer(folder).find("mine", [4]) == []
    assert list(folder.iterdir()) == []


def test_a_half_written_file_of_a_killed_process_is_never_read(tmp_path: Path) -> None:
    """A temporary name is not a file of years."""
    file = lay(tmp_path / "drawer", a_year(4))
    file.rename(file.with_name(f".{file.name}-abc"))

    assert Drawer(tmp_path / "drawer").find("mine", [4]) == []


def test_the_drawer_stays_small(tmp_path: Path) -> None:
    """More than it may hold: what was not asked for the longest goes, and what was half written days ago; what was
    asked for stays."""
    folder = tmp_path / "drawer"
    files = [lay(folder, a_year(i)) for i in range(4)]
    left = folder / f".{files[0].name}-abc"
    left.touch()
    for age, file in enumerate([*files, left]):
        os.utime(file, (0, 1000 - age))
    size = files[0].stat().st_size
    assert Drawer(folder).find("mine", [3]) == [a_year(3)]
    lay(folder, a_year(4), most_bytes=4 * size + size // 2)

    assert sum(file.stat().st_size for file in folder.iterdir()) <= 4 * size
    assert Drawer(folder).find("mine", range(5)) == [a_year(0), a_year(3), a_year(4)]
    assert not left.exists()


def test_another_growsim_may_throw_away_what_is_here(tmp_path: Path) -> None:
    """A file that has gone since it was seen is one whose years are simulated again."""
    file = lay(tmp_path / "drawer", a_year(4))
    drawer = Drawer(tmp_path / "drawer")
    file.unlink()

    assert drawer.find("mine", [4]) == []


def test_several_keep_and_find_at_once(tmp_path: Path) -> None:
    """Many drawers in one folder, laying in, looking and making room at the same time: nothing false is found."""
    folder = tmp_path / "drawer"
    most = 6 * lay(folder, a_year(0)).stat().st_size

    def work(number: int) -> list[Outcome]:
        for i in range(number, number + 20):
            lay_one = Drawer(folder, most_bytes=most)
            lay_one.keep("mine", [(i, packed(a_year(i)))])
            lay_one.lay_in()
        return Drawer(folder).find("mine", range(200))

    with ThreadPoolExecutor(8) as crowd:
        found = list(crowd.map(work, range(0, 160, 20)))

    assert all(year == a_year(year.replication) for years in found for year in years)
    assert any(found)
    lay(folder, a_year(1000), most_bytes=most)
    assert sum(file.stat().st_size for file in folder.iterdir()) <= most


def test_a_drawer_that_cannot_be_written_costs_no_study(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The study goes on, and nothing is said to be kept."""

    def full(path: Path, content: bytes) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(drawers, "write_bytes", full)
    drawer = Drawer(tmp_path / "drawer", keep_seconds=0)
    drawer.keep("mine", [(1, packed(a_year(1)))])

    assert drawer.kept == 0


@pytest.mark.parametrize(
    ("system", "said", "place"),
    [
        ("linux", {"XDG_CACHE_HOME": "/c"}, Path("/c/growsim/years")),
        ("linux", {"HOME": "/home/sam"}, Path("/home/sam/.cache/growsim/years")),
        ("darwin", {"HOME": "/Users/sam"}, Path("/Users/sam/Library/Caches/growsim/years")),
        ("win32", {"LOCALAPPDATA": "/local"}, Path("/local/growsim/years")),
        ("linux", {"GROWSIM_YEARS": "/mine", "XDG_CACHE_HOME": "/c"}, Path("/mine")),
        ("linux", {"GROWSIM_YEARS": "none", "XDG_CACHE_HOME": "/c"}, None),
    ],
)
@pytest.mark.skipif(os.name != "posix", reason="homes of POSIX")
def test_where_it_lies(monkeypatch: pytest.MonkeyPatch, system: str, said: dict[str, str], place: Path | None) -> None:
    """XDG Base Directory Specification 0.8: $XDG_CACHE_HOME, else ~/.cache. Apple, File System Programming Guide:
    Library/Caches. Windows: the local application data. The last two from memory."""
    for name in ("GROWSIM_YEARS", "XDG_CACHE_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name, value in said.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr("sys.platform", system)

    assert usual_place() == place


@pytest.mark.parametrize("workers", [1, 2])
def test_only_what_is_missing_is_lived_through(fakes: ModuleType, tmp_path: Path, workers: int) -> None:
    """Years in the drawer are not rehearsed again; outcomes and their order are those of a study without one."""
    room = {"": fakes.prepared()}
    whole = Rehearsers(1, work=fakes.lucky).run(room, 20, range(9), fakes.PLAN)
    first = Drawer(tmp_path / "drawer", keep_seconds=0)
    with arranged(drawer=first), Rehearsers(1, work=fakes.lucky) as rehearsers:
        rehearsers.run(room, 20, [1, 2, 6], fakes.PLAN)
    first.lay_in()
    again = Drawer(tmp_path / "drawer", keep_seconds=0)
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


def test_what_stands_where_another_stood_is_not_taken_for_it(tiny: Prepared) -> None:
    """Plans made and let go of one after the other lie in the same place of the memory; each has its own mark."""
    assert len({study_mark(replicate, tiny, 5, replace(PLAN, days=days)) for days in range(1, 200)}) == 199


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
