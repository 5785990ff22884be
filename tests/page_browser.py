"""A browser for tests of the page: Debian's Chromium, or the one that Playwright brings.

Where there is none the tests are skipped, but for CI, which installs one.
"""

from __future__ import annotations

import os
import re
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
    """What axe-core finds against WCAG 2.2 AA on the page as it stands, all of it in sight: what a bar at the foot of
    the window covers until one scrolls depends on fonts, and is no fault."""
    size = page.viewport_size
    if size is not None:
        tall = max(size["height"], int(page.evaluate("document.documentElement.scrollHeight")))
        page.set_viewport_size({"width": size["width"], "height": tall})
    found: dict[str, Any] = Axe().run(page, options={"runOnly": {"type": "tag", "values": WCAG}}).response
    if size is not None:
        page.set_viewport_size(size)
    return [f"{one['id']}: {node['html'][:120]}" for one in found["violations"] for node in one["nodes"]]


def is_too_wide(page: Page) -> bool:
    """Whether one has to scroll sideways."""
    return bool(page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth"))


def faults_of_answer(browser: Browser, report: Path, part: str = ".front") -> list[str]:
    """What is wrong with a report: sheets of paper that the page of its answer does not fit (A4 and Letter, from the
    title to the end of `part`), a phone that has to be scrolled sideways, what axe finds in all of it."""
    found = []
    for sheet in ("A4", "Letter"):
        page = browser.new_page()
        page.goto(report.as_uri())
        page.evaluate(ONLY_UP_TO, part)
        many = sheets_of(page, sheet)
        found += [f"{many} sheets of {sheet}"] if many != 1 else []
        page.close()
    page = browser.new_page(viewport={"width": 390, "height": 844})
    page.goto(report.as_uri())
    found += [*(["wider than a phone"] if is_too_wide(page) else []), *faults_of(page)]
    page.close()
    return found


def sheets_of(page: Page, sheet: str) -> int:
    """Sheets of paper that the page takes in print."""
    return len(re.findall(rb"/Type\s*/Page\b", page.pdf(format=sheet)))


ONLY_UP_TO = """part => {
    for (let at = document.querySelector(part); at !== document.body; at = at.parentElement)
        while (at.nextElementSibling) at.nextElementSibling.remove();
}"""


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
