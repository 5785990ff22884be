"""No module imports, by way of others, itself: not inside a function, and not for its types alone."""

from __future__ import annotations

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


def imports(folder: Path, package: str) -> dict[str, set[str]]:
    """Module -> the modules of the package that it names in an import, wherever that stands."""
    files = {}
    for path in (folder / package).rglob("*.py"):
        name = ".".join(path.relative_to(folder).with_suffix("").parts)
        files[name.removesuffix(".__init__")] = path
    found: dict[str, set[str]] = {}
    for name, path in files.items():
        named = set()
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                named |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                assert node.module and not node.level, f"{name}: imports by its full name, as the others do"
                for alias in node.names:
                    inside = f"{node.module}.{alias.name}"
                    named.add(inside if inside in files else node.module)
        found[name] = named & set(files)
    return found


def circle(graph: dict[str, set[str]]) -> list[str]:
    """Modules of which each imports the one before it, the first of them twice; [] where there is no such circle."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as found:
        modules: list[str] = found.args[1]
        return modules
    return []


def test_no_module_imports_itself_by_way_of_others() -> None:
    """One can be read, changed and tested without the other, everywhere in the house."""
    assert " is imported by ".join(circle(imports(ROOT, "growsim"))) == ""


@pytest.mark.parametrize(
    "closing",
    [
        "from house.top import TOP",
        "import house.top",
        "from house import top",
        "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from house.top import TOP",
        "def late() -> None:\n    from house import top",
    ],
)
def test_the_check_would_notice(tmp_path: Path, closing: str) -> None:
    """A circle of three is found, however the import that closes it is written; without that import there is none."""
    house = tmp_path / "house"
    house.mkdir()
    (house / "__init__.py").write_text("")
    (house / "top.py").write_text("from house.middle import MIDDLE\n")
    (house / "middle.py").write_text("from house.bottom import BOTTOM\n")
    (house / "bottom.py").write_text("import json\n")
    assert circle(imports(tmp_path, "house")) == []

    (house / "bottom.py").write_text(closing + "\n")
    assert set(circle(imports(tmp_path, "house"))) == {"house.top", "house.middle", "house.bottom"}
