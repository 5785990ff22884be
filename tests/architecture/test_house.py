"""The size of things, the public face, and where files may lie."""

from __future__ import annotations

import importlib
from fnmatch import fnmatch
from pathlib import Path

import pytest

import growsim

ROOT = Path(__file__).parents[2]
HOUSE = ROOT / "growsim"
LONGEST, SHORTEST = 400, 60

LONG: dict[str, str] = {}  # module -> why it stays in one
SHORT = {
    "__main__.py": "the way in: puts the page on top of the command line",
    "chance/fixed.py": "luck switched off, which nobody who reads luck needs to read",
    "cli/*.py": "a command each",
    "errors.py": "below all floors",
    "growth/harvest.py": "one distribution, held against its handbook by itself",
    "growth/solution.py": "the balance of salt, which knows nothing of plants",
    "ledger/outcome.py": "goes from worker to parent, so it is not compiled with the rest",
    "report/crop_words.py": "shared by three questions",
    "report/model_text.py": "the model in words, changed with the model",
    "report/rehearse/day_by_day.py": "a file format: written by the report, read by the page",
    "run/prepare.py": "what is sent to workers, apart from the work",
    "ledger/aftermath.py": "what failures leave behind, read by the studies of outages alone",
    "study/crew/years.py": "the only one there that has years rehearsed; shared by search and proof",
    "scenario/begin.py": "writes a text, of which the checks that know the starter know nothing",
    "scenario/orders.py": "standing orders as a list, which the tables of a room file know nothing of",
    "scenario/plan.py": "how a rehearsal is run, apart from the room",
    "scenario/scenario.py": "the whole of the room file, made of all its tables",
    "version.py": "one fact, below all floors; read by the installer too",
    "vocabulary/*.py": "a table each",
}

TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "growsim", "scenarios", "tests", "reports"}
MADE = {"build", "dist", "growsim.egg-info"}  # by installing; never committed


def lines(module: Path) -> int:
    """Lines of a module."""
    return len(module.read_text(encoding="utf-8").splitlines())


def sizes() -> dict[str, int]:
    """Lines of every module but the signs on the doors."""
    return {
        module.relative_to(HOUSE).as_posix(): lines(module)
        for module in sorted(HOUSE.rglob("*.py"))
        if module.name != "__init__.py"
    }


def test_long_modules_had_a_second_look() -> None:
    """What is longer than 400 lines is one thing, or is taken apart; those that stay are named, with why."""
    assert {name for name, length in sizes().items() if length > LONGEST} == set(LONG)


def test_short_modules_have_a_reason() -> None:
    """What is shorter than 60 lines stands by itself for a reason, or is put to what it belongs to."""
    short = {name for name, length in sizes().items() if length < SHORTEST}

    assert {name for name in short if not any(fnmatch(name, known) for known in SHORT)} == set()
    assert {known for known in SHORT if not any(fnmatch(name, known) for name in short)} == set()


def test_public_names_are_there() -> None:
    """Every name in `growsim.__all__` can be had, and is listed in order."""
    names = list(getattr(growsim, "__all__", []))

    assert [name for name in names if not hasattr(growsim, name)] == []
    assert names == sorted(set(names))


@pytest.mark.parametrize("package", sorted(path.parent.name for path in HOUSE.glob("*/__init__.py")))
def test_every_room_says_what_belongs_in_it(package: str) -> None:
    """The package's docstring is the sign on its door."""
    assert importlib.import_module(f"growsim.{package}").__doc__


def test_nothing_else_lies_at_the_top() -> None:
    """Eight names, dotfiles and nothing else."""
    strays = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")} - TOP - MADE

    assert strays == set()


def test_every_folder_of_tests_is_collected() -> None:
    """A folder with Python in it has tests that pytest finds; no name is spelled so that it is passed by."""
    modelled = ROOT / "tests" / "reference" / "plain_room"  # a second model that tests use; no tests itself
    folders = {path.parent for path in (ROOT / "tests").rglob("*.py")} - {ROOT / "tests", modelled}
    silent = sorted(folder.name for folder in folders if not list(folder.glob("test_*.py")))
    passed_by = sorted(path.name for path in (ROOT / "tests").rglob("*_test.py"))
    packages = sorted(path.parent.name for path in (ROOT / "tests").rglob("__init__.py") if path.parent != modelled)

    assert (silent, passed_by, packages) == ([], [], [])


def test_every_test_file_has_tests_and_checks() -> None:
    """A file without a test, or without one thing asserted or refused, checks nothing."""
    idle = [
        path.name
        for path in sorted((ROOT / "tests").rglob("test_*.py"))
        if "def test_" not in (text := path.read_text(encoding="utf-8"))
        or not any(word in text for word in ("assert ", "pytest.raises", ".assert_", "published_check."))
    ]

    assert idle == []
