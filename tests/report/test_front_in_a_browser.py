"""The page of an answer in a real browser: one sheet of paper, one phone's width, nothing that axe finds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from kept_records import as_csv, kept
from page_browser import chromium, faults_of_answer, sheets_of
from playwright.sync_api import Browser
from sow_plans import ORIGIN as SOWN

from growsim.cli import main
from growsim.report.sow.answer import write_sowing_plan
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

ROOMS = Path(__file__).parents[2] / "scenarios"
TINY, MILLRACE = str(ROOMS / "tiny"), str(ROOMS / "millrace")
CHANGES = [f"{MILLRACE}/changes/{name}.toml" for name in ("two-more-on-thursday", "brighter-light", "shorter-day")]
FEW = ("--replications", "5")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One for all."""
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What was written down in twenty weeks of the tiny room."""
    folder, room = tmp_path_factory.mktemp("kept") / "record", load_scenario(ROOMS / "tiny").scenario
    as_csv(kept(trace(prepare(room), 41, 0, RunPlan(days=140, warm_up_days=56)), room), folder)
    return folder


def test_a_rehearsal_and_a_sowing_plan(
    browser: Browser, report_folder: Path, plan: Any, tmp_path_factory: pytest.TempPathFactory
) -> None:
    """Made up, and small."""
    out = tmp_path_factory.mktemp("reports") / "sow"
    write_sowing_plan(plan, out, provenance=SOWN)

    assert faults_of_answer(browser, report_folder / "report.html") == []
    assert faults_of_answer(browser, out / "report.html") == []


@pytest.mark.slow
@pytest.mark.parametrize(
    "words",
    [
        ("rehearse", MILLRACE, *FEW),
        ("rehearse", MILLRACE, "--replications", "2"),
        ("compare", MILLRACE, CHANGES[0], *FEW),
        ("compare", MILLRACE, *CHANGES, *FEW),
        ("funder", MILLRACE, *FEW),
        ("funder", TINY, "--records", "RECORD", *FEW),
        ("outage", TINY, *FEW),
        ("crew", TINY, *FEW),
        ("learn", TINY, "RECORD"),
        ("promise", MILLRACE, "--shelves", f"{MILLRACE}/shelves-2032-05-03.csv", "--date", "2032-05-03"),
    ],
    ids=lambda words: f"{words[0]} of {len(words)} words",
)
def test_every_question(words: tuple[str, ...], browser: Browser, record: Path, tmp_path: Path) -> None:
    """As it is asked; the whole report is read by axe."""
    told = [str(record) if word == "RECORD" else word for word in words]

    assert main([*told, "--out", str(tmp_path / "out")]) == 0
    assert faults_of_answer(browser, tmp_path / "out" / "report.html") == []
    assert [one_sheet_each(browser, page) for page in tmp_path.glob("out/w*.html")] == [True, True] * (
        "outage" in words
    )


def one_sheet_each(browser: Browser, report: Path) -> bool:
    """Whether each part to be printed takes one sheet, on A4 and Letter."""
    page = browser.new_page()
    page.goto(report.as_uri())
    found = [sheets_of(page, size) == max(1, page.locator("section.sheet").count()) for size in ("A4", "Letter")]
    page.close()
    return all(found)


def test_blanks_of_a_shift_stand_on_a_phone(browser: Browser, tmp_path: Path) -> None:
    """No task of any shift has anything, least of all what is written into, beyond the screen's edge."""
    assert main(["sheet", TINY, "--replications", "1", "--out", str(tmp_path / "out")]) == 0
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto((tmp_path / "out" / "report.html").as_uri())

    ends = page.eval_on_selector_all("table.tasks *", "found => found.map(one => one.getBoundingClientRect().right)")
    assert max(ends) <= 390
    page.close()


@pytest.mark.slow
@pytest.mark.parametrize("week", ["2032-03-01", "2032-05-03", "2032-12-13"])
def test_every_shift_of_a_week_has_one_sheet(week: str, browser: Browser, tmp_path: Path) -> None:
    """So have the week itself, and what is to be bought."""
    assert main(["sheet", MILLRACE, "--week", week, "--out", str(tmp_path / "out")]) == 0
    report = tmp_path / "out" / "report.html"

    assert faults_of_answer(browser, report, "section.sheet") == []
    assert one_sheet_each(browser, report)
