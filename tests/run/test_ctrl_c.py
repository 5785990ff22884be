"""Ctrl-C stops within a second, says so once, and leaves no process behind; nor does a parent that is killed."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals to a process group are POSIX")

SCRIPT = """
import sys, time
from pathlib import Path
import rehearsal_fakes as fakes
from growsim.errors import Interrupted
from batches import run_batch

if __name__ == "__main__":
    try:
        run_batch(fakes.prepared(sys.argv[1]), 20, range(40), fakes.PLAN, workers=int(sys.argv[2]), work=fakes.endless)
    except Interrupted as stopped:
        print(stopped, flush=True)
        sys.exit(7)
"""


@pytest.fixture
def start(tmp_path: Path) -> Iterator[Callable[[int], tuple[subprocess.Popen[str], list[int]]]]:
    """Start a rehearsal that would last for minutes; give its process and those of its workers once all are at work."""
    begun: list[subprocess.Popen[str]] = []

    def starter(workers: int) -> tuple[subprocess.Popen[str], list[int]]:
        script = tmp_path / "rehearse_for_long.py"
        script.write_text(SCRIPT)
        notes = tmp_path / "notes"
        notes.mkdir()
        (tmp_path / "temporary").mkdir()
        process = subprocess.Popen(
            [sys.executable, str(script), str(notes), str(workers)],
            env={
                **os.environ,
                "PYTHONPATH": os.pathsep.join([str(Path(__file__).parent), *sys.path]),
                "TMPDIR": str(tmp_path / "temporary"),
            },
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            start_new_session=True,  # a group of its own, which Ctrl-C in a terminal would reach as a whole
        )
        begun.append(process)
        _wait(lambda: len(list(notes.iterdir())) == workers or process.poll() is not None, seconds=60)
        return process, [int(note.name) for note in notes.iterdir()]

    yield starter
    for process in begun:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


@pytest.mark.parametrize("workers", [1, 2])
def test_ctrl_c_stops_within_a_second(
    start: Callable[[int], tuple[subprocess.Popen[str], list[int]]], workers: int, tmp_path: Path
) -> None:
    """One sentence, no traceback from anyone, within a second (more on a busy machine), although every replication had
    a minute to go."""
    process, at_work = start(workers)
    share = share_of_a_core()
    pressed = time.monotonic()
    os.killpg(process.pid, signal.SIGINT)
    said = process.stdout.readline()  # type: ignore[union-attr]
    waited = time.monotonic() - pressed
    _, complaints = process.communicate(timeout=60)

    assert workers == len(at_work)
    assert said == "Stopped before the end; nothing was kept.\n"
    assert waited < 1.0 / share
    assert complaints == ""
    assert process.returncode == 7
    assert _wait(lambda: not any(_is_alive(worker) for worker in at_work), seconds=30)
    assert list((tmp_path / "temporary").iterdir()) == []


def test_workers_do_not_outlive_a_killed_parent(
    start: Callable[[int], tuple[subprocess.Popen[str], list[int]]], tmp_path: Path
) -> None:
    """Where the system kills the parent outright, its workers notice, tidy up and end."""
    process, at_work = start(2)
    process.kill()
    process.wait()

    assert len(at_work) == 2
    assert _wait(lambda: not any(_is_alive(worker) for worker in at_work), seconds=30)
    assert list((tmp_path / "temporary").iterdir()) == []


def share_of_a_core() -> float:
    """How much of a processor a process gets here now: 1 on a machine with nothing else to do."""
    began, worked = time.monotonic(), time.process_time()
    while time.process_time() - worked < 0.05:
        pass
    return min(1.0, 0.05 / (time.monotonic() - began))


def _is_alive(process: int) -> bool:
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    # A process that has ended but has not been collected by its (dead) parent's heir is no longer at work.
    status = Path(f"/proc/{process}/stat")
    return not (status.exists() and status.read_text().rpartition(")")[2].split()[0] == "Z")


def _wait(condition: Callable[[], bool], seconds: float) -> bool:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        if condition():
            return True
        time.sleep(0.02)
    return condition()
