"""The page of an answer in a real browser: one sheet of paper, one phone's width, nothing that axe finds."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from page_browser import chromium, faults_of, is_too_wide
from playwright.sync_api import Browser
from sow_plans import ORIGIN as SOWN

from growsim.report.sow.answer import write_sowing_plan

SHEETS_MM = {"A4": (210, 297), "Letter": (215.9, 279.4)}
MARGINS_MM = (2 * 15, 2 * 16)  # as print.css says: sides, top and foot
PX_PER_MM = 96 / 25.4  # CSS Values and Units Module Level 3: 1 in = 96 px


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


@pytest.mark.parametrize("sheet", SHEETS_MM)
def test_the_page_of_an_answer_fits_one_sheet(browser: Browser, reports: list[Path], sheet: str) -> None:
    """From the title to how sure it is; the rest begins on the next."""
    width, height = (size - margin for size, margin in zip(SHEETS_MM[sheet], MARGINS_MM, strict=True))
    for report in reports:
        page = browser.new_page(viewport={"width": round(width * PX_PER_MM), "height": 900})
        page.emulate_media(media="print")
        page.goto(report.as_uri())
        foot = page.evaluate("document.querySelector('.front').getBoundingClientRect().bottom + window.scrollY")
        page.close()
        assert foot <= height * PX_PER_MM, report


def test_a_phone_shows_it_without_scrolling_sideways(browser: Browser, reports: list[Path]) -> None:
    """And axe finds nothing, on the answer and on all that follows it."""
    for report in reports:
        page = browser.new_page(viewport={"width": 390, "height": 844})
        page.goto(report.as_uri())
        wide, faults = is_too_wide(page), faults_of(page)
        page.close()
        assert not wide, report
        assert faults == [], report
