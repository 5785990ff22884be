"""The keeper of the queues: in each lane one question at a time is worked on, the others wait their turn. What is
short does not wait behind what is long, nor a replay behind anything but a replay.

The disk is the truth: every change of a run is written there before anybody is told. An answer is moved into place
whole, after its command has ended well; a run that was at work when the page ended is told as interrupted. One page at
a time works on the questions of a folder; a second one there can look, and is told where to ask.
"""

from __future__ import annotations

import json
import shutil
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import IO, TypeVar

from growsim.errors import InputError
from growsim.run.progress import Stand, read_progress
from growsim.web.folder import Folder, RoomFolder
from growsim.web.rooms.removed import still_there
from growsim.web.runs import record
from growsim.web.runs.child import Child
from growsim.web.runs.record import Run

NAME = ".growsim-page"
LOOK_SECONDS = 0.2
Done = TypeVar("Done")
BeginChild = Callable[[Sequence[str], Path, Path, Path], Child]


class FolderLock:
    """Held from `take` to `give_back`, or to the end of the process however that comes."""

    def __init__(self, folder: Path) -> None:
        self._path = folder / NAME
        self._file: IO[bytes] | None = None
        self._why_not = ""

    def take(self) -> bool:
        """Whether the folder is ours now. Where the system has no such locks (Windows), it always is."""
        try:
            file = self._path.open("ab")
        except OSError as refusal:
            self._why_not = f"{self._path.parent}: cannot be written ({(refusal.strerror or 'refused').lower()})."
            return False
        try:
            import fcntl
        except ImportError:
            self._file = file
            return True
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            file.close()
            self._why_not = (
                "Another growsim page is at work in this folder; ask there, or close it and open this one again."
            )
            return False
        self._file = file
        return True

    def give_back(self) -> None:
        """Let another page have it."""
        if self._file is not None:
            self._file.close()
            self._file = None

    def refuse_if_not_ours(self) -> None:
        """Raises InputError where another page has the folder."""
        if self._file is None:
            raise InputError(self._why_not or "This page is not at work yet.")


@dataclass(frozen=True)
class Progress:
    """How far the run at work is. fraction, seconds_left: of this part of the work; None where it cannot be said.
    so_far: the answer so far."""

    what: str = ""
    fraction: float | None = None
    seconds_left: float | None = None
    so_far: str = ""


@dataclass
class _AtWork:
    folder: Path
    run: Run
    child: Child | None = None
    stopping: bool = False
    part: int = 0
    part_began: float = 0.0
    done_then: int = 0
    stand: Stand | None = None


class Keeper:
    """Takes questions, works on them in order of asking, and stops them when told."""

    def __init__(self, folder: Folder, *, workers: int | None = None, begin_child: BeginChild = Child) -> None:
        self._folder = folder
        self._workers = workers
        self._begin_child = begin_child
        self._change = threading.Condition()
        self._waiting: list[tuple[Path, Run]] = []
        self._at_work: dict[str, _AtWork] = {}
        self._closing = False
        self._lock = FolderLock(folder.path)
        self._threads = [
            threading.Thread(target=self._work, args=(lane,), name=f"growsim runs: {lane}", daemon=True)
            for lane in record.LANES
        ]

    # --- opening and closing -----------------------------------------------------------------------------------

    def open(self) -> None:
        """Take up what an earlier page has left: what was at work is interrupted, what waited waits again."""
        if not self._lock.take():
            return
        left = [(room, run) for room in self._folder.rooms() for run in record.runs_of(room) if not run.is_over]
        for room, run in sorted(left, key=lambda each: each[1].asked_at):
            folder = record.folder_of_run(room, run.id)
            if run.state == record.AT_WORK:
                self._clear_half_answers(folder)
                record.save(folder, replace(run, state=record.INTERRUPTED, ended_at=time.time()))
            else:
                self._waiting.append((folder, run))
        for thread in self._threads:
            thread.start()

    def close(self) -> None:
        """Stop what is at work (it is told as interrupted); what waits goes on waiting until the page is opened."""
        with self._change:
            self._closing = True
            for here in self._at_work.values():
                if here.child is not None:
                    here.child.stop()
            self._change.notify_all()
        for thread in self._threads:
            if thread.is_alive():
                thread.join(10)
        self._lock.give_back()

    # --- asking and stopping -----------------------------------------------------------------------------------

    def ask(
        self,
        room: RoomFolder,
        question: str,
        title: str,
        given: dict[str, tuple[str, ...]],
        fill: Callable[[Path], list[str]],
        likely_seconds: float | None = None,
    ) -> Run:
        """Put a question into its queue; fill: see `runs_record.begin`.

        Raises InputError where another growsim page is at work in this folder, or the room has been removed meanwhile.
        """
        self._lock.refuse_if_not_ours()
        with self._change:
            still_there(room)
            folder, run = record.begin(room, question, title, given, time.time(), fill, likely_seconds)
            self._waiting.append((folder, run))
            self._change.notify_all()
        return run

    def stop(self, room: RoomFolder, run_id: str) -> Run:
        """Stop a run, or take it out of the queue. What is over stays as it is."""
        with self._change:
            run = record.load(room, run_id)
            for entry in self._waiting:
                if (entry[1].room, entry[1].id) == (room.name, run_id):
                    self._waiting.remove(entry)
                    run = replace(run, state=record.STOPPED, ended_at=time.time())
                    record.save(entry[0], run)
                    return run
            here = self._at_work.get(run.lane)
            if here is not None and (here.run.room, here.run.id) == (room.name, run_id):
                here.stopping = True
                if here.child is not None:
                    here.child.stop()
                self._change.wait_for(lambda: self._at_work.get(run.lane) is not here, timeout=2)
        return record.load(room, run_id)

    def remove(self, room: RoomFolder, run_id: str) -> None:
        """Throw a run and its answer away; stopped first if need be."""
        self.stop(room, run_id)
        folder = record.folder_of_run(room, run_id)
        away = folder.with_name(f".{folder.name}-thrown-away")
        folder.rename(away)
        shutil.rmtree(away, ignore_errors=True)

    def why_busy(self, room: RoomFolder) -> str:
        """Why nothing may become of a room just now: a question of it is at work or waits. '' where none does."""
        try:
            self._lock.refuse_if_not_ours()
        except InputError as refusal:
            return str(refusal)
        going = [run.title for run in record.runs_of(room) if not run.is_over]
        if not going:
            return ""
        more = f" and {len(going) - 1} more" if len(going) > 1 else ""
        return f"It is being asked “{going[-1]}”{more}: wait for the answer, or stop the question, and then try again."

    def with_no_question(self, room: RoomFolder, do: Callable[[], Done]) -> Done:
        """Do something to a room while no question of it is at work or can be asked. Raises InputError where one is."""
        with self._change:
            busy = self.why_busy(room)
            if busy:
                raise InputError(busy)
            return do()

    # --- looking -----------------------------------------------------------------------------------------------

    def place_in_line(self, run: Run) -> int:
        """How many come before it in its lane: 0 for what is at work or next. -1 where it is not in the queue."""
        with self._change:
            ids = [(waiting.room, waiting.id) for _, waiting in self._waiting if waiting.lane == run.lane]
            busy = run.lane in self._at_work
        return ids.index((run.room, run.id)) + busy if (run.room, run.id) in ids else -1

    def progress(self, run: Run) -> Progress:
        """How far a run is that is at work."""
        with self._change:
            here = self._at_work.get(run.lane)
            if here is None or (here.run.room, here.run.id) != (run.room, run.id):
                return Progress()
            stand, began, done_then = here.stand, here.part_began, here.done_then
        if stand is None or stand.total <= 0:
            return Progress("Getting ready")
        if stand.done >= stand.total:
            return Progress("Writing it down", 1.0, None, stand.so_far)
        fraction = stand.done / stand.total
        done, passed = stand.done - done_then, time.monotonic() - began
        left = passed / done * (stand.total - stand.done) if done > 0 and passed > 1 else None
        return Progress(f"{stand.what}: {stand.done:,} of {stand.total:,} {stand.unit}", fraction, left, stand.so_far)

    # --- working -----------------------------------------------------------------------------------------------

    def _next(self, lane: str) -> tuple[Path, Run] | None:
        return next((entry for entry in self._waiting if entry[1].lane == lane), None)

    def _work(self, lane: str) -> None:
        while True:
            with self._change:
                self._change.wait_for(lambda: self._closing or self._next(lane) is not None)
                entry = self._next(lane)
                if self._closing or entry is None:
                    return
                self._waiting.remove(entry)
                folder, run = entry[0], replace(entry[1], state=record.AT_WORK, began_at=time.time())
                here = self._at_work[lane] = _AtWork(folder, run)
            try:
                ended = self._run_one(here)
            except Exception as fault:  # a full disk, a folder taken away: told, and the next one has its turn
                ended = replace(run, state=record.FAILED, said=f"It could not be worked on ({fault}).")
            with self._change:
                self._tell_end(here, replace(ended, ended_at=time.time()))
                del self._at_work[lane]
                self._change.notify_all()

    def _tell_end(self, here: _AtWork, ended: Run) -> None:
        try:
            self._clear_half_answers(here.folder)
            record.save(here.folder, ended)
        except OSError:
            return  # its folder has gone: there is nobody left to tell

    def _run_one(self, here: _AtWork) -> Run:
        record.save(here.folder, here.run)
        code = self._command(here, list(here.run.words), record.ANSWER)
        run = here.run
        if code == 0:
            self._days_of(here)
            (here.folder / (record.ANSWER + record.NEW)).rename(here.folder / record.ANSWER)
            return replace(run, state=record.DONE, lead=record.lead_of(here.folder / record.ANSWER))
        said = self._what_was_said(here)
        if here.stopping:
            return replace(run, state=record.STOPPED)
        if self._closing:
            return replace(run, state=record.INTERRUPTED)
        return replace(run, state=record.REFUSED if code == 2 else record.FAILED, said=said)

    def _command(self, here: _AtWork, words: list[str], out: str) -> int:
        workers = ["--workers", str(self._workers)] if self._workers else []
        whole = [*words, *workers, "--out", str(here.folder / (out + record.NEW))]
        progress = here.folder / record.PROGRESS
        child = self._begin_child(whole, self._folder.path, progress, here.folder / record.SAID)
        with self._change:
            here.child = child
            if here.stopping or self._closing:
                child.stop()
        while (code := child.wait(LOOK_SECONDS)) is None:
            self._look(here, read_progress(progress))
        child.let_go()
        progress.unlink(missing_ok=True)
        return code

    def _look(self, here: _AtWork, stand: Stand | None) -> None:
        with self._change:
            if stand is not None and stand.part != here.part:
                here.part, here.part_began, here.done_then = stand.part, time.monotonic(), stand.done
            here.stand = stand or here.stand

    def _days_of(self, here: _AtWork) -> None:
        """After a rehearsal: its middle year once more, day by day. The answer stands without it, should it fail."""
        if here.run.question != "rehearse" or here.stopping or self._closing:
            return
        try:
            summary = json.loads(
                (here.folder / (record.ANSWER + record.NEW) / "summary.json").read_text(encoding="utf-8")
            )
            words = ["rehearse", here.run.words[1], "--replication", str(summary["typical_replication"]), "--trace"]
            words += ["--seed", str(summary["seed"]), "--days", str(summary["days"]), "--start", str(summary["start"])]
        except (OSError, ValueError, KeyError):
            return
        with self._change:
            here.stand = None
        if self._command(here, words, record.DAYS) == 0:
            (here.folder / (record.DAYS + record.NEW)).rename(here.folder / record.DAYS)

    def _what_was_said(self, here: _AtWork) -> str:
        said = here.child.said() if here.child is not None else ""
        inside = f"{here.folder.relative_to(self._folder.path).as_posix()}/{record.ASKED}/"
        return said.replace(str(self._folder.path) + "/", "").replace(inside, "")

    def _clear_half_answers(self, folder: Path) -> None:
        for path in folder.iterdir():
            if path.name.endswith(record.NEW) or path.name.startswith((f".{record.ANSWER}", f".{record.DAYS}")):
                shutil.rmtree(path, ignore_errors=True) if path.is_dir() else path.unlink(missing_ok=True)
        (folder / record.PROGRESS).unlink(missing_ok=True)
