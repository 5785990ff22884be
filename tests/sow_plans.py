"""Sowing plans for the tiny room, found quickly, for tests of what is told of them."""

from __future__ import annotations

import copy
import dataclasses
from pathlib import Path
from typing import Any

from growsim.report.provenance import Provenance
from growsim.scenario.load import LoadedRoom, load_scenario, scenario_from
from growsim.scenario.plan import RunPlan
from growsim.study.sow.answer import SowingPlan
from growsim.study.sow.question import sow

ORIGIN = Provenance("sow", "growsim sow scenarios/tiny --certainty 90", "ab" * 32)
TINY = load_scenario(Path(__file__).parents[1] / "scenarios" / "tiny")


def edited(**changes: Any) -> LoadedRoom:
    """The tiny room with top-level tables replaced."""
    raw = copy.deepcopy(TINY.raw) | changes
    return dataclasses.replace(TINY, raw=raw, scenario=scenario_from(raw, "tiny")[0])


def planned(**changes: Any) -> SowingPlan:
    """A plan for the tiny room with top-level tables replaced, quickly."""
    return sow(edited(**changes), run=RunPlan(84, 56), seed=4, replications=4, trial_years=2)
