"""The same numbers in every Python: `sum` of floats adds up otherwise from 3.12 on, so growsim does without it.

Source: "What's New In Python 3.12": "sum() now uses Neumaier summation to improve accuracy and commutativity when
summing floats". `math.fsum` is exactly rounded in all of them. `.ci/run slow` compares whole answers between Pythons.
"""

from __future__ import annotations

import builtins
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest

from growsim.cli.door import main

GROWSIM = str(Path(__file__).parents[2] / "growsim")
TINY = str(Path(__file__).parents[2] / "scenarios" / "tiny")
QUESTIONS = (
    ("rehearse", "--replications", "2", "--days", "63"),
    ("funder", "--replications", "2"),
)


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question[0])
def test_no_floats_are_added_up_by_sum(
    question: tuple[str, ...], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whoever of growsim hands a float to `sum` is named."""
    plain, added = builtins.sum, set()

    def watched(items: Iterable[Any], /, start: Any = 0) -> Any:
        given = [*items, start]
        caller = sys._getframe(1)
        if caller.f_code.co_filename.startswith(GROWSIM) and any(isinstance(each, float) for each in given):
            added.add(f"{caller.f_code.co_filename}:{caller.f_lineno}")
        return plain(given[:-1], start)

    monkeypatch.setattr(builtins, "sum", watched)
    command, *options = question
    assert main([command, TINY, *options, "--workers", "1", "--out", str(tmp_path / "out")]) == 0
    assert sorted(added) == []
