"""Do several Pythons, each with growsim in it, give the same numbers to the last bit? Names those that do not; exit 1.

usage: python3 .ci/same_numbers.py PYTHON PYTHON ...     e.g. a venv's bin/python of 3.11, of 3.13, of oldest libraries
Every Python answers the same questions about the made-up rooms, from a folder of its own, away from the sources.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOMS = Path(__file__).resolve().parents[1] / "scenarios"
MADE_BY = ("python", "libraries")  # of summary.json: who answered, not what
QUESTIONS = (
    "rehearse tiny --replications 8",
    "outage tiny --replications 4",
    "crew tiny --replications 6",
    "sow tiny --replications 6",
    "funder tiny --replications 8",
    "rehearse millrace --replications 2",
    "compare millrace millrace/changes/one-more-wide-rack.toml --replications 2",
    "promise millrace --shelves millrace/shelves-2032-05-03.csv --date 2032-05-03 --replications 20",
)


def marks_of(python: str) -> dict[str, str]:
    """Question -> mark of all numbers of its answer, as this Python gives it. Raises CalledProcessError if it fails."""
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOMS, Path(folder) / "rooms")
        for question in QUESTIONS:
            words = [
                python,
                "-P",
                "-m",
                "growsim",
                *question.split(),
                "--workers",
                "2",
                "--json",
                "--out",
                f"../{len(found)}",
            ]
            said = subprocess.run(words, cwd=Path(folder) / "rooms", stdout=subprocess.PIPE, check=True)
            answer = {key: value for key, value in json.loads(said.stdout).items() if key not in MADE_BY}
            found[question] = hashlib.sha256(json.dumps(answer, sort_keys=True).encode()).hexdigest()[:12]
    return found


def main(pythons: list[str]) -> int:
    """Ask them all; say where one differs from the first."""
    marks = {python: marks_of(python) for python in pythons}
    first = marks[pythons[0]]
    for python, found in marks.items():
        for question, mark in found.items():
            print(f"{mark}  {'same' if mark == first[question] else 'DIFFERS'}  {question}  {python}")
    return int(any(found != first for found in marks.values()))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
