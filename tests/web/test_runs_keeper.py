"""The queue of questions: in turn, one at a time, to be stopped, and never half an answer."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from page_served import Pretender, folder_with_tiny, pretender, wait_for

from growsim.errors import InputError
from growsim.web.answers.files import files_of
from growsim.web.folder import Folder, NotHereError, RoomFolder
from growsim.web.runs import record
from growsim.web.runs.keeper import Keeper
from growsim.web.runs.record import Run, first_sentence


class Page:
    """A keeper over a folder with the tiny room, and the commands it has begun."""

    def __init__(self, path: Path) -> None:
        self.children = pretender()
        self.folder = Folder(path)
        self.keeper = Keeper(self.folder, begin_child=self.children)  # type: ignore[arg-type]
        self.keeper.open()

    @property
    def room(self) -> RoomFolder:
        """The tiny room."""
        return self.folder.room("tiny")

    def ask(self, question: str = "crew", likely_seconds: float | None = None) -> Run:
        """A question of the tiny room."""
        return self.keeper.ask(
            self.room, question, question, {}, lambda asked: [question, "tiny"], likely_seconds=likely_seconds
        )

    def begun(self, number: int) -> Pretender:
        """The command begun as the number-th, once it is."""
        return wait_for(lambda: self.children.begun[number - 1] if len(self.children.begun) >= number else None, 10)

    def state(self, run: Run, wanted: str | None = None) -> str:
        """Its state on the disk, once it is the wanted one."""
        if wanted is not None:
            wait_for(lambda: record.load(self.room, run.id).state == wanted, 10)
        return record.load(self.room, run.id).state

    def crash(self) -> None:
        """The page ends without a word: the system gives back its lock, and nothing else happens."""
        self.keeper._lock.give_back()


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    """A page over a folder of its own."""
    made = Page(folder_with_tiny(tmp_path))
    yield made
    made.keeper.close()


def test_one_at_a_time_in_the_order_of_asking(page: Page) -> None:
    """Three questions are worked on one after the other; each is told its place in the line."""
    first, second, third = page.ask("crew"), page.ask("sow"), page.ask("outage")
    at_work = page.begun(1)
    page.state(first, record.AT_WORK)

    assert [page.keeper.place_in_line(run) for run in (first, second, third)] == [-1, 1, 2]
    assert [page.state(run) for run in (second, third)] == [record.WAITING, record.WAITING]
    at_work.answer()
    page.state(first, record.DONE)
    page.begun(2).answer()
    page.begun(3).answer()
    page.state(third, record.DONE)
    assert [child.words[0] for child in page.children.begun] == ["crew", "sow", "outage"]


def test_a_short_question_passes_a_long_one_and_a_replay_waits_for_neither(page: Page) -> None:
    """With a long one and a short one at work, a replay begins at once; a second short one waits for the first."""
    long, short = page.ask("crew", 600), page.ask("promise", 20)
    page.state(long, record.AT_WORK)
    page.state(short, record.AT_WORK)
    waiting, replay = page.ask("sheet", 20), page.ask("replay", 4)
    page.state(replay, record.AT_WORK)

    assert page.state(waiting) == record.WAITING
    assert page.keeper.place_in_line(waiting) == 1
    page.begun(3)
    begun = {child.words[0]: child for child in page.children.begun}
    assert set(begun) == {"crew", "promise", "replay"}
    page.keeper.stop(page.room, replay.id)
    assert begun["replay"].stopped
    assert not begun["crew"].stopped
    begun["promise"].answer()
    page.state(waiting, record.AT_WORK)
    assert page.state(long) == record.AT_WORK


def test_half_an_answer_is_never_there(page: Page) -> None:
    """While a command writes, nothing of it can be seen; when it has ended well, all of it can."""
    run = page.ask()
    child = page.begun(1)
    child.write_half()
    folder = record.folder_of_run(page.room, run.id)

    assert files_of(folder) == {}
    assert page.state(run) == record.AT_WORK
    child.answer()
    page.state(run, record.DONE)
    assert set(files_of(folder)) == {"report.html", "summary.json"}


@pytest.mark.parametrize(("code", "state"), [(2, record.REFUSED), (1, record.FAILED), (-11, record.FAILED)])
def test_a_command_that_does_not_end_well_leaves_no_answer(page: Page, code: int, state: str) -> None:
    """Its sentence is kept, without the way to the folder; what it had written is not."""
    run = page.ask()
    child = page.begun(1)
    child.write_half()
    folder = record.folder_of_run(page.room, run.id)
    child.end(code, f"tiny/answers/{run.id}/asked/tiny/room.toml, racks: there is none; add one.")
    page.state(run, state)

    assert record.load(page.room, run.id).said == "tiny/room.toml, racks: there is none; add one."
    assert files_of(folder) == {}
    assert sorted(path.name for path in folder.iterdir()) == ["asked", "run.json", "said.txt"]


def test_stopping_one_at_work_and_one_that_waits(page: Page) -> None:
    """Who is at work is told to stop, who waits leaves the line, and the next one has its turn."""
    first, second, third = page.ask("crew"), page.ask("sow"), page.ask("outage")
    child = page.begun(1)
    child.write_half()

    assert page.keeper.stop(page.room, second.id).state == record.STOPPED
    assert page.keeper.stop(page.room, first.id).state == record.STOPPED
    assert child.stopped
    page.begun(2).answer()
    page.state(third, record.DONE)
    assert [one.words[0] for one in page.children.begun] == ["crew", "outage"]
    assert page.keeper.stop(page.room, third.id).state == record.DONE  # what is over stays as it is


def test_a_rehearsal_brings_its_middle_year_day_by_day(page: Page) -> None:
    """After a rehearsal its typical year is lived through once more; the answer stands even where that fails."""
    run = page.ask("rehearse")
    page.begun(1).answer(typical_replication=7)
    again = page.begun(2)

    assert again.words[:5] == ["rehearse", "tiny", "--replication", "7", "--trace"]
    assert page.state(run) == record.AT_WORK
    again.end(1, "broken")
    page.state(run, record.DONE)
    assert set(files_of(record.folder_of_run(page.room, run.id))) == {"report.html", "summary.json"}


def test_after_a_crash(page: Page) -> None:
    """What was done is there, what was at work is interrupted and leaves nothing, what waited has its turn."""
    done, at_work, waiting = page.ask("crew"), page.ask("sow"), page.ask("outage")
    page.begun(1).answer()
    page.begun(2).write_half()
    page.state(at_work, record.AT_WORK)
    page.crash()
    later = Page(page.folder.path)
    try:
        assert later.state(done) == record.DONE
        assert later.state(at_work) == record.INTERRUPTED
        assert files_of(record.folder_of_run(later.room, at_work.id)) == {}
        later.begun(1).answer()
        later.state(waiting, record.DONE)
        assert [child.words[0] for child in later.children.begun] == ["outage"]
    finally:
        later.keeper.close()


def test_closing_the_page_tells_what_was_interrupted(page: Page) -> None:
    """Ctrl-C on the page: what is at work is stopped and told as interrupted; what waits, waits."""
    first, second = page.ask(), page.ask()
    child = page.begun(1)
    page.keeper.close()

    assert child.stopped
    assert (page.state(first), page.state(second)) == (record.INTERRUPTED, record.WAITING)


def test_two_pages_in_one_folder(page: Page) -> None:
    """The second may look; to ask, it is told where. It takes nothing from the first."""
    run = page.ask()
    page.begun(1)
    second = Page(page.folder.path)
    try:
        with pytest.raises(InputError, match="Another growsim page is at work in this folder"):
            second.ask()
        assert second.state(run) == record.AT_WORK
        assert len(record.runs_of(page.room)) == 1
    finally:
        second.keeper.close()


def test_a_folder_that_goes_away_holds_nobody_up(page: Page) -> None:
    """Somebody deletes the folder of what is at work: the next question is answered all the same."""
    first, second = page.ask(), page.ask()
    child = page.begun(1)
    shutil.rmtree(record.folder_of_run(page.room, first.id))
    child.code = 0
    page.begun(2).answer()
    page.state(second, record.DONE)

    assert [run.id for run in record.runs_of(page.room)] == [second.id]


def test_throwing_away(page: Page) -> None:
    """An answer thrown away is gone; so is one at work, after being stopped."""
    done, going = page.ask(), page.ask()
    page.begun(1).answer()
    page.begun(2)
    page.keeper.remove(page.room, done.id)
    page.keeper.remove(page.room, going.id)

    assert record.runs_of(page.room) == []
    with pytest.raises(NotHereError):
        record.load(page.room, done.id)


def test_asking_that_fails_leaves_nothing(page: Page) -> None:
    """Where the files cannot be copied, no half question stays behind."""

    def fail(asked: Path) -> list[str]:
        (asked / "half").write_text("x", encoding="utf-8")
        raise OSError("disk full")

    with pytest.raises(OSError, match="disk full"):
        page.keeper.ask(page.room, "crew", "crew", {}, fail)
    assert list((page.room.home / "answers").iterdir()) == []


@pytest.mark.parametrize("text", ["", "{", "[]", '{"id": 1}', "\x00"])
def test_a_record_that_cannot_be_read_hides_only_itself(page: Page, text: str) -> None:
    """A broken run.json is passed by in the list and told when asked for."""
    run = page.ask()
    folder = record.folder_of_run(page.room, run.id)
    page.begun(1).answer()
    page.state(run, record.DONE)
    (folder / "run.json").write_text(text, encoding="utf-8")

    assert record.runs_of(page.room) == []
    with pytest.raises(NotHereError):
        record.load(page.room, run.id)


@pytest.mark.parametrize("run_id", ["", ".", "..", "../tiny", "0001-crew/..", "0001", "run.json", "0001-CREW", "9-x"])
def test_only_ids_are_ids(page: Page, run_id: str) -> None:
    """No other name leads to a folder."""
    page.ask()
    with pytest.raises(NotHereError):
        record.folder_of_run(page.room, run_id)


def test_a_link_is_no_answer(page: Page, tmp_path: Path) -> None:
    """A link put where an answer would be leads nowhere; nor does one inside an answer."""
    run = page.ask()
    page.begun(1).answer()
    page.state(run, record.DONE)
    folder = record.folder_of_run(page.room, run.id)
    (folder.parent / "0099-crew").symlink_to(folder)
    (folder / "answer" / "away.csv").symlink_to(page.room.file)
    (folder / "answer" / "deep").symlink_to(page.room.home)

    with pytest.raises(NotHereError):
        record.folder_of_run(page.room, "0099-crew")
    assert set(files_of(folder)) == {"report.html", "summary.json"}


def test_progress_and_time_left(page: Page) -> None:
    """What the command writes of its progress is told in words, with a share."""
    run = page.ask()
    child = page.begun(1)

    assert page.keeper.progress(run).fraction is None
    told = {"what": "Trying crews", "unit": "years", "part": 1, "done": 30, "total": 120, "so_far": ""}
    child.progress_file.write_text(json.dumps(told), encoding="utf-8")
    seen = wait_for(lambda: (now := page.keeper.progress(run)).fraction is not None and now, 10)

    assert (seen.what, seen.fraction) == ("Trying crews: 30 of 120 years", 0.25)
    child.progress_file.write_text(json.dumps({**told, "done": 120}), encoding="utf-8")
    wait_for(lambda: page.keeper.progress(run).what == "Writing it down", 10)


def test_a_first_sentence_is_not_cut_at_a_colon() -> None:
    """ "Sow as in the table" alone would say nothing."""
    said = "Sow as in the table: 84% of pick-ups are met in full. Today's plan meets 78%."
    assert first_sentence(said) == ("Sow as in the table: 84% of pick-ups are met in full.", "Today's plan meets 78%.")
