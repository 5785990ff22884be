"""The page of an answer in a real browser: one sheet of paper, one phone's width, nothing that axe finds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from page_browser import chromium, faults_of, faults_on_paper, is_too_wide
from playwright.sync_api import Browser
from sow_plans import ORIGIN as SOWN

from growsim.report.sow.answer import write_sowing_plan


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One for all."""
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def reports(report_folder: Path, plan: Any, tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    """A made-up rehearsal's report, and that of a small sowing plan."""
    out = tmp_path_factory.mktemp("reports") / "sow"
    write_sowing_plan(plan, out, provenance=SOWN)
    return [report_folder / "report.html", out / "report.html"]


def test_the_page_of_an_answer_fits_one_sheet(browser: Browser, reports: list[Path]) -> None:
    """A4 and Letter; the rest begins on the next."""
    assert {report: faults_on_paper(browser, report) for report in reports} == {report: [] for report in reports}


def test_a_phone_shows_it_without_scrolling_sideways(browser: Browser, reports: list[Path]) -> None:
    """And axe finds nothing, on the answer and on all that follows it."""
    for report in reports:
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(report.as_uri())
        wide, faults = is_too_wide(page), faults_of(page)
        page.close()
        assert not wide, report
        assert faults == [], report
