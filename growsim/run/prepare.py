"""A scenario with its growth curves worked out once, ready to be rehearsed any number of times."""

from __future__ import annotations

from dataclasses import dataclass

from growsim.errors import InputError
from growsim.growth.crops import Curves, build_curves
from growsim.spec.scenario import Scenario


@dataclass(frozen=True)
class Prepared:
    """A room and its mass curves. Frozen and picklable: it travels to worker processes as it stands."""

    scenario: Scenario
    curves: Curves


def prepare(scenario: Scenario) -> Prepared:
    """Calibrate every crop and integrate its curves.

    Raises InputError where no growth rate gives the typical days and mass that the room file states.
    """
    try:
        return Prepared(scenario, build_curves(scenario))
    except ValueError as impossible:  # growth knows no files and speaks in plain ValueErrors, each a sentence
        raise InputError(str(impossible)) from impossible
