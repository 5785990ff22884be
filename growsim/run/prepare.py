"""A scenario with its growth curves worked out once, ready to be rehearsed any number of times."""

from __future__ import annotations

from dataclasses import dataclass

from growsim.growth.crops import Curves, build_curves
from growsim.spec.scenario import Scenario


@dataclass(frozen=True)
class Prepared:
    """A room and its mass curves. Frozen and picklable: it travels to worker processes as it stands."""

    scenario: Scenario
    curves: Curves


def prepare(scenario: Scenario) -> Prepared:
    """Calibrate every crop and integrate its curves.

    Raises ValueError where no growth rate gives the typical days and mass that the room file states.
    """
    return Prepared(scenario, build_curves(scenario))
