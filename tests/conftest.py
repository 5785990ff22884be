"""What all tests share: the fixture that checks a published figure, and the table it makes."""

from __future__ import annotations

import os
import signal
from collections.abc import Iterator
from typing import Any

import pytest
from checks_table import CHECKED, COMMAND, Line, PublishedChecks, files_that_check, out_of_date, rendered, with_block

LINES = pytest.StashKey[list[Line]]()
LEFT_OUT = pytest.StashKey[list[str]]()
SAID = pytest.StashKey[list[str]]()


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--write-checks`."""
    parser.addoption("--write-checks", action="store_true", help="write the table of published checks")


def pytest_configure(config: pytest.Config) -> None:
    """Nothing checked yet; and Ctrl-C is heard, by what tests begin too, even where a script began these deaf to it."""
    signal.signal(signal.SIGINT, signal.default_int_handler)
    os.environ["GROWSIM_YEARS"] = "none"  # a test lives its own years; those about the drawer name one of their own
    config.stash[LINES], config.stash[LEFT_OUT], config.stash[SAID] = [], [], []


@pytest.fixture
def published_check(request: pytest.FixtureRequest) -> Iterator[PublishedChecks]:
    """Check a figure against a published one; each check is a line of the table."""
    file, line, _ = request.node.location
    case = getattr(request.node, "callspec", None)
    place = line * 1000 + sum(case.indices.values()) if case else line * 1000
    checks = PublishedChecks(file.replace("\\", "/"), place)
    yield checks
    request.config.stash[LINES].extend(checks.lines)


def pytest_deselected(items: list[pytest.Item]) -> None:
    """A run that leaves tests out is not complete."""
    for item in items:
        if item.get_closest_marker("slow") is None:
            item.config.stash[LEFT_OUT].append(item.nodeid)


@pytest.hookimpl(optionalhook=True)
def pytest_testnodedown(node: Any, error: object) -> None:
    """With several workers: gather what each has checked."""
    made = getattr(node, "workeroutput", {})
    for place, cells in made.get("checks", ()):
        node.config.stash[LINES].append(Line(tuple(place), tuple(cells)))
    node.config.stash[LEFT_OUT].extend(made.get("left_out", ()))


def pytest_sessionfinish(session: pytest.Session, exitstatus: int) -> None:
    """Write the table, or hold it against what was checked."""
    config = session.config
    lines = config.stash[LINES]
    if hasattr(config, "workeroutput"):
        config.workeroutput["checks"] = [(list(line.place), list(line.cells)) for line in lines]
        config.workeroutput["left_out"] = config.stash[LEFT_OUT]
        return
    sound = exitstatus == pytest.ExitCode.OK
    complete = sound and not config.stash[LEFT_OUT] and {line.place[0] for line in lines} == files_that_check()
    if not lines:
        return
    text = CHECKED.read_text(encoding="utf-8")
    if config.getoption("--write-checks"):
        if complete:
            CHECKED.write_text(with_block(text, rendered(lines)), encoding="utf-8")
        else:
            config.stash[SAID].append("The table was not written: that takes a run in which every check passes.")
            session.exitstatus = pytest.ExitCode.TESTS_FAILED
    elif sound and (faults := out_of_date(lines, text, complete=complete)):
        config.stash[SAID] += [f"tests/published/CHECKED.md is out of date; write it again: {COMMAND}", *faults]
        session.exitstatus = pytest.ExitCode.TESTS_FAILED


def pytest_terminal_summary(terminalreporter: Any, config: pytest.Config) -> None:
    """Say what became of the table."""
    for line in config.stash[SAID]:
        terminalreporter.line(line, red=True)
