"""What tests of studies share."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def compared() -> Iterator[ModuleType]:
    """The module with a small comparison, rehearsed once."""
    sys.path.insert(0, str(Path(__file__).parent))
    yield importlib.import_module("compared")
    sys.path.remove(str(Path(__file__).parent))
