"""A real Dask scheduler and two workers, each a process of its own, one of them killed while it works."""

from __future__ import annotations

import importlib.util
import shutil
import signal
import socket
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest
from batches import run_batch, run_many
from local_cluster import LONGEST_SECONDS, Cluster, wait_for

from growsim.cli import main
from growsim.errors import InputError
from growsim.run.cluster import _if_alike, cluster
from growsim.run.drawer import arranged
from growsim.run.prepare import prepare
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

ROOT = Path(__file__).parents[2]
TINY = ROOT / "scenarios" / "tiny"
PLAN = RunPlan(days=28, warm_up_days=14)
pytestmark = [
    pytest.mark.skipif(importlib.util.find_spec("distributed") is None, reason="needs the extra 'cluster'"),
    pytest.mark.filterwarnings("ignore::DeprecationWarning:distributed.*"),
]


@pytest.fixture
def running(tmp_path: Path) -> Iterator[Cluster]:
    """A scheduler without workers."""
    started = Cluster(tmp_path)
    yield started
    started.end()


def test_a_cluster_gives_the_bits_of_one_process_though_a_worker_is_killed(running: Cluster) -> None:
    """Two workers live through two rooms; one is killed amid its work; every year comes back once, and as it was."""
    killed, left = running.worker(), running.worker()
    room = prepare(load_scenario(TINY).scenario)
    other = prepare(room.scenario.model_copy(update={"partners": ()}))
    rooms = {"today": room, "no partners": other}
    alone = run_many(rooms, 20, range(40), PLAN)
    told: list[int] = []

    def kill_one(done: int, total: int) -> None:
        if not told:
            killed.send_signal(signal.SIGKILL)
        told.append(done)

    with cluster(running.address, LONGEST_SECONDS) as lent:
        wait_for(lambda: len(lent._client.nthreads()) == 2)  # type: ignore[attr-defined]
        together = run_many(rooms, 20, range(40), PLAN, executor=lent, progress=kill_one)
        # A study calls again and again: the rooms lie there still, though one who had them is dead.
        more = run_batch(room, 20, range(40, 50), PLAN, executor=lent)

    assert killed.wait(10) == -signal.SIGKILL
    assert left.poll() is None
    assert repr(together).encode() == repr(alone).encode()
    assert told == sorted(set(told))
    assert told[-1] == 80
    assert more == run_batch(room, 20, range(40, 50), PLAN)


def test_the_command_line_on_a_cluster(
    running: Cluster, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """`--scheduler` gives the files of one process, byte for byte; nothing but the answer is printed."""
    running.worker()
    monkeypatch.chdir(tmp_path)
    words = ["rehearse", str(TINY), "--days", "28", "--replications", "3"]
    assert main([*words, "--workers", "1", "--out", "here"]) == 0
    here = capsys.readouterr()
    assert main([*words, "--scheduler", running.address, "--out", "there"]) == 0
    there = capsys.readouterr()

    assert (there.out.replace("there/report", "here/report"), there.err) == here
    for name in ("summary.json", "weeks.csv", "measures.csv"):
        assert Path("here", name).read_bytes() == Path("there", name).read_bytes()
    assert "program_mark" in Path("worker-1.log").read_text("utf-8")  # it was asked, so the work was done there


def test_what_goes_wrong_on_a_worker_comes_through(running: Cluster, fakes: ModuleType) -> None:
    """A replication that fails there fails here, with its number; the cluster goes on being of use."""
    running.worker()
    with cluster(running.address, LONGEST_SECONDS) as lent, arranged(executor=lent):
        with pytest.raises(RuntimeError, match="the pump fell over") as caught:
            run_batch(fakes.prepared(), 20, range(12), fakes.PLAN, work=fakes.broken)
        found = run_batch(fakes.prepared(), 20, range(12), fakes.PLAN, work=fakes.lucky)

    assert caught.value.__notes__ == ["This happened in replication 7 with seed 20."]
    assert found == run_batch(fakes.prepared(), 20, range(12), fakes.PLAN, work=fakes.lucky)


def test_a_worker_with_another_growsim_is_refused(running: Cluster) -> None:
    """Same bits or nothing: a worker whose growsim differs by a word is refused when asked, and when it comes late."""
    shutil.copytree(ROOT / "growsim", running.folder / "growsim")
    with (running.folder / "growsim" / "units.py").open("a", encoding="utf-8") as text:
        text.write("# another\n")
    running.worker(PYTHONPATH=str(running.folder))
    with pytest.raises(InputError, match="a worker has another growsim"), cluster(running.address, LONGEST_SECONDS):
        pass
    with pytest.raises(InputError, match="a worker has another growsim"):
        _if_alike("another mark", int)


def test_nobody_works_there(running: Cluster) -> None:
    """A scheduler without workers is said to be one, soon."""
    with (
        pytest.raises(InputError, match="has no workers; start some with `dask worker tcp://"),
        cluster(running.address, 0.5),
    ):
        pass


def test_a_scheduler_that_dies_is_a_sentence(
    running: Cluster, fakes: ModuleType, capfd: pytest.CaptureFixture[str]
) -> None:
    """Killed amid the work: the batch ends, says so, and prints nothing of Dask's own."""
    running.worker()

    def kill(done: int, total: int) -> None:
        running.begun[0].kill()

    with pytest.raises(InputError, match="went away before the end"), cluster(running.address, LONGEST_SECONDS) as lent:
        run_batch(fakes.prepared(), 20, range(2000), fakes.PLAN, executor=lent, work=fakes.slow, progress=kill)
    assert capfd.readouterr().err == ""


def test_a_scheduler_that_dies_while_a_result_is_fetched_is_the_same_sentence(running: Cluster) -> None:
    """Dask then tells of a closed connection, not of work called off."""
    from distributed.comm import CommClosedError

    running.worker()
    with pytest.raises(InputError, match="went away before the end"), cluster(running.address, LONGEST_SECONDS):
        raise CommClosedError("in <TCP (closed) ConnectionPool.gather>: Stream is closed")


def test_nobody_answers() -> None:
    """A port at which nobody listens, and what is no address: one sentence, in reasonable time."""
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound but not listening: refuses
        free = f"tcp://127.0.0.1:{taken.getsockname()[1]}"
        for address in (free, "next door"):
            began = time.monotonic()
            with (
                pytest.raises(InputError, match=f"no Dask scheduler answers at '{address}'; give"),
                cluster(address, 1.0),
            ):
                pass
            assert time.monotonic() - began < 10


def test_without_dask_the_sentence_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is an optional extra."""
    monkeypatch.setitem(sys.modules, "distributed", None)
    how = r'which is not installed; run python -m pip install "dask\[distributed\]"\.'
    with pytest.raises(InputError, match=how), cluster("tcp://127.0.0.1:1"):
        pass
