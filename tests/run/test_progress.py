"""A progress bar where a person is looking, and nowhere else."""

from __future__ import annotations

import io

import pytest

from growsim.ledger.outcome import Outcome
from growsim.run.progress import SoFar, changed_in_words, in_words, progress_bar, tell_so_far


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """Always."""
        return True


def test_a_terminal_is_shown_how_far_it_is() -> None:
    """What is being done, how much of how much, and a time left."""
    terminal = Terminal()
    with progress_bar("Rehearsing", stream=terminal) as tell:
        for done in range(1, 11):
            tell(done, 10)

    assert "Rehearsing" in terminal.getvalue()
    assert "10 of 10 years, 00:00 left" in terminal.getvalue()


def test_a_total_may_grow() -> None:
    """Going on until precise: the total is not known at the start."""
    terminal = Terminal()
    with progress_bar("Rehearsing", stream=terminal) as tell:
        tell(10, 10)
        tell(30, 30)

    assert "30 of 30 years" in terminal.getvalue()


def test_a_pipe_is_told_nothing() -> None:
    """Logs and scripts are not littered."""
    pipe = io.StringIO()
    with progress_bar("Rehearsing", stream=pipe) as tell:
        tell(1, 2)

    assert pipe.getvalue() == ""


def test_stdout_is_never_touched(capsys: pytest.CaptureFixture[str]) -> None:
    """stdout belongs to --json."""
    with progress_bar("Rehearsing", stream=Terminal()) as tell:
        tell(1, 2)
    with progress_bar("Rehearsing") as tell:
        tell(1, 2)

    assert capsys.readouterr() == ("", "")


def a_year(i: int, **measures: float) -> Outcome:
    """A year with nothing but these figures."""
    return Outcome(i, measures, {}, {}, {})


def test_the_answer_so_far_is_shown_with_its_range() -> None:
    """Beside the bar, from the fifth year on: the range of the mean. 0.90, 0.94, 0.92, 0.96, 0.93: mean 0.93, standard
    error 0.01, t of 4 degrees of freedom 2.776 (printed in every table of t): 0.902 to 0.958."""
    terminal, so_far = Terminal(), SoFar()
    with progress_bar("Rehearsing", stream=terminal) as tell:
        for i, share in enumerate((0.90, 0.94, 0.92, 0.96)):
            so_far.see("", [a_year(i, orders_filled_fraction=share)])
            tell(i + 1, 10)
        assert "so far" not in terminal.getvalue()
        so_far.see("another room", [a_year(4, orders_filled_fraction=0.1)])
        so_far.see("", [a_year(4, orders_filled_fraction=0.93)])
        tell(10, 10)

    assert "so far 90 to 96% of orders filled (5 years)" in terminal.getvalue()


def test_so_far_a_change_brings() -> None:
    """The range of the paired difference, in points; kilograms where nothing is ordered."""
    today = [a_year(i, orders_filled_fraction=share) for i, share in enumerate((0.90, 0.94, 0.92, 0.96))]
    more = [a_year(i, orders_filled_fraction=share) for i, share in enumerate((0.92, 0.96, 0.94, 0.98))]
    heavy = [a_year(i, kg_handed_out_per_week=kg) for i, kg in enumerate((4.0, 4.0))]

    assert changed_in_words(today, {"a": more}) == "+2.0 of 100 orders filled (4 years)"
    assert changed_in_words(heavy, {"a": heavy, "b": heavy}) == "a: +0.0 kg a week; b: +0.0 kg a week (2 years)"
    assert in_words(heavy) == "4.0 kg a week handed out (2 years)"


def test_nobody_looking_is_told_nothing() -> None:
    """Outside a bar, and on a pipe."""
    pipe = io.StringIO()
    tell_so_far("97% of orders filled")
    with progress_bar("Rehearsing", stream=pipe) as tell:
        tell_so_far("97% of orders filled")
        tell(1, 2)

    assert pipe.getvalue() == ""
