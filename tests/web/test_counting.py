"""The shelves counted on the page: the table that comes of it is one that the reader of such tables takes.

The format is the project's own; what was typed is held against what that reader makes of it.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import page_browser
import pytest
from page_served import folder_with_tiny, served
from page_visit import Visitor, forms_of, visit

from growsim.scenario.load import load_scenario
from growsim.scenario.shelves import load_shelves

COUNT = "/rooms/tiny/count"
DAY = dt.date(2031, 2, 3)


@pytest.fixture
def visitor(tmp_path: Path) -> Iterator[Visitor]:
    """A visitor to a folder with the tiny room in it."""
    with visit(folder_with_tiny(tmp_path)) as coming:
        yield coming


def row(number: int, what: str, amount: str, sown: str = "", rack: str = "") -> dict[str, str]:
    """A row of the form filled in."""
    values = {"what": what, "number": amount, "sown": sown, "rack": rack}
    return {f"row-{number}-{box}": text for box, text in values.items()}


def first_stages(visitor: Visitor) -> tuple[str, list[str], str]:
    """The tiny room's first crop, its stages, and its rack."""
    scenario = load_scenario(visitor.app.state.folder.path / "tiny").scenario
    crop = scenario.crops[0]
    return crop.name, [stage.name for stage in crop.stages], scenario.racks[0].name


def test_a_count_is_kept_and_asked_with(visitor: Visitor) -> None:
    """Two batches and greens in the cooler; the question then has it chosen, with its day."""
    crop, stages, rack = first_stages(visitor)
    form = visitor.form(COUNT)
    filled = {"counted": str(DAY)} | row(0, f"{crop}|{stages[0]}", "12", "2031-01-27", rack)
    filled |= row(3, f"{crop}|{stages[-1]}", "7", "2031-01-13") | row(5, f"{crop}|cooler", "2 lb")
    answer = visitor.post(COUNT, [*form.filled(filled), ("do", "keep")])

    assert answer.status_code == 303
    assert answer.headers["location"] == f"/rooms/tiny/ask/promise?shelves=shelves/counted-{DAY}.csv&date={DAY}"
    home = visitor.app.state.folder.path / "tiny"
    today = load_shelves(home / "shelves" / f"counted-{DAY}.csv", load_scenario(home).scenario, DAY)
    assert [(lot.crop, lot.stage, lot.days_since_sowing, lot.plants, lot.rack) for lot in today.lots] == [
        (crop, stages[0], 7, 12, rack),
        (crop, stages[-1], 21, 7, ""),
    ]
    assert [greens.grams for greens in today.cooler] == [907]
    asked = next(form for form in forms_of(visitor.get(answer.headers["location"]).text) if form.method == "post")
    assert dict(asked.fields)["shelves"] == f"shelves/counted-{DAY}.csv"
    assert dict(asked.fields)["date"] == str(DAY)

    again = visitor.get(f"{COUNT}?of=shelves/counted-{DAY}.csv").text
    fields = dict(next(form for form in forms_of(again) if form.action == COUNT).fields)
    assert (fields["counted"], fields["row-1-number"], fields["row-2-number"]) == (str(DAY), "7", "0.9072")


def test_what_is_wrong_stands_beside_its_box(visitor: Visitor) -> None:
    """Each slip at its row, empty rows between or not; nothing is kept and nothing typed is lost."""
    crop, stages, _ = first_stages(visitor)
    filled = {"counted": str(DAY)} | row(1, f"{crop}|{stages[0]}", "many", "2031-01-27")
    filled |= row(4, f"{crop}|{stages[0]}", "5", "2031-03-01") | row(6, "", "5", "2031-01-20")
    answer = visitor.post(COUNT, [*visitor.form(COUNT).filled(filled), ("do", "keep")])
    page = unescape(answer.text)

    assert answer.status_code == 400
    for place in ("row-1-number-wrong", "row-4-sown-wrong", "row-6-what-wrong"):
        assert f'id="{place}"' in page
    assert page.count('class="field-wrong"') == 3
    assert dict(next(form for form in forms_of(answer.text) if form.action == COUNT).fields)["row-1-number"] == "many"
    assert not (visitor.app.state.folder.path / "tiny" / "shelves").exists()

    assert "Nothing was counted yet" in visitor.post(COUNT, [*visitor.form(COUNT).fields, ("do", "keep")]).text
    more = visitor.post(COUNT, [*visitor.form(COUNT).filled(filled), ("do", "more")])
    assert more.text.count("<fieldset") == visitor.get(COUNT).text.count("<fieldset") + 8
    assert visitor.get(f"{COUNT}?of=shelves/none.csv").status_code == 400


@pytest.mark.parametrize("width", [390, 768, 1280])
def test_it_fits_every_screen(tmp_path: Path, width: int) -> None:
    """No sideways scroll, and axe-core finds nothing (WCAG 2.2 AA)."""
    with (
        served(folder_with_tiny(tmp_path)) as client,
        page_browser.chromium() as browser,
        page_browser.window(browser, str(client.base_url), width=width) as page,
    ):
        page.goto(COUNT)
        page.get_by_role("button", name="Keep it and ask").click()
        page.get_by_role("alert").wait_for()
        assert not page_browser.is_too_wide(page)
        assert page_browser.faults_of(page) == []


def test_a_recount_begins_from_what_stands_there(tmp_path: Path) -> None:
    """Every batch by the last count and the record is a row; one is changed by hand, beside what the record says."""
    folder = folder_with_tiny(tmp_path)
    crop, today = load_scenario(folder / "tiny").scenario.crops[0], dt.date.today()
    before = folder / "tiny" / "shelves" / f"counted-{today - dt.timedelta(days=1)}.csv"
    before.parent.mkdir()
    stage = crop.stages_in_order()[0].name
    before.write_text(
        f"lot,crop,stage,days_since_sowing,plants\na,{crop.name},{stage},9,20\nb,{crop.name},{stage},2,30\n"
    )
    with served(folder) as client:
        page = client.get("/rooms/tiny/count").text
        assert page.count("Plants (record: ") == 2
        assert "Plants (record: " not in client.get("/rooms/tiny/count?of=nothing").text
        sent = dict(re.findall(r'<input[^>]* name="([^"]+)"[^>]* value="([^"]*)"', page))
        rows = {f"row-{n}-what": f"{crop.name}|{stage}" for n in (0, 1)}
        answer = client.post("/rooms/tiny/count", data=sent | rows | {"row-1-number": "26", "do": "keep"})
        assert answer.status_code == 303, answer.text
    (kept,) = before.parent.glob(f"counted-{today}*.csv")
    assert [line.split(",")[4] for line in kept.read_text().splitlines()[1:]] == ["20", "26"]
