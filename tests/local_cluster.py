"""A Dask scheduler and workers on this machine, each a process of its own."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

TESTS = Path(__file__).parent
LONGEST_SECONDS = 60  # to start on a busy machine; usually two or three


class Cluster:
    """A scheduler and its workers on this machine."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.begun: list[subprocess.Popen[bytes]] = []
        note = folder / "scheduler.json"
        self.start("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-jupyter", "--scheduler-file", str(note))
        try:
            wait_for(lambda: _whole(note))
        except AssertionError:
            self.end()
            raise
        self.address: str = _whole(note)["address"]

    def start(self, what: str, *words: str, **environment: str) -> subprocess.Popen[bytes]:
        """Start `dask scheduler` or `dask worker`."""
        paths = os.pathsep.join([str(TESTS / "run"), str(TESTS.parent), *sys.path])
        with (self.folder / f"{what}-{len(self.begun)}.log").open("wb") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", "dask", what, *words, "--no-dashboard"],
                env={**os.environ, "PYTHONPATH": paths, **environment},
                cwd=self.folder,
                stdout=log,
                stderr=log,
            )
        self.begun.append(process)
        return process

    def worker(self, **environment: str) -> subprocess.Popen[bytes]:
        """One more worker, of one thread, with nobody to start it again when it dies."""
        return self.start("worker", self.address, "--nthreads", "1", "--no-nanny", **environment)

    def end(self) -> None:
        """All of them."""
        for process in self.begun:
            process.kill()
        for process in self.begun:
            process.wait()


def _whole(note: Path) -> dict[str, str]:
    """What the scheduler wrote of itself; nothing as long as the file is not there, or not yet written to its end."""
    try:
        return dict(json.loads(note.read_text("utf-8")))
    except (FileNotFoundError, json.JSONDecodeError):
        return {}


def wait_for(condition: Callable[[], object]) -> None:
    """Until it holds."""
    until = time.monotonic() + LONGEST_SECONDS
    while not condition():
        assert time.monotonic() < until, "the cluster did not start in time"
        time.sleep(0.02)
