"""What a finished year depends on, as a short mark: kept years, and other computers, are trusted only where it agrees.

A year is a pure function of (program, room, seed, plan, number). `program_mark` stands for the program and for how this
computer calculates; `study_mark` for everything but the number.
"""

from __future__ import annotations

import dataclasses
import datetime as dt
import math
import platform
from array import array
from collections.abc import Mapping
from functools import lru_cache
from hashlib import sha256
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from growsim.run.prepare import Prepared
    from growsim.run.worker import Replicate
    from growsim.scenario.plan import RunPlan

HOME = Path(__file__).parents[1]
ABOVE = ("cli", "report", "study", "web")  # what no year depends on; on all else it does
BESIDE = ("numpy", "pydantic", "simpy")
MOST_KNOWN = 20_000  # parts of rooms, some MB
_KNOWN: dict[int, tuple[Any, bytes]] = {}
PLAIN = (type(None), bool, int, float, str, bytes, dt.date, dt.time, dt.datetime, dt.timedelta)


@lru_cache(maxsize=1)
def program_mark() -> str:
    """This growsim (its very text), the Python and libraries below it, and the last bits of their arithmetic.

    Processors may round exp and log differently in the last bit; two that do so on any of the values tried differ here.
    """
    mark = sha256(f"Python {platform.python_version()}".encode())
    for package in BESIDE:
        mark.update(f"{package} {version(package)}".encode())
    for module in sorted(HOME.rglob("*.py")):
        name = module.relative_to(HOME)
        if name.parts[0] not in ABOVE:
            mark.update(name.as_posix().encode())
            mark.update(module.read_bytes())
    mark.update(_arithmetic().tobytes())
    return mark.hexdigest()


def study_mark(work: Replicate, prepared: Prepared, seed: int, plan: RunPlan) -> str:
    """Everything an outcome of `work` depends on, but the number of the replication.

    Raises TypeError for a room or plan with something in it that has no definite value.
    """
    mark = _Mark()
    mark.add((program_mark(), f"{work.__module__}.{work.__qualname__}", seed))
    mark.add(prepared)
    mark.add(plan)
    return mark.hexdigest()


class _Mark:
    """Takes in values by what they are, not by how they lie in memory (pickles of equal rooms differ)."""

    def __init__(self) -> None:
        self._hash = sha256()

    def hexdigest(self) -> str:
        """The mark of all that was added."""
        return self._hash.hexdigest()

    def digest(self) -> bytes:
        """The same as bytes."""
        return self._hash.digest()

    def add(self, value: Any) -> None:
        """Take in a plain value, or anything built of them."""
        if isinstance(value, tuple | list):
            if len(value) > 8 and all(type(each) is float for each in value):  # the grid of a curve
                self._say("floats", len(value))
                self._hash.update(array("d", value).tobytes())
                return
            self._say("sequence", len(value))
            for each in value:
                self.add(each)
        elif isinstance(value, Mapping):
            self._say("table", len(value))
            for key, each in value.items():
                self.add(key)
                self.add(each)
        elif not isinstance(value, type) and (dataclasses.is_dataclass(value) or hasattr(value, "model_fields_set")):
            self._hash.update(_part_mark(value))
        elif type(value) in PLAIN:
            self._say(type(value).__name__, repr(value))
        else:
            raise TypeError(f"{type(value).__name__} has no definite value to keep years by")

    def _say(self, kind: str, what: object) -> None:
        self._hash.update(f"{kind} {what}\n".encode())


def _part_mark(value: Any) -> bytes:
    """The mark of a frozen dataclass or model. Rooms that a study compares share most of their parts, and each part is
    gone through once; it is kept with its mark, so that no other can come to stand where it did."""
    known = _KNOWN.get(id(value))
    if known is not None:
        return known[1]
    mark = _Mark()
    mark.add(type(value).__name__)
    if hasattr(value, "model_fields_set"):  # a model of the drawing
        mark.add(vars(value))
    else:
        mark.add({field.name: getattr(value, field.name) for field in dataclasses.fields(value)})
    if len(_KNOWN) >= MOST_KNOWN:
        _KNOWN.clear()
    digest = mark.digest()
    _KNOWN[id(value)] = value, digest
    return digest


def _arithmetic() -> array[float]:
    """Values of the functions a year is worked out with, to the last bit."""
    points = [0.001 + 0.0173 * step for step in range(500)]
    return array("d", (f(x) for f in (math.exp, math.log, math.sqrt, _to_a_power, math.gamma) for x in points))


def _to_a_power(x: float) -> float:
    return math.pow(x, 1.0 / (x + 0.7))
