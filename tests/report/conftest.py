"""Made-up rehearsals, and the report of one of them written once for all tests that only read it."""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from figure_boxes import checked
from sow_plans import planned

from growsim.report import figures
from growsim.report.provenance import Provenance
from growsim.report.rehearse.answer import write_rehearsal
from growsim.study.sow.answer import SowingPlan

ORIGIN = Provenance("rehearse", "growsim rehearse scenarios/tiny --seed 7", "ab" * 32)


@pytest.fixture(scope="session", autouse=True)
def every_figure_is_looked_at() -> Iterator[None]:
    """Whatever report a test here writes: no text of its figures touches another, is cut off or too small."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(figures, "save", checked(figures.save))
        yield


@pytest.fixture(scope="session")
def made_up() -> Iterator[ModuleType]:
    """The module that makes up outcomes."""
    sys.path.insert(0, str(Path(__file__).parent))
    yield importlib.import_module("made_up")
    sys.path.remove(str(Path(__file__).parent))


@pytest.fixture
def origin() -> Provenance:
    """What a report says of its making."""
    return ORIGIN


@pytest.fixture(scope="session")
def rehearsed(made_up: ModuleType) -> Any:
    """A made-up year of the tiny room, twelve times over."""
    return made_up.rehearsal(replications=12)


@pytest.fixture(scope="session")
def report_folder(rehearsed: Any, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report of `rehearsed`, for tests that only read it."""
    out = tmp_path_factory.mktemp("reports") / "tiny-rehearse"
    write_rehearsal(rehearsed, out, provenance=ORIGIN)
    return out


@pytest.fixture
def summary(report_folder: Path) -> dict[str, Any]:
    """summary.json as read back."""
    found: dict[str, Any] = json.loads((report_folder / "summary.json").read_text(encoding="utf-8"))
    return found


@pytest.fixture
def page(report_folder: Path) -> str:
    """report.html as read back."""
    return (report_folder / "report.html").read_text(encoding="utf-8")


@pytest.fixture
def write(tmp_path: Path) -> Callable[[Any], tuple[str, dict[str, Any]]]:
    """Write a rehearsal's report; give its page and summary."""

    def write_it(rehearsal: Any) -> tuple[str, dict[str, Any]]:
        out = tmp_path / "report"
        given = write_rehearsal(rehearsal, out, provenance=ORIGIN)
        return (out / "report.html").read_text(encoding="utf-8"), given

    return write_it


@pytest.fixture(scope="session")
def plan() -> SowingPlan:
    """The tiny room's plan."""
    return planned()


@pytest.fixture(scope="session")
def short() -> SowingPlan:
    """More heads ordered than the shelves can hold, and leaf at an hour nothing harvested can reach."""
    orders = [{"crop": "small head", "kg": 9.0}]
    early = {"name": "early", "weekday": "wed", "hour": 14, "orders": [{"crop": "cutting leaf", "kg": 1}]}
    return planned(partners=[{"name": "pantry", "weekday": "thu", "hour": 14, "orders": orders}, early])
