"""Rooms of the house point one way, and heavy packages stay where they belong."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
HOUSE = ROOT / "growsim"

# Which modules may import a package at all (paths from growsim/; a folder allows everything in it).
AT_HOME = {
    "simpy": ("room/",),
    "matplotlib": ("report/figures",),
    "pandas": ("run/results.py", "study/", "report/"),
    "scipy": ("run/intervals.py", "run/warmup.py", "study/"),
    "tqdm": ("run/progress.py",),
    "distributed": ("run/cluster.py",),
    "jinja2": ("report/", "web/"),
    "starlette": ("web/",),
    "uvicorn": ("web/server.py",),
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


def test_the_import_contracts_hold() -> None:
    """The contracts of pyproject.toml, by import-linter: every arrow points down, only the room knows SimPy."""
    checked = subprocess.run(
        [sys.executable, "-c", LINT],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        check=False,
    )

    assert checked.returncode == 0, checked.stdout + checked.stderr
    assert "kept, 0 broken" in checked.stdout


@pytest.mark.parametrize("package", AT_HOME)
def test_a_heavy_package_is_imported_only_at_home(package: str) -> None:
    """Who needs a heavy package has a room for it; nobody else touches it, not even inside a function."""
    strays = [
        name
        for module in sorted(HOUSE.rglob("*.py"))
        if package in imported(module)
        and not (name := module.relative_to(HOUSE).as_posix()).startswith(AT_HOME[package])
    ]

    assert strays == []


@pytest.mark.parametrize("package", ["growth", "scenario", "ledger"])
def test_nothing_is_left_to_unnamed_luck(package: str) -> None:
    """Biology, drawing and log book draw nothing: no random generator is imported there."""
    strays = [module.name for module in (HOUSE / package).rglob("*.py") if imported(module) & {"random", "secrets"}]

    assert strays == []
