"""Files that are no room file at all are refused in one sentence, and odd but honest ones are read."""

from __future__ import annotations

import hashlib
import tomllib
from pathlib import Path

import pytest

from growsim.errors import RoomFileError
from growsim.scenario.load import load_scenario

ROOT = Path(__file__).parents[2]
TINY = ROOT / "scenarios" / "tiny" / "room.toml"


def refusal(path: Path) -> str:
    """What is said of a file that is refused."""
    with pytest.raises(RoomFileError) as refused:
        load_scenario(path)
    return str(refused.value)


@pytest.mark.parametrize("time", ["18:30", "9:05", "6 pm"])
def test_a_time_without_quotes_is_named(time: str, tmp_path: Path) -> None:
    """In a table on one line too; and the rest of the file is read."""
    text = TINY.read_text(encoding="utf-8").replace("start_hour = ", f"start_hour = {time} # ", 1)
    (tmp_path / "room.toml").write_text(text + "[[crew.shifts]]\nname = 3\n", encoding="utf-8")
    said = refusal(tmp_path)

    assert f'has the time {time} without quotes; write "{time}".' in said
    assert "crew.shifts.entry" in said and "add the missing" not in said


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty; start from the room"),
        (b" \n\t\n", "is empty; start from the room"),
        (b"\x7fELF\x00\x01\x02", "is not a text file"),
        (b'[room]\nname = "caf\xe9"\n', "line 2 is not written in UTF-8; save the file as UTF-8"),
        (b"x = " + b"[" * 5000, "nests lists or tables too deeply"),
        (b"#" * 1_000_001, "is 1.0 MB large; a room file stays below 1 MB"),
        (b"PK\x03\x04\x00\x00", "is not a text file"),
        (b'{"room": 1}', 'line 1 (`{"room": 1}`) is no key, no heading and no remark'),
    ],
    ids=["empty", "blank", "program", "latin-1", "nested", "large", "archive", "json"],
)
def test_what_is_no_room_file_is_refused(content: bytes, said: str, tmp_path: Path) -> None:
    """One sentence with the file's name and what to do."""
    file = tmp_path / "room.toml"
    file.write_bytes(content)

    assert refusal(file).startswith(f"{file}: {said}")
    assert refusal(file).count("\n") == 0


def test_thousands_of_faults_are_told_by_the_hundred(tmp_path: Path) -> None:
    """Wording 400,000 of them took minutes and half a gigabyte."""
    file = tmp_path / "room.toml"
    file.write_text("".join(f"k{i} = 1\n" for i in range(1_000)) + TINY.read_text())
    told = refusal(file).splitlines()

    assert len(told) == 101
    assert told[-1] == f"{file}: has 900 more faults; correct these first."


def test_a_file_that_is_not_there(tmp_path: Path) -> None:
    """A mistyped name is said to be one."""
    assert refusal(tmp_path / "rom.toml").endswith(
        "rom.toml: there is no such file; check the name, or make a room with `growsim new`."
    )


def test_a_file_inside_a_file(tmp_path: Path) -> None:
    """A path through a file leads nowhere."""
    (tmp_path / "room").write_text("x")

    assert "goes through something that is no folder" in refusal(tmp_path / "room" / "room.toml")


@pytest.mark.parametrize("name", ["a\0b", "x" * 5000])
def test_names_no_disk_can_hold(name: str) -> None:
    """Not even the name can be looked up."""
    assert "cannot be read" in refusal(Path(name))


def test_a_file_that_may_not_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody else's file (the refusal is made here, since a superuser is refused nothing)."""
    file = tmp_path / "room.toml"
    file.write_text("x = 1")

    def refuse(_: Path) -> bytes:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "read_bytes", refuse)

    assert refusal(file) == f"{file}: may not be read by you; ask for permission to read it."


def test_a_folder_without_a_room(tmp_path: Path) -> None:
    """A folder needs a room.toml; another TOML file in it is pointed to."""
    assert refusal(tmp_path) == f"{tmp_path}: has no room.toml in it; make one with `growsim new`."

    (tmp_path / "other.toml").write_text("x = 1")

    assert refusal(tmp_path).endswith(f"name the file itself, e.g. {tmp_path / 'other.toml'}.")


def test_a_room_toml_that_is_a_folder(tmp_path: Path) -> None:
    """A folder of that name is not the file."""
    (tmp_path / "room.toml").mkdir()

    assert "is a folder, not a file" in refusal(tmp_path)


@pytest.mark.parametrize("before", [b"", b"\xef\xbb\xbf"], ids=["plain", "with a byte order mark"])
@pytest.mark.parametrize("line_end", [b"\n", b"\r\n"], ids=["unix", "windows"])
def test_files_as_editors_save_them(before: bytes, line_end: bytes, tmp_path: Path) -> None:
    """Byte order mark and Windows line ends change nothing but the fingerprint."""
    content = before + TINY.read_bytes().replace(b"\n", line_end)
    (tmp_path / "room.toml").write_bytes(content)

    room = load_scenario(tmp_path)

    assert room.scenario == load_scenario(TINY).scenario
    assert room.sha256 == hashlib.sha256(content).hexdigest()


def test_what_a_loaded_room_holds() -> None:
    """The scenario, the tables as written, the file and its fingerprint; none of it can be changed by mistake."""
    room = load_scenario(TINY.parent)

    assert (room.path, room.raw) == (TINY, tomllib.loads(TINY.read_text(encoding="utf-8")))
    assert room.scenario.room.name == "Tiny trial room"
    with pytest.raises(AttributeError):
        room.path = Path()  # type: ignore[misc]


def test_a_date_in_quotes_is_a_date(tmp_path: Path) -> None:
    """Quotes round a date are the commonest harmless slip."""
    (tmp_path / "room.toml").write_text(
        TINY.read_text(encoding="utf-8").replace("start_date = 2031-01-06", 'start_date = "2031-01-06"')
    )

    assert load_scenario(tmp_path).scenario == load_scenario(TINY).scenario
