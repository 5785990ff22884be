"""Asking and answers as somebody meets them in a browser: by mouse, by keyboard alone, without script, in the dark."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from page_browser import chromium, faults_of, is_too_wide
from page_served import answered, folder_with_tiny, served
from playwright.sync_api import Browser, Page, expect

FEW = {"replications": "2", "days": "28"}
ANSWERS = "/rooms/tiny/answers"
RECORD = "date,shift,signed_up,came\n2031-01-06,Monday,2,2\n2031-01-09,Thursday,2,1\n2031-01-13,Monday,2,9\n"
PAGES = (
    "/rooms/tiny/ask", "/rooms/tiny/ask/rehearse", "/rooms/tiny/ask/compare", "/rooms/tiny/ask/outage",
    "/rooms/tiny/ask/promise", "/rooms/tiny/ask/sheet", ANSWERS, f"{ANSWERS}/0001-rehearse",
    f"{ANSWERS}/0001-rehearse/days?day=12", f"{ANSWERS}/0002-outage", f"{ANSWERS}/0003-replay",
    f"{ANSWERS}/side-by-side?left=0001-rehearse&right=0003-replay", "/rooms/tiny/records",
)  # fmt: skip


@pytest.fixture(scope="module")
def client(tmp_path_factory: pytest.TempPathFactory) -> Iterator[httpx.Client]:
    """A page with a rehearsal, a question that needs correcting, one more year, and a record."""
    folder = folder_with_tiny(tmp_path_factory.mktemp("rooms"))
    with served(folder, workers=1) as client:
        client.post("/rooms/tiny/ask/rehearse", data=FEW)
        client.post("/rooms/tiny/ask/outage", data={"machine": "pump", "date": "1999-01-01"})
        client.post("/rooms/tiny/records", files=[("tables", ("attendance.csv", RECORD, "text/csv"))])
        assert answered(client, f"{ANSWERS}/0001-rehearse") == "answered"
        client.post(f"{ANSWERS}/0001-rehearse/days", data={"number": "3"})
        assert answered(client, f"{ANSWERS}/0002-outage") == "needs correcting"
        assert answered(client, f"{ANSWERS}/0003-replay") == "answered"
        yield client


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all."""
    with chromium() as browser:
        yield browser


@pytest.fixture
def page(browser: Browser, client: httpx.Client) -> Iterator[Page]:
    """A fresh window that must not complain of anything."""
    context = browser.new_context(base_url=str(client.base_url), viewport={"width": 1000, "height": 800})
    page = context.new_page()
    complaints: list[str] = []
    page.on("console", lambda message: complaints.append(message.text))
    page.on("pageerror", lambda error: complaints.append(str(error)))
    yield page
    context.close()
    assert complaints == []


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_everybody_can_use_every_page(browser: Browser, client: httpx.Client, scheme: str) -> None:
    """axe-core finds nothing against WCAG 2.2 AA, in light and in dark; nothing is wider than a small phone."""
    context = browser.new_context(
        base_url=str(client.base_url),
        viewport={"width": 360, "height": 740},
        color_scheme=scheme,  # type: ignore[arg-type]
    )
    page = context.new_page()
    faults: dict[str, list[str]] = {}
    for address in PAGES:
        page.goto(address)
        page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
        found = faults_of(page) + (["too wide"] if is_too_wide(page) else [])
        if found:
            faults[address] = found
    context.close()

    assert faults == {}


def test_the_answer_comes_by_itself(page: Page) -> None:
    """Asked by keyboard alone: the page tells how far it is, then shows the answer."""
    page.goto("/rooms/tiny/ask/sheet")
    page.get_by_label("A day of the week you want").focus()
    for _ in range(40):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent") == "Ask":
            break
    page.keyboard.press("Enter")

    expect(page.locator("progress")).to_be_visible()
    expect(page.locator(".answer-lead")).to_be_visible(timeout=60_000)
    expect(page.get_by_role("link", name="The sheets, to print")).to_be_visible()


def test_days_by_slider_play_and_links(page: Page) -> None:
    """The slider by keys, the play button until it is stopped, and links that keep the focus for the next press."""
    page.goto(f"{ANSWERS}/0001-rehearse/days?day=5")
    date = page.locator("#date")
    page.get_by_label("Day of the year").focus()
    page.keyboard.press("ArrowRight")
    expect(date).to_contain_text("(day 6 of 27)")
    page.get_by_role("link", name="Day after").focus()
    page.keyboard.press("Enter")
    expect(date).to_contain_text("(day 7 of 27)")
    expect(page.get_by_role("link", name="Day after")).to_be_focused()
    page.get_by_role("button", name="Play").click()
    expect(date).to_contain_text("(day 9 of 27)")
    page.get_by_role("button", name="Stop").click()
    expect(page.get_by_role("button", name="Play")).to_be_visible()


def test_without_script(browser: Browser, client: httpx.Client) -> None:
    """Days by links, questions by forms, progress by a link: all without a line of script."""
    context = browser.new_context(base_url=str(client.base_url), java_script_enabled=False)
    page = context.new_page()
    page.goto(f"{ANSWERS}/0001-rehearse/days")
    page.get_by_role("link", name="A week on").click()
    expect(page.locator("#date")).to_contain_text("(day 7 of 27)")
    page.goto("/rooms/tiny/ask/sheet")
    page.get_by_role("button", name="Ask").click()
    asked = page.url
    assert answered(client, asked.removeprefix(str(client.base_url).rstrip("/"))) == "answered"
    if page.get_by_role("link", name="See how far it is now").is_visible():
        page.get_by_role("link", name="See how far it is now").click()
    expect(page.locator(".answer-lead")).to_be_visible()
    context.close()


def test_a_report_runs_no_script(page: Page, client: httpx.Client, tmp_path: Path) -> None:
    """A report opens and is printed, though a page it opens in may do nothing at all."""
    page.goto(f"{ANSWERS}/0001-rehearse")
    page.get_by_role("link", name="The whole report").click()
    expect(page.locator("h1")).to_contain_text("rehearsed")
    assert page.evaluate("self.origin") == "null"
