"""The page of a rehearsal's answer: what it says first, and every cell of its table, of made-up outcomes."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from types import ModuleType
from typing import Any

from growsim.ledger.tallies import SKIPPED
from growsim.report import holds_back
from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.rehearse import lead
from growsim.run.intervals import Estimate
from growsim.scenario.demand import Prices
from growsim.scenario.load import load_scenario
from growsim.study.causes import Cause, Share
from growsim.study.pay_back import Range
from growsim.study.to_try import OPEN, Trial
from growsim.study.tried import Held, Tried


def estimate(key: str, mean: float, *, n: int = 20, of: Any = "one year") -> Estimate:
    """An estimate whose average is known to a hundredth of itself, one year to a tenth."""
    low, high = (mean * 0.99, mean * 1.01) if n > 1 else (None, None)
    return Estimate(key, mean, low, high, mean * 0.9, mean, mean * 1.1, n, of)


def told(rehearsed: Any, *estimates: Estimate) -> Any:
    """The rehearsal, had it such estimates, and nothing gone wrong."""
    outcomes = tuple(dataclasses.replace(outcome, held_up={}) for outcome in rehearsed.outcomes)
    return dataclasses.replace(rehearsed, estimates={each.key: each for each in estimates}, outcomes=outcomes)


PACKED = estimate("kg_packed_per_week", 20.0, of="one week")
SHORT = estimate("orders_filled_fraction", 0.9)


def test_the_headline_has_greens_and_orders_with_their_ranges(rehearsed: Any) -> None:
    """Short of the goal, as wanted, and short by less than rounding shows; which twelve months it is of."""
    weeks = told(rehearsed, PACKED, SHORT, estimate("weeks_all_orders_met_fraction", 0.78))
    said = lead.headline(weeks)
    assert said[0] == (
        "In the year from 6 January 2031 the room fills 90% of what trial pantry orders (89% to 91%), short of the 95% "
        "wanted."
    )
    assert said[-1] == "In 22 weeks of 100 some order is not met in full."
    never = told(rehearsed, PACKED, SHORT, estimate("weeks_all_orders_met_fraction", 0.002))
    assert lead.headline(never)[-1] == "In every week some order is not met in full."
    met = told(rehearsed, PACKED, estimate("orders_filled_fraction", 0.96))
    assert "trial pantry orders (95% to 97%), as wanted (95%)." in lead.headline(met)[0]
    near = told(rehearsed, PACKED, estimate("orders_filled_fraction", 0.9492))
    assert "trial pantry orders (94.0% to 95.9%), short of the 95% wanted." in lead.headline(near)[0]
    partner = rehearsed.scenario.partners[0]
    two = rehearsed.scenario.model_copy(update={"partners": (partner, partner.model_copy(update={"name": "school"}))})
    assert "fills 90% of orders (89% to 91%)" in lead.headline(dataclasses.replace(weeks, scenario=two))[0]
    sold = dataclasses.replace(told(rehearsed, PACKED), scenario=rehearsed.scenario.model_copy(update={"partners": ()}))
    assert lead.headline(sold)[0].endswith("the room packs 20.0 kg of greens a week (19.8 to 20.2).")


def test_costs_say_where_nothing_but_electricity_is_priced(rehearsed: Any) -> None:
    """A room file that prices electricity alone; with any other price the label is the bare currency."""
    bare = Prices(currency="GBP", electricity_per_kwh=0.27)
    cost = told(rehearsed, PACKED, SHORT, estimate("cost_per_week", 60.0))

    def label(prices: Prices) -> str:
        priced = dataclasses.replace(cost, scenario=rehearsed.scenario.model_copy(update={"prices": prices}))
        return lead.table(priced).rows[-1].label

    assert label(bare) == "Running costs a week, GBP (electricity only)"
    for price in ("water_per_m3", "nutrient_per_kg", "plug_each", "packing_per_kg", "co2_per_kg", "fixed_per_week"):
        assert label(bare.model_copy(update={price: 0.1})) == "Running costs a week, GBP"


def test_the_crop_of_which_most_is_missing_is_named(rehearsed: Any) -> None:
    """By kilograms: a fifth of 5 kg is more than half of 1 kg; orders for any greens are said to be so."""

    def with_orders(**of: tuple[float, float]) -> Any:
        (outcome, *_) = rehearsed.outcomes
        weeks = {
            f"kg_{what}_of:{crop}": (kilograms,) * 52
            for crop, pair in of.items()
            for what, kilograms in zip(("ordered", "given"), pair, strict=True)
        }
        return [dataclasses.replace(outcome, weeks={**outcome.weeks, **weeks})]

    assert lead.shortest(with_orders(basil=(1.0, 0.5), chard=(5.0, 4.0))) == (
        "Most is missing of chard: 20% of what is ordered."
    )
    two = lead.shortest(with_orders(any=(2.0, 1.0), chard=(5.0, 4.9)))
    assert two == "Most is missing of greens of any kind: 50% of what is ordered."
    assert lead.shortest(with_orders(any=(2.0, 1.0))) == ""  # the share of orders has said it
    assert lead.shortest(with_orders(basil=(1.0, 0.96))) == ""


def test_the_month_in_which_orders_fall_most_has_a_line_where_it_is_clear_of_chance(rehearsed: Any) -> None:
    """March gets 5.0 to 6.0 of 10 kg, 5.5 on average; ± 2.571 x 0.374 / √6 (Student's t, 5 degrees of
    freedom). None where it is 0.5 kg below the rest, where years say either, or where years are too few."""
    march = range(8, 12)  # weeks from 3, 10, 17, 24 March 2031

    def years(*kilograms: float) -> Any:
        weeks = [[each if week in march else 9.0 for week in range(52)] for each in kilograms]
        return [
            dataclasses.replace(
                rehearsed.outcomes[0], weeks={"kg_ordered": (10.0,) * 52, "kg_to_partners": tuple(each)}
            )
            for each in weeks
        ]

    (row,) = lead.hardest_month(years(5.0, 5.2, 5.4, 5.6, 5.8, 6.0), rehearsed.scenario, 364)
    assert row.label == "Orders filled in Mar 2031, the lowest month"
    assert [cell.text for cell in row.cells] == ["55% (51% to 59%)", "51% to 59% (years)"]
    for kilograms in ((8.9,) * 6, (2.0, 9.0, 9.5, 9.5, 9.5, 9.5), (5.0, 5.2, 5.4)):
        assert lead.hardest_month(years(*kilograms), rehearsed.scenario, 364) == []


def test_one_rehearsal_has_no_range(rehearsed: Any) -> None:
    """And says that it is too few for one."""
    alone = told(rehearsed, estimate("kg_packed_per_week", 20.0, n=1), estimate("orders_filled_fraction", 0.96, n=1))
    alone = dataclasses.replace(alone, outcomes=alone.outcomes[:1])

    assert lead.headline(alone)[0].endswith("the room fills 96% of what trial pantry orders, as wanted (95%).")
    assert lead.how_sure(alone).startswith("From 1 rehearsed year, too few for ranges: ask for 5 or more. ")


def test_it_says_that_the_shelves_are_full_and_how_long_empty_ones_take(rehearsed: Any) -> None:
    """As many weeks as the warm-up's judge would cut; of a start that is told or empty, nothing."""
    bare = dataclasses.replace(rehearsed, plan=dataclasses.replace(rehearsed.plan, start="empty"))
    slow = dataclasses.replace(rehearsed, warm_up=dataclasses.replace(rehearsed.warm_up, truncation_week=10))

    assert lead.how_sure(slow).endswith(". It begins with full shelves; an empty room takes about 10 weeks to fill.")
    assert "shelves" not in lead.how_sure(bare)


def test_nothing_packed_is_said_so(rehearsed: Any) -> None:
    """No greens within a short rehearsal."""
    assert lead.headline(told(rehearsed))[0].startswith("Nothing is packed in the rehearsed year")


def test_the_table_has_orders_first_and_every_cell_its_figure(rehearsed: Any) -> None:
    """Average with its range, what 8 in 10 weeks or years bring, and the numbers behind both."""
    cost = estimate("cost_per_kg", 6.0)
    old = dataclasses.replace(estimate("kg_wasted_per_week", 0.24, of="one week"), p10=0.0, p50=0.0, p90=0.0)
    made = lead.table(told(rehearsed, cost, PACKED, SHORT, old))

    assert [(row.label, [cell.text for cell in row.cells]) for row in made.rows] == [
        ("Orders filled", ["90% (89% to 91%)", "81% to 99% (years)"]),
        ("Greens packed a week, kg", ["20.0 (19.8 to 20.2)", "18.0 to 22.0 (weeks)"]),
        ("Greens gone too old in the cooler a week, kg", ["0.24", "none in 9 of 10 weeks"]),
        ("Cost per kilogram handed out, USD", ["6.00 (5.94 to 6.06)", "5.40 to 6.60 (years)"]),
    ]
    first = made.rows[0].cells
    assert (first[0].mean, first[0].low, first[0].high) == (SHORT.mean, SHORT.mean_low, SHORT.mean_high)
    assert (first[1].mean, first[1].low, first[1].high) == (SHORT.p50, SHORT.p10, SHORT.p90)
    assert {column.of for column in made.columns} == {"the room as it is, with its own sowing plan"}


def held_back(low: float = 0.3, **more: Any) -> Held:
    """Heads not sown for lack of a slot, a closing that costs leaf, and one remedy tried that brings `low` or more."""
    skipped = Cause("no slot", 9.0, (Share("small head", SKIPPED, 36.0, 9.0),), 0.0)
    closed = Cause("closed", 4.0, (Share("cutting leaf", "overgrown", 160.0, 4.0),), 0.0)
    trial = Trial("two slots more", "slots", {})
    tried = Tried((trial,), Range(0.5, low, 0.7), Range(0.4, low / 2, 0.6), Range(0.02, low / 30, 0.03), 10)
    opened = Tried((OPEN,), Range(0.1, 0.05, 0.15), Range(0.0, -0.1, 0.1), None, 6)
    return Held((skipped, closed), True, (tried,), (tried,), without_closings=opened, **more)


def test_why_and_advice_are_what_was_tried(rehearsed: Any) -> None:
    """The heaviest cause that is no closing; the remedy with its range and the years it was tried in; the closing."""
    page = lead.front(told(rehearsed, PACKED, SHORT), held_back())

    assert page.why == "Small head: 36 cells a year are not sown because no place on the shelves is free."
    assert page.headline.startswith("In the year from 6 January 2031 the room fills 90% of what trial pantry orders")
    assert page.advice == (
        "Nothing tried fills as many orders as wanted. "
        "Two slots more: +0.50 kg a week (+0.30 to +0.70) and +2.0 of 100 orders filled, tried in the same years.",
        "Closings cost 5.2 kg of greens a year (2.6 to 7.8), by the same years without them.",
    )
    assert page.spent()[0] <= MOST_WORDS and page.spent()[1] <= MOST_NUMBERS


def test_advice_says_whether_it_reaches_the_orders_wanted(rehearsed: Any) -> None:
    """90% and 2 of 100 more: short of 95%, by all that was tried; 94% and 2 more reach it; as wanted, nothing more."""
    short, near, met = (
        lead.advice(told(rehearsed, PACKED, estimate("orders_filled_fraction", each)), held_back())
        for each in (0.9, 0.94, 0.96)
    )

    assert short == f"Nothing tried fills as many orders as wanted. {met}"
    assert near == f"{met} On average that reaches the 95% wanted."


def test_an_average_less_sure_than_a_single_year_has_too_few_years(rehearsed: Any) -> None:
    """Eight in ten single years fill 81% to 99%: an average known to 72% to 99% says less; of weeks it is no fault."""
    wide = dataclasses.replace(SHORT, mean_low=0.72, mean_high=0.99)
    few = told(rehearsed, PACKED, wide)

    assert lead.table(few).rows[0].cells[0].text == "90% (too few for a range)"
    assert "what trial pantry orders, short of" in lead.headline(few)[0]
    assert "Where a range is missing, ask for more years" in lead.how_sure(few)
    unshown = dataclasses.replace(wide, key="days_sown_to_harvest_mean")
    assert "missing" not in lead.how_sure(told(rehearsed, PACKED, SHORT, unshown))
    assert lead.table(told(rehearsed, PACKED, SHORT)).rows[0].cells[0].text == "90% (89% to 91%)"


def test_what_brings_nothing_for_certain_is_not_advised(rehearsed: Any) -> None:
    """Not even by name; where nothing was tried, no advice."""
    unsure = lead.front(told(rehearsed, PACKED), held_back(low=-0.3))
    untried = lead.front(told(rehearsed, PACKED), Held(held_back().causes))
    calm = lead.front(told(rehearsed, PACKED), Held(()))

    assert unsure.advice[0] == "Nothing we tried brings more for certain."
    assert untried.advice == ()
    assert (calm.why, calm.advice) == ("", ())


def test_greens_that_wait_too_long_are_told_by_the_calendar(rehearsed: Any) -> None:
    """Harvested on Fridays, given away on Thursdays, six days later: shoots and basil keep five, lettuce seven. It is
    why, where more spoils than is lost over what was waited for; and what long closings cost can be left unsown."""
    room = load_scenario(Path(__file__).parents[1] / "cases" / "garage.toml").scenario
    spoiled, little = (estimate("kg_wasted_per_week", each) for each in (1.0, 0.1))  # 52 kg a year, and 5
    garage = dataclasses.replace(told(rehearsed, PACKED), scenario=room)
    many, few = (
        dataclasses.replace(garage, estimates={**garage.estimates, each.key: each}) for each in (spoiled, little)
    )
    lost = Cause("no shift", 9.0, (Share("basil", SKIPPED, 36.0, 9.0),), 0.0)

    assert lead.why(many, Held((lost,))) == (
        "What is harvested on Fridays and not collected waits 6 days, until Thursday, to be given away; pea shoots, "
        "radish shoots and basil keep less long."
    )
    assert lead.why(few, Held((lost,))) == "Basil: 36 pots a year are not sown because no shift is held in time."
    opened, chance = (Tried((OPEN,), Range(0.15, low, 0.2), Range(0.1, low, 0.2), None, 6) for low in (0.1, -0.1))
    closed, unsure = (Held((lost,), without_closings=each) for each in (opened, chance))
    assert holds_back.closings(closed, room, 364).endswith("`growsim check` names the last day to sow.")
    assert holds_back.closings(unsure, room, 364) == ""
    assert lead.why(few, closed).startswith("Basil: 36")
    heavy = dataclasses.replace(closed, causes=(dataclasses.replace(lost, kg=3.0),))  # why, and told once
    assert lead.why(few, heavy).startswith("Closings cost 7.8 kg of greens a year")
    assert not any(each.startswith("Closings cost") for each in lead.front(few, heavy).advice)


def test_what_went_worst_stands_in_the_headline(made_up: ModuleType) -> None:
    """Greens that spoil, with their share."""
    rehearsal = made_up.rehearsal(replications=6)
    lost = {"kg_wasted_per_week": 1.0, "kg_packed_per_week": 5.0}
    spoiled = tuple(
        dataclasses.replace(outcome, measures={**outcome.measures, **lost}) for outcome in rehearsal.outcomes
    )

    assert "In the cooler 1.0 kg a week grow too old: 20% of what is packed." in lead.headline(
        dataclasses.replace(rehearsal, outcomes=spoiled)
    )
