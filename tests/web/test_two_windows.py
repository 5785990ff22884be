"""Two windows at once lose no edit, and whatever breaks off in the middle, the room on the disk is whole."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import threading
import tomllib
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from page_visit import HOME, Form, Visitor, forms_of, visit

from growsim.scenario.reading import fingerprint
from growsim.web import saving
from growsim.web.folder import RoomFolder

ROOT = Path(__file__).parents[2]
RESERVOIR = "/rooms/tiny/form/reservoirs/0"


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor to a folder with the tiny room in it."""
    (tmp_path / "tiny").mkdir()
    shutil.copy(ROOT / "scenarios" / "tiny" / "room.toml", tmp_path / "tiny")
    with visit(tmp_path) as coming:
        yield coming


def raw(visitor: Visitor) -> dict[str, object]:
    """The room as it stands on the disk."""
    file: Path = visitor.app.state.folder.path / "tiny" / "room.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


def again(page: str, address: str) -> Form:
    """The form that a refused save shows."""
    return next(form for form in forms_of(page) if form.action == address)


def test_the_second_save_is_refused_and_told(visitor: Visitor) -> None:
    """Both windows showed the same reservoir; the second is told what the first saved, side by side, and how
    to go on.
    """
    first, second = visitor.form(RESERVOIR), visitor.form(RESERVOIR)
    visitor.post(RESERVOIR, [*first.with_values(reservoirs__0__flood_minutes="5"), ("do", "save")])

    refused = visitor.post(RESERVOIR, [*second.with_values(reservoirs__0__flood_minutes="7"), ("do", "save")])

    assert refused.status_code == 409
    assert "changed in another window" in refused.text
    row = '<th scope="row">Minutes the pump runs for a flood</th><td>5</td><td>7</td>'
    assert row in refused.text
    assert raw(visitor)["reservoirs"][0]["flood_minutes"] == 5  # type: ignore[index]

    kept = visitor.post(RESERVOIR, [*again(refused.text, RESERVOIR).fields, ("do", "save")])
    assert kept.status_code == 303
    assert raw(visitor)["reservoirs"][0]["flood_minutes"] == 7  # type: ignore[index]


def test_what_the_other_window_changed_stays(visitor: Visitor) -> None:
    """Only what was typed here goes into the file: the other window's capacity is not set back."""
    first, second = visitor.form(RESERVOIR), visitor.form(RESERVOIR)
    visitor.post(RESERVOIR, [*first.with_values(reservoirs__0__capacity_l="133"), ("do", "save")])

    refused = visitor.post(RESERVOIR, [*second.with_values(reservoirs__0__flood_minutes="7"), ("do", "save")])
    visitor.post(RESERVOIR, [*again(refused.text, RESERVOIR).fields, ("do", "save")])

    reservoir = raw(visitor)["reservoirs"][0]  # type: ignore[index]
    assert (reservoir["capacity_l"], reservoir["flood_minutes"]) == (133, 7)


def test_an_edit_finds_its_entry_where_it_stands_now(visitor: Visitor) -> None:
    """While one window edits the second shift, another removes the first: the edit goes to the right one."""
    address, removal = "/rooms/tiny/form/crew/shifts/1", "/rooms/tiny/remove/crew/shifts/0"
    shifts = raw(visitor)["crew"]["shifts"]  # type: ignore[index]
    edit = visitor.form(address).with_values(crew__shifts__1__people="9")
    visitor.post(removal, visitor.form(removal).fields)

    refused = visitor.post(address, [*edit, ("do", "save")])
    assert refused.status_code == 409
    where = next(form.action for form in forms_of(refused.text) if "/form/" in form.action)
    form = again(refused.text, where)
    visitor.post("/rooms/tiny/form/crew/shifts/0", [*form.fields, ("do", "anyway")])

    assert raw(visitor)["crew"]["shifts"] == [{**shifts[1], "people": 9}, *shifts[2:]]  # type: ignore[index]


def test_an_edit_of_what_has_gone_shows_what_was_typed(visitor: Visitor) -> None:
    """The entry itself was removed meanwhile: nothing is saved, and what was typed is shown to be kept."""
    address, removal = "/rooms/tiny/form/crew/shifts/0", "/rooms/tiny/remove/crew/shifts/0"
    edit = visitor.form(address).with_values(crew__shifts__0__people="9")
    visitor.post(removal, visitor.form(removal).fields)

    gone = visitor.post(address, [*edit, ("do", "save")])

    assert gone.status_code == 409
    assert "is no longer in the room" in gone.text
    assert "<dd>9</dd>" in gone.text


def test_a_removal_looks_again_when_the_file_has_changed(visitor: Visitor) -> None:
    """A confirmation given for another state of the file removes nothing."""
    removal = "/rooms/tiny/remove/crew/shifts/0"
    agreed = visitor.form(removal).fields
    visitor.save(RESERVOIR, reservoirs__0__flood_minutes="5")

    answer = visitor.post(removal, agreed)

    assert answer.status_code == 409
    assert "Not removed" in answer.text
    assert len(raw(visitor)["crew"]["shifts"]) == len(  # type: ignore[index]
        tomllib.loads((ROOT / "scenarios" / "tiny" / "room.toml").read_text())["crew"]["shifts"]
    )


def test_text_and_form_know_of_each_other(visitor: Visitor) -> None:
    """An editor or the page's own text field counts as another window too."""
    text = visitor.form("/rooms/tiny/text")
    visitor.save(RESERVOIR, reservoirs__0__flood_minutes="5")

    answer = visitor.post("/rooms/tiny/text", [*text.with_values(text="about = 'mine'"), ("do", "save")])

    assert answer.status_code == 409
    assert "about = &#39;mine&#39;" in answer.text
    assert "flood_minutes = 5" in answer.text
    assert raw(visitor)["reservoirs"][0]["flood_minutes"] == 5  # type: ignore[index]


def test_the_text_comes_back_byte_for_byte(visitor: Visitor) -> None:
    """Text shown and saved as it stands changes nothing, with any line ends and with empty lines in front."""
    file: Path = visitor.app.state.folder.path / "tiny" / "room.toml"
    for change in (lambda text: text, lambda text: "\n\n" + text, lambda text: text.replace("\n", "\r\n")):
        before = change((ROOT / "scenarios" / "tiny" / "room.toml").read_text(encoding="utf-8")).encode()
        file.write_bytes(before)
        answer = visitor.post("/rooms/tiny/text", [*visitor.form("/rooms/tiny/text").fields, ("do", "save")])
        assert answer.status_code == 303
        assert file.read_bytes() == before


def test_a_broken_file_is_corrected_as_text(visitor: Visitor) -> None:
    """A file that is no TOML sends every form to its text, with the sentence of `check`."""
    file: Path = visitor.app.state.folder.path / "tiny" / "room.toml"
    whole = file.read_text(encoding="utf-8")
    file.write_text(whole.replace("[room]", "[room", 1), encoding="utf-8")

    assert visitor.get("/rooms/tiny/form/racks").headers["location"] == "/rooms/tiny/text"
    page = visitor.get("/rooms/tiny/text")
    assert "that is never closed; add the missing ]" in page.text
    mended = visitor.post(
        "/rooms/tiny/text", [*visitor.form("/rooms/tiny/text").with_values(text=whole), ("do", "save")]
    )
    assert mended.status_code == 303
    assert file.read_text(encoding="utf-8") == whole


def test_a_full_disk_loses_nothing(visitor: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    """The save is refused in a sentence, the room is as it was, and nothing lies half-written beside it."""
    before = raw(visitor)

    def full(_: Path, __: bytes) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(saving, "write_bytes", full)
    answer = visitor.save(RESERVOIR, reservoirs__0__flood_minutes="5")

    assert answer.status_code == 400
    assert "no space left on device" in answer.text
    assert raw(visitor) == before
    assert [path.name for path in (visitor.app.state.folder.path / "tiny").iterdir()] == ["room.toml"]


def test_a_new_room_on_a_full_disk_leaves_its_name_free(visitor: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    """No empty folder stays, in whose place no room of that name could be made any more."""

    def full(_: Path, __: bytes) -> None:
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as disk:
        disk.setattr(saving, "write_bytes", full)
        assert visitor.post("/new", {"name": "Mill Street", "region": "US"}).status_code == 400
    assert [path.name for path in visitor.app.state.folder.path.iterdir()] == ["tiny"]

    assert visitor.post("/new", {"name": "Mill Street", "region": "US"}).status_code == 303


def test_a_change_with_a_long_name_is_kept_under_what_fits(visitor: Visitor) -> None:
    """Sixty letters and an ending were one name too long: "there is no file" of that name."""
    change = '[change]\nname = "colder"\n[climate]\nair_temperature_c = 20\n'
    called = f"{'a very long name for a change ' * 3}.toml"
    files = {"file": (called, change.encode())}
    assert visitor.ask("POST", "/rooms/tiny/changes/upload", files=files, headers={"Origin": HOME}).status_code == 303

    (kept,) = (visitor.app.state.folder.path / "tiny" / "changes").iterdir()
    assert kept.read_text(encoding="utf-8") == change
    assert visitor.get(f"/rooms/tiny/changes/files/{kept.name}/make").status_code == 200


def test_a_crash_while_saving_leaves_a_whole_room(tmp_path: Path) -> None:
    """The program is killed at any moment of its saving: the file is the old one or the new one, never a part."""
    (tmp_path / "tiny").mkdir()
    file = tmp_path / "tiny" / "room.toml"
    old = (ROOT / "scenarios" / "tiny" / "room.toml").read_bytes()
    new = old + b"# " + b"x" * 4_000_000
    crash = """
import os, sys, pathlib
file, point = pathlib.Path(sys.argv[1]), int(sys.argv[2])
seen = 0
def watch(event, arguments):
    global seen
    if event in ("open", "os.rename", "os.chmod", "tempfile.mkstemp"):
        seen += 1
        if seen == point:
            os._exit(9)
from growsim.web.saving import save
from growsim.web.folder import RoomFolder
from growsim.scenario.reading import fingerprint
new = file.read_bytes() + b"# " + b"x" * 4_000_000
room, before = RoomFolder("tiny", file, file.parent), fingerprint(file.read_bytes())
sys.addaudithook(watch)
save(room, before, new)
"""
    ends = set()
    for point in range(1, 8):
        file.write_bytes(old)
        done = subprocess.run(
            [sys.executable, "-c", crash, str(file), str(point)],
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
            check=False,
            timeout=60,
        )
        ends.add((done.returncode, file.read_bytes() == new))
        assert file.read_bytes() in (old, new)

    assert {(9, False), (0, True)} <= ends


def test_of_many_savers_at_once_one_wins(tmp_path: Path) -> None:
    """Eight windows save in the same moment what they all began from: one is kept whole, seven are told."""
    file = tmp_path / "room.toml"
    file.write_bytes(b"x = 0\n")
    room = RoomFolder("r", file, tmp_path)
    expected, begin = fingerprint(b"x = 0\n"), threading.Barrier(8)

    def one(number: int) -> str:
        begin.wait()
        try:
            saving.save(room, expected, f"x = {number}\n".encode() * 50_000)
        except saving.StaleError:
            return "told"
        return "kept"

    with ThreadPoolExecutor(8) as windows:
        ends = list(windows.map(one, range(1, 9)))

    assert sorted(ends) == ["kept", *["told"] * 7]
    assert file.read_bytes() == f"x = {ends.index('kept') + 1}\n".encode() * 50_000
