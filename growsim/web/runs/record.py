"""A question put to growsim, on the disk: what was asked, with which files, how far it is, and its answer when done.

Each has a folder of its own, `answers/<number>-<question>` in the room's home: run.json (this record), asked/ (the room
and every file as they were when asked), and, once done, answer/ (moved there whole) and, for a rehearsal, days/.
"""

from __future__ import annotations

import datetime as dt
import json
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path
from typing import Any

from growsim.report.words import long_date
from growsim.run.writing import write_text
from growsim.web.folder import NotHereError, RoomFolder

ANSWERS = "answers"
NEW = ".new"  # the ending of what is being written
RECORD, ASKED, ANSWER, DAYS, PROGRESS, SAID = "run.json", "asked", "answer", "days", "progress.json", "said.txt"
WAITING, AT_WORK, DONE = "waiting", "at work", "done"
REFUSED, STOPPED, FAILED, INTERRUPTED = "refused", "stopped", "failed", "interrupted"
SHORT_SECONDS = 60.0  # what is likely to take no longer waits in a line of its own
LANES = ("long", "short", "replay")
OVER = (DONE, REFUSED, STOPPED, FAILED, INTERRUPTED)
LONGEST_LEAD = 300
_END = re.compile(r"([.!?]) (?=[A-Z0-9])")
_ID = re.compile(r"\d{4,9}-[a-z]{2,20}")


@dataclass(frozen=True)
class Run:
    """What was asked and what became of it.

    words: of the command line after `growsim`, without --out; paths from the chosen folder. given: the form as filled
    in, to ask again. state: one of those above. said: what growsim said instead of an answer, a sentence a line. lead:
    the answer's first sentence. Moments in seconds since 1970 (UTC). likely_seconds: that it was thought to take when
    asked; None where nobody said.
    """

    id: str
    room: str
    question: str
    title: str
    words: tuple[str, ...]
    given: dict[str, tuple[str, ...]] = field(default_factory=dict)
    state: str = WAITING
    said: str = ""
    lead: str = ""
    asked_at: float = 0.0
    began_at: float | None = None
    ended_at: float | None = None
    likely_seconds: float | None = None

    @property
    def lane(self) -> str:
        """The line it waits in, one of LANES."""
        if self.question == "replay":
            return "replay"
        return "short" if self.likely_seconds is not None and self.likely_seconds <= SHORT_SECONDS else "long"

    @property
    def is_over(self) -> bool:
        """Whether nothing more will come of it."""
        return self.state in OVER

    @property
    def goes_on(self) -> bool:
        """Whether it was at work and did not come to its end."""
        return self.state in (STOPPED, INTERRUPTED) and self.began_at is not None

    @property
    def when(self) -> str:
        """When it was asked, by this computer's clock: "25 November 2026, 16:04"."""
        asked = dt.datetime.fromtimestamp(self.asked_at)
        return f"{long_date(asked)}, {asked:%H:%M}"

    @property
    def took_seconds(self) -> float | None:
        """From the beginning to the end."""
        return self.ended_at - self.began_at if self.began_at is not None and self.ended_at is not None else None


def lead_of(answer: Path) -> str:
    """The first sentence of an answer, for lists; "" where it cannot be read."""
    try:
        sentences = json.loads((answer / "summary.json").read_text(encoding="utf-8"))["answer"]
        return first_sentence(str(sentences[0]))[0][:LONGEST_LEAD]
    except (OSError, ValueError, KeyError, IndexError, TypeError):
        return ""


def first_sentence(text: str) -> tuple[str, str]:
    """The first sentence of a text, and the rest: a full stop before a space and a capital or a figure ends it; no
    colon does."""
    ends = _END.search(text)
    return (text, "") if ends is None else (text[: ends.end(1)], text[ends.end() :])


def is_id(text: str) -> bool:
    """Whether a text has the form of a run's id."""
    return _ID.fullmatch(text) is not None


def folder_of_run(room: RoomFolder, run_id: str) -> Path:
    """The folder of a run. Raises NotHereError where there is none of that id."""
    answers = room.home / ANSWERS
    folder = answers / run_id
    if not is_id(run_id) or any(path.is_symlink() for path in (room.home, answers, folder)) or not folder.is_dir():
        raise NotHereError(f"There is no answer “{run_id[:40]}” of this room; it may have been thrown away.")
    return folder


def load(room: RoomFolder, run_id: str) -> Run:
    """A run from the disk. Raises NotHereError where it is not there or cannot be read."""
    found = _read(folder_of_run(room, run_id))
    if found is None:
        raise NotHereError(f"What was asked as “{run_id}” cannot be read any more.")
    return replace(found, room=room.name)


def save(folder: Path, run: Run) -> None:
    """Write the record into the run's folder, whole or not at all."""
    write_text(folder / RECORD, json.dumps(asdict(run), indent=1, ensure_ascii=False) + "\n")


def runs_of(room: RoomFolder) -> list[Run]:
    """Everything asked of a room, newest first."""
    return sorted((replace(run, room=room.name) for run in _all(room)), key=lambda run: run.id, reverse=True)


def _all(room: RoomFolder) -> Iterator[Run]:
    answers = room.home / ANSWERS
    if not answers.is_dir() or answers.is_symlink() or room.home.is_symlink():
        return
    try:
        inside = list(answers.iterdir())
    except OSError:  # not ours to look into
        return
    for folder in inside:
        if is_id(folder.name) and folder.is_dir() and not folder.is_symlink():
            found = _read(folder)
            if found is not None:
                yield found


def _read(folder: Path) -> Run | None:
    try:
        raw: dict[str, Any] = json.loads((folder / RECORD).read_text(encoding="utf-8"))
        raw["words"] = tuple(str(word) for word in raw["words"])
        raw["given"] = {str(name): tuple(str(one) for one in values) for name, values in raw["given"].items()}
        return replace(Run(**raw), id=folder.name)
    except (OSError, ValueError, TypeError, KeyError, AttributeError):
        return None


def new_folder(room: RoomFolder, question: str) -> Path:
    """A folder for a run just asked, with the next free number. Nobody else gets the same."""
    answers = room.home / ANSWERS
    answers.mkdir(parents=True, exist_ok=True)
    taken = [int(path.name.partition("-")[0]) for path in answers.iterdir() if is_id(path.name)]
    number = max(taken, default=0) + 1
    while True:
        folder = answers / f"{number:04d}-{question}"
        try:
            folder.mkdir()
        except FileExistsError:
            number += 1
        else:
            return folder


def begin(
    room: RoomFolder,
    question: str,
    title: str,
    given: dict[str, tuple[str, ...]],
    now: float,
    fill: Callable[[Path], list[str]],
    likely_seconds: float | None = None,
) -> tuple[Path, Run]:
    """A run in a folder of its own. fill: puts what was asked with into its asked/ and gives the command's words.

    Nothing is left behind where that cannot be done.
    """  # fmt: skip
    folder = new_folder(room, question)
    try:
        (folder / ASKED).mkdir()
        words = fill(folder / ASKED)
        run = Run(folder.name, room.name, question, title, tuple(words), given, asked_at=now,
                  likely_seconds=likely_seconds)  # fmt: skip
        save(folder, run)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return folder, run
