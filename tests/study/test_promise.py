"""What may be promised from today's shelves, what is at risk, and what would save it."""

from __future__ import annotations

import copy
import dataclasses
import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from growsim.errors import InputError
from growsim.scenario.change import LoadedChange, changed_room
from growsim.scenario.load import LoadedRoom, load_scenario, scenario_from
from growsim.scenario.plan import ShelfLot, StoredGreens
from growsim.scenario.shelves import Today
from growsim.study.promise.answer import Promises
from growsim.study.promise.question import promise, weeks_ahead
from growsim.study.promise.rescue import Gain, Rescue
from growsim.study.to_try import Trial

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
MONDAY = dt.date(2031, 2, 10)
SHELVES = Today(
    (
        ShelfLot("heads one", "small head", "head", 28, 28, "rack"),
        ShelfLot("heads two", "small head", "head", 21, 28, "rack"),
        ShelfLot("heads three", "small head", "seedling", 14, 29, "rack"),
        ShelfLot("leaf one", "cutting leaf", "leaf", 21, 58, "rack"),
        ShelfLot("leaf two", "cutting leaf", "leaf", 14, 58, "rack"),
        ShelfLot("leaf three", "cutting leaf", "seedling", 7, 59, "rack"),
    )
)


def edited(**changes: Any) -> LoadedRoom:
    """The tiny room with top-level tables replaced."""
    raw = copy.deepcopy(TINY.raw) | changes
    return dataclasses.replace(TINY, raw=raw, scenario=scenario_from(raw, "tiny")[0])


def asked(room: LoadedRoom = TINY, today: Today = SHELVES, **other: Any) -> Promises:
    """A promise from Monday 10 February, quickly."""
    options: dict[str, Any] = {"date": MONDAY, "seed": 4, "weeks": 4, "replications": 39, **other}
    return promise(room, today, **options)


@pytest.fixture(scope="module")
def promises() -> Promises:
    """The tiny room's promises."""
    return asked()


def test_levels_lie_in_order_and_spare_is_part_of_what_is_there(promises: Promises) -> None:
    """Safe, likely, possible; what no order takes is not more than there is."""
    assert {each.crop for each in promises.crops} == {"", "cutting leaf", "small head"}
    for each in promises.crops:
        assert 0 <= each.there.safe <= each.there.likely <= each.there.possible
        assert each.spare.safe <= each.there.safe
    assert max(each.there.safe for each in promises.crops) > 1


def test_leaf_on_the_shelves_is_what_can_be_promised_first(promises: Promises) -> None:
    """58 plants of 25 g, trimmed by 5 %, some lost: near 1.3 kg in the week in which they are 24 days old."""
    first = next(each for each in promises.crops if each.crop == "cutting leaf")

    assert first.starts == MONDAY
    assert 1.1 < first.there.safe < first.there.possible < 1.6


def test_every_pick_up_of_every_order_is_there(promises: Promises) -> None:
    """Two orders, four Thursdays."""
    thursdays = [MONDAY + dt.timedelta(days=3 + 7 * week) for week in range(4)]

    assert [(each.date, each.crop, each.ordered) for each in promises.deliveries] == [
        (day, crop, kg) for day in thursdays for crop, kg in (("cutting leaf", 1.0), ("small head", 1.8))
    ]
    for each in promises.deliveries:
        assert each.is_at_risk == (each.chance.share < 0.9)
        assert each.gets.possible <= each.ordered
        assert (each.short == 0) == (each.chance.share == 1)


def test_nothing_is_promised_on_a_closed_day() -> None:
    """No pick-up, no delivery."""
    closed = edited(room=TINY.raw["room"] | {"closed_days": [dt.date(2031, 2, 13)]})

    found = asked(closed, weeks=1, rescue=False)

    assert found.deliveries == ()
    assert found.crops[0].ordered == 0


def test_greens_in_the_store_count() -> None:
    """Two kilograms of heads harvested on Saturday are there on Thursday, whatever happens."""
    stored = Today(SHELVES.lots, (StoredGreens("a", "small head", 2000, 2),))

    found = asked(today=stored, weeks=1, rescue=False)

    (heads,) = [each for each in found.deliveries if each.crop == "small head"]
    assert (heads.gets.safe, heads.chance.share) == (1.8, 1.0)


def test_workers_change_nothing(promises: Promises) -> None:
    """Two processes, the same promises."""
    assert asked(workers=2) == promises


def test_a_helper_saves_what_hands_are_short_for() -> None:
    """A short Thursday with one uncertain person: one helper more, Mondays too, greens kept longer; best all three."""
    shifts = [
        {"name": "Monday", "weekday": "mon", "start_hour": 9, "hours": 2, "people": 2, "lead": True},
        {"name": "Thursday", "weekday": "thu", "start_hour": 9, "hours": 1.25, "people": 1, "lead": True},
    ]
    crew = TINY.raw["crew"] | {"shifts": shifts, "chance_of_coming": [0.9] * 12}
    found = asked(edited(crew=crew), replications=60)

    assert {rescue.name for rescue in found.helpful} == {
        "one more helper on Thursday",
        "harvest on Mondays too",
        "keeping greens up to 8 days in the cooler instead of 7",
    }
    for rescue in found.helpful:
        assert rescue.saves
        assert set(rescue.saves) <= {each.key for each in found.at_risk}
        assert 0 < rescue.met.low < rescue.met.mean < rescue.met.high
    both, all_three = found.together
    assert [len(each.actions) for each in found.together] == [2, 3]
    assert all_three.met.mean > both.met.mean > found.rescues[0].met.mean


def test_sowing_now_is_tried_only_where_it_can_ripen_in_time() -> None:
    """A head takes 35 days: within four weeks no sheet sown now can help; within nine it is tried."""
    soon, later = asked(weeks=4), asked(weeks=9, replications=9)

    def heads_sown(found: Promises) -> list[str]:
        return [rescue.name for rescue in found.rescues if "of small head" in rescue.name]

    assert [each for each in soon.at_risk if each.crop == "small head"]
    assert heads_sown(soon) == []
    assert set(heads_sown(later)) == {
        "sowing one seed tray more of small head on Monday 10 February",
        "sowing one seed tray more of small head every Monday",
    }


def test_serving_one_partner_first_is_at_the_cost_of_another() -> None:
    """Two partners at the same hour want all the leaf there is: whoever is first gets it."""
    one = {"name": "one", "priority": 1, "weekday": "thu", "hour": 14, "orders": [{"crop": "cutting leaf", "kg": 1.0}]}
    found = asked(edited(partners=[one, one | {"name": "two", "priority": 2}]))

    (first,) = [rescue for rescue in found.rescues if rescue.name == "serving two first"]
    assert {key[0] for key in first.saves} == {"two"}
    assert {key[0] for key in first.risks} == {"one"}
    assert not [rescue for rescue in found.rescues if rescue.name == "serving one first"]


def test_every_action_is_a_change_to_the_room_file(promises: Promises) -> None:
    """What was tried can be kept: its tables make a possible room."""
    assert promises.rescues
    for rescue in promises.rescues:
        for action in rescue.actions:
            assert changed_room(TINY, LoadedChange(action.tables, Path("action.toml"), "")).scenario != TINY.scenario


def test_without_risk_nothing_is_tried() -> None:
    """Orders so small that they are always met."""
    small = [{"name": "one", "weekday": "thu", "hour": 14, "orders": [{"crop": "cutting leaf", "kg": 0.2}]}]
    found = asked(edited(partners=small))

    assert (found.at_risk, found.rescues, found.together) == ((), (), ())


def test_the_table_has_a_row_for_everything(promises: Promises) -> None:
    """One row a week and crop, one a delivery."""
    frame = promises.to_frame()

    assert len(frame) == 4 * 3 + len(promises.deliveries)
    assert frame.query("partner == '' and crop == ''").safe_kg.tolist() == [
        each.there.safe for each in promises.crops if not each.crop
    ]
    assert frame.query("partner != ''").at_risk.tolist() == [each.is_at_risk for each in promises.deliveries]


@pytest.mark.parametrize(
    ("weeks", "replications", "word"), [(0, 39, "weeks"), (200, 39, "weeks"), (4, 8, "nine in ten")]
)
def test_what_cannot_be_rehearsed_is_refused(weeks: int, replications: int, word: str) -> None:
    """In one sentence."""
    with pytest.raises(InputError, match=word):
        asked(weeks=weeks, replications=replications)


def test_weeks_ahead_are_those_of_the_slowest_crop() -> None:
    """Heads take 35 days: five weeks."""
    assert weeks_ahead(TINY.scenario) == 5


@pytest.mark.parametrize(
    ("names", "said"),
    [(("a",), "a"), (("a", "b"), "a and b"), (("a", "b", "c"), "a, b and c")],
)
def test_several_things_to_do_are_named_as_one_says_them(names: tuple[str, ...], said: str) -> None:
    """Not "a and b and c"."""
    actions = tuple(Trial(name, "sow", {}) for name in names)
    nothing = Gain(0.0, 0.0, 0.0)

    assert Rescue(actions, (), (), nothing, nothing, {}, 5).name == said
