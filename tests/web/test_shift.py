"""A shift written down on the page: nothing is lost, nothing doubled, and a correction keeps the line it replaces."""

from __future__ import annotations

import datetime as dt
import os
import random
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import httpx
import pytest

from growsim.run.writing import write_bytes
from growsim.scenario.load import load_scenario
from growsim.scenario.record.files import read_records
from growsim.study.standing import standing_on
from growsim.web.shift.store import Entry, keep, written
from tests.page_browser import chromium, faults_of, is_too_wide, window
from tests.page_served import folder_with_tiny, served, wait_for

DAY, LATER = "2031-04-07", "2031-04-10"
FIRST_MONDAY = dt.date(2031, 1, 6)
_INPUT = re.compile(r"<input ([^>]*)>")
_SERVER = """
import sys
from pathlib import Path
import uvicorn
from growsim.web.app import make_app
port = int(sys.argv[2])
uvicorn.run(make_app(Path(sys.argv[1]), port=port), host="127.0.0.1", port=port, log_level="critical")
"""


def fields_of(page: str) -> dict[str, str]:
    """What a browser would send of the form as it stands, all ticked."""
    form = page[page.index('class="room-form shift"') :]
    sent: dict[str, str] = {}
    for found in _INPUT.finditer(form):
        said = dict(re.findall(r'([\w-]+)="([^"]*)"', found[1]))
        if "name" in said and said.get("type") != "radio":
            sent[said["name"]] = said.get("value", "")
    return sent


@pytest.fixture
def client(tmp_path: Path) -> Iterator[httpx.Client]:
    """A client of a page over the tiny room."""
    with served(folder_with_tiny(tmp_path)) as client:
        yield client


def records_in(folder: Path) -> Path:
    """Where its record lies."""
    return folder / "tiny" / "records"


def test_a_shift_is_written_down_once_however_often_it_is_sent(client: httpx.Client, tmp_path: Path) -> None:
    """Every entry is there, and sending it again adds none."""
    page = client.get(f"/rooms/tiny/shift?date={DAY}").text
    sent = fields_of(page) | {"came|came": "2"}
    tasks = [name for name in sent if name.endswith("|tick")]
    assert tasks
    first = client.post("/rooms/tiny/shift", data=sent)
    assert first.status_code == 303, first.text
    before = written(records_in(tmp_path))
    assert len(before) > len(tasks)
    again = client.post("/rooms/tiny/shift", data=sent)
    assert "saved=0" in again.headers["location"]
    assert written(records_in(tmp_path)) == before
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert records.set_aside == ()
    assert [row.came for row in records.attendance] == [2]
    shown = client.get(f"/rooms/tiny/shift?date={DAY}").text
    assert shown.count("written down</span>") >= len(tasks)


def test_a_correction_keeps_the_line_and_an_older_window_is_told(client: httpx.Client, tmp_path: Path) -> None:
    """Bytes that were written stay; a stale form must be sent twice."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text) | {"came|came": "2"}
    client.post("/rooms/tiny/shift", data=sent)
    table = records_in(tmp_path) / "attendance-from-the-page.csv"
    as_it_was = table.read_bytes()
    newer = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
    assert "saved=1" in client.post("/rooms/tiny/shift", data=newer | {"came|came": "1"}).headers["location"]
    assert table.read_bytes().startswith(as_it_was)
    assert len(table.read_bytes().splitlines()) == 3
    stale = client.post("/rooms/tiny/shift", data=newer | {"came|came": "0"})
    assert stale.status_code == 400
    assert "Another window wrote meanwhile" in stale.text
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [row.came for row in records.attendance] == [1]
    put_right = fields_of(stale.text) | {"came|came": "0"}
    assert client.post("/rooms/tiny/shift", data=put_right).status_code == 303


def test_what_cannot_be_is_said_beside_it_and_nothing_is_written(client: httpx.Client, tmp_path: Path) -> None:
    """In the words of the record's own reader."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
    counts = [name for name in sent if name.endswith("|count")]
    refused = client.post("/rooms/tiny/shift", data=sent | {counts[0]: "a few"})
    assert refused.status_code == 400
    assert "which is no number" in refused.text
    assert not records_in(tmp_path).exists() or not written(records_in(tmp_path))
    assert client.get("/rooms/tiny/shift?date=yesterday").status_code == 400


def test_what_is_not_on_the_sheet_and_what_failed(client: httpx.Client, tmp_path: Path) -> None:
    """A sowing of one's own; a pump, down until it is said to work again."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
    sent = {name: value for name, value in sent.items() if not name.endswith("|tick")}
    crop = load_scenario(tmp_path / "tiny").scenario.crops[0].name
    told = {"else|what": f"sow|{crop}|{DAY}", "else|count": "20"}
    page = client.get(f"/rooms/tiny/shift?date={DAY}").text
    machine = re.search(r'<option value="(pump\|[^"]*)"', page)
    assert machine is not None
    failed = {"failed 1|what": machine[1], "failed 1|down": f"{DAY}T08:00", "failed 1|noticed": f"{DAY}T10:00"}
    assert client.post("/rooms/tiny/shift", data=sent | told | failed).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [(row.crop, row.cells) for row in records.plantings] == [(crop, 20)]
    assert records.faults[0].repaired is None
    later = client.get(f"/rooms/tiny/shift?date={LATER}").text
    assert "it works again" in later
    mended = fields_of(later)
    name = next(name for name in mended if name.startswith("down pump") and name.endswith("|repaired"))
    assert client.post("/rooms/tiny/shift", data=mended | {name: f"{LATER}T11:30"}).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [str(row.repaired) for row in records.faults] == [f"{LATER} 11:30:00"]


def test_plants_lost_and_the_rest_of_a_move_are_of_a_planting_that_stands(client: httpx.Client, tmp_path: Path) -> None:
    """Neither ends it; a move told under "something else" may be timed, and is no second move."""
    scenario = load_scenario(tmp_path / "tiny").scenario
    crop, later = scenario.crops[1].name, "2031-04-24"
    of = f"{crop}|{DAY}"

    def send(day: str, **told: str) -> None:
        sent = fields_of(client.get(f"/rooms/tiny/shift?date={day}").text)
        sent = {name: value for name, value in sent.items() if not name.endswith("|tick")}
        answer = client.post("/rooms/tiny/shift", data=sent | {f"else|{name}": value for name, value in told.items()})
        assert answer.status_code == 303, answer.text

    send(DAY, what=f"sow|{of}", count="20")
    for day, task in ((LATER, "lost"), ("2031-04-21", "transplant"), (later, "transplant")):
        send(day, what=f"{task}|{of}", **({"lost": "3", "why": "dried out"} if task == "lost" else {"minutes": "9"}))
    records = read_records(records_in(tmp_path), scenario)
    assert records.set_aside == ()
    (planting,) = records.plantings
    assert (planting.lost, planting.harvested) == (3, None)
    assert (str(planting.transplanted), planting.transplanted_again) == (later, None)
    (standing,) = standing_on(records, scenario, dt.date(2031, 4, 28)).batches
    assert standing.stage == scenario.crops[1].stages_in_order()[-1].name


def test_entries_from_many_windows_at_once_are_all_there(tmp_path: Path) -> None:
    """Six windows write twenty entries each, half of them the same ones."""

    def write(window: int) -> None:
        for number in range(20):
            about = f"{DAY} {number if number % 2 else f'{window} {number}'}"
            keep(tmp_path, Entry("work", about, {"date": DAY, "task": "wash", "units": str(number + 1)}), "")

    windows = [threading.Thread(target=write, args=(number,)) for number in range(6)]
    for each in windows:
        each.start()
    for each in windows:
        each.join()
    assert len(written(tmp_path)) == 10 + 6 * 10
    assert len((tmp_path / "work-from-the-page.csv").read_text().splitlines()) == 1 + 10 + 6 * 10


def test_a_table_saved_anew_elsewhere_is_left_alone(tmp_path: Path) -> None:
    """The page begins another beside it."""
    entry = Entry("work", f"{DAY} wash", {"date": DAY, "task": "wash", "units": "4"})
    keep(tmp_path, entry, "")
    theirs = tmp_path / "work-from-the-page.csv"
    write_bytes(theirs, theirs.read_bytes().replace(b",", b";"))
    as_saved = theirs.read_bytes()
    keep(tmp_path, Entry("work", f"{DAY} top up", {"date": DAY, "task": "top up", "units": "1"}), "")
    assert theirs.read_bytes() == as_saved
    assert len((tmp_path / "work-from-the-page-2.csv").read_text().splitlines()) == 2


def test_on_a_phone_it_fits_and_has_no_faults(client: httpx.Client) -> None:
    """Nothing to scroll sideways, nothing too small for a thumb."""
    with chromium() as browser, window(browser, str(client.base_url), width=390) as page:
        page.goto(f"/rooms/tiny/shift?date={DAY}")
        assert not is_too_wide(page)
        for tick in page.locator(".shift-tick input").all():
            tick.check()
        assert not is_too_wide(page)
        assert faults_of(page) == []
        small = page.evaluate(
            "[...document.querySelectorAll('.shift-tick, .chip, .shift-box input, .shift-box select')]"
            ".filter(e => e.offsetParent && e.getBoundingClientRect().height < 44).length"
        )
        assert small == 0  # 44 px: WCAG 2.2, target size (enhanced), 2.5.5


@pytest.mark.slow
def test_a_page_killed_in_mid_entry_loses_and_doubles_nothing(tmp_path: Path) -> None:
    """Twenty times the page is killed somewhere in an entry; the same form is sent again to the page opened anew."""
    folder, port, luck = folder_with_tiny(tmp_path), 8642, random.Random(1)
    headers = {"Origin": f"http://127.0.0.1:{port}"}
    begin = [sys.executable, "-c", _SERVER, str(folder), str(port)]
    environment = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])}
    expected: dict[str, str] = {}

    def alive(client: httpx.Client) -> bool:
        try:
            return client.get("/").status_code == 200
        except httpx.TransportError:
            return False

    with httpx.Client(base_url=headers["Origin"], headers=headers, timeout=60, trust_env=False) as client:
        server = subprocess.Popen(begin, env=environment)
        broken = 0
        try:
            for number in range(20):
                wait_for(lambda: alive(client))
                day = (FIRST_MONDAY + dt.timedelta(weeks=number)).isoformat()
                page = client.get("/rooms/tiny/shift?" + urlencode({"date": day})).text
                came = str(number % 3)
                sent = fields_of(page) | {"came|came": came}
                killer = threading.Timer(luck.uniform(0.0, 0.25), server.kill)
                killer.start()
                try:
                    client.post("/rooms/tiny/shift", data=sent)
                except httpx.TransportError:
                    broken += 1
                killer.join()
                server.wait()
                server = subprocess.Popen(begin, env=environment)
                wait_for(lambda: alive(client))
                assert client.post("/rooms/tiny/shift", data=sent).status_code == 303
                expected[day] = came
        finally:
            server.kill()
            server.wait()
    assert broken >= 5
    records = read_records(records_in(folder), load_scenario(folder / "tiny").scenario)
    assert {row.date.isoformat(): str(row.came) for row in records.attendance} == expected
    assert records.set_aside == ()
    for table in records_in(folder).glob("*.csv"):
        entries = [line.rsplit(",", 2)[1] for line in table.read_text().splitlines()[1:]]
        assert len(entries) == len(set(entries))


def test_the_week_is_held_against_the_file_from_the_page(client: httpx.Client, tmp_path: Path) -> None:
    """Asked with the record of the room; without one the form says so. The room's page leads there."""
    bare = client.post("/rooms/tiny/ask/review", data={"records": "records", "replications": "20"})
    assert bare.status_code == 400
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text) | {"came|came": "2"}
    client.post("/rooms/tiny/shift", data=sent)
    asked = client.post("/rooms/tiny/ask/review", data={"records": "records", "replications": "20"})
    assert asked.status_code == 303, asked.text
    assert "/answers/" in asked.headers["location"]
    assert "Hold the week against what was expected" in client.get("/rooms/tiny").text
