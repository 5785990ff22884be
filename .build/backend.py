"""Builds the package: pure Python as it stands, or, asked for by `--config-settings compiled=yes`, its busiest modules
as machine code (mypyc; wants a C compiler). setuptools with these two things added; pip finds it in pyproject.toml.
"""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from setuptools import build_meta, setup
from setuptools.command.sdist import sdist

COMPILED = (
    "growsim/room/*.py",
    "growsim/growth/*.py",
    "growsim/ledger/*.py",
    "growsim/chance/*.py",
    "growsim/scenario/calendar.py",
    "growsim/units.py",
)  # what a year is lived through and measured with; see README.md beside this file
AS_THEY_STAND = (
    "growsim/*/__init__.py",
    "growsim/growth/canopy.py",  # once a study, not once a year
    "growsim/growth/carbon.py",
    "growsim/growth/crops.py",
    "growsim/growth/pace.py",
    "growsim/growth/plan_air.py",
    "growsim/ledger/catalogue.py",
    "growsim/ledger/events.py",  # named tuples: C already
    "growsim/ledger/outcome.py",  # goes from worker to parent: plain dataclasses pack themselves
)
GCC_AND_CLANG = (
    "-ffp-contract=off",  # a * b + c is rounded twice in Python: so it is here, on every processor
    "-fvisibility=hidden",  # nobody else calls our functions by name: they call one another straight
)
WANTED_TO_COMPILE = ("mypy[mypyc]>=1.11", "pydantic>=2.6", "simpy>=4.1,<4.2")  # mypyc reads the types of what is used


class _Sdist(sdist):
    """A source archive that can itself be built: with this file in it."""

    def make_distribution(self) -> None:
        self.filelist.append(Path(__file__).relative_to(Path.cwd()).as_posix())
        super().make_distribution()


class Backend(build_meta._BuildMetaBackend):
    """setuptools' own; `machine_code`: what to compile in the build at hand."""

    def __init__(self) -> None:
        super().__init__()
        self.options: dict[str, Any] = {}

    def run_setup(self, setup_script: str = "setup.py") -> None:
        """What a setup.py would do."""
        setup(cmdclass={"sdist": _Sdist}, **self.options)

    def get_requires_for_build_wheel(self, config_settings: Mapping[str, Any] | None = None) -> list[str]:
        """What must be there to build."""
        found = super().get_requires_for_build_wheel(config_settings)
        return [*found, *WANTED_TO_COMPILE] if _is_compiled(config_settings) else found

    def build_wheel(
        self,
        wheel_directory: str,
        config_settings: Mapping[str, Any] | None = None,
        metadata_directory: str | None = None,
    ) -> str:
        """Build it; machine code in a passing folder, so that the sources stay what runs here."""
        if not _is_compiled(config_settings):
            return super().build_wheel(wheel_directory, config_settings, metadata_directory)
        Path("build").mkdir(exist_ok=True)
        with TemporaryDirectory(dir="build") as folder:
            here = Path(folder).relative_to(Path.cwd()) if Path(folder).is_absolute() else Path(folder)
            self.options = {"ext_modules": machine_code(here), "options": {"build": {"build_base": str(here / "lib")}}}
            return super().build_wheel(wheel_directory, config_settings, metadata_directory)


def machine_code(folder: Path) -> list[Any]:
    """The modules to compile, translated to C in that folder."""
    from mypyc.build import mypycify  # noqa: PLC0415  # there only where it was asked for

    left_out = {path for pattern in AS_THEY_STAND for path in Path().glob(pattern)}
    modules = sorted(str(path) for pattern in COMPILED for path in Path().glob(pattern) if path not in left_out)
    options = ["--follow-imports=silent"]  # what is not compiled need not have its stubs here
    extensions: list[Any] = mypycify(
        [*options, *modules], opt_level="2", target_dir=folder.as_posix(), group_name="growsim"
    )
    if sys.platform != "win32":
        for extension in extensions:
            extension.extra_compile_args = [*extension.extra_compile_args, *GCC_AND_CLANG]
    return extensions


def _is_compiled(config_settings: Mapping[str, Any] | None) -> bool:
    """Whether `compiled=yes` was asked for. Raises ValueError for words other than yes and no."""
    word = str((config_settings or {}).get("compiled", "no")).lower()
    if word not in {"yes", "no"}:
        raise ValueError(f"compiled={word}: give compiled=yes or compiled=no")
    return word == "yes"


_backend = Backend()
get_requires_for_build_wheel = _backend.get_requires_for_build_wheel
get_requires_for_build_sdist = _backend.get_requires_for_build_sdist
get_requires_for_build_editable = _backend.get_requires_for_build_editable
prepare_metadata_for_build_wheel = _backend.prepare_metadata_for_build_wheel
prepare_metadata_for_build_editable = _backend.prepare_metadata_for_build_editable
build_wheel = _backend.build_wheel
build_sdist = _backend.build_sdist
build_editable = _backend.build_editable
