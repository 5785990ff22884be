"""Removing a room: asked once, moved aside and never erased, brought back by moving it; never under a question."""

from __future__ import annotations

import datetime as dt
import os
import re
import shutil
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from typing import Any

import httpx
import pytest
from page_browser import chromium, faults_of, is_too_wide, window
from page_served import Pretender, folder_with_tiny, pretender, served, wait_for

from growsim.errors import InputError
from growsim.web.folder import Folder
from growsim.web.rooms.removed import put_aside, why_it_stays
from growsim.web.runs.keeper import Keeper

ROOT = Path(__file__).parents[2]
TODAY = dt.date.today().isoformat
PAGE = "/rooms/tiny/remove"


class Desk:
    """A page over a folder with the tiny room and another; its commands only pretend."""

    def __init__(self, folder: Path, client: httpx.Client, children: type[Pretender]) -> None:
        self.folder, self.client, self.children = folder, client, children
        self.home = folder / "tiny"

    def words(self, address: str = PAGE) -> str:
        """A page as it reads."""
        text = re.sub(r"<[^>]+>", " ", re.sub(r"</?span[^>]*>", "", self.client.get(address).text))
        return " ".join(unescape(text).split())

    def confirm(self, address: str = PAGE, seen: str | None = None) -> httpx.Response:
        """Press the button of the page that asks."""
        shown = re.findall(r'name="seen" value="([^"]*)"', self.client.get(address).text)
        return self.client.post(address, data={"seen": unescape(shown[0]) if seen is None and shown else seen or ""})

    def ask(self) -> Pretender:
        """A question of the tiny room, at work."""
        assert self.client.post("/rooms/tiny/ask/crew", data={}).status_code == 303
        begun: list[Pretender] = wait_for(lambda: self.children.begun, 10)
        return begun[-1]


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """The page at work."""
    children = pretender()
    folder = folder_with_tiny(tmp_path / "rooms")
    shutil.copytree(folder / "tiny", folder / "other")
    with served(folder, begin_child=children) as client:
        yield Desk(folder, client, children)


def everything_in(folder: Path) -> dict[str, bytes]:
    """Every file of a folder, by its way."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def filled(desk: Desk) -> None:
    """An answer, a record since long ago, a change, a count and a note of somebody's own."""
    desk.ask().answer()
    wait_for(lambda: desk.client.get("/rooms/tiny/answers/0001-crew/state").json()["over"], 10)
    for name in ("changes/more.toml", "records/attendance.csv", "shelves/today.csv", "notes/to do.md"):
        (desk.home / name).parent.mkdir(exist_ok=True)
        (desk.home / name).write_text("[change]\n", encoding="utf-8")
    long_ago = dt.datetime(2025, 2, 3, 12).timestamp()
    os.utime(desk.home / "records" / "attendance.csv", (long_ago, long_ago))


def test_what_would_go_is_said_first(desk: Desk) -> None:
    """How many answers, tables, changes and other files, and since when; looking changes nothing."""
    filled(desk)
    before = everything_in(desk.folder)
    said = desk.words()

    assert "Remove the room “tiny”?" in said
    assert "1 answer, asked on " in said
    assert "1 table of its record, kept since 3 February 2025" in said
    assert "1 change to try" in said
    assert "1 table that may be a count of the shelves" in said
    assert "1 other file" in said
    assert "the first page can bring it back" in said
    assert 'href="/rooms/tiny/remove"' in desk.client.get("/rooms/tiny").text
    assert everything_in(desk.folder) == before


def test_a_removed_room_is_whole_and_comes_back(desk: Desk) -> None:
    """Moved with every file; gone from the page, which says where it is; moved back, it is the room it was."""
    filled(desk)
    before = everything_in(desk.home)
    answer = desk.confirm()
    aside = desk.folder / "removed" / TODAY() / "tiny"

    assert answer.status_code == 303
    assert not desk.home.exists()
    assert everything_in(aside) == before
    said = desk.words(answer.headers["location"])
    assert "“tiny” is removed from this page, with all that is its own. Nothing is erased. Bring “tiny” back" in said
    assert desk.client.get("/rooms/tiny").status_code == 404
    assert 'href="/rooms/tiny"' not in desk.client.get("/").text
    assert 'href="/rooms/other"' in desk.client.get("/").text
    assert "Removed rooms (1)" in desk.words("/")

    back = f"/removed/{TODAY()}/tiny/back"
    assert desk.client.post(back).status_code == 303
    assert desk.client.post(back).status_code == 404
    assert not aside.parent.parent.exists()
    assert desk.client.get("/rooms/tiny").status_code == 200
    assert everything_in(desk.home) == before
    assert desk.client.get("/rooms/tiny/answers/0001-crew").status_code == 200
    assert "Removed rooms" not in desk.words("/")


def test_two_of_a_name_lie_side_by_side(desk: Desk) -> None:
    """Removed, made again and removed again on one day: both are kept, each under its name."""
    desk.confirm()
    assert desk.client.post("/new", data={"name": "tiny"}).status_code == 303
    desk.confirm()

    assert (desk.folder / "removed" / TODAY() / "tiny" / "room.toml").is_file()
    assert "My grow room" not in (desk.folder / "removed" / f"{TODAY()}-2" / "tiny" / "room.toml").read_text("utf-8")
    assert not desk.home.exists()
    assert desk.client.post(f"/removed/{TODAY()}-2/tiny/back").status_code == 303
    taken = desk.client.post(f"/removed/{TODAY()}/tiny/back")
    assert (taken.status_code, "There is a room “tiny” again" in taken.text) == (400, True)
    assert (desk.folder / "removed" / TODAY() / "tiny" / "room.toml").is_file()


def test_no_room_goes_under_a_question(desk: Desk) -> None:
    """While one is at work or waits: said on the page, refused at the button; a room that nobody asks may go."""
    seen = unescape(re.findall(r'name="seen" value="([^"]*)"', desk.client.get(PAGE).text)[0])
    child = desk.ask()
    said = desk.words()

    assert "cannot be removed now. It is being asked “Volunteers needed”: wait for the answer" in said
    assert 'method="post"' not in desk.client.get(PAGE).text
    refused = desk.client.post(PAGE, data={"seen": seen})
    assert refused.status_code == 409
    assert desk.home.is_dir()
    assert desk.confirm("/rooms/other/remove").status_code == 303
    child.answer()
    wait_for(lambda: desk.client.get("/rooms/tiny/answers/0001-crew/state").json()["over"], 10)
    assert desk.confirm().status_code == 303


def test_nothing_is_asked_of_a_room_that_has_gone(desk: Desk) -> None:
    """A question that was on its way when the room went is refused, and leaves nothing behind."""
    folder = Folder(desk.folder)
    room, keeper = folder.room("tiny"), Keeper(folder)
    keeper._lock._file = (desk.folder / "lock").open("ab")  # as if the folder were this keeper's
    put_aside(folder, room)

    with pytest.raises(InputError, match="has been removed meanwhile"):
        keeper.ask(room, "crew", "crew", {}, lambda asked: ["crew"])
    assert not desk.home.exists()
    keeper.close()


def test_another_page_in_the_folder_has_the_say(desk: Desk) -> None:
    """A second page over the same folder can look, and removes nothing."""
    with served(desk.folder, begin_child=pretender()) as second:
        page = second.get(PAGE)
        answer = second.post(PAGE, data={"seen": "anything"})

    assert "Another growsim page is at work in this folder" in page.text
    assert 'method="post"' not in page.text
    assert answer.status_code == 409
    assert desk.home.is_dir()


@pytest.mark.parametrize("change", ["text", "answer", "file"])
def test_another_window_was_quicker(desk: Desk, change: str) -> None:
    """The room changed, or was asked, since the page was shown: asked again, and what is new is said."""
    seen = unescape(re.findall(r'name="seen" value="([^"]*)"', desk.client.get(PAGE).text)[0])
    if change == "text":
        file = desk.home / "room.toml"
        file.write_text(file.read_text(encoding="utf-8") + "# more\n", encoding="utf-8")
    elif change == "answer":
        desk.ask().answer()
        wait_for(lambda: desk.client.get("/rooms/tiny/answers/0001-crew/state").json()["over"], 10)
    else:
        (desk.home / "today.csv").write_text("lot\n", encoding="utf-8")

    answer = desk.client.post(PAGE, data={"seen": seen})
    assert answer.status_code == 409
    assert "Not removed: the room is no longer as it was shown." in answer.text
    assert desk.home.is_dir()
    assert desk.confirm().status_code == 303


def test_only_our_own_button_removes(desk: Desk) -> None:
    """Neither a link, nor another site's form, nor a form without what the page had shown."""
    assert desk.client.post(PAGE, data={}).status_code == 409
    assert desk.client.post(PAGE, data={"seen": "x"}, headers={"Origin": "https://example.org"}).status_code == 403
    assert desk.client.get(f"{PAGE}?seen=x").status_code == 200
    assert desk.home.is_dir()


@pytest.mark.parametrize("name", ["link", "..", "..%2foutside", ".hidden", "removed", "nowhere", "loose"])
def test_nothing_outside_is_touched(desk: Desk, name: str) -> None:
    """No link, no way up, nothing that is no room of this folder."""
    outside = desk.folder.parent / "outside"
    shutil.copytree(desk.home, outside)
    (desk.folder / "link").symlink_to(outside)
    shutil.copytree(desk.home, desk.folder / ".hidden")
    desk.confirm("/rooms/other/remove")
    before = everything_in(desk.folder.parent)

    assert desk.client.post(f"/rooms/{name}/remove", data={"seen": ""}).status_code in (404, 405)
    assert everything_in(desk.folder.parent) == before


def test_a_loose_file_goes_with_what_is_its_own(desk: Desk) -> None:
    """The file and the folder of its name; not that folder where another room lives in it."""
    shutil.copy(desk.home / "room.toml", desk.folder / "loose.toml")
    (desk.folder / "loose" / "changes").mkdir(parents=True)
    (desk.folder / "loose" / "changes" / "a.toml").write_text("[change]\n", encoding="utf-8")
    shutil.copy(desk.home / "room.toml", desk.folder / "tiny.toml")
    aside = desk.folder / "removed" / TODAY()

    assert "“tiny.toml” keeps its answers in the same folder; remove “tiny.toml” first." in desk.words()
    assert desk.confirm().status_code == 409
    assert desk.confirm("/rooms/tiny.toml/remove").status_code == 303
    assert desk.confirm("/rooms/loose.toml/remove").status_code == 303
    assert (aside / "tiny.toml").is_file() and desk.home.is_dir()
    assert (aside / "loose.toml").is_file() and (aside / "loose" / "changes" / "a.toml").is_file()
    assert not (desk.folder / "loose").exists()


def test_a_loose_files_folder_behind_a_link_stays(desk: Desk) -> None:
    """What lies elsewhere is not moved, and the room is told to stay."""
    outside = desk.folder.parent / "outside"
    outside.mkdir()
    shutil.copy(desk.home / "room.toml", desk.folder / "loose.toml")
    (desk.folder / "loose").symlink_to(outside)

    assert desk.confirm("/rooms/loose.toml/remove").status_code == 409
    assert "behind a link" in desk.words("/rooms/loose.toml/remove")
    assert (desk.folder / "loose.toml").is_file()


def test_the_only_room_and_a_broken_one(desk: Desk) -> None:
    """The last room may go, with a sentence; so may one whose file cannot be read as a room."""
    (desk.home / "room.toml").write_text("[room\n", encoding="utf-8")
    assert "It is the only room here" not in desk.words()
    assert desk.confirm().status_code == 303
    assert "It is the only room here; without it this page begins again" in desk.words("/rooms/other/remove")
    assert desk.confirm("/rooms/other/remove").status_code == 303
    assert "Begin with a room" in desk.words("/")


def test_a_room_that_has_the_name_of_the_place(desk: Desk) -> None:
    """A room called “removed” is no place for others: said, and nothing is moved."""
    shutil.copytree(desk.home, desk.folder / "removed")
    assert "here a room has that name; rename it first" in desk.words()
    assert desk.confirm().status_code == 409
    assert desk.confirm("/rooms/removed/remove").status_code == 409
    assert sorted(path.name for path in desk.folder.iterdir() if path.is_dir()) == ["other", "removed", "tiny"]


def test_what_the_system_refuses_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second of two moves is refused: the first is taken back, and the sentence says why."""
    folder = Folder(folder_with_tiny(tmp_path))
    shutil.copy(tmp_path / "tiny" / "room.toml", tmp_path / "loose.toml")
    (tmp_path / "loose").mkdir()
    real, before = Path.rename, sorted(tmp_path.rglob("*"))

    def rename(path: Path, target: Any) -> Path:
        if path.name == "loose" and "removed" in str(target):
            raise PermissionError(13, "Permission denied")
        return real(path, target)

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises(InputError, match=r"cannot be moved aside \(permission denied\); nothing was changed"):
        put_aside(folder, folder.room("loose.toml"))
    assert sorted(tmp_path.rglob("*")) == before


def test_rooms_that_came_with_growsim_stay(tmp_path: Path) -> None:
    """In growsim's own folder the invented rooms are kept; a copy of one elsewhere, or under another name, may go."""
    own, elsewhere = Folder(ROOT / "scenarios"), Folder(folder_with_tiny(tmp_path))

    assert "“tiny” came with growsim" in why_it_stays(own, own.room("tiny"))
    assert "“millrace” came with growsim" in why_it_stays(own, own.room("millrace"))
    assert why_it_stays(elsewhere, elsewhere.room("tiny")) == ""


def test_it_is_asked_in_a_browser(desk: Desk) -> None:
    """From the room's page by keyboard; axe-core finds nothing; no script is needed."""
    home = str(desk.client.base_url)
    with chromium() as browser:
        with window(browser, home, width=360) as page:
            page.goto(PAGE)
            assert faults_of(page) == []
            assert not is_too_wide(page)
        context = browser.new_context(java_script_enabled=False, base_url=home)
        page = context.new_page()
        page.goto("/rooms/tiny")
        page.get_by_role("link", name="Remove this room").press("Enter")
        page.get_by_role("link", name="Keep it").press("Enter")
        assert desk.home.is_dir()
        page.get_by_role("link", name="Remove this room").press("Enter")
        page.get_by_role("button", name="Remove this room").press("Enter")
        page.wait_for_selector(".good")
        assert "“tiny” is removed" in page.inner_text(".good")
        context.close()
    assert not desk.home.exists()
