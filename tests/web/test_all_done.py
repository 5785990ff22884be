"""Weeks written down with "all done" on every shift: every sowing of the plan is on record once, whatever sheets ask.

Of a room that was lived by its plan nothing else may be on record: common practice, no source.
"""

from __future__ import annotations

import datetime as dt
import re
import shutil
from collections import Counter
from pathlib import Path

import httpx
import pytest

from growsim.scenario.ahead import sowing_days
from growsim.scenario.load import load_scenario
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import Records
from growsim.scenario.scenario import Scenario
from growsim.web.shift.done import WAITS_DAYS
from tests.page_served import served
from tests.web.test_shift import fields_of

ROOT = Path(__file__).parents[2]
DEMO, SHORT = ROOT / "scenarios" / "millrace" / "room.toml", ROOT / "tests" / "cases" / "garage.toml"
_NOT_TICKED = ("else|", "lost|", "failed ")


def all_done(client: httpx.Client, first: dt.date, weeks: int) -> None:
    """Every shift of the weeks, one after the other, all as on its sheet; what is asked back is kept."""
    for ahead in range(7 * weeks):
        day = first + dt.timedelta(days=ahead)
        page = client.get(f"/rooms/mine/shift?date={day}").text
        others = re.findall(r"shift\?date=[\d-]+&amp;shift=([^\"]*)", page)
        for shift in ("", *others):
            where = f"/rooms/mine/shift?date={day}" + (f"&shift={shift}" if shift else "")
            page = client.get(where).text
            if 'class="room-form shift"' not in page:
                continue
            sent = _said(page)
            answer = client.post("/rooms/mine/shift", data=sent)
            if answer.status_code == 400:
                kept = dict(re.findall(r'name="([^"]*\|keep\|[^"]*)" value="([^"]*)"', answer.text))
                answer = client.post("/rooms/mine/shift", data=_said(answer.text) | kept)
            assert answer.status_code == 303, (day, re.findall(r'class="field-wrong"[^>]*>([^<]*)', answer.text))


def _said(page: str) -> dict[str, str]:
    return {name: text for name, text in fields_of(page).items() if not name.startswith(_NOT_TICKED)}


def sown(records: Records) -> Counter[tuple[str, dt.date]]:
    """Cells on record, by crop and day."""
    return sum((Counter({(row.crop, row.sown): row.cells or 0}) for row in records.bits), Counter())


def planned(scenario: Scenario, first: dt.date, weeks: int) -> Counter[tuple[str, dt.date]]:
    """Cells of the plan, by crop and day."""
    start, found = scenario.room.start_date, Counter[tuple[str, dt.date]]()
    for line in scenario.sowing:
        for day in sowing_days(scenario, line, (first - start).days, (first - start).days + 7 * weeks):
            found[line.crop, start + dt.timedelta(days=day)] += line.cells
    return found


@pytest.mark.parametrize(
    ("room", "first", "weeks"),
    [
        (DEMO, dt.date(2026, 10, 5), 3),
        (SHORT, dt.date(2031, 3, 3), 3),
        pytest.param(DEMO, dt.date(2031, 1, 6), 52, marks=pytest.mark.slow),
        pytest.param(SHORT, dt.date(2031, 1, 13), 20, marks=pytest.mark.slow),
    ],
)
def test_every_sowing_is_on_record_once(room: Path, first: dt.date, weeks: int, tmp_path: Path) -> None:
    """Neither the sheet of the plan nor that of what stands asks for a sowing, or a change of solution, again."""
    home = tmp_path / "mine"
    home.mkdir()
    shutil.copy(room, home / "room.toml")
    with served(tmp_path) as client:
        all_done(client, first, weeks)
    scenario = load_scenario(home).scenario
    records = read_records(home / "records", scenario)
    assert records.set_aside == ()
    once, plan = sown(records), planned(scenario, first, weeks)
    for crop in {crop for crop, _ in plan}:
        done, due = ([(day, cells) for (of, day), cells in sorted(each.items()) if of == crop and cells]
                     for each in (once, plan))  # fmt: skip
        assert [cells for _, cells in done] == [cells for _, cells in due]
        late = [(was - planned_for).days for (was, _), (planned_for, _) in zip(done, due, strict=True)]
        assert all(0 <= days < WAITS_DAYS for days in late), (crop, late)
        assert late.count(0) > 0.8 * len(late)  # the others where the room is closed, or few come
    weeks_between = max(each.change_every_weeks for each in scenario.reservoirs)
    changed = Counter(
        row.entry.partition("change solution ")[2] for row in records.work if row.task == "change solution"
    )
    assert set(changed) == {each.name for each in scenario.reservoirs if each.change_every_weeks}
    assert all(weeks // weeks_between - 1 <= times <= -(-weeks // weeks_between) for times in changed.values())
