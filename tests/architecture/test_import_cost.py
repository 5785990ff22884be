"""What is loaded when: a worker, and `growsim --help`, carry nothing that they do not use."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

HEAVY = ("pandas", "matplotlib", "scipy", "distributed")


def loaded_after(code: str, suspects: tuple[str, ...]) -> set[str]:
    """Those of the suspects that a fresh Python has loaded after running the code."""
    report = f"\nimport sys\nprint(*(name for name in {suspects!r} if name in sys.modules), file=sys.stderr)"
    fresh = subprocess.run(
        [sys.executable, "-c", code + report],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        check=True,
    )
    return set(fresh.stderr.split())


@pytest.mark.parametrize(
    "module",
    [
        "growsim.scenario.load",
        "growsim.growth.crops",
        "growsim.run.replicate",
        "growsim.run.cluster",
        "growsim.run.worker",
        "growsim.run.intervals",
        "growsim.run.rehearse",
        "growsim.run.writing",
        "growsim.run.progress",
    ],
)
def test_nothing_heavy_is_loaded_with_a_rehearsal(module: str) -> None:
    """A worker process imports these; pandas, matplotlib and scipy together would cost it more than a second."""
    assert loaded_after(f"import {module}", HEAVY) == set()


def test_help_loads_nothing_of_weight() -> None:
    """`growsim --help` answers at once: no engine, no validation library, no numbers."""
    code = """
from growsim.__main__ import main
try:
    main(["--help"])
except SystemExit as finished:
    assert not finished.code, finished.code
"""
    suspects = (*HEAVY, "numpy", "pydantic", "simpy", "jinja2", "tqdm", "starlette", "uvicorn")

    assert loaded_after(code, suspects) == set()


def test_the_package_itself_loads_nothing() -> None:
    """`import growsim` loads no other module of the house."""
    assert (
        loaded_after("import growsim", ("growsim.scenario", "growsim.run", "growsim.room", "pydantic", *HEAVY)) == set()
    )


def test_the_check_would_notice() -> None:
    """The way of looking is sound: tables load pandas and are seen to."""
    assert loaded_after("import growsim.run.results", HEAVY) >= {"pandas"}
