"""The size of things, the public face, and where files may lie."""

from __future__ import annotations

import importlib
from pathlib import Path

import pytest

import growsim

ROOT = Path(__file__).parents[2]
HOUSE = ROOT / "growsim"
LONGEST = 300

TOP = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml", "growsim", "scenarios", "tests", "reports"}
MADE = {"build", "dist", "growsim.egg-info"}  # by installing; never committed


def lines(module: Path) -> int:
    """Lines of a module."""
    return len(module.read_text(encoding="utf-8").splitlines())


def test_modules_are_short() -> None:
    """What is longer than 300 lines is read by nobody."""
    too_long = {
        module.relative_to(HOUSE).as_posix(): lines(module)
        for module in sorted(HOUSE.rglob("*.py"))
        if lines(module) > LONGEST
    }

    assert too_long == {}


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
