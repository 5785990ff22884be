"""Answers of real runs: the sentence first, pictures with their words, files safely, two side by side, day by day."""

from __future__ import annotations

import csv
import http.client
import io
import json
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path
from urllib.parse import unquote

import httpx
import openpyxl
import pytest
from one_system import foreign
from page_served import answered, folder_with_tiny, served

from growsim.report.cautions import beside
from growsim.report.rehearse.day_by_day import read_day, read_room
from growsim.web.days.words import day_in_words
from growsim.web.pages import environment

CHANGE = '[change]\nname = "more heads"\n\n[[sowing]]\nname = "heads Mondays"\ncells = 30\n'
REHEARSED, COMPARED, STOPPED = "0001-rehearse", "0002-compare", "0003-outage"
DAYS = 28


class Answered:
    """A page with three answers of the tiny room."""

    def __init__(self, folder: Path, client: httpx.Client) -> None:
        self.folder, self.client = folder / "tiny" / "answers", client

    def get(self, address: str) -> httpx.Response:
        """A page or file of the room's answers."""
        return self.client.get(f"/rooms/tiny/answers/{address}")


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Answered]:
    """A rehearsal, a comparison and a single outage, asked on the page and worked on by growsim itself."""
    folder = folder_with_tiny(tmp_path_factory.mktemp("rooms"))
    (folder / "tiny" / "changes").mkdir()
    (folder / "tiny" / "changes" / "heads.toml").write_text(CHANGE, encoding="utf-8")
    with served(folder, workers=1) as client:
        few = {"replications": "2", "days": str(DAYS)}
        client.post("/rooms/tiny/ask/rehearse", data=few)
        client.post("/rooms/tiny/ask/compare", data={**few, "changes": "heads.toml"})
        client.post("/rooms/tiny/ask/outage", data={"replications": "2", "machine": "pump", "date": "2031-01-20"})
        for run in (REHEARSED, COMPARED, STOPPED):
            assert answered(client, f"/rooms/tiny/answers/{run}") == "answered", client.get(
                f"/rooms/tiny/answers/{run}"
            ).text
        yield Answered(folder, client)


@pytest.mark.parametrize("run", [REHEARSED, COMPARED, STOPPED])
def test_the_sentence_comes_first(done: Answered, run: str) -> None:
    """What summary.json answers stands at the top, its first sentence first; then the figures with their ranges."""
    page = done.get(run).text
    summary = json.loads((done.folder / run / "answer" / "summary.json").read_text(encoding="utf-8"))
    shown = unescape(re.sub(r"<[^>]+>", " ", re.sub("</?code>", "`", page)))
    lead = unescape(re.findall(r'class="answer-lead">(.*?)</p>', page)[0])

    assert summary["answer"][0].startswith(lead)
    assert all(" ".join(sentence.split()) in " ".join(shown.split()) for sentence in summary["answer"][1:])
    assert page.index("answer-lead") < page.index("<figure") < page.index("<h2>Figures")
    assert "Greens packed a week" in shown
    assert unescape(summary["repeat_with"]) not in shown  # a command line is for the report


@pytest.mark.parametrize("run", [REHEARSED, STOPPED])
def test_figures_are_told_in_one_system(done: Answered, run: str) -> None:
    """Kilograms and °C where the room says no other, in figures and report."""
    page = done.get(run).text.replace("\N{NO-BREAK SPACE}", " ")
    measures = json.loads((done.folder / run / "answer" / "summary.json").read_text(encoding="utf-8"))["measures"]
    rows = re.findall(r'<tr><th scope="row">([^<]*).*?</th>(.*?)</tr>', page)
    shown = {unescape(label).strip(): re.findall(r"<td>(.*?)</td>", cells) for label, cells in rows}

    assert foreign(done.get(f"{run}/files/report.html").text) == []
    packed, warmest = measures["kg_packed_per_week"], measures["air_temperature_max_c"]
    low, high = packed["p10"], packed["p90"]  # two years have no range of their mean
    assert shown[packed["label"]][:2] == [f"{packed['mean']:.1f}", ""]
    assert shown[packed["label"]][2].startswith(f"{low:.1f} to {high:.1f} <")
    assert shown[warmest["label"]][0] == f"{warmest['mean']:.1f}"
    assert re.fullmatch(r"[\d.]+", shown["Cost per kilogram handed out"][0])


def test_parts_of_a_rehearsal_have_their_heads(done: Answered) -> None:
    """As in the report: the headline, the table with every cell, one picture beside it, then how sure it is."""
    text = done.get(REHEARSED).text
    summary = json.loads((done.folder / REHEARSED / "answer" / "summary.json").read_text("utf-8"))
    cells = [cell["text"] for row in summary["table"]["rows"] for cell in row["cells"]]

    assert re.findall(r'<td role="cell" data-label="[^"]*">([^<]*)</td>', text) == cells
    places = [text.index(each) for each in (cells[0], '<img src="', summary["answer"][-1])]
    assert places == sorted(places)


def test_what_is_to_be_typed_is_set_so_and_the_rest_is_escaped() -> None:
    """What is to be typed stands between backticks, and no page shows those; a command is told by what it asks, as on
    the page's buttons; no text becomes markup."""
    shown = environment().from_string("{{ words | said }}").render(words="<b> see `growsim sow ROOM`; write `kg = 2`")

    asks = "What do I sow, and when, so that partners get what I promised"
    assert shown == f"&lt;b&gt; see “{asks}”; write <code>kg = 2</code>"


@pytest.mark.parametrize("run", [REHEARSED, COMPARED, STOPPED])
def test_pictures_have_words(done: Answered, run: str) -> None:
    """Every picture of the report is there, as a file that can be seen, with its caption as text alternative."""
    page = done.get(run).text
    pictures = re.findall(r'<img src="([^"]+)" alt="([^"]+)"', page)
    assert 'loading="lazy"' not in page  # what is not yet scrolled to would be missing where the page is printed
    folder = done.folder / run / "answer" / "figures"
    drawn = sorted(path.stem for path in folder.glob("*.svg") if not path.stem.endswith("-narrow"))
    narrow = re.findall(r'<source media="[^"]+" srcset="([^"]+)"', page)

    assert sorted(Path(address).stem for address, _ in pictures) == drawn != []
    assert sorted(Path(address).stem for address in narrow) == [f"{name}-narrow" for name in drawn]
    for address, words in [*pictures, *((address, pictures[0][1]) for address in narrow)]:
        picture = done.client.get(address)
        assert (picture.status_code, picture.headers["content-type"]) == (200, "image/svg+xml")
        assert "sandbox" in picture.headers["content-security-policy"]
        assert len(words) > 30


@pytest.mark.parametrize("run", [REHEARSED, COMPARED, STOPPED])
def test_every_file_can_be_kept(done: Answered, run: str) -> None:
    """What is listed is handed out byte by byte, as a file to keep, under a name that says what it is."""
    page = done.get(run).text
    links = re.findall(rf'href="/rooms/tiny/answers/{run}/files/([^"]+)\?keep"', page)

    assert {"report.html", "summary.json", "weeks.csv", "measures.csv"} <= set(links)
    for link in links:
        kept = done.get(f"{run}/files/{link}?keep")
        name = unquote(link)
        file = done.folder / run / (name if name.startswith("days/") else f"answer/{name}")
        assert kept.content == file.read_bytes()
        assert kept.headers["content-disposition"].startswith("attachment")
        assert Path(name).name in kept.headers["content-disposition"]


def test_a_report_can_do_nothing(done: Answered) -> None:
    """A report is shown with its own look, and with no script, no form, nothing fetched."""
    report = done.get(f"{REHEARSED}/files/report.html")
    policy = report.headers["content-security-policy"]

    assert report.headers["content-type"] == "text/html; charset=utf-8"
    assert "content-disposition" not in report.headers
    assert policy.startswith("sandbox")
    assert "default-src 'none'" in policy
    assert "allow-scripts" not in policy
    assert f'<a href="/rooms/tiny/answers/{REHEARSED}">Back to the answer</a>' in report.text
    assert "Back to the answer" not in done.get(f"{REHEARSED}/files/report.html?keep").text
    assert "allow-same-origin" not in policy


@pytest.mark.parametrize(
    "name",
    [
        "../run.json", "..%2Frun.json", "%2e%2e/run.json", "figures/../../run.json", "/etc/passwd", "%2Fetc%2Fpasswd",
        "..\\run.json", "..%5Crun.json", "run.json", "asked/tiny/room.toml", "../asked/tiny/room.toml", "report.html/",
        "./report.html", "report.html%00", "figures", "", ".", "days", "said.txt", "answer/report.html",
        "..%252Frun.json", "REPORT.HTML",
    ],
)  # fmt: skip
def test_no_way_leads_out_of_an_answer(done: Answered, name: str) -> None:
    """Only what is listed is handed out, by its exact name."""
    base = done.client.base_url
    line = http.client.HTTPConnection(base.host, base.port, timeout=20)  # sends the address as it stands
    try:
        line.request("GET", f"/rooms/tiny/answers/{REHEARSED}/files/{name}")
        answer = line.getresponse()
        said = answer.read()
    finally:
        line.close()

    assert answer.status == 404 or (name == "." and answer.status == 307)
    assert b"asked_at" not in said


def test_all_tables_in_one_workbook(done: Answered) -> None:
    """Every CSV table is a sheet, with numbers as numbers."""
    book = openpyxl.load_workbook(io.BytesIO(done.get(f"{REHEARSED}/tables.xlsx").content))
    tables = {path.stem: path for path in (done.folder / REHEARSED / "answer").glob("*.csv")}

    assert set(book.sheetnames) == set(tables)
    for name, path in tables.items():
        rows = list(csv.reader(io.StringIO(path.read_text(encoding="utf-8"))))
        sheet = book[name]
        assert (sheet.max_row, sheet.max_column) == (len(rows), len(rows[0]))
    weeks = list(book["measures"].iter_rows(values_only=True))
    assert any(isinstance(cell, float) for cell in weeks[1])


def test_two_side_by_side(done: Answered) -> None:
    """Both answers in full, and the figures both have."""
    page = done.get(f"side-by-side?left={REHEARSED}&right={COMPARED}")

    assert page.status_code == 200
    assert page.text.count("Greens packed a week") == 3  # in the table of each, and in that of both
    assert page.text.count('class="answer-table"') == 2
    assert "with the change" in page.text
    assert "B’s figures are of the room as it is today" in page.text
    assert "A’s figures" not in page.text
    assert done.get("side-by-side").status_code == 400
    assert done.get(f"side-by-side?left={REHEARSED}&right=0009-crew").status_code == 404


def test_every_day_can_be_stepped_to(done: Answered) -> None:
    """From the first to the last: as many boxes as trays, links to the days around, and a list of what is drawn."""
    file = done.folder / REHEARSED / "days" / "days.jsonl"
    room = read_room(file)
    slots = sum(shelf["slots"] for shelf in room["shelves"])

    assert room["days"] == DAYS
    for number in range(DAYS):
        page = done.get(f"{REHEARSED}/days?day={number}").text
        part = done.get(f"{REHEARSED}/days?part&day={number}").text
        day = read_day(file, number)
        trays = sum(len(one["slots"]) for one in day["trays"])
        assert part in page
        assert part.count('class="s-tray') - part.count('<li><svg viewBox="9 0 36 34"') == trays
        assert part.count('class="s-free"') == slots - trays
        assert part.count('<tr><th scope="row">') == len(day["trays"])
        assert (f"?day={number - 1}" in part) == (number > 0)
        assert (f"?day={number + 1}" in part) == (number < DAYS - 1)
        for shift in day.get("shifts", ()):
            assert f"{shift['shift']}: {shift['came']} of {shift['signed_up']} volunteer" in part


@pytest.mark.parametrize(("asked", "shown"), [("-5", 0), ("99999", DAYS - 1), ("x", 0), ("", 0), ("9" * 400, DAYS - 1)])
def test_a_day_that_is_none(done: Answered, asked: str, shown: int) -> None:
    """The nearest day is shown."""
    assert f"(day {shown} of {DAYS - 1})" in done.get(f"{REHEARSED}/days?day={asked}").text


def test_another_year(done: Answered) -> None:
    """Any numbered year can be lived through and stepped through; what is no number is refused as by the command."""
    refused = done.client.post(f"/rooms/tiny/answers/{REHEARSED}/days", data={"number": "six"})
    asked = done.client.post(f"/rooms/tiny/answers/{REHEARSED}/days", data={"number": "6"})

    assert refused.status_code == 400
    assert "is not possible; give a whole number from 0 to 1000000" in refused.text
    assert answered(done.client, asked.headers["location"]) == "answered"
    assert "number 6" in done.client.get(f"{asked.headers['location']}/days").text
    assert "replication 6 alone" in done.client.get(asked.headers["location"]).text


def test_cautions_stand_where_the_work_can_hurt(done: Answered) -> None:
    """An outage's answer warns of electricity beside water, a change of load; so does a day on which a pump is down."""
    day = {"date": "2031-01-20", "down": [{"machine": "pump", "where": "reservoir",
    "from_minute": 60, "until_minute": 1440,
           "noticed": ""}]}  # fmt: skip
    words = day_in_words({"hour": 12, "shelves": []}, day)

    assert "Electricity beside water" in done.get(STOPPED).text
    assert "Load of circuits and floor." in done.get(COMPARED).text
    assert words.down == ("Pump of reservoir down from 01:00 to 24:00; nobody has noticed by midnight.",)
    assert words.cautions == beside(["water and power"], "elsewhere")


def test_days_are_where_they_are(done: Answered) -> None:
    """A comparison has no year to step through."""
    assert done.get(f"{COMPARED}/days").status_code == 404
    assert done.client.post(f"/rooms/tiny/answers/{COMPARED}/days", data={"number": "1"}).status_code == 404


def test_answers_are_listed(done: Answered) -> None:
    """Newest first, by what sets them apart."""
    page = done.client.get("/rooms/tiny/answers").text

    assert page.index("pump, 2031-01-20") < page.index("What a change brings: more heads")
    assert page.index("What a change brings: more heads") < page.index(f"/answers/{REHEARSED}")


def test_pages_look_only_at_what_is_there(done: Answered) -> None:
    """An answer of a room that is not, or a run that is not, is a clear page."""
    for address in ("/rooms/none/answers", "/rooms/tiny/answers/0099-crew", "/rooms/tiny/answers/0099-crew/state"):
        page = done.client.get(address)
        assert page.status_code == 404
        assert "<h1>" in page.text
