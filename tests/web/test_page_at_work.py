"""The page while growsim is at work in the background: progress, stop, crowds, and a page that is killed."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest
from page_served import answered, folder_with_tiny, served, wait_for

from growsim.run.progress import ATTENDED
from growsim.web.runs import child as runs_child

LONG = {"replications": "50000"}
FIRST, SECOND = "/rooms/tiny/answers/0001-rehearse", "/rooms/tiny/answers/0002-rehearse"


@pytest.fixture
def client(tmp_path: Path) -> Iterator[httpx.Client]:
    """A page over the tiny room."""
    with served(folder_with_tiny(tmp_path), workers=1) as client:
        yield client


def at_work(client: httpx.Client, run: str = FIRST) -> dict[str, object]:
    """The state of a question, once it tells how far it is."""
    state: dict[str, object] = wait_for(
        lambda: (told := client.get(f"{run}/state").json())["percent"] is not None and told["so_far"] and told
    )
    return state


def test_progress_and_stop(client: httpx.Client, tmp_path: Path) -> None:
    """It tells how far it is; stopped, it ends within two seconds and leaves nothing half-done; the next long one has
    its turn. What is short has been answered meanwhile."""
    client.post("/rooms/tiny/ask/rehearse", data=LONG)
    client.post("/rooms/tiny/ask/rehearse", data=LONG)
    client.post("/rooms/tiny/ask/sheet", data={"week": "2031-01-06"})
    told = at_work(client)
    page = client.get(FIRST).text
    assert answered(client, "/rooms/tiny/answers/0003-sheet") == "answered"
    waits = client.get(f"{SECOND}/state").json()
    began = time.monotonic()
    client.post(f"{FIRST}/stop")
    took = time.monotonic() - began

    assert "of 50,0" in str(told["doing"])
    assert re.fullmatch(r"So far: \d+ to \d+% of orders filled \(\d+ years\). It goes on.", str(told["so_far"]))
    assert "<progress" in page
    assert "of orders filled" in page
    assert "Stop it" in page
    assert waits["doing"] == "Waits for one other question to be answered."
    assert client.get(f"{FIRST}/state").json()["state"] == "stopped"
    assert took < 3
    left = {path.name for path in (tmp_path / "tiny" / "answers" / "0001-rehearse").iterdir()}
    assert left <= {"run.json", "asked", "said.txt"}
    assert "of 50,0" in str(at_work(client, SECOND)["doing"])


def test_fifty_at_once_while_a_run_goes_on(client: httpx.Client) -> None:
    """None fails. Times are in tests/bench/MEASURED.md: on a busy computer this test would cry wolf about them, so
    it asks only that nobody waits for the run."""
    client.post("/rooms/tiny/ask/rehearse", data=LONG)
    at_work(client)
    pages = ["/", "/rooms/tiny/ask", "/rooms/tiny/answers", FIRST, f"{FIRST}/state", "/rooms/tiny/records"]
    began = time.monotonic()
    with ThreadPoolExecutor(50) as crowd:
        got = list(crowd.map(lambda number: client.get(pages[number % len(pages)]).status_code, range(50)))
    took = time.monotonic() - began
    client.post(f"{FIRST}/stop")

    assert set(got) == {200}
    assert took < 10


@pytest.mark.skipif(os.name != "posix", reason="holds a process still as POSIX systems can")
def test_who_does_not_listen_is_ended(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A command that does not stop when asked is ended after some seconds, with everybody it has begun."""
    monkeypatch.setattr(runs_child, "PATIENCE_SECONDS", 0.3)
    folder, progress = folder_with_tiny(tmp_path), tmp_path / "progress.json"
    words = ["rehearse", "tiny", "--replications", "50000", "--workers", "2", "--out", str(tmp_path / "out")]
    child = runs_child.Child(words, folder, progress, tmp_path / "said.txt")
    wait_for(progress.exists)
    os.killpg(child.pid, signal.SIGSTOP)
    child.stop()
    code = wait_for(lambda: child.wait(0.1), 10)

    assert code == -signal.SIGKILL
    assert not (tmp_path / "out").exists()
    with pytest.raises(ProcessLookupError):
        wait_for(lambda: os.killpg(child.pid, 0), 10)


def page_process(folder: Path, port: int) -> tuple[subprocess.Popen[bytes], httpx.Client]:
    """`growsim page` as somebody starts it."""
    process = subprocess.Popen(
        [sys.executable, "-m", "growsim", "page", "--folder", str(folder), "--no-browser", "--port", str(port)],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        cwd=folder,
    )
    address = f"http://127.0.0.1:{port}"
    client = httpx.Client(base_url=address, headers={"Origin": address}, timeout=30, trust_env=False)

    def is_there() -> bool:
        try:
            return client.get("/").status_code == 200
        except httpx.TransportError:
            return False

    wait_for(is_there)
    return process, client


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="looks for processes where Linux lists them")
def test_a_page_that_is_killed(tmp_path: Path) -> None:
    """Killed outright, it takes the command at work with it; opened again, it says interrupted and works on
    what waited."""
    folder = folder_with_tiny(tmp_path)
    port = 20_000 + os.getpid() % 20_000
    process, client = page_process(folder, port)
    try:
        client.post("/rooms/tiny/ask/rehearse", data=LONG)
        client.post("/rooms/tiny/ask/rehearse", data=LONG)
        at_work(client)
        command = _commands_of(folder)
        process.send_signal(signal.SIGKILL)
        process.wait(10)
        client.close()
        assert len(command) >= 1
        wait_for(lambda: not _commands_of(folder), 20)
        process, client = page_process(folder, port)
        page = client.get(FIRST).text

        assert "Interrupted" in page
        assert re.search("Ask the same again|Go on with it", page)
        assert not list((folder / "tiny" / "answers" / "0001-rehearse").glob("*answer*"))
        assert "of 50,0" in str(at_work(client, SECOND)["doing"])
    finally:
        process.kill()
        process.wait(10)
        client.close()


def _commands_of(folder: Path) -> list[int]:
    """Processes that work for a page of this folder."""
    found = []
    mark = f"{ATTENDED}={folder}".encode()
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                if mark in (entry / "environ").read_bytes() and b"growsim" in (entry / "cmdline").read_bytes():
                    found.append(int(entry.name))
            except OSError:  # it has ended meanwhile, or is not ours
                continue
    return found
