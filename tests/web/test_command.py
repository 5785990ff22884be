"""`growsim page`: where it looks for rooms, what it says when something is missing, how it begins and how it ends."""

from __future__ import annotations

import importlib.util
import os
import resource
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from pathlib import Path

import pytest

from growsim.__main__ import main
from growsim.web import command as page

ROOT = Path(__file__).parents[2]
TINY = ROOT / "scenarios" / "tiny"


@pytest.mark.parametrize("missing", sorted(page.NEEDS))
def test_without_the_extra_one_sentence_says_how_to_get_it(
    missing: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Whoever installed growsim without its page is told what to type."""
    there = importlib.util.find_spec
    monkeypatch.setattr(page, "find_spec", lambda name: None if name == missing else there(name))

    assert main(["page", str(TINY)]) == 2

    said = capsys.readouterr().err.strip()
    assert said.count("\n") == 0
    assert f"{page.NEEDS[missing]} is not installed" in said
    assert "pip install -e '.[page]'" in said


@pytest.mark.parametrize(
    ("room", "folder", "found"),
    [
        ("tiny", None, ("", "/rooms/tiny")),
        ("tiny/room.toml", None, ("", "/rooms/tiny")),
        ("tiny", ".", ("", "/rooms/tiny")),
        ("loose.toml", None, ("", "/rooms/loose.toml")),
        (None, "tiny", ("tiny", "/")),
    ],
)
def test_the_folder_is_where_the_room_lies(
    room: str | None, folder: str | None, found: tuple[str, str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """ROOM is opened in the folder around it; a folder alone begins with its list of rooms."""
    shutil.copytree(TINY, tmp_path / "tiny")
    shutil.copy(TINY / "room.toml", tmp_path / "loose.toml")
    monkeypatch.chdir(tmp_path)

    where, start = page._where(Path(room) if room else None, Path(folder) if folder else None)

    assert (where.resolve(), start) == ((tmp_path / found[0]).resolve(), found[1])


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["nowhere"], "there is no such file"),
        (["--folder", "nowhere"], "is not a folder; give the folder in which your rooms lie"),
        (["tiny", "--folder", "elsewhere"], "does not lie in"),
        (["--port", "80"], "give a whole number from 1024 to 65535"),
    ],
)
def test_a_wrong_word_is_refused_in_a_sentence(
    words: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """No page is started."""
    shutil.copytree(TINY, tmp_path / "tiny")
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path)

    assert main(["page", *words]) == 2
    assert said in capsys.readouterr().err


MOST_TIMES = 10  # the first page against its libraries; 6 to 8 were seen


def processor_seconds(pid: int) -> float:
    """Processor time a process has used (Linux)."""
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="utf-8").rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def seconds_of_import(modules: str) -> float:
    """Processor time of a Python that imports them and ends."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run([sys.executable, "-c", f"import {modules}"], check=True)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def break_off(port: int, path: str, sort: str) -> None:
    """Begin to send a form, and go away in the middle of it."""
    with socket.create_connection(("127.0.0.1", port)) as line:
        head = (f"POST {path} HTTP/1.1", f"Host: 127.0.0.1:{port}", f"Origin: http://127.0.0.1:{port}",
                f"Content-Type: {sort}", "Content-Length: 5000", "", "--x\r\nContent-Disp")  # fmt: skip
        line.sendall("\r\n".join(head).encode())
        time.sleep(0.05)


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processor time is read from /proc")
def test_it_begins_at_once_and_ends_with_ctrl_c(tmp_path: Path) -> None:
    """The first page costs little beside the libraries it stands on, in processor time from the start; Ctrl-C closes
    it, exit code 0; what breaks off on its way leaves no trace in the terminal."""
    shutil.copytree(TINY, tmp_path / "tiny")
    libraries = seconds_of_import("pydantic, starlette.applications, uvicorn, jinja2")
    running = subprocess.Popen(
        [sys.executable, "-m", "growsim", "page", "tiny", "--no-browser"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        assert running.stdout is not None
        address = running.stdout.readline().split()[-1]
        assert "no phone or other computer is let in" in running.stdout.readline()
        for _ in range(300):
            try:
                with urllib.request.urlopen(address) as answer:
                    first = answer.read().decode()
                break
            except OSError:
                time.sleep(0.02)
        used = processor_seconds(running.pid)
        for sort in ("multipart/form-data; boundary=x", "multipart/form-data", "application/x-www-form-urlencoded"):
            for path in ("/rooms/tiny/records", "/rooms"):
                break_off(int(address.split(":")[2].split("/")[0]), path, sort)
        running.send_signal(signal.SIGINT)
        out, err = running.communicate(timeout=20)
    finally:
        running.kill()

    assert address.startswith("http://127.0.0.1:")
    assert address.endswith("/rooms/tiny")
    assert "This room can be rehearsed" in first
    assert used < MOST_TIMES * libraries
    assert (running.returncode, err) == (0, "")
    assert "The page is closed." in out


def test_the_page_loads_nothing_of_weight() -> None:
    """Making the page loads no tables, figures or engine: they come with a question."""
    code = (
        "import sys\nfrom pathlib import Path\nfrom growsim.web.app import make_app\nmake_app(Path())\n"
        "print(*(name for name in ('pandas', 'matplotlib', 'scipy', 'openpyxl') if name in sys.modules))"
    )
    loaded = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        capture_output=True,
        text=True,
        check=True,
    )

    assert loaded.stdout.strip() == ""
