"""Asking: every question has its form, what is wrong is said as on the command line, and what is asked is kept."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import httpx
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from page_served import Pretender, answered, folder_with_tiny, pretender, served, wait_for
from page_visit import forms_of

from growsim.cli import main
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.study.sow.question import TRIAL_YEARS, sow, years_expected
from growsim.web.ask.likely_time import busy, in_words, likely_seconds
from growsim.web.ask.questions import ON_ASK_PAGE
from growsim.web.folder import RoomFolder
from growsim.web.runs.record import DONE, Run, load

ROOT = Path(__file__).parents[2]
CHANGE = '[change]\nname = "more heads"\nprice = 5\n\n[[sowing]]\nname = "heads Mondays"\ncells = 30\n'
SEE_OTHER = 303
SHELVES = "lot,crop,stage,sown,plants,rack,kg\na,small head,head,2031-01-06,24,rack,\n"


class Asking:
    """A page over the tiny room whose commands only pretend."""

    def __init__(self, folder: Path, client: httpx.Client, children: type[Pretender]) -> None:
        self.folder, self.client, self.children = folder, client, children
        self.home = folder / "tiny"

    def ask(self, question: str, **data: str) -> httpx.Response:
        """Send the form of a question."""
        return self.client.post(f"/rooms/tiny/ask/{question}", data=data)

    def words(self, number: int) -> list[str]:
        """Words of the number-th command, once it is begun; it ends well then."""
        child: Pretender = wait_for(
            lambda: self.children.begun[number - 1] if len(self.children.begun) >= number else None, 10
        )
        child.answer()
        return child.words


@pytest.fixture
def asking(tmp_path: Path) -> Iterator[Asking]:
    """The page, a CHANGE file, and a count of the shelves."""
    folder = folder_with_tiny(tmp_path)
    (folder / "tiny" / "changes").mkdir()
    (folder / "tiny" / "changes" / "heads.toml").write_text(CHANGE, encoding="utf-8")
    (folder / "tiny" / "today.csv").write_text(SHELVES, encoding="utf-8")
    children = pretender()
    with served(folder, begin_child=children) as client:
        yield Asking(folder, client, children)


def wrong(page: httpx.Response) -> dict[str, str]:
    """What the page says beside its fields."""
    found = re.findall(r'id="f-(\w+)-wrong"><strong>Wrong:</strong> (.*?)</p>', page.text, re.DOTALL)
    return {name: unescape(said) for name, said in found}


@pytest.mark.parametrize("question", ON_ASK_PAGE)
def test_every_question_has_a_form(asking: Asking, question: str) -> None:
    """With a label for every field, and how long it is likely to take."""
    page = asking.client.get(f"/rooms/tiny/ask/{question}")

    assert page.status_code == 200
    assert "Likely to take" in page.text
    fields = re.findall(r'<(?:input|select)[^>]* id="([\w-]+)"', page.text)
    assert fields
    assert all(f'<label for="{field}">' in page.text for field in fields)
    assert f'href="/rooms/tiny/ask/{question}"' in asking.client.get("/rooms/tiny/ask").text


@pytest.mark.parametrize(
    ("question", "field", "option", "value"),
    [
        ("rehearse", "replications", "--replications", "many"),
        ("rehearse", "days", "--days", "0"),
        ("crew", "on_time", "--on-time", "101"),
        ("sow", "certainty", "--certainty", "12"),
        ("outage", "hours", "--hours", "-3"),
        ("outage", "date", "--date", "2031-02-30"),
        ("sheet", "week", "--week", "next week"),
        ("funder", "replications", "--replications", "1e3"),
        ("crew", "at_least", "--at-least", "99"),
    ],
)
def test_what_is_wrong_is_said_as_on_the_command_line(
    asking: Asking, capsys: pytest.CaptureFixture[str], question: str, field: str, option: str, value: str
) -> None:
    """Beside its field, in the command's own sentence; what was filled in stays filled in."""
    code = main([question, str(asking.home), option, value])
    said = capsys.readouterr().err
    page = asking.ask(question, **{field: value, "machine": "pump"})

    assert code == 2
    assert page.status_code == 400
    assert wrong(page)[field] in said
    assert f'value="{value}"' in page.text
    assert asking.children.begun == []


def test_several_faults_are_all_told(asking: Asking) -> None:
    """Each beside its own field, and the list at the top leads to them."""
    page = asking.ask("rehearse", replications="x", days="y", start="standing")

    assert set(wrong(page)) == {"replications", "days", "start"}
    assert all(f'href="#f-{name}"' in page.text for name in wrong(page))


def test_asking_keeps_what_was_asked(asking: Asking) -> None:
    """The room as it is now goes with the question; changing it later changes nothing about the answer."""
    answer = asking.ask("rehearse", replications="7", days="28", start="empty")
    words = asking.words(1)
    kept = asking.folder / words[1]
    before = (asking.home / "room.toml").read_bytes()
    (asking.home / "room.toml").write_text("about = 'other'", encoding="utf-8")

    assert (answer.status_code, answer.headers["location"]) == (303, "/rooms/tiny/answers/0001-rehearse")
    assert words[0] == "rehearse"
    options = words[2 : words.index("--out")]
    assert options == ["--replications", "7", "--days", "28", "--start", "empty"]
    assert (kept / "room.toml").read_bytes() == before
    assert kept.is_relative_to(asking.home / "answers" / "0001-rehearse")


def test_changes_to_compare(asking: Asking) -> None:
    """They are listed by their own names, ticked, and go with the question; one that cannot be made is refused."""
    form = asking.client.get("/rooms/tiny/ask/compare?change=heads.toml").text
    assert "more heads" in form
    assert re.search(r'value="heads.toml" checked', form)
    assert "Tick at least one change." in wrong(asking.ask("compare", replications="3"))["changes"]
    assert "no change" in wrong(asking.ask("compare", changes="../room.toml"))["changes"]

    asking.ask("compare", replications="3", changes="heads.toml")
    words = asking.words(1)
    assert (asking.folder / words[2]).read_text(encoding="utf-8") == CHANGE
    assert "What a change brings: more heads" in asking.client.get("/rooms/tiny/answers").text

    (asking.home / "changes" / "heads.toml").write_text('[[sowing]]\nname = "no such"\n', encoding="utf-8")
    said = wrong(asking.ask("compare", replications="3", changes="heads.toml"))["changes"]
    assert "changes/heads.toml" in said
    assert str(asking.folder) not in said


def test_a_count_of_the_shelves(asking: Asking) -> None:
    """Chosen from the room's folder or sent; its faults are told by line, and a sent one is kept for next time."""
    assert "Choose a table" in wrong(asking.ask("promise", date="2031-02-03"))["shelves"]
    asking.ask("promise", date="2031-02-03", shelves="today.csv")
    words = asking.words(1)
    assert (asking.folder / words[words.index("--shelves") + 1]).read_text(encoding="utf-8") == SHELVES

    def send(name: str, content: bytes) -> httpx.Response:
        files = {"shelves_file": (name, content, "text/csv")}
        return asking.client.post("/rooms/tiny/ask/promise", data={"date": "2031-02-03"}, files=files)

    faulty = wrong(send("count.csv", SHELVES.replace("small head,", "tall head,").encode()))["shelves"]
    assert "line 2, crop" in faulty
    assert "tall head" in faulty
    assert "is no table" in wrong(send("count.exe", b"MZ"))["shelves"]
    assert "5 MB" in wrong(send("count.csv", b"x" * 5_000_001))["shelves"]
    assert send("../../away.csv", SHELVES.encode()).status_code == 303
    assert (asking.home / "shelves" / "away.csv").read_text(encoding="utf-8") == SHELVES
    assert not list(asking.folder.parent.glob("away*"))


def test_answers_that_do_not_go_together(asking: Asking) -> None:
    """A day without a machine, a machine without a day, a date without a count."""
    assert "which machine" in wrong(asking.ask("outage", date="2031-03-03"))["machine"]
    assert "say when" in wrong(asking.ask("outage", machine="pump"))["date"]
    assert "counted" in wrong(asking.ask("sheet", week="2031-01-06", date="2031-01-06"))["date"]
    assert asking.children.begun == []


def test_a_room_with_faults_cannot_be_asked(asking: Asking) -> None:
    """The page says what to correct, in the sentences of `check`, and asks nothing."""
    file = asking.home / "room.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("people_at_once = 4", "people_at_once = 0"), "utf-8")
    page = asking.ask("rehearse", replications="2")

    assert page.status_code == 400
    assert "people_at_once" in page.text
    assert "people_at_once" in asking.client.get("/rooms/tiny/ask").text
    assert asking.children.begun == []


def test_asking_the_same_again(asking: Asking) -> None:
    """From an answer the form is filled in as it was, and one button asks the same of the room as it was then."""
    asking.ask("rehearse", replications="9", days="35", start="filled")
    asking.words(1)
    assert answered(asking.client, "/rooms/tiny/answers/0001-rehearse") == "answered"
    form = asking.client.get("/rooms/tiny/ask/rehearse?again=0001-rehearse").text
    assert 'value="9"' in form
    assert 'value="35"' in form

    shutil.move(asking.home / "room.toml", asking.home / "room-was.toml")
    (asking.home / "room.toml").write_text("about = 'other'", encoding="utf-8")
    again = asking.client.post("/rooms/tiny/answers/0001-rehearse/again")
    assert again.headers["location"] == "/rooms/tiny/answers/0002-rehearse"
    words = asking.words(2)
    assert words[1] == "tiny/answers/0002-rehearse/asked/tiny"
    assert (asking.folder / words[1] / "room.toml").read_bytes() == (asking.home / "room-was.toml").read_bytes()


@pytest.mark.parametrize("question", ON_ASK_PAGE)
@settings(
    max_examples=5, phases=[Phase.generate], deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.data())
def test_asked_again_without_a_touch_it_is_the_same(question: str, asking: Asking, data: st.DataObject) -> None:
    """Whatever of the form was said: what was not is the room's own, and no file is named that was not."""
    file = asking.home / "room.toml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text if "empty" in text else text.replace("[rehearsal]", '[rehearsal]\nstart = "empty"'), "utf-8")
    fresh = forms_of(asking.client.get(f"/rooms/tiny/ask/{question}").text)[-1].fields
    names = {name for name, _ in fresh if "file" not in name}
    kept = data.draw(st.sets(st.sampled_from(sorted(names))))
    said = {name: value for name, value in fresh if name in kept}
    others = {"replications": "9", "start": "filled", "days": "35"}
    said |= {name: others[name] for name in data.draw(st.sets(st.sampled_from(sorted(others)))) if name in said}
    if question == "compare":
        said["changes"] = "heads.toml"
    if question in ("promise", "sheet"):
        said["shelves"] = "today.csv"
    sent = asking.ask(question, **said)
    if sent.status_code != SEE_OTHER:  # such as a comparison without a change
        return
    run = sent.headers["location"].rpartition("/")[2]
    again = dict(forms_of(asking.client.get(f"/rooms/tiny/ask/{question}?again={run}").text)[-1].fields)
    files = {"records", "shelves", "changes"}
    told = {name: value for name, value in again.items() if "file" not in name and (value or name in said)}

    assert told == {name: value for name, value in fresh if value and name not in files} | said
    other = asking.ask(question, **told).headers["location"].rpartition("/")[2]
    home = RoomFolder("tiny", file, asking.home)
    assert load(home, other).given.items() >= load(home, run).given.items()


def test_what_was_stopped_goes_on(asking: Asking, monkeypatch: pytest.MonkeyPatch) -> None:
    """Years finished before the stop lie in the drawer; the same asked again goes on from them."""
    monkeypatch.setenv("GROWSIM_YEARS", str(asking.folder / "years"))
    asking.ask("crew", replications="9")
    first: Pretender = wait_for(lambda: asking.children.begun and asking.children.begun[0], 10)
    first.write_half()
    asking.client.post("/rooms/tiny/answers/0001-crew/stop")
    page = asking.client.get("/rooms/tiny/answers/0001-crew").text
    asking.client.post("/rooms/tiny/answers/0001-crew/again")
    second: Pretender = wait_for(lambda: len(asking.children.begun) > 1 and asking.children.begun[1], 10)

    assert "Go on with it" in page
    assert not first.out.exists()
    assert second.words[:4] == [word.replace("0001", "0002") for word in first.words[:4]]


@pytest.mark.parametrize("address", ["ask/replay", "ask/learn", "ask/nothing", "ask/rehearse?again=0009-crew"])
def test_no_other_questions(asking: Asking, address: str) -> None:
    """What is no question of this page is not there."""
    assert asking.client.get(f"/rooms/tiny/{address}").status_code == 404


_TEXTS = st.text(alphabet=st.characters(exclude_categories=["Cs"]), max_size=30) | st.sampled_from(
    [
        "",
        "3",
        "-1",
        "1e9",
        "2031-01-06",
        "9999-12-31",
        "0001-01-01",
        "pump",
        "reservoir",
        "filled",
        "../..",
        "today.csv",
        "yes",
    ]
)
_FIELDS = ["replications", "days", "start", "machine", "where", "date", "hour", "hours", "week", "weeks", "shelves"]
_FIELDS += ["changes", "certainty", "on_time", "orders", "at_least", "period", "no_rescue", "other"]
_FIELDS += ["records", "dates", "from", "until"]
_NAMES = st.sampled_from(_FIELDS)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(question=st.sampled_from(ON_ASK_PAGE), data=st.dictionaries(_NAMES, _TEXTS, max_size=8))
def test_whatever_is_filled_in_gives_a_clear_page(asking: Asking, question: str, data: dict[str, str]) -> None:
    """The question is taken, or what is wrong is said; never a fault of ours."""
    for child in asking.children.begun:
        child.code = 1 if child.code is None else child.code
    page = asking.ask(question, **data)

    assert page.status_code in (303, 400)
    if page.status_code == 400:
        assert wrong(page)


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(body=st.binary(max_size=300), kind=st.sampled_from(["application/x-www-form-urlencoded", "multipart/form-data",
       "multipart/form-data; boundary=x", "text/plain", "", "application/json"]))  # fmt: skip
def test_whatever_is_sent_gives_a_clear_page(asking: Asking, body: bytes, kind: str) -> None:
    """Not even what is no form at all gives a fault of ours."""
    for address in (
        "ask/promise",
        "ask/compare",
        "records",
        "records/learn",
        "records/remove",
        "answers/0001-crew/days",
    ):
        page = asking.client.post(f"/rooms/tiny/{address}", content=body, headers={"Content-Type": kind})
        assert page.status_code < 500, (address, page.text)


def test_the_years_of_a_sowing_plan_are_reckoned_about_right() -> None:
    """Held against the years that a search really lives through: not three times too many or too few (a rule of
    thumb; the factor is our own)."""
    room, lived = load_scenario(ROOT / "scenarios" / "tiny"), [0]

    def tell(done: int, _: int) -> None:
        lived.append(done)

    sow(room, run=RunPlan(56, 56), seed=1, replications=10, progress=tell)

    assert 1 / 3 < years_expected(room.scenario, TRIAL_YEARS, 10) / max(lived) < 3


def test_a_sowing_plan_for_the_demo_room_takes_minutes() -> None:
    """Measured 2026-11-29 on two cores: 170 seconds by the clock with nothing else running; 213 seconds a core and 13
    minutes by the clock where other work had most of them. "About a minute" was said before."""
    scenario = load_scenario(ROOT / "scenarios" / "millrace").scenario

    assert 150 < likely_seconds("sow", scenario, {}, ()) < 13 * 60


def test_a_busy_computer_takes_as_many_times_as_long(monkeypatch: pytest.MonkeyPatch) -> None:
    """Fourteen programs wait for two processors, and two workers more: eight times the rule. What a run took here
    before was measured on this computer. (A fair share of the processors for each: common practice, no source.)"""
    scenario = load_scenario(ROOT / "scenarios" / "tiny").scenario
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    monkeypatch.setattr(os, "getloadavg", lambda: (14.0, 3.0, 1.0))
    before = Run("1", "tiny", "rehearse", "", (), state=DONE, began_at=0.0, ended_at=100.0)

    assert busy(workers=2) == 8.0
    assert likely_seconds("rehearse", scenario, {}, (), times=8.0) == 8 * likely_seconds("rehearse", scenario, {}, ())
    assert likely_seconds("rehearse", scenario, {}, (before,), times=8.0) == pytest.approx(100.0)


def test_times_in_words() -> None:
    """Nobody is told of 83 seconds."""
    said = [in_words(seconds) for seconds in (1, 29, 40, 89, 170, 3590, 4000, 9000)]

    assert said == [
        "less than half a minute", "less than half a minute", "about a minute", "about a minute", "about 3 minutes",
        "about 60 minutes", "about an hour", "about 2 hours",
    ]  # fmt: skip
