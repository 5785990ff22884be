"""A run that another program attends: told how far it is, and ended when nobody attends any more."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest

from growsim.run import progress as attended
from growsim.run.progress import ATTENDED, ProgressFile, Stand, progress_bar, read_progress, tell_so_far

ROOT = Path(__file__).parents[2]


def test_progress_goes_to_the_file(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What is being done, the how-manieth piece of work, and how much of how much."""
    file = tmp_path / "progress.json"
    monkeypatch.setenv(ATTENDED, str(file))
    monkeypatch.setattr(attended, "SELDOM_SECONDS", 0.0)
    monkeypatch.setattr(ProgressFile, "parts", 0)
    with progress_bar("Rehearsing") as tell:
        tell_so_far("97% of orders filled")
        tell(3, 10)
    first = read_progress(file)
    with progress_bar("A tenth more", unit="rooms") as tell:
        tell(1, 4)

    assert first == Stand("Rehearsing", "years", 1, 3, 10, "97% of orders filled")
    assert read_progress(file) == Stand("A tenth more", "rooms", 2, 1, 4)
    assert [path.name for path in tmp_path.iterdir()] == ["progress.json"]


def test_the_end_is_told_at_once_and_the_rest_seldom(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A thousand small steps are not a thousand files."""
    file = tmp_path / "progress.json"
    monkeypatch.setenv(ATTENDED, str(file))
    with progress_bar("Rehearsing") as tell:
        tell(1, 1000)
        tell(2, 1000)
        seen = read_progress(file)
        tell(1000, 1000)

    assert seen is not None
    assert seen.done == 1
    assert read_progress(file) == Stand("Rehearsing", "years", seen.part, 1000, 1000)


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"what": 1}', '{"what":"x","unit":"y","part":"z","done":1,"total":2}']
)
def test_a_file_that_says_nothing_says_nothing(text: str, tmp_path: Path) -> None:
    """A missing or broken file is no progress, and no fault either."""
    file = tmp_path / "progress.json"
    assert read_progress(file) is None
    file.write_text(text, encoding="utf-8")
    assert read_progress(file) is None


DEAF = ["sh", "-c", 'trap "" INT; exec "$0" "$@"']  # as a script begins what is to go on behind it


@pytest.mark.parametrize("before", [[], DEAF], ids=["as usual", "begun deaf to Ctrl-C"])
def test_a_run_ends_when_nobody_attends(before: list[str], tmp_path: Path) -> None:
    """Its stdin let go of, a long run stops by itself, says so, and leaves nothing but its last progress."""
    file = tmp_path / "progress.json"
    command = [*before, sys.executable, "-m", "growsim", "rehearse", str(ROOT / "scenarios" / "tiny"), "--workers", "1"]
    process = subprocess.Popen(
        [*command, "--replications", "100000", "--out", str(tmp_path / "out")],
        env={**os.environ, ATTENDED: str(file), "PYTHONPATH": os.pathsep.join(sys.path)},
        stdin=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
        text=True,
    )
    try:
        until = time.monotonic() + 30
        while read_progress(file) is None and time.monotonic() < until:
            time.sleep(0.05)
        assert read_progress(file) is not None
        _, said = process.communicate(timeout=20)  # closes stdin
    finally:
        process.kill()
        process.communicate()

    assert process.returncode == 130
    assert said == "Stopped before the end; nothing was kept.\n"
    assert [path.name for path in tmp_path.iterdir()] == ["progress.json"]
