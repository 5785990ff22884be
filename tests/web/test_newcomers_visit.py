"""A newcomer's whole visit, in a real browser: by mouse, by keyboard alone, on a telephone; axe-core on every page.

New room, another crop mix, rehearse, add a rack, compare, crew, print a sheet. Rules of axe-core: WCAG 2.0 to 2.2, A
and AA (axe-core's tags, Deque Systems).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import page_browser
import pytest
from page_served import folder_with_tiny, served

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ANSWERED_WITHIN_MS = 240_000
FEW = {"f-replications": "2", "f-days": "28"}


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One browser for all."""
    with page_browser.chromium() as found:
        yield found


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A page with the tiny room in it; its address."""
    with served(folder_with_tiny(tmp_path_factory.mktemp("rooms")), workers=1) as client:
        yield str(client.base_url)


@pytest.fixture
def page(chromium: Browser, home: str) -> Iterator[Page]:
    """A window."""
    with page_browser.window(chromium, home) as found:
        yield found


def ask(page: Page, question: str, figures: dict[str, str]) -> str:
    """Ask a question of the room that is open, wait for its answer; gives the sentences."""
    page.get_by_role("link", name="Ask", exact=True).click()
    page.get_by_role("link", name=question).click()
    fill(page, figures)
    page.get_by_role("button", name="Ask", exact=True).click()
    return answer(page)


def fill(page: Page, figures: dict[str, str]) -> None:
    """Fill in figures; those folded away are unfolded first."""
    for field, figure in figures.items():
        if not page.is_visible(f"#{field}"):
            page.get_by_text("More to choose").click()
        page.fill(f"#{field}", figure)


def answer(page: Page) -> str:
    """What the page says once the question is answered; it shows that by itself."""
    page.wait_for_selector("main .answer", timeout=ANSWERED_WITHIN_MS)
    return page.inner_text("main")


def test_a_newcomers_visit(page: Page) -> None:
    """From no room at all to a printed sheet, by what stands on the buttons."""
    page.goto("/")
    page.get_by_label("What you call the room").fill("Our room")
    page.get_by_label("Where it stands").select_option("UK")
    page.get_by_role("button", name="Begin").click()
    page.get_by_role("link", name="Room", exact=True).click()
    assert "This room can be rehearsed" in page.inner_text("main")

    page.get_by_role("link", name="The sowing plan").click()
    page.locator("main a[href*='/form/sowing/0']").first.click()
    page.get_by_label("Cells sown each time").fill("0")
    page.get_by_role("button", name="Save", exact=True).last.click()
    assert page.locator("[aria-invalid=true]").count() == 1  # beside its field
    page.get_by_label("Cells sown each time").fill("40")
    page.get_by_role("button", name="Save", exact=True).last.click()

    assert "kg" in ask(page, "What will this room give", FEW)

    page.get_by_role("link", name="Changes", exact=True).click()
    page.get_by_role("link", name="One more rack").click()
    page.get_by_label("What you call the change").fill("one more rack")
    page.get_by_role("button", name="Keep this change").click()

    page.get_by_role("link", name="Ask", exact=True).click()
    page.get_by_role("link", name="What would another rack").click()
    page.get_by_label("one more rack").check()
    fill(page, FEW)
    page.get_by_role("button", name="Ask", exact=True).click()
    compared = answer(page)
    assert "\nOne more rack: " in compared, compared  # the answer begins with the name of the change

    ask(page, "What does the team do this week", {})
    with page.expect_popup() if page.locator("main a[target=_blank]").count() else page.expect_navigation():
        page.locator("main a[href$='report.html']").first.click()


def test_crew_is_asked_and_answered(page: Page) -> None:
    """How many volunteers, on the room that is there."""
    page.goto("/rooms/tiny")

    assert "people" in ask(page, "How many volunteers do I need", {"f-replications": "5"})


def press_to(page: Page, name: str, times: int = 60) -> None:
    """Tab on until the thing of that name has the focus, which has to be seen to have it."""
    for _ in range(times):
        page.keyboard.press("Tab")
        told: dict[str, Any] = page.evaluate(
            """() => { const it = document.activeElement, style = getComputedStyle(it);
            const label = it.labels && it.labels[0] ? it.labels[0].innerText : '';
            return {name: (label || it.innerText || it.value || '').trim(),
                    seen: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2}; }"""
        )
        if told["name"].startswith(name):
            assert told["seen"], f"{name} has the focus, and nobody sees it"
            return
    raise AssertionError(f"{name} cannot be reached with the Tab key")


def test_by_keyboard_alone(page: Page) -> None:
    """Tab, Enter and typing are enough to describe a room and to ask it."""
    page.goto("/")
    press_to(page, "What you call the room")
    page.keyboard.type("By keys")
    page.keyboard.press("Enter")
    page.wait_for_url("**/rooms/**")
    press_to(page, "Ask")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ask")
    press_to(page, "What will this room give")
    page.keyboard.press("Enter")
    page.wait_for_url("**/ask/rehearse")
    press_to(page, "How many rehearsed years")
    page.keyboard.press("Control+a")
    page.keyboard.type("2")
    press_to(page, "More to choose")
    page.keyboard.press("Enter")
    press_to(page, "How many days")
    page.keyboard.press("Control+a")
    page.keyboard.type("28")
    page.keyboard.press("Enter")

    assert "lb" in answer(page)  # the browser speaks the English of the US


def every_page(page: Page) -> list[str]:
    """Addresses of all kinds of page, found by following links from the first; one of a kind is enough of forms."""
    ask(page, "What will this room give", FEW)
    found: dict[str, None] = {}
    to_see = ["/", page.url]
    while to_see:
        address = to_see.pop(0)
        if address in found or len(found) > 60:
            continue
        found[address] = None
        page.goto(address)
        links: list[str] = page.eval_on_selector_all("a[href]", "all => all.map(one => one.href)")
        to_see += [link.split("#")[0] for link in links if link.startswith(page.url[:20]) and not is_file(link)]
    return list(found)


def is_file(link: str) -> bool:
    """A download, or a report in a frame of its own."""
    last = link.rsplit("/", 1)[-1]
    return "." in last or "download" in link or "/files/" in link


def test_axe_finds_nothing(chromium: Browser, home: str) -> None:
    """On every page, in light and in dark; and no page is wider than a telephone of 360 px."""
    context = chromium.new_context(viewport={"width": 360, "height": 740}, base_url=home)
    page = context.new_page()
    page.goto("/rooms/tiny")
    addresses = every_page(page)
    found, too_wide = [], []
    for address in addresses:
        page.goto(address)
        too_wide += [address] if page_browser.is_too_wide(page) else []
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            found += [f"{address} ({scheme}): {fault}" for fault in page_browser.faults_of(page)]
    context.close()

    assert len(addresses) > 25
    assert not found
    assert not too_wide


def test_works_without_script(chromium: Browser, home: str) -> None:
    """All but live progress: the answer is there when the page is asked for again."""
    context = chromium.new_context(java_script_enabled=False, base_url=home)
    page = context.new_page()
    page.goto("/rooms/tiny")
    page.click("a[href$='/ask']")
    page.click("a[href$='/ask/rehearse']")
    fill(page, FEW)
    page.click("main form button")
    page.wait_for_selector("main .answer", timeout=ANSWERED_WITHIN_MS)  # the page asks again by itself (refresh)

    assert "kg" in page.inner_text("main")
    context.close()


def test_nothing_comes_from_elsewhere(chromium: Browser, home: str) -> None:
    """Whatever the page needs comes from this computer."""
    context = chromium.new_context(base_url=home)
    page = context.new_page()
    asked: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    for address in ("/", "/rooms/tiny", "/rooms/tiny/ask", "/rooms/tiny/answers", "/rooms/tiny/records"):
        page.goto(address)
    context.close()

    assert asked and all(address.startswith((home, "data:")) for address in asked)


def test_twice_as_large(page: Page) -> None:
    """200 % zoom (half as wide a window) hides nothing sideways."""
    page.set_viewport_size({"width": 500, "height": 400})
    for address in ("/", "/rooms/tiny", "/rooms/tiny/form/crops/0", "/rooms/tiny/ask"):
        page.goto(address)
        assert not page_browser.is_too_wide(page), address
