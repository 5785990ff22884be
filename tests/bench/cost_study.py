"""What a year costs: against racks, lots and years; a worker's memory; a batch; a cluster.

    python tests/bench/cost_study.py            prints the figures (five to seven minutes on two free cores)
    python tests/bench/cost_study.py --write    and writes them into MEASURED.md beside it, and reports/cost.svg, .png
    python tests/bench/cost_study.py --quick    a twentieth of it, to see that it runs

Seconds of one process are processor time, the best of several: what others do on the machine meanwhile counts little.
Batches and the cluster are timed by the clock on the wall, and want the machine to themselves.
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import pickle
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(Path(__file__).parent)]

from local_cluster import Cluster, wait_for  # noqa: E402
from rooms_by_size import empty, ready_made, twelve_racks  # noqa: E402

from growsim.run.cluster import cluster  # noqa: E402
from growsim.run.prepare import Prepared, prepare  # noqa: E402
from growsim.run.rehearsers import Rehearsers  # noqa: E402
from growsim.run.replicate import replicate, trace  # noqa: E402
from growsim.scenario.load import load_scenario  # noqa: E402
from growsim.scenario.plan import RunPlan  # noqa: E402

MEASURED = ROOT / "tests" / "bench" / "MEASURED.md"
FIGURE = ROOT / "reports" / "cost"
BEGIN = "<!-- cost: begin (written by `python tests/bench/cost_study.py --write`) -->"
END = "<!-- cost: end -->"
YEAR, WARM_UP = 364, 112
TICKS = (0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5)
MEMORY = """
import os
import sys
sys.path.insert(0, sys.argv[1])
from pathlib import Path
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
room = prepare(load_scenario(Path(sys.argv[2])).scenario)
plan = RunPlan(int(sys.argv[3]), int(sys.argv[4]))
looks = [int(word) for word in sys.argv[5:]]
for i in range(looks[-1]):
    replicate(room, 1, i, plan)
    if i + 1 in looks:
        pages = int(Path("/proc/self/statm").read_text().split()[1])
        print(i + 1, pages * os.sysconf("SC_PAGE_SIZE") / 1e6, flush=True)
"""


@dataclass(frozen=True)
class Point:
    """One room-year (or more): at what size, seconds, records in the log book."""

    size: float
    seconds: float
    records: int


def lived(room: Prepared, plan: RunPlan, rounds: int) -> tuple[float, int]:
    """Processor seconds to live through and measure replication 0, the best of so many; records in its book."""
    best = float("inf")
    for _ in range(rounds):
        began = time.process_time()
        replicate(room, 1, 0, plan)
        best = min(best, time.process_time() - began)
    return best, len(trace(room, 1, 0, plan).records)


def against(sizes: Sequence[float], make: Callable[[float], tuple[Prepared, RunPlan]], rounds: int) -> list[Point]:
    """The cost at each size."""
    points = []
    for size in sizes:
        room, plan = make(size)
        seconds, records = lived(room, plan, rounds if size <= sizes[len(sizes) // 2] else max(1, rounds // 2))
        points.append(Point(size, seconds, records))
        print(f"  {size:g}: {seconds:.3f} s, {records:,} records", file=sys.stderr, flush=True)
    return points


def growth(points: Sequence[Point]) -> float:
    """Exponent of cost against size over the upper half (1 is linear), by its ends."""
    from math import log

    middle, last = points[len(points) // 2 - 1], points[-1]
    return log(last.seconds / middle.seconds) / log(last.size / middle.size)


def memory(room: Path, days: int, warm_up: int, looks: Sequence[int]) -> list[tuple[int, float]]:
    """(replications done, resident megabytes) of a process that does nothing else."""
    words = [
        sys.executable,
        "-c",
        MEMORY,
        str(ROOT),
        str(room),
        str(days),
        str(warm_up),
        *(str(look) for look in looks),
    ]
    said = subprocess.run(words, capture_output=True, text=True, check=True).stdout
    return [(int(line.split()[0]), float(line.split()[1])) for line in said.splitlines()]


def batch(room: Prepared, years: int, workers: int) -> float:
    """Seconds on the wall for a batch by workers that are at work already."""
    plan = RunPlan(YEAR, WARM_UP)
    with Rehearsers(workers) as rehearsers:
        rehearsers.run({"": room}, 2, range(4 * workers), plan)
        began = time.perf_counter()
        rehearsers.run({"": room}, 1, range(years), plan)
        return time.perf_counter() - began


def overhead(room: Prepared, chunks: int) -> tuple[float, float, float]:
    """Seconds a chunk of ten years costs scheduler and client beside the work: of real years, and of empty ones.

    Third: megabytes a chunk of real years brings home.
    """
    plan = RunPlan(YEAR, WARM_UP)
    seconds = []
    with tempfile.TemporaryDirectory() as folder:
        running = Cluster(Path(folder))
        try:
            for _ in range(2):
                running.worker(PYTHONPATH=os.pathsep.join(sys.path))
            with cluster(running.address, 60) as lent:
                wait_for(lambda: len(lent._client.nthreads()) == 2)  # type: ignore[attr-defined]
                for work in (ready_made, empty):
                    with Rehearsers(executor=lent, work=work) as rehearsers:
                        rehearsers.run({"": room}, 1, range(200), plan)
                        began = time.perf_counter()
                        rehearsers.run({"": room}, 1, range(10 * chunks), plan)
                        seconds.append((time.perf_counter() - began) / chunks)
        finally:
            running.end()
    return seconds[0], seconds[1], 10 * len(pickle.dumps(ready_made(room, 1, 0, plan))) / 1e6


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table in markdown."""
    return [" | ".join(["", *row, ""]).strip() for row in (head, ["---"] * len(head), *rows)]


def _cells(points: Sequence[Point], i: int) -> list[str]:
    return [f"{points[i].size:g}", f"{points[i].seconds:.3f}"] if i < len(points) else ["", ""]


def extrapolated(year: float, chunk: float, cores: int, scaling: float) -> str:
    """1,000 rooms × 1,000 replications: the work shared out, or what one client can take in, whichever is longer."""
    work, home = 1e6 * year / (cores * scaling), 1e5 * chunk
    bound = "the work" if work >= home else "one client taking the years in"
    return f"{max(work, home) / 60:,.0f} min (the work {work / 60:,.0f}, taking in {home / 60:,.0f}; bound by {bound})"


def draw(racks: Sequence[Point], lots: Sequence[Point], years: Sequence[Point]) -> None:
    """Three small figures of one kind: cost against size, with the straight line through the first point."""
    import matplotlib

    matplotlib.use("Agg")
    from matplotlib import pyplot as plt

    plt.rcParams["svg.hashsalt"] = "growsim"
    figure, axes = plt.subplots(1, 3, figsize=(10, 3.2), constrained_layout=True, sharey=True)
    for axis, points, what in zip(axes, (racks, lots, years), ("racks", "lots sown a year", "years"), strict=True):
        sizes, seconds = [point.size for point in points], [point.seconds for point in points]
        axis.loglog(sizes, seconds, "o-", color="#1b6ca8", label="measured")
        line = [seconds[-1] * size / sizes[-1] for size in sizes]
        axis.loglog(sizes, line, "--", color="#777777", label="in proportion")
        axis.set_xlabel(what)
        axis.set_xticks(sizes, [f"{size:g}" for size in sizes])
        axis.set_yticks(TICKS, [f"{tick:g}" for tick in TICKS])
        axis.minorticks_off()
        axis.grid(alpha=0.3)
    axes[0].set_ylabel("processor seconds")
    axes[0].legend(frameon=False)
    FIGURE.parent.mkdir(exist_ok=True)
    figure.savefig(FIGURE.with_suffix(".svg"), metadata={"Date": None})
    figure.savefig(FIGURE.with_suffix(".png"), dpi=150)


def main() -> None:
    """Measure, print; perhaps write."""
    ask = argparse.ArgumentParser(description="What does a year cost?")
    ask.add_argument("--write", action="store_true", help="write MEASURED.md and the figure")
    ask.add_argument("--quick", action="store_true", help="a twentieth of the work, to see that it runs")
    given = ask.parse_args()
    quick = given.quick
    rounds = 1 if quick else 4
    plan = RunPlan(YEAR, WARM_UP)
    began = time.perf_counter()

    def say(what: str) -> None:
        print(f"{time.perf_counter() - began:5.0f} s: {what}", file=sys.stderr, flush=True)

    say("racks")
    one = prepare(load_scenario(ROOT / "scenarios" / "tiny").scenario)
    rooms = {1: lambda: one, 12: twelve_racks}
    rooms |= {12 * copies: (lambda copies=copies: twelve_racks(copies)) for copies in (2, 4, 8, 17)}
    racks = against([*rooms][: 3 if quick else None], lambda size: (rooms[int(size)](), plan), rounds)
    say("lots")
    per_year = sum(52 / line.every_weeks for line in twelve_racks().scenario.sowing)
    lots = against([1, 2, 4], lambda size: (twelve_racks(1, int(size)), plan), rounds)
    lots = [Point(round(per_year * point.size), point.seconds, point.records) for point in lots]
    say("years")
    room = twelve_racks()
    years = against(
        [1, 2] if quick else [1, 2, 5, 10], lambda size: (room, RunPlan(round(YEAR * size), WARM_UP)), rounds
    )
    say("memory over many short replications of the tiny room")
    looks = [10, 100, 500] if quick else [10, 100, 1000, 3000, 10_000]
    short = memory(ROOT / "scenarios" / "tiny", 28, 0, looks)
    say("memory over years of the demo room")
    long = memory(ROOT / "scenarios" / "millrace", YEAR, WARM_UP, [3, 6] if quick else [10, 50, 100, 200])
    say("a batch, 1 worker")
    few, many = (8, 16) if quick else (160, 1000)
    alone = batch(room, few, 1) / few
    say(f"a batch of {many}, 2 workers")
    seconds = batch(room, many, 2)
    scaling = alone / (seconds / many)
    say("a cluster")
    chunk, post, megabytes = overhead(room, 40 if quick else 400)
    say("done")
    a_year = next(point.seconds for point in racks if point.size == 12)
    lines = [
        f"{dt.datetime.now(dt.UTC).date().isoformat()}, Python {sys.version.split()[0]}, "
        f"{os.cpu_count()} cores. A year is {YEAR} days after a warm-up of {WARM_UP}, lived through and measured; "
        "`tests/bench/twelve_racks.toml` and rooms of its kind of other sizes (1 rack: `scenarios/tiny`)."
        + (" **A quick try beside other work; measure again on a quiet machine.**" if quick else ""),
        "",
        *table(
            ["racks", "processor seconds a year", "for each rack", "records in the log book"],
            [
                [f"{p.size:g}", f"{p.seconds:.3f}", f"{1000 * p.seconds / p.size:.1f} ms", f"{p.records:,}"]
                for p in racks
            ],
        ),
        "",
        *table(
            ["lots a year, 12 racks", "processor seconds a year", "years in one go, 12 racks", "processor seconds"],
            [[*_cells(lots, i), *_cells(years, i)] for i in range(max(len(lots), len(years)))],
        ),
        "",
        f"Cost grows as racks to the power {growth(racks):.2f}, as years to the power {growth(years):.2f} (upper half "
        "of each; 1 is in proportion). Figure: `reports/cost.svg`.",
        "",
        "Resident memory of a process that lives through years and nothing else: "
        + ", ".join(f"{size:.0f} MB after {done:,}" for done, size in short)
        + " (four weeks of the tiny room); "
        + ", ".join(f"{size:.0f} MB after {done:,}" for done, size in long)
        + " (years of the demo room).",
        "",
        f"{many:,} years of twelve racks on 2 workers: {seconds:.1f} s, {scaling:.2f} times as fast as one process.",
        "",
        f"A chunk of ten years ({megabytes:.2f} MB) costs a Dask scheduler and its client {1000 * chunk:.1f} ms beside "
        f"the work, {1000 * post:.1f} ms of it the post itself (all on this machine). So "
        "**1,000 rooms × 1,000 replications** (a million years of twelve racks, "
        "100,000 chunks) would take:",
        "",
        *table(
            ["cores", "wall"],
            [[f"{cores:,}", extrapolated(a_year, chunk, cores, 0.95)] for cores in (10, 1000)],
        ),
        "",
        "Assumed: cores like these, 95 % of each at work, a network that carries what comes home, one client for all "
        "rooms. Where taking in is the bound, k clients (rooms dealt out among k commands on the same scheduler) "
        f"divide it by k, down to the post of one scheduler: {1e5 * post / 60:.0f} min.",
    ]
    text = "\n".join(lines)
    print("\n" + text)
    if given.write:
        before, rest = MEASURED.read_text(encoding="utf-8").split(BEGIN)
        MEASURED.write_text(f"{before}{BEGIN}\n{text}\n{END}{rest.split(END)[1]}", encoding="utf-8")
        draw(racks, lots, years)


if __name__ == "__main__":
    main()
