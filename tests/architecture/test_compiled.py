"""Machine code gives what Python gives: the same files of a rehearsal, byte for byte.

Slow, for translating and compiling take one to two minutes; skipped where there is no compiler or no mypyc. The extra
`dev` brings all but the compiler: `python -m pytest -m slow tests/architecture/test_compiled.py`.
"""

from __future__ import annotations

import ast
import importlib.util
import os
import shutil
import subprocess
import sys
from importlib.metadata import version
from pathlib import Path

import pytest

from growsim.room import lot

ROOT = Path(__file__).parents[2]
GROWSIM = ROOT / "growsim"
COMPILER = any(shutil.which(name) for name in ("cc", "gcc", "clang", "cl"))
NEEDED = ("mypyc", "setuptools", "pip")

COMPILES = all(importlib.util.find_spec(name) for name in NEEDED) and int(version("setuptools").split(".")[0]) >= 71
ROOM_PARTS = ("board", "clock", "machines", "shelves", "cooler", "reservoir_and_plants")  # the others put in stand-ins
ASKED = (
    ["rehearse", "tiny", "--replications", "12", "--workers", "2", "--out", "years"],
    ["rehearse", "tiny", "--replication", "3", "--trace", "--out", "one year"],
)


@pytest.fixture(scope="module")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with growsim in it, built as machine code from a copy of the sources; the one at work here if it is."""
    if not lot.__file__.endswith(".py"):
        return Path(lot.__file__).parents[2]
    copy, site = tmp_path_factory.mktemp("copy"), tmp_path_factory.mktemp("site")
    shutil.copytree(GROWSIM, copy / "growsim", ignore=shutil.ignore_patterns("__pycache__", "*.so", "*.pyd"))
    shutil.copytree(ROOT / ".build", copy / ".build")
    shutil.copy(ROOT / "pyproject.toml", copy)
    options = ["--no-deps", "--no-build-isolation", "--target", str(site), "--config-settings", "compiled=yes"]
    subprocess.run([sys.executable, "-m", "pip", "install", "-q", *options, "."], cwd=copy, check=True)

    assert not [*copy.rglob("*.so"), *copy.rglob("*.pyd")]  # the sources are left as they were
    return site


def asked(growsim: Path, where: Path, words: list[str]) -> str:
    """What a Python that finds growsim in that folder says to some words; it works in the folder `where`."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(growsim), *sys.path])}
    done = subprocess.run(
        [sys.executable, "-P", *words], cwd=where, env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout


@pytest.mark.slow
@pytest.mark.skipif(not COMPILER, reason="there is no C compiler here")
@pytest.mark.skipif(not COMPILES, reason="compiling wants pip, mypyc and setuptools of 2024 or later")
def test_the_same_files(compiled: Path, tmp_path: Path) -> None:
    """Years lived through by two workers, and the log book of one year, as files and on the screen."""
    said, written = [], []
    for growsim, kind in ((compiled, "machine code"), (ROOT, "Python")):
        where = tmp_path / kind
        where.mkdir()
        shutil.copytree(ROOT / "scenarios" / "tiny", where / "tiny")
        from_where = asked(growsim, where, ["-c", "import growsim.room.lot as lot; print(lot.__file__)"]).strip()
        assert from_where.endswith(".py") == (kind == "Python")
        said.append([asked(growsim, where, ["-m", "growsim", *words]) for words in ASKED])
        written.append({path.relative_to(where): path.read_bytes() for path in where.rglob("*") if path.is_file()})

    assert said[0] == said[1]
    assert len(written[0]) > 10
    assert written[0] == written[1]


@pytest.mark.slow
@pytest.mark.skipif(not COMPILER, reason="there is no C compiler here")
@pytest.mark.skipif(not COMPILES, reason="compiling wants pip, mypyc and setuptools of 2024 or later")
def test_what_the_room_is_asked_elsewhere(compiled: Path) -> None:
    """The tests of the room's parts hold for machine code too: what comes seldom in a year is asked there."""
    parts = [str(ROOT / "tests" / "room" / f"test_{part}.py") for part in ROOM_PARTS]

    assert " passed in " in asked(compiled, ROOT, ["-m", "pytest", "-p", "no:xdist", "-p", "no:cacheprovider", *parts])


def trees() -> list[tuple[Path, ast.Module]]:
    """Every module of the packages that are compiled, as Python reads it."""
    paths = sorted(path for room in ("room", "growth", "ledger", "chance") for path in (GROWSIM / room).glob("*.py"))
    return [(path, ast.parse(path.read_text("utf-8"))) for path in paths]


def test_sums_are_left_to_python() -> None:
    """mypyc adds up a generator's terms itself, one by one; from Python 3.12 on `sum` is more exact than that.

    (What's New In Python 3.12: "sum() now uses Neumaier summation".) A list goes to Python's own `sum`.
    """
    for path, tree in trees():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "sum":
                assert not isinstance(node.args[0], ast.GeneratorExp), f"{path.name}, line {node.lineno}"


def test_types_of_a_dataclass_are_there_when_it_runs() -> None:
    """Machine code looks up the type of each field as a dataclass is made: one imported for mypy alone is not there."""
    for path, tree in trees():
        for_mypy = {
            alias.asname or alias.name
            for node in tree.body
            if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"
            for line in ast.walk(node)
            if isinstance(line, ast.ImportFrom)
            for alias in line.names
        }
        for made in ast.walk(tree):
            if isinstance(made, ast.ClassDef) and any("dataclass" in ast.unparse(d) for d in made.decorator_list):
                fields = [line.annotation for line in made.body if isinstance(line, ast.AnnAssign)]
                used = {name.id for field in fields for name in ast.walk(field) if isinstance(name, ast.Name)}
                assert not used & for_mypy, f"{path.name}: {made.name}"
