"""What learned figures mean for the room: hand calculations, and a ranking that nothing but size decides.

The hand calculations are worked from the figures of scenarios/tiny (invented), written out below; no outside source.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from growsim.report.learn.lead import headline, months_told, table, why
from growsim.run.prepare import prepare
from growsim.scenario.load import load_scenario
from growsim.scenario.record.record import AttendanceRow, Records
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.learn.effects import HANDS, KILOGRAMS, SMALL, WORK, Effect, effects_of
from growsim.study.learn.learned import Known, Learned
from growsim.study.learn.question import Learning, learn
from growsim.vocabulary.days import MONTHS

LOADED = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
TINY = LOADED.scenario
ROW = AttendanceRow("attendance.csv", 2, dt.date(2031, 3, 3), "Monday", 2, 2)
SILENT = learn(LOADED, prepare(TINY), Records(attendance=(ROW,)))

# By hand, a week: 60 cells of leaf with two seeds (85 %) in each, 25 g; 30 cells of heads with one seed (90 %), 110 g;
# a twentieth is trimmed off.
LEAF_KG = 60 * (1 - 0.15**2) * 0.025 * 0.95
HEAD_KG = 30 * 0.9 * 0.110 * 0.95
ROOM_KG = LEAF_KG + HEAD_KG


def known(middle: float, spread: float) -> Known:
    """A figure known within `spread` (the ends of eight in ten)."""
    return Known(middle, spread / 1.28, middle - 1.5 * spread, middle - spread, middle, middle + spread,
                 middle + 1.5 * spread)  # fmt: skip


def figure(key: str, group: str, what: str, stated: float, learned: float, spread: float | None = None) -> Learned:
    """A figure learned from 40 records, clear of the room file wherever it differs from it by more than a trifle."""
    width = abs(learned - stated) / 4 if spread is None else spread
    before, after = known(stated, 0.2 * stated + 0.01), known(learned, width)
    return Learned(key, group, what, "label", "g", stated, before, after, 40, "sowings", 2.0, "")


def mass(learned: float) -> Learned:
    """Grams of a head, where the room file says 110."""
    return figure("crops.small head.typical_mass_g", "mass", "small head", 110.0, learned)


def losses(learned: float) -> Learned:
    """Leaf lost in moving, where the room file says none."""
    return figure("crops.cutting leaf.handling_loss", "losses", "cutting leaf", 0.0, learned)


def minutes(task: str, stated: float, learned: float) -> Learned:
    """Minutes for each unit of a task."""
    return figure(f"crew.tasks.{task}.minutes_per_unit", "minutes", task, stated, learned)


def only(learned: Learned, scenario: Scenario = TINY) -> Effect:
    """Its effect."""
    (effect,) = effects_of([learned], scenario)
    return effect


@pytest.mark.parametrize(
    ("learned", "kind", "change"),
    [
        (mass(88.0), KILOGRAMS, -0.2 * HEAD_KG),
        (mass(121.0), KILOGRAMS, 0.1 * HEAD_KG),
        (figure("crops.small head.germination_fraction", "seeds", "small head", 0.9, 0.72), KILOGRAMS, -0.2 * HEAD_KG),
        # Two seeds a cell: 1 - 0.4² = 84 % of cells instead of 97.75 %.
        (figure("crops.cutting leaf.germination_fraction", "seeds", "cutting leaf", 0.85, 0.6), KILOGRAMS,
         60 * (0.84 - 0.9775) * 0.025 * 0.95),
        (losses(0.05), KILOGRAMS, -0.05 * LEAF_KG),
        (figure("crops.small head.days_to_typical_mass", "days", "small head", 35.0, 40.0), KILOGRAMS,
         HEAD_KG * (35 / 40 - 1)),
        # 90 cells sown at 0.1 min, two sowings with 5 min to get ready: half as long again.
        (minutes("sow", 0.1, 0.15), WORK, 0.5 * (90 * 0.1 + 2 * 5) / 60),
        # One reservoir topped up by hand on the two days with a shift: 8 minutes each; half of that.
        (minutes("top up", 8.0, 4.0), WORK, -0.5 * 2 * 8 / 60),
    ],
)  # fmt: skip
def test_each_reckoning_by_hand(learned: Learned, kind: str, change: float) -> None:
    """Kilograms or hours a week in the tiny room."""
    effect = only(learned)

    assert effect.kind == kind
    assert effect.change == pytest.approx(change, rel=1e-6)
    assert effect.low < effect.change < effect.high
    if kind == KILOGRAMS:
        assert effect.share == pytest.approx(abs(change) / ROOM_KG)


def test_people_by_hand() -> None:
    """Two shifts of two people for two hours: 8 hours signed up a week; ten points less in two of twelve months."""
    months = [
        figure(f"crew.chance_of_coming.{name.lower()}", "people", name, stated, stated - 0.1)
        for name, stated in (("January", 0.85), ("July", 0.65))
    ]
    (effect,) = effects_of(months, TINY)

    assert effect.kind == HANDS
    assert effect.change == pytest.approx(-8 * 0.1 * 2 / 12)
    assert [each.what for each in effect.figures] == ["January", "July"]


def test_machines_by_hand() -> None:
    """Lights that fail every 1000 h of light, 16 h a day, and take 50 h to repair, with a spare on the shelf."""
    (bank,) = TINY.lights
    reliability = bank.reliability.model_copy(
        update={
            "running_hours_to_failure": Uncertain(distribution="exponential", mean=1000.0),
            "repair_hours": Uncertain(value=50.0),
            "spares": 1,
        }
    )
    bank = bank.model_copy(update={"reliability": reliability, "hours_per_day": 16.0})
    scenario = TINY.model_copy(update={"lights": (bank,)})

    def still(life: float, mending: float) -> float:
        between = life * 24 / 16
        return mending / (between + mending)

    shorter = only(figure("lights.running_hours_to_failure", "machines", "lights", 1000.0, 500.0), scenario)
    longer = only(figure("lights.repair_hours", "mending", "lights", 50.0, 75.0), scenario)

    assert shorter.change == pytest.approx(ROOM_KG * (still(1000, 50) - still(500, 50)))
    assert longer.change == pytest.approx(ROOM_KG * (still(1000, 50) - still(1000, 75)))
    assert shorter.change < longer.change < 0


SOME = [
    mass(88.0), mass(109.9), losses(0.001), losses(0.05), minutes("sow", 0.1, 0.2), minutes("harvest", 0.4, 0.401),
    figure("crops.small head.germination_fraction", "seeds", "small head", 0.9, 0.8),
    figure("crops.small head.days_to_typical_mass", "days", "small head", 35.0, 36.5),
    figure("crew.chance_of_coming.may", "people", "May", 0.85, 0.6),
]  # fmt: skip


@given(st.permutations(SOME))
@settings(max_examples=40, deadline=None)
def test_the_ranking_does_not_hang_on_the_order_of_figures(figures: list[Learned]) -> None:
    """The same effects in the same order, the largest first."""
    distinct = {each.key: each for each in SOME}
    shuffled = [each for each in figures if distinct[each.key] is each]
    found = effects_of(shuffled, TINY)

    assert found == effects_of(list(distinct.values()), TINY)
    assert [effect.share for effect in found] == sorted((effect.share for effect in found), reverse=True)


@given(lost=st.floats(1e-5, 0.004), grams=st.floats(70.0, 105.0), first=st.booleans())
@settings(max_examples=40, deadline=None)
def test_a_trifle_never_leads_while_something_large_is_there(lost: float, grams: float, first: bool) -> None:
    """However clear the trifle is, and wherever it stands in the list; it is counted instead."""
    trifle, large = losses(lost), mass(grams)
    learning = said(trifle, large) if first else said(large, trifle)

    assert trifle.is_clear
    assert only(trifle).share < SMALL < only(large).share
    assert headline(learning).startswith("By your record 2 figures differ from the room file: expect ")
    assert why(learning).startswith("Your small head weighs ")
    assert [row.label.split(":")[0] for row in table(learning).rows] == ["small head", trifle.what]


def test_trifles_alone_are_called_trifles() -> None:
    """Two clear figures, neither worth a hundredth of the room: said so, plainly; the table has them."""
    learning = said(losses(0.001), minutes("harvest", 0.4, 0.401))

    assert headline(learning) == "Nothing in your record changes what to expect of the room."
    assert len(table(learning).rows) == 2


def test_a_large_figure_that_is_not_clear_does_not_lead() -> None:
    """A fifth lighter, but known so badly that it may well be as the room file says."""
    vague = figure("crops.small head.typical_mass_g", "mass", "small head", 110.0, 88.0, 40.0)

    assert headline(said(vague)) == "Your record bears the room file out."
    assert table(said(vague)).rows[0].cells[1].text.startswith("≈ ")
    assert not only(vague).is_clear


def test_no_record_is_told_as_none() -> None:
    """Nothing is said to be borne out by nothing."""
    assert headline(said()) == "Your record says too little to learn any figure of this room from it yet."


def test_headline_and_why_are_plain() -> None:
    """Greens to expect; then what, by how much, and its range a week; months named where people are meant."""
    assert headline(said(mass(88.0))).endswith(
        "1 figure differs from the room file: expect 0.42 to 0.71 kg of greens a week less."
    )
    assert (
        why(said(mass(88.0))) == "Your small head weighs 20% less than the room file says: 0.42 to 0.71 kg a week less."
    )
    assert headline(said(*SOME[-1:])) == "By your record 1 figure differs from the room file."
    assert why(said(*SOME[-1:])).startswith("Fewer of those signed up come than the room file says in May: ")
    assert why(said(*SOME[-1:])).endswith(" labor hours a week less, averaged over the year.")
    assert why(said(minutes("sow", 0.1, 0.3))).startswith("The work “sow” takes 200% longer than the room file")


def said(*figures: Learned) -> Learning:
    """A learning of these figures alone."""
    return replace(SILENT, figures=figures)


def test_all_twelve_months_are_every_month() -> None:
    """Nobody lists the whole year."""
    assert months_told(MONTHS) == "every month"
    assert months_told(["March", "April"]) == "March and April"
