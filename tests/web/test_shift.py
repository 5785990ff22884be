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
from growsim.scenario.record.rows import reasons
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


def send_kept(client: httpx.Client, sent: dict[str, str]) -> httpx.Response:
    """Send a form; what is asked back is kept as it is."""
    answer = client.post("/rooms/tiny/shift", data=sent)
    return answer if answer.status_code == 303 else client.post("/rooms/tiny/shift", data=fields_of(answer.text))


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
    assert "How many came is not said yet." not in client.get(first.headers["location"]).text
    other_day = fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text)
    sent_without = send_kept(client, other_day).headers["location"]
    assert "How many came is not said yet." in client.get(sent_without).text
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
    assert "Came: now 1, by another window; yours 0." in stale.text
    assert "0,entry" not in stale.text
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [row.came for row in records.attendance] == [1]
    unanswered = client.post("/rooms/tiny/shift", data=fields_of(stale.text) | {"came|came": "0"})
    assert unanswered.status_code == 400
    put_right = fields_of(unanswered.text) | {"came|came": "0", "came|take|came": "mine"}
    assert client.post("/rooms/tiny/shift", data=put_right).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [row.came for row in records.attendance] == [0]


def test_an_older_window_leaves_what_it_did_not_touch(client: httpx.Client, tmp_path: Path) -> None:
    """Of two weights the one is corrected in one window, the other in an older one: both corrections stand."""
    sent = send_kept(client, fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text))
    assert sent.status_code == 303
    older, newer = (fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text) for _ in range(2))
    head, leaf = (next(name for name in older if name.startswith(f"harvest {crop}") and name.endswith("|kg"))
                  for crop in ("small head", "cutting leaf"))  # fmt: skip
    assert client.post("/rooms/tiny/shift", data=newer | {head: "2.4"}).status_code == 303
    assert client.post("/rooms/tiny/shift", data=older | {leaf: "1.3"}).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert {row.crop: row.grams for row in records.plantings if row.harvested} == {
        "small head": 2400.0, "cutting leaf": 1300.0
    }  # fmt: skip
    clash = client.post("/rooms/tiny/shift", data=older | {head: "2.1"})
    assert "Weight in kg: now 2.4 kg, by another window; yours 2.1 kg." in clash.text
    kept = fields_of(clash.text) | {head.replace("|kg", "|take|kg"): "now"}
    assert "saved=0" in client.post("/rooms/tiny/shift", data=kept).headers["location"]


def test_a_weight_that_is_missing_is_asked_for_once(client: httpx.Client, tmp_path: Path) -> None:
    """A harvest without one is written down as soon as somebody says so, and not asked about again."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text)
    asked = client.post("/rooms/tiny/shift", data=sent)
    assert "Nobody weighed it? Write it down without." in asked.text
    assert not records_in(tmp_path).exists()
    assert client.post("/rooms/tiny/shift", data=fields_of(asked.text)).status_code == 303
    again = fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text)
    assert "saved=0" in client.post("/rooms/tiny/shift", data=again).headers["location"]


def test_a_shift_that_is_written_down_shows_what_was_written(client: httpx.Client) -> None:
    """Ticked, with its name, whatever the sheet asks by now; all else waits folded away."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text)
    nothing = {name: value for name, value in sent.items() if not name.endswith("|tick")}
    thin = next(name for name in sent if name.startswith("thin ") and name.endswith("|tick"))
    change = next(name for name in sent if name.startswith("change solution") and name.endswith("|tick"))
    assert send_kept(client, nothing | {thin: "yes", change: "yes", "came|came": "2"}).status_code == 303
    crop = thin.removeprefix("thin ").rpartition(" ")[0]
    earlier = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)  # an older week is added afterwards
    assert send_kept(client, earlier).status_code == 303
    page = client.get(f"/rooms/tiny/shift?date={LATER}").text
    first, _, more = page.partition("More to write down")
    for name in (thin, change):
        assert re.search(rf'name="{re.escape(name)}"[^>]* checked>', first)
    assert crop in first[first.index(thin) : first.index(thin) + 300]
    assert "harvest " not in first and "harvest " in more
    assert '<details class="shift-more">' in page


def test_a_day_without_a_shift_takes_what_came_about(client: httpx.Client, tmp_path: Path) -> None:
    """Partners collect on days without a shift too: common practice, no source."""
    room = tmp_path / "tiny" / "room.toml"
    scenario = load_scenario(tmp_path / "tiny").scenario
    held = {shift.weekday for shift in scenario.crew.shifts}
    days = (dt.date.fromisoformat(DAY) + dt.timedelta(days=ahead) for ahead in range(7))
    names = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
    day = next(day for day in days if names[day.weekday()] not in held)
    text = room.read_text()
    was = scenario.partners[0]
    room.write_text(text.replace(f'weekday = "{was.weekday}"\nhour', f'weekday = "{names[day.weekday()]}"\nhour'))
    assert load_scenario(tmp_path / "tiny").scenario.partners[0].weekday == names[day.weekday()]
    page = client.get(f"/rooms/tiny/shift?date={day}").text
    assert "There is no shift on" in page
    order = was.orders[0]
    given = {f"to {was.name} {order.crop}|tick": "yes", f"to {was.name} {order.crop}|kg": "1.5"}
    nothing = {name: value for name, value in fields_of(page).items() if not name.endswith("|tick")}
    assert client.post("/rooms/tiny/shift", data=nothing | given).status_code == 303
    records = read_records(records_in(tmp_path), scenario)
    assert [(row.date, row.partner, row.kg) for row in records.deliveries] == [(day, was.name, 1.5)]


def test_of_a_failure_only_what_is_known_is_said(client: httpx.Client, tmp_path: Path) -> None:
    """Nobody knows when it failed: the day alone is on record, until it is said to work again and after."""
    page = client.get(f"/rooms/tiny/shift?date={DAY}").text
    machine = re.search(r'<option value="(pump\|[^"]*)"', page)
    assert machine is not None
    sent = {name: value for name, value in fields_of(page).items() if not name.endswith("|tick")}
    failed = {"failed 1|what": machine[1]}
    assert "Say when it was noticed" in client.post("/rooms/tiny/shift", data=sent | failed).text
    failed["failed 1|noticed"] = f"{DAY}T10:15"
    assert client.post("/rooms/tiny/shift", data=sent | failed).status_code == 303
    mended = fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text)
    mended = {name: value for name, value in mended.items() if not name.endswith("|tick") or name.startswith("down")}
    name = next(name for name in mended if name.startswith("down pump") and name.endswith("|repaired"))
    assert client.post("/rooms/tiny/shift", data=mended | {name: f"{LATER}T11:30"}).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    (row,) = records.faults
    assert (row.down, row.to_the_hour) == (dt.datetime.combine(dt.date.fromisoformat(DAY), dt.time()), False)
    assert (str(row.noticed), str(row.repaired)) == (f"{DAY} 10:15:00", f"{LATER} 11:30:00")


def test_what_cannot_be_is_said_beside_it_and_nothing_is_written(client: httpx.Client, tmp_path: Path) -> None:
    """In the words of the record's own reader."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
    counts = [name for name in sent if name.endswith("|count")]
    refused = client.post("/rooms/tiny/shift", data=sent | {counts[0]: "a few"})
    assert refused.status_code == 400
    assert "which is no number" in refused.text
    assert not records_in(tmp_path).exists() or not written(records_in(tmp_path))
    assert client.get("/rooms/tiny/shift?date=yesterday").status_code == 400


def test_more_came_than_signed_up(client: httpx.Client, tmp_path: Path) -> None:
    """Who is above the sign-up is a guest, and is shown again as one who came; a sign-up alone says too little."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
    alone = client.post("/rooms/tiny/shift", data=sent | {"came|signed_up": "1"})
    assert alone.status_code == 400
    assert "Tap how many came, too." in alone.text
    assert client.post("/rooms/tiny/shift", data=sent | {"came|came": "4"}).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [(row.signed_up, row.came, row.guests) for row in records.attendance] == [(2, 2, 2)]
    assert 'name="came|came" value="4" checked' in client.get(f"/rooms/tiny/shift?date={DAY}").text


def test_numbers_hardly_meant_are_asked_about_once(client: httpx.Client, tmp_path: Path) -> None:
    """And kept by whoever says so; a number changed after that is asked about again. What cannot be is refused."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text)
    kg = next(name for name in sent if name.startswith("harvest small head") and name.endswith("|kg"))
    moved = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
    lost = next(name for name in moved if name.startswith("transplant cutting leaf") and name.endswith("|lost"))
    few, many = "2,4", "25"  # a decimal comma is a decimal comma
    asked = client.post("/rooms/tiny/shift", data=sent | {kg: many})
    assert asked.status_code == 400
    assert "25 kg is 10 times what was expected, 2.5 kg. Keep it?" in asked.text
    assert "59 plants. Keep it?" not in asked.text
    assert not records_in(tmp_path).exists()
    other = client.post("/rooms/tiny/shift", data=fields_of(asked.text) | {kg: "24"})
    assert "24 kg is 9.6 times what was expected, 2.5 kg. Keep it?" in other.text
    grams = client.post("/rooms/tiny/shift", data=fields_of(asked.text) | {kg: "2400"})
    assert "2,400 kg is 960 times what was expected, 2.5 kg.</p>" in grams.text
    assert send_kept(client, sent | {kg: few}).status_code == 303
    assert client.post("/rooms/tiny/shift", data=fields_of(asked.text) | {"came|came": "2"}).status_code == 400
    too_many = client.post("/rooms/tiny/shift", data=moved | {lost: "100"})
    assert "100 plants lost, and 59 are expected there. Keep it?" in too_many.text
    assert client.post("/rooms/tiny/shift", data=fields_of(too_many.text)).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert sorted((row.crop, row.grams, row.lost) for row in records.plantings if row.grams or row.lost) == [
        ("cutting leaf", None, 100), ("small head", 2400.0, 0)
    ]  # fmt: skip


def test_more_plants_than_a_count_found_cannot_be_lost(client: httpx.Client, tmp_path: Path) -> None:
    """Where the shelves were counted, more is refused, not asked about."""
    crop = load_scenario(tmp_path / "tiny").scenario.crops[0]
    counted = tmp_path / "tiny" / "shelves" / f"counted-{DAY}.csv"
    counted.parent.mkdir()
    counted.write_text(
        f"lot,crop,stage,days_since_sowing,plants\na,{crop.name},{crop.stages_in_order()[0].name},14,20\n"
    )
    page = client.get(f"/rooms/tiny/shift?date={DAY}").text
    sent = {name: value for name, value in fields_of(page).items() if not name.endswith("|tick")}
    told = {"lost|what": f"lost|{crop.name}|2031-03-24", "lost|why": "heat"}
    refused = client.post("/rooms/tiny/shift", data=sent | told | {"lost|lost": "30"})
    assert refused.status_code == 400
    assert "30 plants lost, and 20 stand there." in refused.text
    assert "Keep it?" not in refused.text
    again = {name: value for name, value in fields_of(refused.text).items() if not name.endswith("|tick")}
    assert client.post("/rooms/tiny/shift", data=again | told | {"lost|lost": "3"}).status_code == 303
    assert "lost,why" in (records_in(tmp_path) / "plantings-from-the-page.csv").read_text()


def test_any_crop_that_stands_may_be_named_as_lost(client: httpx.Client, tmp_path: Path) -> None:
    """By the plan, where nothing is on record yet; the reason is a tap."""
    page = client.get(f"/rooms/tiny/shift?date={DAY}").text
    assert 'name="lost|why" value="heat"' in page
    sent = {name: value for name, value in fields_of(page).items() if not name.endswith("|tick")}
    crop = load_scenario(tmp_path / "tiny").scenario.crops[0].name
    unsaid = client.post("/rooms/tiny/shift", data=sent | {"lost|lost": "5"})
    assert "Choose what this number is of." in unsaid.text
    choice = f"lost|{crop}|2031-03-31"  # a week after the one that is moved today
    assert choice in page
    assert 'name="lost|why" value="pests or disease"' in page
    assert reasons(5, "pests or disease") == (("other", 5),)
    told = {"lost|what": choice, "lost|lost": "5", "lost|why": "heat"}
    assert client.post("/rooms/tiny/shift", data=sent | told).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [(str(row.sown), row.lost, row.lost_to) for row in records.plantings] == [("2031-03-31", 5, (("heat", 5),))]


def test_strength_and_ph_are_rows_of_their_own(client: httpx.Client, tmp_path: Path) -> None:
    """Beside the caution for what sets them; far from usual is asked about, impossible is refused."""
    page = client.get(f"/rooms/tiny/shift?date={DAY}").text
    assert "never water into acid" in page[page.index("Strength (EC) and pH") :]
    sent = {name: value for name, value in fields_of(page).items() if not name.endswith("|tick")}
    read = {"reading reservoir|strength_before_ms_cm": "2.1", "reading reservoir|ph": "5.9"}
    assert "Keep it?" in client.post("/rooms/tiny/shift", data=sent | {"reading reservoir|ph": "9.5"}).text
    assert "number from 0 to 14" in client.post("/rooms/tiny/shift", data=sent | {"reading reservoir|ph": "59"}).text
    assert client.post("/rooms/tiny/shift", data=sent | read).status_code == 303
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    (row,) = records.readings
    assert (row.reservoir, row.strength_before_ms_cm, row.strength_after_ms_cm, row.ph) == ("reservoir", 2.1, None, 5.9)


def test_a_table_of_an_earlier_growsim_is_gone_on_with(client: httpx.Client, tmp_path: Path) -> None:
    """It gets the columns it lacks; what it says is said still, and may be corrected."""
    folder = records_in(tmp_path)
    folder.mkdir()
    shift = load_scenario(tmp_path / "tiny").scenario.crew.shifts[0].name
    table, about = folder / "attendance-from-the-page.csv", f"{DAY} {shift} came"
    table.write_text(f"date,shift,signed_up,came,entry,replaces\n{DAY},{shift},2,1,{about},\n")
    page = client.get(f"/rooms/tiny/shift?date={DAY}").text
    assert 'name="came|came" value="1" checked' in page
    assert client.post("/rooms/tiny/shift", data=fields_of(page) | {"came|came": "3"}).status_code == 303
    assert table.read_text().splitlines() == [
        "date,shift,signed_up,came,guests,entry,replaces", f"{DAY},{shift},2,1,,{about},",
        f"{DAY},{shift},2,2,1,{about} #2,{about}",
    ]  # fmt: skip


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
    assert send_kept(client, mended | {name: f"{LATER}T11:30"}).status_code == 303
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
    """Nothing to scroll sideways, nothing too small for a thumb, whatever is folded out."""
    with chromium() as browser, window(browser, str(client.base_url), width=390) as page:
        page.goto(f"/rooms/tiny/shift?date={DAY}")
        assert not is_too_wide(page)
        page.get_by_role("button", name="All done as on the sheet").click()
        while (fold := page.locator("main details:not([open]) > summary:visible")).count():
            fold.first.click()
        assert not is_too_wide(page)
        assert faults_of(page) == []
        small = page.evaluate(
            "[...document.querySelectorAll('.shift-tick, .chip, .shift-box *, summary, .shift button')].filter(e => "
            "e.matches(':not(label, option, span)') && e.offsetParent && e.getBoundingClientRect().height < 44)"
            ".map(e => e.outerHTML.slice(0, 80))"
        )
        assert [each for each in small if 'class="first"' not in each] == []  # 44 px: WCAG 2.2, 2.5.5


def test_enter_ticks_and_only_the_button_writes(client: httpx.Client, tmp_path: Path) -> None:
    """From the keyboard a tick is set and taken back, and nothing is sent; collections are not ticked with the work."""
    with chromium() as browser, window(browser, str(client.base_url), width=390) as page:
        page.goto(f"/rooms/tiny/shift?date={DAY}")
        tick = page.locator("[data-all]").first
        tick.press("Enter")
        assert tick.is_checked()
        tick.press("Enter")
        assert not tick.is_checked()
        page.get_by_role("button", name="All done as on the sheet").click()
        done, all_ = page.locator("[data-all]:checked").count(), page.locator("[name$='|tick']:checked").count()
        assert done == all_ > 3
    assert not records_in(tmp_path).exists()


def test_what_was_begun_outlives_a_reload_and_ends_with_saving(client: httpx.Client, tmp_path: Path) -> None:
    """Ticks, numbers, chips and the moments of a failure; once written down it is there once, and no draft is left."""
    with chromium() as browser, window(browser, str(client.base_url), width=390) as page:
        page.goto(f"/rooms/tiny/shift?date={LATER}")
        page.locator(".chip", has_text="3").first.click()
        page.get_by_role("button", name="All done as on the sheet").click()
        ticked = page.locator("[name$='|tick']:checked").count()
        page.get_by_text("Something failed").click()
        page.get_by_label("What failed").select_option(index=1)
        page.get_by_role("button", name="shift began").first.click()
        page.get_by_role("button", name="shift ended").last.click()
        mended = page.get_by_label("When it worked again").input_value()
        assert mended.startswith(f"{LATER}T")
        weight = page.get_by_label("Weight in kg").first
        weight.fill("2.4")
        weight.press("Enter")
        page.keyboard.type("1.3")

        page.reload()

        assert page.get_by_text("What you had begun is here again").is_visible()
        assert ticked == page.locator("[name$='|tick']:checked").count() > 5
        assert page.get_by_label("Weight in kg").first.input_value() == "2.4"
        assert page.get_by_label("Weight in kg").nth(1).input_value() == "1.3"
        assert page.get_by_label("When it worked again").input_value() == mended
        assert page.locator("[name='came|came']:checked").get_attribute("value") == "3"

        page.get_by_role("button", name="Write it down").last.click()
        page.get_by_text("on the disk").wait_for()
        page.reload()
        assert not page.get_by_text("What you had begun is here again").is_visible()
        assert page.evaluate("localStorage.length") == 0
    records = read_records(records_in(tmp_path), load_scenario(tmp_path / "tiny").scenario)
    assert [(row.came, row.guests) for row in records.attendance] == [(2, 1)]
    assert [str(row.repaired) for row in records.faults] == [mended.replace("T", " ") + ":00"]


def test_a_draft_does_not_cover_what_another_window_wrote(client: httpx.Client) -> None:
    """It remembers which entries it was begun over, so that it is told of them before it replaces any."""
    with chromium() as browser, window(browser, str(client.base_url), width=390) as page:
        page.goto(f"/rooms/tiny/shift?date={DAY}")
        page.locator(".chip", has_text="1").first.click()
        sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
        none = {name: value for name, value in sent.items() if not name.endswith("|tick")}
        assert client.post("/rooms/tiny/shift", data=none | {"came|came": "2"}).status_code == 303
        page.reload()
        page.get_by_role("button", name="Write it down").last.click()
        assert "Came: now 2, by another window; yours 1." in page.locator("form.shift").inner_text()


def test_all_done_works_without_script(client: httpx.Client, tmp_path: Path) -> None:
    """The form comes back with every tick set, and nothing is written yet."""
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={LATER}").text)
    none = {name: value for name, value in sent.items() if not name.endswith("|tick")}
    shown = client.post("/rooms/tiny/shift", data=none | {"do": "all"})
    assert shown.status_code == 200
    ticks = re.findall(r'<input [^>]*\|tick" value="yes" data-all[^>]*>', shown.text)
    assert ticks
    assert all(tick.endswith(" checked>") for tick in ticks)
    assert not records_in(tmp_path).exists()


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


def test_of_a_move_the_rest_stays_where_it_stood(client: httpx.Client, tmp_path: Path) -> None:
    """Forty of what came up are moved: the others stand in the first stage, and are asked for again."""
    scenario = load_scenario(tmp_path / "tiny").scenario
    crop = scenario.crops[0]
    first, later, then = crop.stages_in_order()[0].name, crop.stages_in_order()[1].name, "2031-04-21"
    sent = fields_of(client.get(f"/rooms/tiny/shift?date={DAY}").text)
    sow = {
        name: value for name, value in sent.items() if not name.endswith("|tick") or name.startswith(f"sow {crop.name}")
    }
    assert client.post("/rooms/tiny/shift", data=sow).status_code == 303
    page = client.get(f"/rooms/tiny/shift?date={then}").text
    key = f"transplant {crop.name} {DAY}"
    assert f'name="{key}|count"' in page
    nothing = {name: value for name, value in fields_of(page).items() if not name.endswith("|tick")}
    some = {f"{key}|tick": "yes", f"{key}|count": "40"}
    assert client.post("/rooms/tiny/shift", data=nothing | some).status_code == 303
    records = read_records(records_in(tmp_path), scenario)
    assert records.set_aside == ()
    standing = standing_on(records, scenario, dt.date(2031, 4, 22)).batches
    stand = {each.stage: each.plants for each in standing if each.sown.isoformat() == DAY}
    assert stand[later] == 40
    assert 5 < stand[first] < 25
    again = client.get(f"/rooms/tiny/shift?date={then}").text
    same = {name: value for name, value in fields_of(again).items() if not name.endswith("|tick")} | some
    assert "saved=0" in client.post("/rooms/tiny/shift", data=same).headers["location"]
    shown = re.search(rf'name="{re.escape(key)}\|count" value="40"', again)
    assert shown is not None
    next_time = client.get("/rooms/tiny/shift?date=2031-04-24").text
    told = {"else|what": f"transplant|{crop.name}|{DAY}"}
    nothing = {name: value for name, value in fields_of(next_time).items() if not name.endswith("|tick")}
    if f'name="{key}|tick"' in next_time:
        told = {f"{key}|tick": "yes"}
    assert client.post("/rooms/tiny/shift", data=nothing | told).status_code == 303
    records = read_records(records_in(tmp_path), scenario)
    (row,) = [each for each in records.plantings if (each.crop, str(each.sown)) == (crop.name, DAY)]
    assert row.plants_moved is None
