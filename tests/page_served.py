"""The page on a free port of this computer, for tests that ask it as a browser does; and commands that only pretend."""

from __future__ import annotations

import json
import shutil
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import httpx
import uvicorn

from growsim.web.app import make_app
from growsim.web.command import ADDRESS, listen

TINY = Path(__file__).parents[1] / "scenarios" / "tiny"
PATIENCE_SECONDS = 60


def folder_with_tiny(folder: Path) -> Path:
    """A folder of rooms with the tiny room in it."""
    shutil.copytree(TINY, folder / "tiny")
    return folder


@contextmanager
def served(folder: Path, **settings: Any) -> Iterator[httpx.Client]:
    """A client of a page that really listens, gone when the block ends."""
    listening = listen(0)
    port = listening.getsockname()[1]
    config = uvicorn.Config(
        make_app(folder, port=port, **settings), log_level="critical", ws="none", http="h11", loop="asyncio"
    )
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    address = f"http://{ADDRESS}:{port}"
    try:
        wait_for(lambda: server.started)
        with httpx.Client(base_url=address, headers={"Origin": address}, timeout=30, trust_env=False) as client:
            yield client
    finally:
        server.should_exit = True
        thread.join(20)
        listening.close()


def wait_for(condition: Callable[[], Any], seconds: float = PATIENCE_SECONDS) -> Any:
    """Wait until something holds; gives what it gives. Raises AssertionError after so long."""
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        found = condition()
        if found:
            return found
        time.sleep(0.03)
    raise AssertionError(f"it did not come to pass in {seconds} seconds")


def answered(client: httpx.Client, address: str) -> str:
    """Wait until a question is over; gives its state in words."""
    state: dict[str, Any] = wait_for(lambda: (told := client.get(f"{address}/state").json())["over"] and told)
    return str(state["state"])


class Pretender:
    """Stands for a growsim command: at work until told how to end. `begun` has them all, in order."""

    begun: list[Pretender]

    def __init__(self, words: Sequence[str], where: Path, progress: Path, said: Path) -> None:
        self.words, self.progress_file, self.said_file = list(words), progress, said
        self.out = Path(words[list(words).index("--out") + 1])
        self.code: int | None = None
        self.stopped = False
        self.pid = 0
        said.write_text("", encoding="utf-8")
        type(self).begun.append(self)

    def wait(self, seconds: float) -> int | None:
        """As a child does."""
        until = time.monotonic() + min(seconds, 0.02)
        while self.code is None and time.monotonic() < until:
            time.sleep(0.002)
        return self.code

    def stop(self) -> None:
        """It is told to stop, and does."""
        self.stopped = True
        self.code = 130

    def let_go(self) -> None:
        """Nothing to let go of."""

    def kill(self) -> None:
        """It is ended."""
        self.code = -9

    def said(self) -> str:
        """What it said."""
        return self.said_file.read_text(encoding="utf-8")

    # --- what a test makes it do -------------------------------------------------------------------------------

    def write_half(self) -> None:
        """Half an answer lies there."""
        self.out.mkdir(exist_ok=True)
        (self.out / "report.html").write_text("<h1>half</h1>", encoding="utf-8")

    def answer(self, **more: Any) -> None:
        """It ends well."""
        self.write_half()
        summary = {"answer": ["All is well."], "measures": {}, "seed": 1, "days": 7, "start": "filled", **more}
        (self.out / "summary.json").write_text(json.dumps(summary), encoding="utf-8")
        self.code = 0

    def end(self, code: int, said: str = "") -> None:
        """It ends so, having said that."""
        self.said_file.write_text(said, encoding="utf-8")
        self.code = code


def pretender() -> type[Pretender]:
    """A class of pretenders with a list of its own."""
    return type("Pretending", (Pretender,), {"begun": []})
