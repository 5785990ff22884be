"""growsim: a simulation of a small charity's indoor hydroponic grow room, for the person who runs it.

`growsim.rehearse`, `growsim.compare` and their like answer from Python, in a notebook for one, what the commands of the
same names answer at the command line; `growsim.study.notebook` and `growsim.study.notebook_plans` show how. Public
names are loaded on first use, so that `import growsim` and `growsim --help` stay quick.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

from growsim.version import VERSION
from growsim.vocabulary.questions import QUESTIONS

if TYPE_CHECKING:
    from growsim.study.notebook import check as check
    from growsim.study.notebook import compare as compare
    from growsim.study.notebook import crew as crew
    from growsim.study.notebook import keep as keep
    from growsim.study.notebook import outage as outage
    from growsim.study.notebook import outage_event as outage_event
    from growsim.study.notebook import rehearse as rehearse
    from growsim.study.notebook_plans import learn as learn
    from growsim.study.notebook_plans import promise as promise
    from growsim.study.notebook_plans import review as review
    from growsim.study.notebook_plans import sheet as sheet
    from growsim.study.notebook_plans import sow as sow

__version__ = VERSION

_HOMES = ("growsim.study.notebook", "growsim.study.notebook_plans")
_QUESTIONS = tuple(sorted(name for question in QUESTIONS for name in question.python))
__all__ = ["__version__", *_QUESTIONS]  # noqa: PLE0604  (texts, every one of them)


def __getattr__(name: str) -> Any:
    if name in _QUESTIONS:
        for home in map(import_module, _HOMES):
            if hasattr(home, name):
                return getattr(home, name)
    raise AttributeError(f"module 'growsim' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
