"""Hands elsewhere: an existing Dask cluster as an executor for Rehearsers, with the bits of one process.

A room is sent to the cluster once; workers hand it on among themselves and unpack it once each. Whatever dies, every
chunk of replications comes back once: Dask has lost chunks done again by whoever is left, and a chunk done again is the
same chunk. A worker with another growsim, Python or arithmetic is refused, early or late, whenever it joins.
"""

from __future__ import annotations

import asyncio
import logging
import pickle
from collections.abc import Callable, Iterator
from concurrent.futures import CancelledError, Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from hashlib import sha256
from typing import Any, TypeVar

from growsim.errors import InputError
from growsim.run.fingerprint import program_mark
from growsim.run.prepare import Prepared

ANSWER_SECONDS = 6  # a scheduler that has not answered by then will not
INSTALL = 'python -m pip install "dask[distributed]"'
Result = TypeVar("Result")
_UNLIKE = (
    "scheduler: a worker has another growsim, Python, numpy or arithmetic than this computer, so its years would "
    "differ; install the same there."
)


@contextmanager
def cluster(address: str, answer_seconds: float = ANSWER_SECONDS) -> Iterator[Executor]:
    """Lend out the workers of the scheduler at `address` (`tcp://host:8786`).

    Raises InputError, in a sentence, where Dask is not installed here, nobody answers, nobody works there, somebody
    works there with another growsim, or the scheduler goes away.
    """
    try:
        from distributed import Client
        from distributed.comm import CommClosedError
    except ImportError:
        raise InputError(f"scheduler: a cluster needs Dask, which is not installed; run {INSTALL}.") from None
    _greet(address, answer_seconds)
    client = Client(address, timeout=answer_seconds, set_as_default=False, name="growsim")
    loud = _hush()
    try:
        yield _ClusterExecutor(client, _all_alike(client, address, answer_seconds))
    except (CancelledError, CommClosedError):  # before a result was fetched, or while it was
        raise InputError(
            f"scheduler: the one at '{address}' went away before the end; start it, and the same again."
        ) from None
    except Exception as fault:
        if type(fault).__name__ != "KilledWorker":
            raise
        raise InputError(
            f"scheduler: several workers in a row died over the same years ({fault}); give them more memory."
        ) from fault
    finally:
        client.close(timeout=1)
        for logger, level in loud.items():
            logger.setLevel(level)


def _hush() -> dict[logging.Logger, int]:
    """Dask tells of every lost connection at length; we say in a sentence what comes of it. Gives the levels before."""
    named = [logging.getLogger(name) for name in logging.root.manager.loggerDict if name.startswith("distributed")]
    before = {logger: logger.level for logger in named}
    for logger in named:
        logger.setLevel(logging.CRITICAL + 1)
    return before


class _ClusterExecutor(Executor):
    """`submit` as for any executor, and what Rehearsers asks of one who knows better how to hand over a room."""

    def __init__(self, client: Any, hands: int) -> None:
        self.hands = hands
        self._client = client
        self._mark = program_mark()
        self._rooms: dict[str, Any] = {}

    def pack(self, prepared: Prepared) -> Any:
        """The room on the cluster, sent there once.

        It is a task, not scattered data: what workers were given is gone with them, a task's result is made again.
        """
        content = pickle.dumps(prepared)
        name = f"growsim-room-{sha256(content).hexdigest()}"
        if name not in self._rooms:
            self._rooms[name] = self._client.submit(bytes, content, key=name)
        return self._rooms[name]

    def submit(self, fn: Callable[..., Result], /, *args: Any, **kwargs: Any) -> Future[Result]:
        """See concurrent.futures.Executor. The future fails with InputError on a worker with another growsim."""
        answer: Future[Result] = Future()
        remote = self._client.submit(_if_alike, self._mark, fn, *args, **kwargs, pure=False)

        def arrived(remote: Any) -> None:
            if not answer.set_running_or_notify_cancel():
                return
            try:
                result = remote.result()
            except BaseException as fault:
                answer.set_exception(CancelledError() if remote.cancelled() else fault)
            else:
                answer.set_result(result)
            remote.release()

        remote.add_done_callback(arrived)
        answer.add_done_callback(lambda answer: remote.release() if answer.cancelled() else None)
        return answer


def _greet(address: str, answer_seconds: float) -> None:
    """Is a scheduler there? Asked first, since a Dask client that finds none takes long, and complains, to go."""
    from distributed.core import rpc

    async def identity() -> Any:
        async with rpc(address) as scheduler:
            return await scheduler.identity()

    async def in_time() -> Any:
        return await asyncio.wait_for(identity(), answer_seconds)

    try:
        with ThreadPoolExecutor(1) as aside:  # the caller may have a loop running: a notebook has
            kind = aside.submit(asyncio.run, in_time()).result()["type"]
    except Exception:  # nobody, somebody else, no address: Dask has an exception for each
        kind = ""
    if kind != "Scheduler":
        raise InputError(
            f"scheduler: no Dask scheduler answers at '{address}'; give the address of a running one, "
            "such as tcp://192.0.2.10:8786."
        )


def _if_alike(mark: str, fn: Callable[..., Result], *args: Any, **kwargs: Any) -> Result:
    """On a worker: do it, where the same would come of it as with whoever asks."""
    if program_mark() != mark:
        raise InputError(_UNLIKE)
    return fn(*args, **kwargs)


def _all_alike(client: Any, address: str, answer_seconds: float) -> int:
    """Threads at work, once every worker has been asked what it is."""
    from distributed import TimeoutError as NobodyCame

    try:
        client.wait_for_workers(1, timeout=answer_seconds)
        marks = client.run(program_mark, on_error="return")
    except (NobodyCame, TimeoutError, OSError):
        raise InputError(
            f"scheduler: the one at '{address}' has no workers; start some with `dask worker {address}`."
        ) from None
    if any(mark != program_mark() for mark in marks.values()):
        raise InputError(_UNLIKE)
    return max(1, int(sum(client.nthreads().values())))
