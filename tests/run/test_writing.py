"""A file or a folder is there whole or not at all, and nothing in a table acts as a formula."""

from __future__ import annotations

import csv
import errno
import io
import os
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from growsim.errors import OutputError
from growsim.run.writing import (
    OUR_MARK,
    csv_safe,
    csv_text,
    output_folder,
    refuse_existing,
    write_bytes,
    write_csv,
    write_text,
)


def names(folder: Path) -> list[str]:
    """Everything in a folder, hidden files too."""
    return sorted(path.name for path in folder.iterdir())


def test_a_folder_appears_when_it_is_finished(tmp_path: Path) -> None:
    """While it is being built there is no folder of that name; afterwards there is, and nothing else."""
    out = tmp_path / "reports" / "room"
    with output_folder(out) as building:
        write_text(building / "summary.json", "{}")
        assert not out.exists()
        assert building.parent == out.parent

    assert names(out.parent) == ["room"]
    assert (out / "summary.json").read_text() == "{}"


def test_a_build_that_fails_leaves_nothing(tmp_path: Path) -> None:
    """Neither the folder nor the half of it."""
    with pytest.raises(RuntimeError), output_folder(tmp_path / "room") as building:
        write_text(building / "half.txt", "half")
        raise RuntimeError

    assert names(tmp_path) == []


def test_ctrl_c_while_building_leaves_nothing(tmp_path: Path) -> None:
    """Stopped by hand is no different from failed."""
    with pytest.raises(KeyboardInterrupt), output_folder(tmp_path / "room") as building:
        write_text(building / "half.txt", "half")
        raise KeyboardInterrupt

    assert names(tmp_path) == []


def test_an_existing_folder_is_refused(tmp_path: Path) -> None:
    """Never overwritten silently; the sentence says what to do."""
    (tmp_path / "room").mkdir()

    with pytest.raises(OutputError, match="exists already; give another folder with --out, or say --replace"):
        refuse_existing(tmp_path / "room")
    with pytest.raises(OutputError), output_folder(tmp_path / "room"):
        raise AssertionError("must not start")


def report(out: Path, *, of: str = "rehearse, Tiny", replace: bool = False, **files: str) -> None:
    """A report with a summary and these CSV files."""
    with output_folder(out, replace=replace, of=of) as building:
        write_text(building / "summary.json", "{}")
        (building / "figures").mkdir()
        for name, text in files.items():
            write_text(building / "figures" / f"{name}.csv", text)


def test_our_own_files_are_replaced_when_asked(tmp_path: Path) -> None:
    """The new report is there whole; nothing of the old one stays, and until then the old one stands."""
    out = tmp_path / "room"
    report(out, stale="old", kept="old")
    with output_folder(out, replace=True, of="rehearse, Tiny") as building:
        write_text(building / "kept.csv", "new")
        assert (out / "figures" / "kept.csv").read_text() == "old"

    assert names(tmp_path) == ["room"]
    assert names(out) == [OUR_MARK, "kept.csv"]
    assert (out / "kept.csv").read_text() == "new"


def test_a_failed_replacement_keeps_the_old_report(tmp_path: Path) -> None:
    """Until the new one is whole, the old one stands."""
    out = tmp_path / "room"
    report(out)
    with pytest.raises(RuntimeError), output_folder(out, replace=True):
        raise RuntimeError

    assert names(tmp_path) == ["room"]
    assert names(out) == [OUR_MARK, "figures", "summary.json"]


def test_what_is_not_ours_is_left_alone_and_named(tmp_path: Path) -> None:
    """Notes, another report inside, a link: all there afterwards, as they were; even where a name is now wanted."""
    out, other = tmp_path / "room", tmp_path / "room" / "other room"
    (tmp_path / "elsewhere").mkdir()
    report(out, stale="old")
    (out / "NOTES.txt").write_text("mine")
    (out / "figures" / "later.csv").write_text("mine")
    report(other, of="rehearse, Other", far="away")
    (out / "link").symlink_to(tmp_path / "elsewhere")

    named = refuse_existing(out, replace=True, of="rehearse, Tiny")
    report(out, replace=True, later="new")

    assert named == [
        "NOTES.txt", "figures/later.csv", "link",
        f"other room/{OUR_MARK}", "other room/figures/far.csv", "other room/summary.json",
    ]  # fmt: skip
    assert (out / "NOTES.txt").read_text() == "mine"
    assert names(out / "figures") == ["later-yours.csv", "later.csv"]
    assert (out / "figures" / "later-yours.csv").read_text() == "mine"
    assert names(other) == [OUR_MARK, "figures", "summary.json"]
    assert (out / "link").is_symlink()


@pytest.mark.parametrize("replaced", [refuse_existing, lambda out, **said: output_folder(out, **said).__enter__()])
def test_a_report_of_another_kind_or_one_worked_on_is_not_replaced(replaced: Any, tmp_path: Path) -> None:
    """Another room's, another question's, or one in which somebody has corrected a figure."""
    report(tmp_path / "room", measures="1\n")

    with pytest.raises(OutputError, match=r"holds another report \(rehearse, Tiny\); give another folder"):
        replaced(tmp_path / "room", replace=True, of="rehearse, Other")
    (tmp_path / "room" / "figures" / "measures.csv").write_text("2\n")
    with pytest.raises(OutputError, match=r"figures/measures.csv was changed since it was written; move it away"):
        replaced(tmp_path / "room", replace=True, of="rehearse, Tiny")

    assert names(tmp_path) == ["room"]


@pytest.mark.parametrize("content", ["harvest.jpg", "summary.json", OUR_MARK])
def test_somebody_elses_folder_is_never_replaced(content: str, tmp_path: Path) -> None:
    """A mistyped path costs nobody their files, whatever they are called."""
    out = tmp_path / "photographs"
    out.mkdir()
    (out / content).write_bytes(b"x")
    with (
        pytest.raises(OutputError, match="holds files that are not a report of ours"),
        output_folder(out, replace=True),
    ):
        raise AssertionError("must not start")

    assert names(out) == [content]


def test_a_name_taken_meanwhile_costs_no_work(tmp_path: Path) -> None:
    """After hours of rehearsing, what was found is kept beside it, and the sentence says where."""
    with pytest.raises(OutputError, match=r"exists already; .* What was to be written lies in .*room-3\."):  # noqa: SIM117
        with output_folder(tmp_path / "room") as building:
            write_text(building / "summary.json", "{}")
            (tmp_path / "room").write_text("somebody's")
            (tmp_path / "room-2").mkdir()

    assert names(tmp_path) == ["room", "room-2", "room-3"]
    assert (tmp_path / "room").read_text() == "somebody's"
    assert names(tmp_path / "room-3") == [OUR_MARK, "summary.json"]


def test_a_file_in_the_way_is_not_replaced(tmp_path: Path) -> None:
    """A file of that name is not a folder of ours."""
    (tmp_path / "room").write_text("notes")

    with pytest.raises(OutputError, match="is not a folder"):
        refuse_existing(tmp_path / "room", replace=True)


def test_a_place_that_cannot_be_written_is_said_plainly(tmp_path: Path) -> None:
    """The system's own words, in a sentence, with a remedy."""
    (tmp_path / "file").write_text("")

    with (
        pytest.raises(OutputError, match=r"cannot be written \(.*\); give another folder with --out\."),
        output_folder(tmp_path / "file" / "room"),
    ):
        raise AssertionError("must not start")


def test_it_is_said_before_the_work_starts_and_leaves_nothing(tmp_path: Path) -> None:
    """Years are not lived through for a report that has nowhere to go; where it has, nothing is left of the look."""
    (tmp_path / "file").write_text("")

    with pytest.raises(OutputError, match=r"cannot be written \(not a directory\); give another folder with --out\."):
        refuse_existing(tmp_path / "file" / "deep" / "room")
    refuse_existing(tmp_path / "new" / "deep" / "room")

    assert names(tmp_path) == ["file"]


def test_a_drive_that_is_not_there_is_no_fault_of_ours(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A memory stick pulled out: the system cannot make the folder; a file missing later on is another matter."""

    def pulled_out(*_: object, **__: object) -> None:
        raise FileNotFoundError(errno.ENOENT, os.strerror(errno.ENOENT))

    with pytest.raises(FileNotFoundError), output_folder(tmp_path / "room"):
        pulled_out()
    monkeypatch.setattr(Path, "mkdir", pulled_out)
    with (
        pytest.raises(OutputError, match=r"cannot be written \(no such file or directory\); give another folder with"),
        output_folder(tmp_path / "stick" / "room"),
    ):
        raise AssertionError("must not start")


def test_a_full_disk_is_said_plainly(tmp_path: Path) -> None:
    """Space that runs out half-way is the user's to repair, not a fault of ours; nothing is left."""
    with pytest.raises(OutputError, match="no space left"), output_folder(tmp_path / "room"):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    assert names(tmp_path) == []


def test_a_disk_that_is_nearly_full_is_said_before_the_work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Not after the years have been lived through."""
    monkeypatch.setattr("shutil.disk_usage", lambda _: SimpleNamespace(free=12_900_000))

    with pytest.raises(OutputError, match="only 12 MB are free there; make room for 30, or give another folder"):
        refuse_existing(tmp_path / "room")


def test_another_file_that_is_missing_is_not_blamed_on_the_folder(tmp_path: Path) -> None:
    """Only a refusal to write is turned into a sentence about the output folder."""
    with pytest.raises(FileNotFoundError), output_folder(tmp_path / "room"):
        (tmp_path / "no such file").read_text()


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    """Readers see the old file or the new one, and no temporary name stays behind."""
    write_text(tmp_path / "a.txt", "first")
    write_bytes(tmp_path / "a.txt", "zweite Fassung: °C".encode())

    assert (tmp_path / "a.txt").read_text(encoding="utf-8") == "zweite Fassung: °C"
    assert names(tmp_path) == ["a.txt"]


@pytest.mark.skipif(os.name != "posix", reason="permission bits are POSIX")
def test_reports_can_be_read_by_others_as_usual(tmp_path: Path) -> None:
    """Temporary names are private; what is left behind is as readable as any other new file or folder."""
    before = os.umask(0o022)
    try:
        with output_folder(tmp_path / "room") as building:
            write_text(building / "a.txt", "a")
    finally:
        os.umask(before)

    assert (tmp_path / "room").stat().st_mode & 0o777 == 0o755
    assert (tmp_path / "room" / "a.txt").stat().st_mode & 0o777 == 0o644


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\tx", "\rx"])
def test_text_that_would_run_is_disarmed(text: str) -> None:
    """Source: OWASP's note on CSV injection (from memory): these starts make a spreadsheet run a cell."""
    assert csv_safe(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "butterhead", "a=b", "1-2", "'quoted'"])
def test_plain_text_passes(text: str) -> None:
    """Only the first character matters."""
    assert csv_safe(text) == text


def test_a_table_reads_back(tmp_path: Path) -> None:
    """Commas, quotes and new lines survive; numbers keep their sign; None is an empty cell."""
    write_csv(tmp_path / "t.csv", ["crop", "kg"], [['basil, "sweet"\n', -1.5], ["=cmd()", None]])
    with (tmp_path / "t.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))

    assert rows == [["crop", "kg"], ['basil, "sweet"\n', "-1.5"], ["'=cmd()", ""]]


def test_a_header_can_be_disarmed_too() -> None:
    """Names of crops and partners come from the user and may become columns."""
    assert next(csv.reader(io.StringIO(csv_text(["=cmd()"], [])))) == ["'=cmd()"]
