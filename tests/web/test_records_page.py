"""Records on the page: tables sent, looked at line by line in the words of `learn`, and learned from."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import httpx
import openpyxl
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from page_served import Pretender, folder_with_tiny, pretender, served, wait_for

from growsim.scenario.load import load_scenario
from growsim.scenario.record.files import read_records
from growsim.scenario.spreadsheets import workbook_bytes

ATTENDANCE = (
    "date,shift,signed_up,came\n2031-01-06,Monday,2,2\n2031-01-09,Thursday,2,1\n2031-01-13,Monday,2,3\n"
    "2031-01-16,Wensday,2,2\n2031-02-30,Monday,2,2\n"
)
PLANTINGS = (
    "sown,crop,cells,emerged,transplanted,harvested,plants_harvested,grams,lost,why\n"
    "2031-01-06,small head,60,55,2031-01-20,2031-02-10,50,5200,5,5 handling\n"
    "2031-01-13,smal head,60,54,2031-01-27,2031-02-17,52,5300,0,\n"
)


class Desk:
    """A page over the tiny room whose commands only pretend."""

    def __init__(self, folder: Path, client: httpx.Client, children: type[Pretender]) -> None:
        self.folder, self.client, self.children = folder, client, children
        self.kept = folder / "tiny" / "records"

    def send(self, **tables: str | bytes) -> httpx.Response:
        """Send tables; `attendance_csv` for attendance.csv."""
        files = [("tables", (name.replace("_", "."), content, "text/csv")) for name, content in tables.items()]
        return self.client.post("/rooms/tiny/records", files=files)

    def look(self, query: str = "") -> str:
        """The page, as text."""
        return self.client.get(f"/rooms/tiny/records{query}").text


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[Desk]:
    """The page."""
    children = pretender()
    with served(folder_with_tiny(tmp_path), begin_child=children) as client:
        yield Desk(tmp_path, client, children)


def test_faulty_lines_are_marked_in_the_words_of_learn(desk: Desk) -> None:
    """Every line that `learn` would set aside is marked by its number with its reason; the others are not."""
    assert desk.send(attendance_csv=ATTENDANCE, plantings_csv=PLANTINGS).status_code == 303
    page = desk.look()
    records = read_records(desk.kept, load_scenario(desk.folder / "tiny").scenario)
    marked = re.findall(r'<tr class="row-aside"><th scope="row">(\d+)</th><td class="reason">(.*?)</td>', page)

    assert {(int(line), unescape(reason)) for line, reason in marked} == {
        (aside.line, aside.reason) for aside in records.set_aside
    }
    assert len(marked) == 4
    assert page.count('<td class="quiet"></td>') == len(records.rows) == 3
    assert "3 lines can be used; 4 lines are set aside" in page


def test_a_correction_is_no_fault(desk: Desk) -> None:
    """The line it takes the place of is told apart; columns that are empty take no width."""
    rows = [
        "date,shift,signed_up,came,guests,entry,replaces",
        "2031-01-06,Monday,2,1,,a,",
        "2031-01-06,Monday,2,2,,a #2,a",
    ]
    desk.send(attendance_csv="\n".join(rows) + "\n")
    page = desk.look()
    assert 'class="row-aside"' not in page
    assert "1 line was corrected or told again, and stays as written" in page
    assert "was corrected in line 3" in page
    assert '<th scope="col">guests</th>' not in page


def test_a_workbook_is_looked_at_too(desk: Desk) -> None:
    """Sheets of a workbook are tables like any other."""
    rows: list[list[str | int]] = [["date", "shift", "signed_up", "came"], ["2031-01-06", "Monday", 2, 5]]
    desk.send(records_xlsx=workbook_bytes({"attendance": rows}, {"attendance": [12] * 4}))
    rows_shown = re.findall(r'row-aside"><th scope="row">(\d+)</th><td class="reason">(.*?)</td>', desk.look())

    assert len(rows_shown) <= 1
    assert "its only row cannot be used; line 2: came is 5" in unescape(desk.look())


def test_what_is_wrong_with_a_whole_table(desk: Desk) -> None:
    """A misspelled column and dates that could be two dates are told before anything is learned."""
    desk.send(attendance_csv="date,shift,signd_up,came\n2031-01-06,Monday,2,2\n")
    assert "did you mean &#39;signed_up&#39;" in desk.look()
    assert "Learn from it" not in desk.look()

    desk.send(attendance_csv="date,shift,signed_up,came\n3/4/2031,Monday,2,2\n")
    assert "could be 3 April or 4 March 2031" in desk.look()
    assert "All 1 lines can be used" in desk.look("?dates=day-first")


def test_learning_is_a_question_like_any_other(desk: Desk) -> None:
    """The tables go with it as they are, and its options are the command's."""
    desk.send(attendance_csv=ATTENDANCE)
    asked = desk.client.post(
        "/rooms/tiny/records/learn", data={"from": "2031-01-01", "until": "", "forecast_last": "", "no_faults": "yes"}
    )
    words = wait_for(lambda: desk.children.begun and desk.children.begun[0].words, 10)

    assert asked.headers["location"] == "/rooms/tiny/answers/0001-learn"
    assert words[0] == "learn"
    assert words[3 : words.index("--out")] == ["--from", "2031-01-01", "--no-faults"]
    assert (desk.folder / words[2] / "attendance.csv").read_text(encoding="utf-8") == ATTENDANCE


@pytest.mark.parametrize(("field", "value"), [("forecast_last", "99"), ("from", "soon"), ("dates", "both")])
def test_wrong_options_are_said_beside_their_field(desk: Desk, field: str, value: str) -> None:
    """And nothing is learned."""
    desk.send(attendance_csv=ATTENDANCE)
    page = desk.client.post("/rooms/tiny/records/learn", data={field: value})

    assert page.status_code == 400
    assert f'id="f-{field}-wrong"' in page.text
    assert desk.client.get(f"/rooms/tiny/records?{field}={value}").status_code == 400
    assert desk.children.begun == []


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("trays.exe", "is no table"), ("plantings", "is no table"), (".csv", "is no table"), ("..csv",
        "cannot be kept"),
        ("con.csv", "cannot be kept"), ("a" * 80 + ".csv", "cannot be kept"), ("room.toml", "is no table"),
    ],
)  # fmt: skip
def test_only_tables_are_kept(desk: Desk, name: str, said: str) -> None:
    """Under plain names; the rest is refused in a sentence."""
    page = desk.client.post("/rooms/tiny/records", files=[("tables", (name, b"a,b\n", "text/csv"))])

    assert page.status_code == 400
    assert said in page.text
    assert not desk.kept.exists()


@pytest.mark.parametrize("name", ["../../away.csv", "/tmp/away.csv", "..\\away.csv", "records/away.csv"])
def test_a_name_leads_nowhere_else(desk: Desk, name: str) -> None:
    """Of a whole path only the last name is taken."""
    desk.client.post("/rooms/tiny/records", files=[("tables", (name, ATTENDANCE, "text/csv"))])

    assert [path.name for path in desk.kept.iterdir()] == ["away.csv"]


def test_too_much(desk: Desk) -> None:
    """A table beyond 5 MB, or more than the page takes at once, is refused; so is nothing at all."""
    assert "5 MB" in desk.send(attendance_csv=b"x" * 5_000_001).text
    assert desk.send(attendance_csv=b"x" * 13_000_000).status_code == 413
    assert "Choose at least one table" in desk.client.post("/rooms/tiny/records", data={}).text
    many = {f"attendance{number}_csv": ATTENDANCE for number in range(13)}
    assert desk.send(**many).status_code == 400
    assert not desk.kept.exists()


def test_taking_a_table_away(desk: Desk) -> None:
    """By its name, and only one that lies there."""
    desk.send(attendance_csv=ATTENDANCE, plantings_csv=PLANTINGS)
    assert desk.client.post("/rooms/tiny/records/remove", data={"name": "plantings.csv"}).status_code == 303
    assert [path.name for path in desk.kept.iterdir()] == ["attendance.csv"]
    for name in ("plantings.csv", "../room.toml", "", "..", "attendance.csv/"):
        assert desk.client.post("/rooms/tiny/records/remove", data={"name": name}).status_code == 404
    assert (desk.folder / "tiny" / "room.toml").is_file()


def test_empty_tables_to_fill_in(desk: Desk) -> None:
    """A workbook with the four tables."""
    book = openpyxl.load_workbook(io.BytesIO(desk.client.get("/rooms/tiny/records/tables.xlsx").content))

    assert {"plantings", "attendance", "work", "faults"} <= set(book.sheetnames)


_CELLS = st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=12)
_TABLES = st.lists(st.lists(_CELLS, max_size=5), max_size=5).map(
    lambda rows: "\n".join([ATTENDANCE.splitlines()[0], *(",".join(row) for row in rows)]).encode()
)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(content=st.binary(max_size=200) | _TABLES, name=st.sampled_from(["attendance.csv", "trays.xlsx", "work.txt"]))
def test_whatever_is_sent_is_looked_at(desk: Desk, content: bytes, name: str) -> None:
    """A table of anything gives a clear page, never a fault of ours, and no line runs as markup."""
    desk.client.post("/rooms/tiny/records", files=[("tables", (name, content, "text/csv"))])
    page = desk.client.get("/rooms/tiny/records")

    assert page.status_code == 200
    assert desk.client.post("/rooms/tiny/records/learn", data={}).status_code in (303, 400)


def test_cells_are_text(desk: Desk) -> None:
    """What somebody wrote into a table is shown as it is written."""
    desk.send(attendance_csv="date,shift,signed_up,came\n2031-01-06,<script>x</script>,2,2\n2031-01-06,Monday,2,2\n")
    page = desk.look()

    assert "<script>x" not in page
    assert "&lt;script&gt;x&lt;/script&gt;" in page
