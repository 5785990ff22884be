"""growsim: a simulation of a small charity's indoor hydroponic grow room, for the person who runs it.

`growsim.rehearse`, `growsim.compare` and their like answer from Python, in a notebook for one, what the commands of the
same names answer at the command line; `growsim.study.notebook` and `growsim.study.notebook_plans` show how. Public
names are loaded on first use, so that `import growsim` and `growsim --help` stay quick.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from growsim.version import VERSION

if TYPE_CHECKING:
    from growsim.study.notebook import check, compare, crew, keep, outage, outage_event, rehearse
    from growsim.study.notebook_plans import learn, promise, sheet, sow

__version__ = VERSION

__all__ = [
    "__version__",
    "check",
    "compare",
    "crew",
    "keep",
    "learn",
    "outage",
    "outage_event",
    "promise",
    "rehearse",
    "sheet",
    "sow",
]

# Public name -> the module that has it.
_AT_HOME = {
    "check": "growsim.study.notebook",
    "compare": "growsim.study.notebook",
    "crew": "growsim.study.notebook",
    "keep": "growsim.study.notebook",
    "learn": "growsim.study.notebook_plans",
    "outage": "growsim.study.notebook",
    "outage_event": "growsim.study.notebook",
    "promise": "growsim.study.notebook_plans",
    "rehearse": "growsim.study.notebook",
    "sheet": "growsim.study.notebook_plans",
    "sow": "growsim.study.notebook_plans",
}


def __getattr__(name: str) -> Any:
    if name in _AT_HOME:
        return getattr(import_module(_AT_HOME[name]), name)
    raise AttributeError(f"module 'growsim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
