"""A progress bar where a person is looking, and nowhere else."""

from __future__ import annotations

import io

import pytest

from growsim.run.progress import progress_bar


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
