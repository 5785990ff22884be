"""A browser for tests: Debian's Chromium, driven by Playwright."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


@contextmanager
def browser() -> Iterator[Browser]:
    """Chromium without a window. Skips the test where there is none, but for CI, which has to have one."""
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("no chromium on this machine; apt-get install chromium")
        pytest.skip("no chromium on this machine")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        try:
            yield found
        finally:
            found.close()
