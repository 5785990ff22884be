"""A comparison, lived through: the same luck for all rooms, until it is decided."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from types import ModuleType

import pytest

from growsim.errors import InputError
from growsim.run.prepare import prepare_room
from growsim.run.rehearse import rehearse
from growsim.run.replicate import replicate
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
from growsim.study.compare.question import compare
from growsim.study.verdicts import HEADLINES


def test_a_change_that_changes_nothing_gives_nought_everywhere(compared: ModuleType) -> None:
    """Every figure, every replication, no cause moves; price or not."""
    nothing = compared.comparison().changes[2]

    assert [outcome.measures for outcome in nothing.outcomes] == [
        outcome.measures for outcome in compared.comparison().outcomes
    ]
    assert {verdict.says for verdict in nothing.verdicts.values()} == {"none"}
    assert {verdict.difference.mean for verdict in nothing.verdicts.values()} == {0.0}
    assert {verdict.difference.chance_better for verdict in nothing.verdicts.values()} <= {0.0, None}
    assert nothing.moved == ()
    assert nothing.pay_back is not None
    assert (nothing.pay_back.years_by_saving, nothing.pay_back.price_per_extra_kg_a_year) == (None, None)
    assert nothing.undecided == ()


def test_all_rooms_live_through_the_same_years(compared: ModuleType) -> None:
    """Replication i of today's room is what rehearsing the room alone gives: the changes have not touched its luck."""
    comparison = compared.comparison()
    alone = replicate(prepare_room(compared.tiny()), 7, 3, compared.PLAN)

    assert comparison.outcomes[3].measures == alone.measures
    assert {tuple(o.replication for o in each.outcomes) for each in (comparison, *comparison.changes)} == {
        tuple(range(10))
    }


def test_what_a_rack_and_dim_light_do(compared: ModuleType) -> None:
    """A rack with more sown in it brings more greens and takes more hours; dim light brings fewer."""
    rack, dim, _ = compared.comparison().changes
    kg = HEADLINES[0]

    assert (rack.verdicts[kg].says, dim.verdicts[kg].says) == ("more", "less")
    assert rack.verdicts["crew_hours_needed_per_week"].difference.mean > 0
    assert dim.verdicts["kwh_per_week"].difference.mean < 0


def test_every_figure_has_a_verdict(compared: ModuleType) -> None:
    """Every figure that both rooms have is compared, each with its range."""
    comparison = compared.comparison()
    for changed in comparison.changes:
        assert set(changed.verdicts) == set(comparison.estimates) & set(changed.estimates)
        assert all(verdict.difference.low is not None for verdict in changed.verdicts.values())


def test_shared_luck_is_worth_something(compared: ModuleType) -> None:
    """In a small change to the same room, fewer years are needed than without."""
    *_, nothing = compared.comparison().changes
    change = compared.change(
        {"lights": [{"name": "lights", "hours_per_day": 15.75}]}, "a quarter of an hour less light"
    )
    (dusk,) = compare(compared.tiny(), [change], plan=RunPlan(56, 42), seed=7, at_most=10, why=False).changes

    assert dusk.luck[HEADLINES[0]].ratio > 1
    assert {luck.ratio for luck in nothing.luck.values()} == {None}


def test_it_stops_as_soon_as_all_is_decided(compared: ModuleType) -> None:
    """A change of nothing is decided after the first ten years, however many are allowed."""
    comparison = compare(
        compared.tiny(), [compared.change(compared.NOTHING, "n")], plan=RunPlan(21, 21), seed=7, at_most=80, why=False
    )

    assert (comparison.rounds, comparison.planned_rounds) == ((10,), (10, 20, 40, 80))
    assert comparison.is_decided


def test_it_goes_on_until_the_most_allowed(compared: ModuleType) -> None:
    """What is not decided goes on, round by round, and says so in the end; progress ends where it said it would."""
    told: list[tuple[int, int]] = []
    slightly = compared.change({"crew": {"chance_spread_sd": 0.2}}, "slightly")
    comparison = compare(
        compared.tiny(),
        [slightly],
        plan=RunPlan(28, 42),
        seed=7,
        at_most=12,
        too_small_percent=0.001,
        why=False,
        progress=lambda done, total: told.append((done, total)),
    )

    assert comparison.rounds == (10, 12)
    assert not comparison.is_decided
    assert [done for done, _ in told] == list(range(1, 25))
    assert told[-1] == (24, 24)


def test_workers_change_no_number(compared: ModuleType) -> None:
    """One process or two: the same comparison."""
    plan, change = RunPlan(14, 14), compared.change(compared.DARK, "dim")
    alone, together = (
        compare(compared.tiny(), [change], plan=plan, seed=1, at_most=3, workers=workers) for workers in (1, 2)
    )

    assert alone == together


@pytest.mark.parametrize(
    ("days", "at_most", "percent", "said"),
    [
        (6, 10, 2.0, "days: 6 is too short"),
        (14, 1, 2.0, "replications: 1 is too few"),
        (14, 10, 0.0, "precision: 0 percent"),
    ],
)
def test_what_cannot_be_compared_is_refused(
    compared: ModuleType, days: int, at_most: int, percent: float, said: str
) -> None:
    """One sentence, before any work."""
    change = compared.change(compared.DARK, "dim")
    with pytest.raises(InputError, match=said):
        compare(compared.tiny(), [change], plan=RunPlan(days), seed=1, at_most=at_most, too_small_percent=percent)
    with pytest.raises(InputError, match="changes: none is given"):
        compare(compared.tiny(), [], plan=RunPlan(14), seed=1, at_most=2)


def test_the_frames_say_what_the_comparison_says(compared: ModuleType) -> None:
    """One row a change and figure; one row a room and replication, from which the differences can be made again."""
    comparison = compared.comparison()
    found = comparison.to_frame().set_index(["change", "measure"])
    lived = comparison.to_frame("replications").set_index(["room", "replication"])["kg_handed_out_per_week"]
    row = found.loc[("rack", "kg_handed_out_per_week")]

    assert (lived["rack"] - lived["today"]).mean() == pytest.approx(row["difference"])
    assert row["changed"] - row["today"] == pytest.approx(row["difference"])
    assert row["low"] < row["difference"] < row["high"]
    with pytest.raises(ValueError, match="there are differences and replications"):
        comparison.to_frame("everything")  # type: ignore[arg-type]


def test_today_is_told_as_a_rehearsal_tells_it(compared: ModuleType) -> None:
    """As many years, the same figures: known luck taken out of both. A changed room is today's and the difference."""
    plan, doubtful = RunPlan(56, 42), deepcopy(compared.tiny().raw)
    head = next(crop for crop in doubtful["crops"] if crop["name"] == "small head")
    head["typical_mass_g"] = {"low": 55, "likely": 110, "high": 165}
    scenario, warnings = scenario_from(doubtful, "room.toml")
    room = replace(compared.tiny(), scenario=scenario, raw=doubtful, warnings=warnings)
    rehearsed = rehearse(scenario, seed=7, replications=20, plan=plan)
    change = compared.change(compared.DARK, "dim")
    comparison = compare(room, [change], plan=plan, seed=7, at_most=20, too_small_percent=0.001, why=False)

    assert rehearsed.estimates[HEADLINES[0]].worth > 1.0  # luck was taken out of it
    assert comparison.rounds[-1] == 20
    assert comparison.estimates == rehearsed.estimates
    frame = comparison.to_frame()
    assert frame["changed"].tolist() == pytest.approx((frame["today"] + frame["difference"]).tolist())
