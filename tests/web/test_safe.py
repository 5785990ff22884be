"""Nobody else gets in, nothing gets out of the folder, and whatever is sent is answered with a clear page."""

from __future__ import annotations

import datetime as dt
import re
import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from page_visit import HOME, PORT, Visitor, visit

from growsim.errors import InputError
from growsim.scenario.toml.text import toml_text
from growsim.web.command import ADDRESS, listen
from growsim.web.folder import Folder, NotHereError, file_inside, is_plain_name, plain_name
from growsim.web.guard import MOST_BYTES

ROOT = Path(__file__).parents[2]


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor to a folder with one room, beside things that are none of its business."""
    folder = tmp_path / "rooms"
    (folder / "tiny").mkdir(parents=True)
    shutil.copy(ROOT / "scenarios" / "tiny" / "room.toml", folder / "tiny")
    (folder / ".hidden").mkdir()
    shutil.copy(ROOT / "scenarios" / "tiny" / "room.toml", folder / ".hidden")
    (tmp_path / "outside").mkdir()
    shutil.copy(ROOT / "scenarios" / "tiny" / "room.toml", tmp_path / "outside")
    (folder / "link").symlink_to(tmp_path / "outside")
    (folder / "linked").mkdir()
    (folder / "linked" / "room.toml").symlink_to(tmp_path / "outside" / "room.toml")
    (folder / "notes.toml").write_text("[project]\nname = 'no room'\n", encoding="utf-8")
    with visit(folder) as coming:
        yield coming


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"[::1]:{PORT}", f"LOCALHOST:{PORT}"])
def test_this_computer_is_answered(visitor: Visitor, host: str) -> None:
    """Its own names on its own port."""
    assert visitor.ask("GET", "/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "example.org",
        f"example.org:{PORT}",
        "127.0.0.1",
        "127.0.0.1:80",
        f"127.0.0.1.example.org:{PORT}",
        "",
        f"a@127.0.0.1:{PORT}",
    ],
)
def test_another_name_is_turned_away(visitor: Visitor, host: str) -> None:
    """A name made to point here (DNS rebinding) gets nothing, whatever it asks for."""
    for address in ("/", "/rooms/tiny", "/rooms/tiny/download", "/static/page.css"):
        answer = visitor.ask("GET", address, headers={"Host": host})
        assert answer.status_code == 403
        assert "tiny" not in answer.text.replace(address, "")


@pytest.mark.parametrize(
    "headers",
    [
        {},
        {"Origin": "https://example.org"},
        {"Origin": "null"},
        {"Origin": f"http://127.0.0.1:{PORT + 1}"},
        {"Origin": f"https://127.0.0.1:{PORT}"},
        {"Origin": f"http://localhost:{PORT}"},
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Sec-Fetch-Site": "none"},
        {"Origin": HOME, "Sec-Fetch-Site": "cross-site"},
    ],
)
@pytest.mark.parametrize("method", ["POST", "PUT", "DELETE", "PATCH"])
def test_what_comes_from_another_site_does_nothing(visitor: Visitor, headers: dict[str, str], method: str) -> None:
    """Another site's form or script can make the browser send, but not from a page of ours: nothing happens."""
    before = sorted(path.name for path in visitor.app.state.folder.path.iterdir())

    answer = visitor.ask(method, "/new", data={"name": "intruder"}, headers=headers)

    assert answer.status_code == 403
    assert "nothing was done" in answer.text
    assert sorted(path.name for path in visitor.app.state.folder.path.iterdir()) == before


@pytest.mark.parametrize("headers", [{"Origin": HOME}, {"Sec-Fetch-Site": "same-origin"}])
def test_our_own_page_may_send(visitor: Visitor, headers: dict[str, str]) -> None:
    """Either header is enough; browsers send at least one."""
    assert visitor.ask("POST", "/new", data={"name": "mine"}, headers=headers).status_code == 303


@pytest.mark.parametrize("address", ["/", "/rooms/tiny", "/rooms/tiny/form/racks/0", "/nowhere", "/static/page.js"])
def test_every_answer_carries_the_rules(visitor: Visitor, address: str) -> None:
    """No script or style but our own files, no framing, no guessing of types, no address told to others."""
    headers = visitor.get(address).headers

    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "frame-ancestors 'none'" in policy
    assert "unsafe" not in policy
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "same-origin"


def test_pages_need_no_script_or_style_inside(visitor: Visitor) -> None:
    """What the rules forbid is not there: no inline script, style or handler, nothing from elsewhere."""
    for address in ("/", "/rooms/tiny", "/rooms/tiny/form/crops/0", "/rooms/tiny/changes", "/rooms/tiny/text"):
        page = visitor.get(address).text
        assert not re.search(r"<script(?! src=\"/static/)|<style|\sstyle=|\son\w+=|javascript:", page)
        assert not re.search(r"(?:src|href)=\"(?!/|#)", page)


OUTSIDE = [
    "..%2foutside",
    "%2e%2e%2foutside",
    "..%5coutside",
    "%2fetc%2fpasswd",
    "tiny%2f..%2f..%2foutside",
    ".hidden",
    "link",
    "linked",
    "tiny%00",
    "tiny%00.toml",
    "C:%5cWindows",
    "notes.toml",
    "con",
    "tiny.",
    "tiny ",
    "a" * 300,
]


@pytest.mark.parametrize("name", OUTSIDE)
@pytest.mark.parametrize("end", ["", "/download", "/text", "/form/racks", "/changes"])
def test_no_name_leads_out_of_the_folder(visitor: Visitor, name: str, end: str) -> None:
    """Steps up, hidden folders, links, odd bytes: there is no such room."""
    answer = visitor.get(f"/rooms/{name}{end}")

    assert answer.status_code == 404
    assert "rack" not in answer.text


@pytest.mark.parametrize(
    "name", ["..%2f..%2ftiny%2froom.toml", "%2e%2e", "%2fetc%2fpasswd", "room.toml%00", "link.toml"]
)
def test_no_change_leads_out_of_its_folder(visitor: Visitor, name: str) -> None:
    """The same for changes: handed out and removed from their own folder only."""
    changes = visitor.app.state.folder.path / "tiny" / "changes"
    changes.mkdir()
    (changes / "link.toml").symlink_to(visitor.app.state.folder.path / "tiny" / "room.toml")

    assert visitor.get(f"/rooms/tiny/changes/files/{name}").status_code == 404
    assert visitor.post(f"/rooms/tiny/changes/files/{name}/remove", {}).status_code == 404
    assert (visitor.app.state.folder.path / "tiny" / "room.toml").exists()


@settings(max_examples=300)
@given(st.text(max_size=80))
def test_names_are_plain_or_refused(name: str) -> None:
    """A name is a single step inside the folder, or none; and what is made of any text is such a name, or empty."""
    home = Path("/folder")
    try:
        inside = file_inside(home, name)
    except NotHereError:
        pass
    else:
        assert inside.parent == home
        assert not set(name) & set('/\\:\0\n\r%?#<>|*"')
    made = plain_name(name)
    assert made == "" or (is_plain_name(made) and (home / made).parent == home)


def test_a_linked_folder_of_changes_is_left_alone(visitor: Visitor, tmp_path: Path) -> None:
    """A link in place of the folder of changes leads nowhere: nothing is listed, handed out or written through it."""
    (tmp_path / "outside" / "secret.toml").write_text("[climate]\nfans_w = 1\n", encoding="utf-8")
    (visitor.app.state.folder.path / "tiny" / "changes").symlink_to(tmp_path / "outside")

    assert "secret" not in visitor.get("/rooms/tiny/changes").text
    assert visitor.get("/rooms/tiny/changes/files/secret.toml").status_code == 404
    kept = visitor.post("/rooms/tiny/changes/new/seeds", {"crops/0/seeds_per_cell": "3", "name": "three"})
    assert kept.status_code == 422
    assert not (tmp_path / "outside" / "three.toml").exists()


def test_only_rooms_are_listed(visitor: Visitor) -> None:
    """Links, hidden folders and other files are not rooms."""
    assert [room.name for room in visitor.app.state.folder.rooms()] == ["tiny"]


def upload(visitor: Visitor, name: str, content: bytes, **more: str) -> tuple[int, str]:
    """Bring in a room file."""
    answer = visitor.ask(
        "POST", "/upload", files={"file": (name, content)}, data=more, headers={"Origin": HOME}, follow_redirects=True
    )
    return answer.status_code, answer.text


def test_an_upload_is_kept_under_a_plain_name(visitor: Visitor) -> None:
    """However the file is called, it comes to lie in a folder of its own inside the chosen one, never run or opened."""
    content = (ROOT / "scenarios" / "tiny" / "room.toml").read_bytes()

    assert upload(visitor, "../../etc/Café Würth!.toml", content)[0] == 200
    assert upload(visitor, "C:\\rooms\\b.toml", content)[0] == 200

    names = {path.name for path in visitor.app.state.folder.path.iterdir()}
    assert {"café-würth", "b"} <= names
    assert (visitor.app.state.folder.path / "b" / "room.toml").read_bytes() == content


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (b"\x00\x01binary", "is not a text file"),
        (b"[room\n", "opens a heading with [ that is never closed"),
        (b"x = 1\n", "holds nothing that a room file has"),
        (b"\xff\xfe", "is not written in UTF-8"),
        (b"#" * 5_000_001, "larger than 5 MB"),
    ],
)
def test_an_upload_that_is_no_room_is_refused(visitor: Visitor, content: bytes, said: str) -> None:
    """One clear sentence, and nothing is written."""
    status, page = upload(visitor, "odd.toml", content)

    assert status == 400
    assert said in page
    assert not (visitor.app.state.folder.path / "odd").exists()


def test_an_upload_never_replaces(visitor: Visitor) -> None:
    """A room that is there already stays as it is."""
    before = (visitor.app.state.folder.path / "tiny" / "room.toml").read_bytes()

    status, page = upload(visitor, "tiny.toml", before.replace(b"tiny", b"other"))

    assert status == 400
    assert "give another name" in page
    assert (visitor.app.state.folder.path / "tiny" / "room.toml").read_bytes() == before


def test_too_much_is_refused(visitor: Visitor) -> None:
    """More than any room or record needs is not even read to its end."""
    answer = visitor.ask(
        "POST", "/rooms/tiny/text", content=b"text=" + b"a" * (MOST_BYTES + 1), headers={
            "Origin": HOME, "Content-Type": "application/x-www-form-urlencoded"
        }
    )  # fmt: skip

    assert answer.status_code == 413
    assert "12 MB" in answer.text


def test_what_a_person_wrote_is_escaped(visitor: Visitor) -> None:
    """A room whose names are markup shows them as text."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    text = file.read_text(encoding="utf-8").replace('name = "rack"', "name = '<script>alert(1)</script>\"'")
    file.write_text(text, encoding="utf-8")

    for address in ("/rooms/tiny", "/rooms/tiny/form/racks", "/rooms/tiny/form/racks/0", "/rooms/tiny/text"):
        page = visitor.get(address).text
        assert "<script>alert" not in page
        assert "&lt;script&gt;alert" in page


def test_the_page_listens_to_this_computer_only() -> None:
    """The socket is bound to the loopback address; a taken port is said in a sentence."""
    with listen(None) as first:
        assert first.getsockname()[0] == ADDRESS == "127.0.0.1"
        with pytest.raises(InputError, match="taken by another program; give another number"):
            listen(first.getsockname()[1])


def test_a_fault_of_ours_is_a_page_too(visitor: Visitor, monkeypatch: pytest.MonkeyPatch) -> None:
    """Should we ever stumble, the page says so plainly and shows no trace of the program."""

    def stumble(_: Folder) -> list[object]:
        raise RuntimeError("something inside")

    monkeypatch.setattr(Folder, "rooms", stumble)
    visitor._client._transport.raise_app_exceptions = False  # type: ignore[attr-defined]
    answer = visitor.get("/")

    assert answer.status_code == 500
    assert "This is our fault, not yours" in answer.text
    assert "Traceback" not in answer.text


NAMES = st.sampled_from(
    ["racks/0/name", "racks/0/shelves/@ids", "racks/0/shelves/0/slots", "racks/0/shelves/new1/slots",
     "reservoirs/0/pump/power_w", "crops/0/typical_mass_g:kind", "crops/0/typical_mass_g:low", "crops/0/emergence/days",
     "crew/chance_of_coming:3", "room/closed_days", "room/start_date", "harvest/weekdays",
     "harvest/weekdays:sent", "sowing/0/months", "fingerprint", "do", "entry", "about", "name", "text",
     "tables", "price", "rack", "sow", "sowing/0/cells", ":", "/", "@ids"]
)  # fmt: skip
TEXTS = st.one_of(
    st.text(max_size=20),
    st.sampled_from(["", "0", "-1", "1e999", "9" * 400, "nan", "inf", "true", "range", "weibull", "2031-02-30", "mon",
                     "more racks/0/shelves", "less racks/0/shelves/0", "more x", "less", "preview", "anyway", "change",
                     "new1", "[room]", "a = [[[", "\x00", "\ud7ff", "<b>", "1,5", "10; 20", "1_000", "٣"]),
)  # fmt: skip
ADDRESSES = st.sampled_from(
    [f"/rooms/tiny/{end}" for end in (
        "form/racks/0", "form/racks/new", "form/reservoirs/0", "form/crops/0", "form/crew", "form/crew/shifts/0",
        "form/room",
        "form/harvest", "form/about", "form/sowing/0", "form/racks", "form/nonsense/9", "remove/racks/0",
        "remove/sowing/0", "remove/room", "text", "changes/new/rack", "changes/new/mix", "changes/keep",
        "changes/upload", "copy", "changes/files/x.toml/remove")] + ["/new", "/upload"]
)  # fmt: skip


@settings(
    max_examples=300, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    address=ADDRESSES,
    fields=st.lists(st.tuples(NAMES, TEXTS), max_size=8),
    shown=st.sampled_from(["now", "earlier", "never"]),
)
def test_whatever_a_form_sends_is_answered(
    visitor: Visitor, address: str, fields: list[tuple[str, str]], shown: str
) -> None:
    """Made-up forms, of the file as it is, as it was, or of none: a clear page, the room whole, never our fault."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    whole = (ROOT / "scenarios" / "tiny" / "room.toml").read_bytes()
    file.write_bytes(whole)
    if shown != "never":
        found = re.search(r'name="fingerprint" value="(\w+)"', visitor.get("/rooms/tiny/form/about").text)
        assert found is not None
        fields = [*fields, ("fingerprint", found.group(1))]
    if shown == "earlier":
        whole = whole.replace(b"slots = 4", b"slots = 5").replace(b'name = "Monday"', b'name = "Moonday"')
        file.write_bytes(whole)

    answer = visitor.post(address, fields)

    assert answer.status_code in (200, 303, 400, 404, 405, 409, 422)
    if answer.status_code != 303:
        assert "<h1>" in answer.text or "plan-racks" in answer.text
    assert file.exists()
    if answer.status_code != 303:
        assert file.read_bytes() == whole
    assert visitor.get("/rooms/tiny").status_code == 200


@settings(
    max_examples=80, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(content=st.one_of(st.binary(max_size=200), st.text(max_size=200).map(str.encode)), kind=st.sampled_from(
    ["application/x-www-form-urlencoded", "multipart/form-data; boundary=x", "multipart/form-data", "text/plain", ""]
))  # fmt: skip
def test_whatever_bytes_are_sent_are_answered(visitor: Visitor, content: bytes, kind: str) -> None:
    """Broken forms and uploads: a clear page, never a fault of ours."""
    for address in ("/upload", "/rooms/tiny/form/racks/0", "/rooms/tiny/changes/upload"):
        answer = visitor.ask("POST", address, content=content, headers={"Origin": HOME, "Content-Type": kind})
        assert answer.status_code in (200, 303, 400, 409, 413, 422)


ROOM_TEXTS = st.one_of(
    st.sampled_from(["racks = 1", "[racks]\nx=1", "racks = [1, {}]",
    "crops = [{name=1, stages=[{}]}]",
                     "[[racks]]\n[[racks.shelves]]", "[crew]\nshifts = {}", "[prices]\ncurrency = 5",
                     "reservoirs = [[]]",
                     "room = 07:30:00", "[room]\nname = 2031-01-01T00:00:00", "[[crops]]\nstages=[1]", "x = inf",
                     "[[crops]]\ntypical_mass_g = {mean=1, odd=[1]}", "crops = [{emergence = [{}]}]"]),
    st.text(max_size=60),
)  # fmt: skip


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(text=ROOM_TEXTS)
def test_whatever_a_room_file_holds_it_can_be_shown(visitor: Visitor, text: str) -> None:
    """A room file of any shape gets its page, its forms and its text; none is beyond correcting."""
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    file.write_text(text, encoding="utf-8")

    for end in (
        "", "/text", "/form/racks", "/form/racks/0", "/form/racks/new", "/form/crops/0", "/form/crew", "/form/room",
        "/changes", "/remove/racks/0", "/changes/new/rack", "/form/crew/shifts/0",
    ):  # fmt: skip
        assert visitor.get(f"/rooms/tiny{end}").status_code in (200, 303, 400, 404)
    address = "/rooms/tiny/form/racks/0"
    if visitor.get(address).status_code == 200:
        sent = visitor.post(address, [*visitor.form(address).with_values(racks__0__name="mended"), ("do", "anyway")])
        assert sent.status_code in (303, 400)


ODD = st.sampled_from(
    ["text", "", 5, -1, 2.5, True, [], [1], ["a", 2], {}, {"a": 1}, [{}], [{"name": 3}], [[]], 10**30,
     dt.date(2031, 1, 1)]
)  # fmt: skip


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(data=st.data())
def test_any_value_may_be_of_any_kind(visitor: Visitor, data: st.DataObject) -> None:
    """A value of the room replaced by one of another kind: every page of the form still opens, and still saves."""
    raw = tomllib.loads((ROOT / "scenarios" / "tiny" / "room.toml").read_text(encoding="utf-8"))
    here: Any = raw
    while True:  # down to some value, at whatever depth
        step = data.draw(st.sampled_from(sorted(here) if isinstance(here, dict) else range(len(here))))
        if not isinstance(here[step], (dict, list)) or not here[step] or data.draw(st.integers(0, 3)) == 0:
            here[step] = data.draw(ODD)
            break
        here = here[step]
    file = visitor.app.state.folder.path / "tiny" / "room.toml"
    file.write_text(toml_text(raw), encoding="utf-8")

    for end in (
        "racks/0", "racks", "reservoirs/0", "crops/0", "crops/1", "crew", "crew/shifts/0", "crew/tasks/0", "room",
        "harvest",
        "prices", "partners/0", "sowing/0", "climate", "lights/0", "about", "racks/new", "crew/shifts/new",
    ):  # fmt: skip
        address = f"/rooms/tiny/form/{end}"
        page = visitor.get(address)
        assert page.status_code in (200, 404) or page.headers["location"] == "/rooms/tiny/text"
        if page.status_code == 200 and end != "racks":
            assert visitor.post(address, [*visitor.form(address).fields, ("do", "save")]).status_code in (303, 400, 422)
    assert visitor.get("/rooms/tiny").status_code == 200
