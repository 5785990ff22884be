"""A browser for tests of the page: Debian's Chromium, or the one that Playwright brings.

Where there is none the tests are skipped, but for CI, which installs one.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Error, Page, sync_playwright

WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@contextmanager
def chromium() -> Iterator[Browser]:
    """A browser without a window. Skips the test where this computer has none; fails it in CI."""
    where = next(
        (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None
    )
    with sync_playwright() as playwright:
        try:
            browser = playwright.chromium.launch(executable_path=where, args=["--no-sandbox"])
        except Error:
            if os.environ.get("CI"):
                raise
            pytest.skip("no Chromium on this computer")
        try:
            yield browser
        finally:
            browser.close()


def faults_of(page: Page) -> list[str]:
    """What axe-core finds against WCAG 2.2 AA on the page as it stands."""
    found: dict[str, Any] = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}}).response
    return [f"{one['id']}: {node['html'][:120]}" for one in found["violations"] for node in one["nodes"]]


def is_too_wide(page: Page) -> bool:
    """Whether one has to scroll sideways."""
    return bool(page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth"))


SHEETS_MM = {"A4": (210, 297), "Letter": (215.9, 279.4)}
MARGINS_MM = (2 * 15, 2 * 16)  # as page.css says: sides, top and foot
PX_PER_MM = 96 / 25.4  # CSS Values and Units Module Level 3: 1 in = 96 px


def faults_on_paper(browser: Browser, report: Path, part: str = ".front") -> list[str]:
    """Sheets of paper that the page of an answer, from the title to how sure it is, does not fit."""
    found = []
    for name, sheet in SHEETS_MM.items():
        width, height = (size - margin for size, margin in zip(sheet, MARGINS_MM, strict=True))
        page = browser.new_page(viewport={"width": round(width * PX_PER_MM), "height": 900})
        page.emulate_media(media="print")
        page.goto(report.as_uri())
        foot = page.evaluate(f"document.querySelector('{part}').getBoundingClientRect().bottom + window.scrollY")
        page.close()
        if foot > height * PX_PER_MM:
            found.append(f"{name}: {foot / PX_PER_MM:.0f} mm of {height:.0f}")
    return found


@contextmanager
def window(browser: Browser, home: str, *, width: int = 1100) -> Iterator[Page]:
    """A window; what its script or the content policy complains of fails the test."""
    page = browser.new_context(viewport={"width": width, "height": 800}, base_url=home).new_page()
    complaints: list[str] = []
    page.on("pageerror", lambda error: complaints.append(str(error)))
    page.on(
        "console",
        lambda said: complaints.append(said.text) if said.type == "error" and "status of 4" not in said.text else None,
    )
    yield page
    page.context.close()
    assert complaints == []
