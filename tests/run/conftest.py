"""The stand-ins, importable here and in worker processes alike."""

from __future__ import annotations

import importlib
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture
def fakes(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The module of stand-ins for a replication."""
    monkeypatch.syspath_prepend(Path(__file__).parent)
    return importlib.import_module("rehearsal_fakes")
