"""The seven steps in a real browser: on a telephone, by keyboard alone, with axe-core on every page.

Rules of axe-core: WCAG 2.0 to 2.2, A and AA (axe-core's tags, Deque Systems).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

import page_browser
import pytest
from page_served import served

from growsim.web.walk.steps import STEPS

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Dialog, Page


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One browser for all."""
    with page_browser.chromium() as found:
        yield found


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A page over an empty folder; its address."""
    with served(tmp_path_factory.mktemp("rooms"), workers=1) as client:
        yield str(client.base_url)


def begin(page: Page, name: str) -> None:
    """A new room of that name."""
    page.goto("/")
    page.get_by_label("What you call the room").fill(name)
    page.get_by_label("Where it stands").select_option("UK")
    page.get_by_role("button", name="Begin").click()


def is_at(page: Page, title: str) -> None:
    """Wait until a step is shown."""
    page.get_by_role("heading", level=1, name=title).wait_for()


def test_the_whole_walk_by_keyboard(chromium: Browser, home: str) -> None:
    """Typed and gone on with Enter from field to field; at the end the question is put by keyboard, too."""
    with page_browser.window(chromium, home, width=390) as page:
        begin(page, "By keyboard")
        typed = {"Floor area": "24", "Racks": "3", "Closed days": ""}
        for step in STEPS[:-1]:
            is_at(page, step.title)
            assert page_browser.faults_of(page) == []
            assert not page_browser.is_too_wide(page)
            label = next((each for each in typed if page.locator("form.room-form").get_by_label(each).count()), "")
            if label:
                box = page.locator("form.room-form").get_by_label(label)
                box.focus()
                page.keyboard.press("Control+a")
                page.keyboard.press("Delete") if not typed[label] else page.keyboard.type(typed[label])
            if label and label != "Closed days":
                page.keyboard.press("Enter")
            else:
                page.get_by_role("button", name="Next").focus()
                page.keyboard.press("Enter")
        is_at(page, STEPS[-1].title)
        assert page_browser.faults_of(page) == []
        assert "of 27 are yours" in page.inner_text("main")
        page.get_by_role("button", name="Rehearse this room").focus()
        page.keyboard.press("Enter")
        page.wait_for_url("**/answers/*")


def test_the_drawing_follows_and_leaving_is_asked_about(chromium: Browser, home: str) -> None:
    """A third rack is drawn while it is typed; a link away from it asks first, Next does not."""
    with page_browser.window(chromium, home) as page:
        begin(page, "Drawn")
        page.get_by_role("link", name="2. The racks").click()
        is_at(page, "The racks")
        box = page.locator("input[name=racks]")
        box.fill("")
        box.press_sequentially("3")
        page.locator("#plan .stand").nth(2).wait_for()

        asked: list[str] = []

        def stay(dialog: Dialog) -> None:
            asked.append(dialog.type)
            dialog.dismiss()

        page.on("dialog", stay)
        page.get_by_role("link", name="1. The place").click(no_wait_after=True)
        page.wait_for_timeout(300)
        assert asked == ["beforeunload"]
        assert box.input_value() == "3"
        page.get_by_role("button", name="Next").click()
        is_at(page, "The crops")
        assert asked == ["beforeunload"]


@pytest.mark.parametrize("width", [768, 1280])
def test_no_step_is_too_wide(chromium: Browser, home: str, width: int) -> None:
    """On a tablet and on a desk."""
    with page_browser.window(chromium, home, width=width) as page:
        begin(page, f"Wide {width}")
        for step in STEPS:
            page.goto(f"/rooms/wide-{width}/steps/{step.name}")
            assert not page_browser.is_too_wide(page), step.name
            assert page_browser.faults_of(page) == []
