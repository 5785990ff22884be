"""One growsim command as a process of its own: begun, watched, stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import growsim
from growsim.run.progress import ATTENDED

PATIENCE_SECONDS = 5.0  # between asking a run to stop and making it
MOST_SAID_BYTES = 20_000


class Child:
    """A `growsim` command at work, in a folder, writing its progress and what it says to files."""

    def __init__(self, words: Sequence[str], where: Path, progress: Path, said: Path) -> None:
        house = str(Path(growsim.__file__).parents[1])
        path = os.pathsep.join(part for part in (house, os.environ.get("PYTHONPATH", "")) if part)
        environment = {**os.environ, ATTENDED: str(progress), "PYTHONPATH": path, "PYTHONUTF8": "1"}
        self._said = said
        with said.open("wb") as page:
            # -P: what lies in the folder of rooms is never imported. Own session: Ctrl-C in the terminal is the page's.
            self._process = subprocess.Popen(
                [sys.executable, "-P", "-m", "growsim", *words],
                cwd=where,
                env=environment,
                stdin=subprocess.PIPE,
                stdout=subprocess.DEVNULL,
                stderr=page,
                start_new_session=True,
            )
        self._asked_to_stop: float | None = None

    @property
    def pid(self) -> int:
        """Its number."""
        return self._process.pid

    def wait(self, seconds: float) -> int | None:
        """Wait so long for its end; its exit code, or None where it goes on."""
        try:
            return self._process.wait(seconds)
        except subprocess.TimeoutExpired:
            if self._asked_to_stop is not None and time.monotonic() - self._asked_to_stop > PATIENCE_SECONDS:
                self.kill()
            return None

    def stop(self) -> None:
        """Ask it to stop, as Ctrl-C does; whoever does not listen is ended after some seconds."""
        if self._asked_to_stop is None:
            self._asked_to_stop = time.monotonic()
            if self._process.poll() is None:
                if os.name == "posix":
                    self._process.send_signal(signal.SIGINT)
                self.let_go()

    def let_go(self) -> None:
        """Close its stdin: it ends by itself."""
        if self._process.stdin is not None:
            try:
                self._process.stdin.close()
            except OSError:
                return  # it has ended already

    def kill(self) -> None:
        """End it and everybody it has begun, now."""
        if self._process.poll() is None:
            if os.name == "posix":
                os.killpg(self._process.pid, signal.SIGKILL)
            else:
                self._process.kill()
        self.let_go()

    def said(self) -> str:
        """What it has said on stderr."""
        with self._said.open("rb") as page:
            return page.read(MOST_SAID_BYTES).decode("utf-8", errors="replace").strip()
