"""The table of losses is the only place that names them, and nothing is lost to what has no row."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from growsim.ledger.book import Book
from growsim.ledger.events import Lost
from growsim.ledger.tallies import fates_of
from growsim.report.figures import RECOLORED
from growsim.vocabulary.losses import FATES, LOSSES

GROWSIM = Path(__file__).parents[2] / "growsim"
NOT_MEANT = {("answer.py", "too_small")}  # of a difference between two rooms, not of a plant


def test_no_other_module_types_a_loss() -> None:
    """Keys, labels, figures, series and clauses come from the rows, so that no list of them can fall behind."""
    typed = {words for loss in LOSSES for words in (loss.key, loss.label, loss.measure, loss.series, loss.clause)}
    found = {
        (path.name, node.value)
        for path in GROWSIM.rglob("*.py")
        if path.parent.name != "vocabulary"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and node.value in typed
    }

    assert found == NOT_MEANT


def test_what_has_no_row_is_refused_when_a_year_is_measured() -> None:
    """Even where the plants were sown before the counted window: one sentence that says what is missing."""
    book = Book(-1440)
    book.write(Lost(-700, "a", 1, "lettuce", 3, "mildew", "head", False))

    with pytest.raises(LookupError, match=r"there is no fate 'mildew': give it a row in growsim/vocabulary/losses\.py"):
        fates_of(book, 1440)


def test_colors_of_fates_stay_in_the_dark() -> None:
    """A page replaces some colors in the dark; those of fates are told apart by their shade, and are none of them."""
    assert not {fate.color for fate in FATES} & set(RECOLORED)
