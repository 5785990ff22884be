"""Rooms of the house point one way, and heavy packages stay where they belong."""

from __future__ import annotations

import ast
import os
import shutil
import subprocess
import sys
from fnmatch import fnmatch
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HOUSE = ROOT / "growsim"

# Which modules may import a package at all: paths from growsim/, with * for anything.
AT_HOME = {
    "simpy": ("room/*",),
    "matplotlib": ("report/figures.py", "report/*/figures.py"),
    "pandas": ("run/results.py", "study/*", "report/*"),
    "scipy": ("run/intervals.py", "run/warmup.py", "study/*"),
    "tqdm": ("run/progress.py",),
    "distributed": ("run/cluster.py",),
    "jinja2": ("report/*", "web/*"),
    "starlette": ("web/*",),
    "uvicorn": ("web/command.py",),
}

LINT = "import sys; from importlinter.cli import lint_imports; sys.exit(lint_imports(no_cache=True, no_logo=True))"


def imported(module: Path) -> set[str]:
    """Top names of everything a module imports, at its head or inside a function; not what only its types name."""
    names: set[str] = set()
    waiting: list[ast.AST] = [ast.parse(module.read_text(encoding="utf-8"))]
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING"):
            waiting.extend(node.orelse)
            continue
        if isinstance(node, ast.Import):
            names.update(alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            names.add(node.module.partition(".")[0])
        waiting.extend(ast.iter_child_nodes(node))
    return names


# Imports that are not allowed, one against each contract and two more: module, and what it would import.
FORBIDDEN = (
    ("growsim.scenario.names", "growsim.run.intervals"),  # from a floor below to one above
    ("growsim.growth.stress", "growsim.chance.streams"),  # between siblings
    ("growsim.cli.options", "growsim.web.folder"),  # from the command line to the page
    ("growsim.study.sow.score", "growsim.study.crew.goals"),
    ("growsim.report.week.words", "growsim.report.crew.tables"),
    ("growsim.scenario.toml.lines", "growsim.scenario.checks.crew"),
    ("growsim.run.worker", "simpy"),
    ("growsim.report.page", "growsim.room.clock"),
)


def linted(folder: Path) -> tuple[bool, str]:
    """Whether the contracts of a folder's pyproject.toml hold for its growsim, and what import-linter says."""
    checked = subprocess.run(
        [sys.executable, "-c", LINT],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": os.pathsep.join([str(folder), *sys.path])},
        capture_output=True,
        text=True,
        check=False,
    )
    return checked.returncode == 0, checked.stdout + checked.stderr


def test_the_import_contracts_hold() -> None:
    """The contracts of pyproject.toml: every arrow points down, siblings are strangers, only the room knows SimPy."""
    hold, said = linted(ROOT)

    assert hold, said
    assert "kept, 0 broken" in said


def test_the_contracts_would_be_seen_to_break(tmp_path: Path) -> None:
    """In a copy of the house with an import against each contract, each is broken, and every such import is named."""
    shutil.copytree(HOUSE, tmp_path / "growsim", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    for module, imports in FORBIDDEN:
        path = tmp_path.joinpath(*module.split(".")).with_suffix(".py")
        path.write_text(path.read_text(encoding="utf-8") + f"\nimport {imports}\n", encoding="utf-8")

    hold, said = linted(tmp_path)

    assert not hold
    assert "Contracts: 0 kept" in said
    assert [pair for pair in FORBIDDEN if f"{pair[0]} -> {pair[1]}" not in said] == []


@pytest.mark.parametrize("package", AT_HOME)
def test_a_heavy_package_is_imported_only_at_home(package: str) -> None:
    """Who needs a heavy package has a room for it; nobody else touches it, not even inside a function."""
    strays = [
        name
        for module in sorted(HOUSE.rglob("*.py"))
        if package in imported(module)
        and not any(fnmatch(name := module.relative_to(HOUSE).as_posix(), home) for home in AT_HOME[package])
    ]

    assert strays == []


@pytest.mark.parametrize("package", ["growth", "scenario", "ledger"])
def test_nothing_is_left_to_unnamed_luck(package: str) -> None:
    """Biology, drawing and log book draw nothing: no random generator is imported there."""
    strays = [module.name for module in (HOUSE / package).rglob("*.py") if imported(module) & {"random", "secrets"}]

    assert strays == []
