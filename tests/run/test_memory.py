"""A worker stays small and does not grow, however many years it lives through."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LIVE = """
import os
import sys
from pathlib import Path
import growsim.run.worker
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
room, plan = prepare(load_scenario(Path(sys.argv[1])).scenario), RunPlan(28)
for i in range(1, 401):
    replicate(room, 1, i, plan)
    if i in (100, 400):
        print(int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6)
"""


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="resident memory is read where Linux says it")
def test_memory_is_modest_and_flat() -> None:
    """Under 120 MB, and three hundred years more add less than 2 MB (10,000: see tests/bench/cost_study.py)."""
    said = subprocess.run(
        [sys.executable, "-c", LIVE, str(ROOT / "scenarios" / "tiny")],
        env={"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    early, late = (float(line) for line in said.split())

    assert 10 < late < 120
    assert late - early < 2
