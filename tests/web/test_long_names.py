"""Names of sixty letters without a blank, on a phone: no page and no report is wider than the window."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from page_browser import chromium, faults_of, is_too_wide
from page_served import TINY, answered, served

pytestmark = pytest.mark.slow
LONG = "Donaudampfschifffahrtsgesellschaftskapitaensgartenhausraum"
NAMED = ("Tiny trial room", "seed tray", "head tray", "rack", "reservoir", "cutting leaf", "small head", "trial pantry",
         "Monday", "Thursday")  # fmt: skip
PAGES = (
    "", "/ask", "/ask/crew", "/ask/sow", "/changes", "/answers", "/records", "/text", "/remove", "/form/racks",
    "/form/racks/0", "/form/crops/0", "/form/crew", "/form/partners", "/steps/racks", "/steps/crops",
)  # fmt: skip


def test_no_page_is_wider_than_a_phone(tmp_path: Path) -> None:
    """The room's folder and all that is in it have such names; axe finds nothing in the report either."""
    room = LONG + "00"
    shutil.copytree(TINY, tmp_path / room)
    file = tmp_path / room / "room.toml"
    text = file.read_text("utf-8")
    for number, name in enumerate(NAMED):
        if name not in ("Monday", "Thursday"):
            assert f'"{name}"' in text, name
        text = text.replace(f'name = "{name}"', f'name = "{LONG}{number:02}"')
        for key in ("tray", "reservoir", "crop", "partner", "trays"):
            text = text.replace(f'{key} = "{name}"', f'{key} = "{LONG}{number:02}"')
    file.write_text(text, "utf-8")
    wide, faults = [], {}
    with served(tmp_path, workers=2) as client, chromium() as browser:
        page = browser.new_page(viewport={"width": 390, "height": 844}, base_url=str(client.base_url))
        few = {"replications": "2", "days": "28"}
        assert client.post(f"/rooms/{room}/ask/rehearse", data=few).status_code == 303
        answer = f"/rooms/{room}/answers/0001-rehearse"
        assert answered(client, answer) == "answered"
        pages = [f"/rooms/{room}{end}" for end in PAGES]
        for address in ("/", *pages, answer, f"{answer}/days", f"{answer}/files/report.html"):
            page.goto(address)
            page.evaluate("document.querySelectorAll('details').forEach((each) => { each.open = true; })")
            wide += [address] if is_too_wide(page) else []
            faults |= {address: found} if (found := faults_of(page)) else {}

    assert wide == []
    assert faults == {}
