"""What every question costs, an older growsim and this one side by side in one run.

    git worktree add /tmp/old 8e21b7b
    python tests/bench/side_by_side.py /tmp/old --room millrace

Prints, question by question, processor seconds (user and system, all processes) of the older growsim, of this one with
an empty drawer of years, and of this one with one drawer for all that are asked; and what that is of the old. Each
growsim reads the room of its own tree. Seconds differ between machines and hours; ratios hold. With `--replications 10`
or `--room tiny` it is done sooner.
"""

from __future__ import annotations

import argparse
import os
import resource
import subprocess
import sys
import tempfile
import tomllib
from collections.abc import Sequence
from pathlib import Path

HERE = Path(__file__).parents[2]


def two_more(tree: Path, room: str) -> str:
    """A CHANGE file: two people more on the first shift."""
    first = tomllib.loads((tree / "scenarios" / room / "room.toml").read_text("utf-8"))["crew"]["shifts"][0]
    shift = f'[[crew.shifts]]\nname = "{first["name"]}"\npeople = {first["people"] + 2}\n'
    return f'[change]\nname = "two more people"\n\n{shift}'


def questions(tree: Path, room: str, change: Path, replications: int | None) -> dict[str, list[str]]:
    """Name -> words of the command line."""
    where = str(tree / "scenarios" / room)
    many = [] if replications is None else ["--replications", str(replications)]
    return {
        name: [name, where, *([str(change)] if name == "compare" else []), *(many if name != "sow" else [])]
        for name in ("rehearse", "compare", "outage", "crew", "sow")
    }


def seconds(tree: Path, words: Sequence[str], years: str) -> float:
    """Processor seconds of one command of the growsim in `tree`, with its workers. years: where its drawer lies."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    with tempfile.TemporaryDirectory() as out:
        subprocess.run(
            [sys.executable, "-P", "-m", "growsim", *words, "--out", str(Path(out) / "answer")],
            env={**os.environ, "PYTHONPATH": str(tree), "GROWSIM_YEARS": years},
            stdout=subprocess.DEVNULL,
            check=True,
        )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("old", type=Path, help="a checkout of the older growsim")
    parser.add_argument("--room", default="millrace", help="of the two trees' scenarios")
    parser.add_argument("--replications", type=int)
    parser.add_argument("--only", nargs="*", help="questions, if not all")
    chosen = parser.parse_args()
    print(f"{'processor seconds':20}{'old':>10}{'now':>10}{'of old':>10}{'one drawer':>12}{'of old':>10}")
    totals = [0.0, 0.0, 0.0]
    with tempfile.TemporaryDirectory() as folder:
        change = Path(folder, "two-more.toml")
        change.write_text(two_more(HERE, chosen.room), encoding="utf-8")
        ours, theirs = (
            questions(tree, chosen.room, change, chosen.replications) for tree in (HERE, chosen.old.resolve())
        )
        for name in chosen.only or ours:
            took = [seconds(chosen.old.resolve(), theirs[name], "none"), seconds(HERE, ours[name], "none")]
            took.append(seconds(HERE, ours[name], str(Path(folder, "years"))))
            totals = [total + each for total, each in zip(totals, took, strict=True)]
            tell(name, took)
    tell("all", totals)


def tell(name: str, took: Sequence[float]) -> None:
    """One line."""
    old, now, kept = took
    print(f"{name:20}{old:10.1f}{now:10.1f}{now / old:10.2f}{kept:12.1f}{kept / old:10.2f}", flush=True)


if __name__ == "__main__":
    main()
