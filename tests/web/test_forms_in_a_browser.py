"""The forms in a real browser: what is hidden and shown, what Enter does, and no fault of access in any state."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from page_browser import chromium, faults_of, is_too_wide, window
from page_served import served
from playwright.sync_api import Browser, Page, expect

ROOT = Path(__file__).parents[2]
RESERVOIR, RACK, CROP = "/rooms/tiny/form/reservoirs/0", "/rooms/tiny/form/racks/0", "/rooms/tiny/form/crops/0"


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser for all."""
    with chromium() as found:
        yield found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A sound room, one with faults, and one that is no TOML."""
    for name in ("tiny", "faulty", "broken"):
        shutil.copytree(ROOT / "scenarios" / "tiny", tmp_path / name)
    text = (tmp_path / "tiny" / "room.toml").read_text(encoding="utf-8")
    wrong = text.replace("flood_minutes = 3", "flood_minutes = -3").replace(
        'reservoir = "reservoir"', 'reservoir = "nub"'
    )
    (tmp_path / "faulty" / "room.toml").write_text(wrong, encoding="utf-8")
    (tmp_path / "broken" / "room.toml").write_text(text.replace("[room]", "[room"), encoding="utf-8")
    changes = tmp_path / "tiny" / "changes"
    changes.mkdir()
    (changes / "good.toml").write_text("[climate]\nfans_w = 10\n", encoding="utf-8")
    (changes / "bad.toml").write_text("[climate]\nfans_w = -10\n", encoding="utf-8")
    return tmp_path


@pytest.fixture
def home(folder: Path) -> Iterator[str]:
    """The page, really listening; its address."""
    with served(folder) as client:
        yield str(client.base_url).rstrip("/")


@pytest.fixture
def page(browser: Browser, home: str) -> Iterator[Page]:
    """A window."""
    with window(browser, home) as found:
        yield found


def reservoir(folder: Path) -> dict[str, object]:
    """The reservoir as it stands in the file."""
    found: dict[str, object] = tomllib.loads((folder / "tiny" / "room.toml").read_text(encoding="utf-8"))["reservoirs"][
        0
    ]
    return found


def test_the_plan_is_drawn_anew_while_one_types(page: Page, folder: Path) -> None:
    """Nine slots typed are nine slots drawn, before anything is saved."""
    before = (folder / "tiny" / "room.toml").read_bytes()
    page.goto(RACK)
    drawn = page.locator("#plan :is(.s-tray, .s-free)").count()

    page.fill("[name='racks/0/shelves/0/slots']", "9")
    expect(page.locator("#plan :is(.s-tray, .s-free)")).to_have_count(drawn + 5)

    assert (folder / "tiny" / "room.toml").read_bytes() == before


AIR, WANTED = "/rooms/tiny/form/climate", "[name='climate/air_temperature_c']"


def test_the_other_unit_stands_beside_at_once(page: Page, folder: Path) -> None:
    """°C beside °F while one types, and that a thing cannot be read; saved in the file's own unit."""
    page.goto(AIR)
    beside = page.locator("#f-climate-air_temperature_c-other")
    for typed, shown in (
        ("20", ""),
        ("75 F", "= 23.89 °C"),
        ("warm", "cannot be read"),
        ("", ""),
        ("77F", "= 25 °C"),
    ):
        page.fill(WANTED, typed)
        expect(beside).to_have_text(shown)
    page.press(WANTED, "Enter")

    page.wait_for_selector(".good")
    assert page.input_value(WANTED) == "25.0"
    expect(beside).to_have_text("")
    assert "f-climate-air_temperature_c-other" in (page.get_attribute(WANTED, "aria-describedby") or "")
    room = tomllib.loads((folder / "tiny" / "room.toml").read_text(encoding="utf-8"))
    assert room["climate"]["air_temperature_c"] == 25.0


def test_enter_saves(page: Page, folder: Path) -> None:
    """Enter in a field saves; it does not press the first button on the form, which would take something out."""
    page.goto(RACK)
    page.fill("[name='racks/0/shelves/0/slots']", "5")
    page.press("[name='racks/0/shelves/0/slots']", "Enter")

    page.wait_for_selector(".good")
    room = tomllib.loads((folder / "tiny" / "room.toml").read_text(encoding="utf-8"))
    assert [group["slots"] for group in room["racks"][0]["shelves"]] == [5, 4]


def test_only_the_boxes_a_figure_needs_are_shown(page: Page) -> None:
    """A number has one box; a range has three."""
    page.goto(CROP)
    field = page.locator("#f-crops-0-typical_mass_g-field")
    kind, boxes = field.locator("select"), field.locator(".part input:visible")
    kind.select_option("fixed")
    assert boxes.count() == 1
    kind.select_option("range")
    assert boxes.count() == 3


def test_a_fault_is_reached_from_the_top(page: Page) -> None:
    """The sentence at the top leads to the field, which is told to a screen reader as wrong, with the reason."""
    page.goto("/rooms/faulty")
    page.get_by_role("link", name="flood_minutes").click()
    page.wait_for_url("**/form/reservoirs/0")
    page.get_by_role("link", name="reservoirs.reservoir.flood_minutes").click()

    assert page.locator("#f-reservoirs-0-flood_minutes-field").evaluate(
        "it => { const r = it.getBoundingClientRect(); return r.top >= 0 && r.bottom <= innerHeight }"
    )
    box = page.locator("#f-reservoirs-0-flood_minutes")
    assert box.get_attribute("aria-invalid") == "true"
    reason = (box.get_attribute("aria-describedby") or "").split()[0]
    assert "which is not possible" in page.locator(f"#{reason}").inner_text()


def refused(page: Page) -> None:
    """A save that was refused."""
    page.goto(RESERVOIR)
    page.fill("[name='reservoirs/0/flood_minutes']", "none")
    page.click(".keep button[value=save]")
    page.wait_for_selector("[role=alert]")


def overtaken(page: Page) -> None:
    """A save that another window was quicker than."""
    page.goto(RESERVOIR)
    other = page.context.new_page()
    other.goto(RESERVOIR)
    other.fill(
        "[name='reservoirs/0/flood_minutes']", str(float(other.input_value("[name='reservoirs/0/flood_minutes']")) + 1)
    )
    other.click(".keep button[value=save]")
    other.wait_for_selector(".good")
    other.close()
    page.fill("[name='reservoirs/0/flood_minutes']", "9")
    page.click(".keep button[value=save]")
    page.wait_for_selector("[role=alert]")


def unread(page: Page) -> None:
    """An amount that cannot be read, sent."""
    page.goto(AIR)
    page.fill(WANTED, "a stone")
    page.click(".keep button[value=save]")
    page.wait_for_selector("[role=alert]")


def with_all_unfolded(page: Page) -> None:
    """A long form with everything unfolded, every kind of doubt chosen."""
    page.goto(CROP)
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    for place, family in enumerate(("range", "lognormal", "weibull")):
        page.locator("select[name$=':kind']").nth(place).select_option(family)


STATES = [
    "/rooms/faulty", "/rooms/faulty/form/reservoirs/0", "/rooms/faulty/form/racks/0", "/rooms/broken",
    "/rooms/broken/text",
    "/rooms/tiny/remove/reservoirs/0", "/rooms/tiny/changes", "/rooms/tiny/changes/files/good.toml/make",
    "/rooms/tiny/form/outages/new", "/rooms/tiny/form/crops/new", "/rooms/tiny/form/crew", "/rooms/tiny/form/about",
    "/rooms/nowhere", refused, overtaken, unread, with_all_unfolded,
]  # fmt: skip


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_state_of_a_form_shuts_anybody_out(browser: Browser, home: str, scheme: str) -> None:
    """axe-core (WCAG 2.2 A and AA) finds nothing; on a telephone and at 200 % nothing needs scrolling sideways."""
    context = browser.new_context(
        viewport={"width": 640, "height": 512},  # 1280 x 1024 at 200 %
        color_scheme="dark" if scheme == "dark" else "light",
        base_url=home,
    )
    page = context.new_page()
    found, too_wide = [], []
    for state in STATES:
        if isinstance(state, str):
            page.goto(state)
        else:
            state(page)
        found += [f"{state}: {fault}" for fault in faults_of(page)]
        too_wide += [f"{state} at 200 %"] if is_too_wide(page) else []
        page.set_viewport_size({"width": 360, "height": 740})
        too_wide += [f"{state} at 360 px"] if is_too_wide(page) else []
        page.set_viewport_size({"width": 640, "height": 512})
    context.close()

    assert found == []
    assert too_wide == []


def test_forms_are_filled_in_without_script(browser: Browser, home: str, folder: Path) -> None:
    """Script switched off: °F is read; one more group of shelves, saved; the plan is drawn with it."""
    context = browser.new_context(java_script_enabled=False, base_url=home)
    page = context.new_page()
    page.goto(AIR)
    page.fill(WANTED, "77 F")
    page.locator(".keep button[value=save]").click()
    page.wait_for_selector(".good")
    assert page.input_value(WANTED) == "25.0"
    page.goto(RACK)
    page.get_by_role("button", name="One more group of shelves").click()
    page.locator("[name='racks/0/shelves/new1/name']").fill("bottom")
    page.locator(".keep button[value=save]").click()
    page.wait_for_selector(".good")

    assert "bottom" in page.inner_text("#plan")
    context.close()
