"""Ripe lots and harvest days: what is told beforehand, worked out by pencil and lived through without luck."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from growsim.chance.fixed import FixedLuck
from growsim.growth.crops import ripe_after_days
from growsim.ledger.events import Harvested, Lost
from growsim.room.model import simulate
from growsim.run.look_ahead import harvest_days_meet_ripe_lots, warnings_with_growth
from growsim.run.prepare import Prepared, prepare
from growsim.scenario.load import LoadedRoom, scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.reading import tables_of
from growsim.vocabulary.losses import OVERGROWN

GARAGE = Path(__file__).parents[1] / "cases" / "garage.toml"


def garage(harvest: list[str], **sowing: Any) -> Prepared:
    """The garage, never closed, harvested on these days; its first line (peas on Tuesdays) otherwise."""
    raw = tables_of(GARAGE, GARAGE.read_bytes())
    raw["harvest"]["weekdays"] = harvest
    raw["room"]["closed_days"] = []
    raw["sowing"][0] |= sowing
    scenario, _ = scenario_from(raw, "garage.toml")
    return prepare(scenario)


def lots_of_peas(prepared: Prepared) -> tuple[int, int]:
    """Lots harvested and overgrown in twenty weeks without luck."""
    book = simulate(prepared.scenario, prepared.curves, FixedLuck(), RunPlan(140, warm_up_days=56))
    cut = {each.lot for each in book.of(Harvested) if each.crop == "pea shoots" and each.minute >= 0}
    lost = {
        each.lot
        for each in book.of(Lost)
        if each.crop == "pea shoots" and each.cause == OVERGROWN.key and each.minute >= 0
    }
    return len(cut), len(lost)


def test_peas_ripe_on_sunday_and_overgrown_on_thursday_are_not_met_on_fridays() -> None:
    """12 days after Tuesday is Sunday, 4 days later Thursday; ripe at 0.85 of the mass, a day
    sooner. 20 lots in 20 weeks."""
    prepared = garage(["fri"])
    ((key, problem, remedy),) = harvest_days_meet_ripe_lots(prepared)

    assert key == "crops.pea shoots.overgrown_after_days"
    assert problem == (
        "lots of pea shoots sown on Tuesday are overgrown before they are harvested. They are ripe from about "
        "Saturday on (12 days after sowing), overgrown on Wednesday (16 days), and harvested on Friday alone"
    )
    assert remedy == "harvest on Tuesday too, or sow it on Friday"
    assert lots_of_peas(prepared) == (0, 20)


@pytest.mark.parametrize("cure", [{"harvest": ["tue", "fri"]}, {"harvest": ["fri"], "weekday": "fri"}])
def test_what_is_advised_helps(cure: dict[str, Any]) -> None:
    """Either way nothing is said any more, and nothing overgrown."""
    prepared = garage(**cure)

    assert list(harvest_days_meet_ripe_lots(prepared)) == []
    cut, overgrown = lots_of_peas(prepared)
    assert cut >= 15
    assert overgrown == 0


def test_some_of_the_lots_are_told_as_so_many(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where lots differ by a quarter in speed some are met and some are not."""
    prepared = garage(["fri"])
    peas = prepared.scenario.crops[0].model_copy(update={"days_spread_cv": 0.25})
    crops = (peas, *prepared.scenario.crops[1:])
    uneven = Prepared(prepared.scenario.model_copy(update={"crops": crops}), prepared.curves)
    ((_, problem, _),) = [each for each in harvest_days_meet_ripe_lots(uneven) if "pea" in each[0]]

    assert problem.startswith("about ")
    assert " of 100 lots of pea shoots sown on Tuesday" in problem


def test_ripe_on_its_typical_day_where_the_whole_mass_is_wanted() -> None:
    """Typical mass on the typical day is what the pace is found from; less is reached sooner, at more pace too."""
    prepared = garage(["fri"])
    for crop in prepared.scenario.crops:
        whole = crop.model_copy(update={"harvest_from_mass_fraction": 1.0})
        days = ripe_after_days(whole, prepared.scenario, prepared.curves)

        assert days == pytest.approx(crop.typical_days, abs=0.05)
        assert ripe_after_days(crop, prepared.scenario, prepared.curves) < days
        assert ripe_after_days(whole, prepared.scenario, prepared.curves, speed=1.2) < days


def test_they_come_behind_the_warnings_of_the_file() -> None:
    """With the file's name in front, as all others."""
    prepared = garage(["fri"])
    room = LoadedRoom(prepared.scenario, {}, Path("garage.toml"), "")

    assert [str(each.file) for each in warnings_with_growth(room, prepared)] == ["garage.toml"]
