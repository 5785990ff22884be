"""The case rooms: what holds each back is named, what is advised cures it, and the cure followed in other years brings
what was promised. Rooms, changes and records in tests/cases are invented.

The cures are worked out by hand from the calendar, beside each; common practice, no source. The same for shelves, racks
and twins stands in tests/metamorphic/test_order_of_shelves.py.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from growsim.cli import main
from growsim.ledger.events import Harvested
from growsim.ledger.outcome import Outcome
from growsim.run.prepare import prepare
from growsim.run.rehearse import rehearse
from growsim.run.replicate import replicate, trace
from growsim.scenario.change import change_text, changed_room, load_change
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.compare.question import compare
from growsim.study.promise.rescue import actions_for
from growsim.study.trials import try_all
from growsim.study.tried import Held, Tried

CASES = Path(__file__).parents[1] / "cases"
PLAN = RunPlan(days=182, warm_up_days=56)
KG, ORDERS = "kg_handed_out_per_week", "orders_filled_fraction"


def room_with(*changes: str) -> LoadedRoom:
    """The garage with these changes, one after the other."""
    room = load_scenario(CASES / "garage.toml")
    for name in changes:
        room = changed_room(room, load_change(CASES / "changes" / f"{name}.toml"))
    return room


@cache
def years(*changes: str, count: int = 4, seed: int = 11) -> Sequence[Outcome]:
    """The same few years of any of them."""
    prepared = prepare(room_with(*changes).scenario)
    return [replicate(prepared, seed, number, PLAN) for number in range(count)]


def mean(outcomes: Sequence[Outcome], key: str) -> float:
    """Of a figure over years."""
    return math.fsum(outcome.measures[key] for outcome in outcomes) / len(outcomes)


def held_up(outcomes: Sequence[Outcome], crop: str, what: str) -> str:
    """What most of a crop's losses (or skipped sowings) of a kind waited for."""
    found: dict[str, float] = {}
    for outcome in outcomes:
        for (of, kind, why), count in outcome.held_up.items():
            if (of, kind) == (crop, what):
                found[why] = found.get(why, 0.0) + count
    return max(found, key=lambda why: found[why])


def test_one_harvest_day_and_one_dark_shelf_are_named() -> None:
    """Peas sown on Tuesday are ripe on Sunday, overgrown on Thursday, cut on Fridays by a lead. Eight trays a week stay
    four and three days in four dark slots: radish, second in the plan, finds none."""
    lived = years("one_harvest_day")

    assert held_up(lived, "pea shoots", "overgrown") == "no harvest day + no lead"
    assert held_up(lived, "radish shoots", "sowings skipped") == "no slot"


def test_many_people_are_no_cure_and_do_no_harm() -> None:
    """Twelve on each shift: the same causes, and no fewer kilograms."""
    few, many = years("one_harvest_day"), years("one_harvest_day", "many_people")

    assert held_up(many, "pea shoots", "overgrown") == "no harvest day + no lead"
    assert mean(many, KG) >= mean(few, KG)
    assert mean(many, ORDERS) < mean(years("one_harvest_day", "harvest_on_tuesdays_too"), ORDERS) - 0.05


def test_peas_are_harvested_there_only_where_sowing_was_late() -> None:
    """Peas sown on their Tuesday are ripe after the Friday of the week after and overgrown by the next. The few trays
    that are cut grew fast enough for the first, or were sown on a Friday, for want of a slot or of people on Tuesday:
    so with people to spare fewer of them are cut, and no fewer kilograms in all."""
    prepared = prepare(room_with("one_harvest_day").scenario)
    cut = [each for n in range(6) for each in trace(prepared, 11, n, PLAN).of(Harvested) if each.crop == "pea shoots"]
    first = room_with().scenario.room.start_date
    slow = [each for each in cut if each.minute - each.sown_minute > 11 * 1440]

    assert len(cut) > len(slow) > 0
    assert {(first + dt.timedelta(minutes=each.sown_minute)).weekday() for each in slow} == {4}


def test_each_cure_cures_its_own() -> None:
    """A second harvest day: peas are cut. Dark trays anywhere: radish is sown. Both changes do not undo each other."""
    today, tuesdays = years("one_harvest_day"), years("one_harvest_day", "harvest_on_tuesdays_too")
    dark = years("one_harvest_day", "dark_trays_anywhere")

    def fate(outcomes: Sequence[Outcome], crop: str, key: str) -> float:
        return math.fsum(outcome.fates.get((crop, key), 0) for outcome in outcomes)

    assert fate(tuesdays, "pea shoots", "overgrown") < 0.3 * fate(today, "pea shoots", "overgrown")
    assert fate(today, "radish shoots", "harvested") == 0
    assert fate(dark, "radish shoots", "harvested") > 20
    assert mean(dark, KG) > mean(today, KG)


def test_greens_that_spoil_are_given_away_in_time() -> None:
    """What is harvested on Friday waits for Thursday, six days, and shoots keep five: given away on Friday evening
    nothing of it spoils, and all of it is handed out."""
    today, fridays = years(), years("give_away_on_fridays")
    spoiled = [mean(each, "kg_wasted_per_week") / mean(each, "kg_packed_per_week") for each in (today, fridays)]

    assert spoiled[0] > 0.1
    assert spoiled[1] < 0.02
    assert mean(fridays, KG) - mean(today, KG) > 0.8 * mean(today, "kg_wasted_per_week")
    assert mean(fridays, ORDERS) >= mean(today, ORDERS) - 1e-9


def test_harvesting_first_is_the_order_of_the_day_anyway() -> None:
    """Unset, the order of the day's work puts what is due to a partner first: setting it by hand brings no tenth."""
    assert mean(years("harvest_first"), KG) == pytest.approx(mean(years(), KG), rel=0.1)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("changes", "advised"),
    [((), "giving away on Fridays"), (("one_harvest_day",), "harvest on Tuesdays too")],
)
def test_what_is_advised_brings_what_was_promised(changes: tuple[str, ...], advised: str, tmp_path: Path) -> None:
    """The advice kept as a CHANGE and compared under another seed: the ranges of both meet."""
    room = room_with(*changes)
    held = held_of(room)
    cure = next(tried for tried in held.advice if len(tried.trials) == 1)
    found = followed(room, cure, tmp_path)

    assert cure.name.startswith(advised)
    assert cure.kg.low is not None
    assert cure.kg.high is not None
    assert found[0] <= cure.kg.high
    assert cure.kg.low <= found[1]
    assert found[0] > 0.0


def held_of(room: LoadedRoom) -> Held:
    """What holds it back, and what was tried."""
    lived = rehearse(room.scenario, seed=5, replications=12, plan=PLAN)
    return try_all(room, lived.outcomes, seed=5, plan=PLAN)


def followed(room: LoadedRoom, cure: Tried, folder: Path) -> tuple[float, float]:
    """The range of what it brings in kilograms a week in other years, from the CHANGE file that a report writes."""
    assert cure.tables is not None
    path = folder / "cure.toml"
    path.write_text(change_text(cure.tables, {"name": cure.name}), encoding="utf-8")
    (found,) = compare(room, [load_change(path)], plan=PLAN, seed=77, at_most=10, why=False).changes
    difference = found.verdicts[KG].difference
    assert difference.low is not None
    assert difference.high is not None
    return difference.low, difference.high


def test_a_record_with_semicolons_and_days_first_is_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """All rows but one, whose mass could be two numbers; it is named by its line. That days come first is proven by
    rows whose day is no month."""
    garage, records = str(CASES / "garage.toml"), str(CASES / "records")
    done = main(["learn", garage, records, "--replications", "20", "--workers", "1",
                 "--no-faults", "--out", str(tmp_path / "learned")])  # fmt: skip
    said = " ".join(capsys.readouterr().out.split())

    assert done == 0
    assert "crisp lettuce weighs 1" in said
    assert "92 rows read, 1 set aside" in (tmp_path / "learned" / "learned.toml").read_text(encoding="utf-8")
    assert 'plantings.csv line 23: grams is "5,719", which could be two numbers' in said


def test_what_saves_a_promise_is_tried_there_too() -> None:
    """Where only a lead may harvest and none comes on Tuesdays, the day is tried with that lifted: alone it brings
    nothing."""
    room = room_with("one_harvest_day").scenario
    pick_up: Any = SimpleNamespace(partner="soup kitchen", crop="basil", date=room.room.start_date)

    names = {action.name for action in actions_for(room, [pick_up], weeks=6)}

    assert "harvest on Tuesdays too, with or without a lead" in names
    assert "harvest on Tuesdays too, with a lead on Tuesday evening" in names
    assert not any("keeping" in name for name in names)  # basil is handed out for as long as it keeps
    sooner = room.model_copy(update={"harvest": room.harvest.model_copy(update={"longest_wait_days": 2})})
    longest = max(crop.shelf_life_days for crop in room.crops if crop.name in _ordered(room))
    assert f"keeping greens up to {longest:g} days in the cooler instead of 2" in {
        action.name for action in actions_for(sooner, [pick_up], weeks=6)
    }


def _ordered(room: Scenario) -> set[str]:
    named = {order.crop for partner in room.partners for order in partner.orders}
    return {crop.name for crop in room.crops} if "any" in named else named
