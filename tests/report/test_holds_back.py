"""What holds the room back, in words and tables: made-up causes and trials, sentence by sentence and cell by cell."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from types import ModuleType

import pytest

from growsim.report import cautions, holds_back
from growsim.report.page import Caution, Text
from growsim.report.words import long_date
from growsim.study.causes import AtFirst, Cause, Lacking, Share
from growsim.study.pay_back import Range
from growsim.study.to_try import FULL, OPEN, Trial
from growsim.study.tried import Held, Tried

PEAS = Cause("no harvest day + no lead", 26.6, (Share("small head", "overgrown", 9334.0, 26.6),), 0.0)
SKIPPED = Cause(
    "no slot",
    12.5,
    (Share("cutting leaf", "sowings skipped", 1200.0, 12.0), Share("small head", "no_room", 4.0, 0.5)),
    340.0,
)
CLOSED = Cause("closed + people busy", 8.0, (Share("cutting leaf", "overgrown", 400.0, 8.0),), 0.0)
TUESDAYS = Trial("harvest on Tuesdays too", "harvest days", {"harvest": {"weekdays": ["tue", "thu"]}})
PEOPLE = Trial("2 more people on every shift", "people", {"crew": {"shifts": [{"name": "Monday", "people": 4}]}})


def tried(*trials: Trial, kg: float, orders: float = 0.0, half: float = 0.2, years: int = 24) -> Tried:
    """A trial with ranges of that half width; orders: kilograms to partners, of ten ordered."""
    return Tried(
        trials,
        Range(kg, kg - half, kg + half),
        Range(orders, orders - half, orders + half),
        Range(orders / 10, (orders - half) / 10, (orders + half) / 10),
        years,
    )


def test_that_nothing_brings_more_is_an_answer() -> None:
    """Ranges that hold zero, or more greens for fewer of the orders: neither is advice, but of these nothing is said
    that their row contradicts."""
    fewer, chance = tried(TUESDAYS, kg=0.9, orders=-0.1), tried(PEOPLE, kg=0.1)

    assert holds_back.tried_advice(Held((), True, (), (chance,))) == "Nothing we tried brings more for certain."
    for held in (Held((), True, (), (fewer, chance)), Held((), True, (fewer,), (chance,))):
        assert holds_back.tried_advice(held) == "Nothing we tried fills more orders for certain."
        assert {row[-1] for row in holds_back.tried_table(held, 364).rows} == {"more greens, fewer orders", "–"}


@pytest.mark.parametrize(("together", "advised"), [(1.05, ["harvest on Tuesdays too"]), (2.0, None)])
def test_two_together_are_advised_only_where_they_beat_each_alone(together: float, advised: list[str] | None) -> None:
    """A second thing to do has to be worth its trouble."""
    held = Held((), True, (), (tried(TUESDAYS, PEOPLE, kg=together), tried(TUESDAYS, kg=1.0), tried(PEOPLE, kg=0.0)))
    names = [each.name for each in held.advice]

    assert names == (advised or ["harvest on Tuesdays too and 2 more people on every shift", "harvest on Tuesdays too"])


def test_where_nothing_was_tried_nothing_is_advised(made_up: ModuleType) -> None:
    """And where nothing is lost, that is said."""
    (only,) = holds_back.section(Held(()), made_up.tiny_room(), 364).blocks
    assert only == Text(holds_back.NOTHING_LOST)
    assert holds_back.tried_advice(Held(())) == ""


def test_the_heaviest_is_told_and_closings_apart(made_up: ModuleType) -> None:
    """Who, how many, why; no trial lifts a holiday, and of a closed day nothing else is said."""
    held, room = Held((PEAS, SKIPPED, CLOSED), without_closings=tried(OPEN, kg=0.4, orders=0.3)), made_up.tiny_room()

    assert holds_back.why(held, room, 364) == (
        "Small head: 9,334 plants a year are lost overgrown because no harvest day comes in time and no shift in that "
        "time has a lead."
    )
    closed = (  # as tried, 52 times 0.4 kg: not the 8 kg that were lost standing there
        "Closings cost 20.8 kg of greens a year (10.4 to 31.2) and 3.0 of 100 orders, by the same years without them."
    )
    assert holds_back.closings(held, room, 364) == closed
    assert holds_back.section(held, room, 364).blocks[1:] == (Text(closed),)


def test_the_tables_cell_by_cell(made_up: ModuleType) -> None:
    """Every share of every cause, what came late, and every trial: the best in many years first."""
    again = tried(TUESDAYS, kg=0.9, orders=0.6)
    held = Held((PEAS, SKIPPED), True, (tried(TUESDAYS, kg=1.2, years=6), tried(PEOPLE, kg=0.1, years=6)), (again,))

    assert holds_back.causes_table(held, made_up.tiny_room(), 364).rows == (
        ("no harvest day comes in time and no shift in that time has a lead", "26.6",
         "small head: 9,334 plants a year are lost overgrown", "–"),
        ("no place on the shelves is free", "12.5", "cutting leaf: 1,200 cells a year are not sown; "
         "small head: 4 plants a year find no place on the shelves", "340"),
    )  # fmt: skip
    assert holds_back.tried_table(held, 364).rows == (
        ("harvest on Tuesdays too", "+0.9", "+0.70 to +1.10", "+6.0", "+4.0 to +8.0", "24", "more greens and orders"),
        ("2 more people on every shift", "+0.1", "-0.10 to +0.30", "0.0", "-2.0 to +2.0", "6", "–"),
    )


def test_what_is_tried_has_its_cautions_beside_it(made_up: ModuleType) -> None:
    """Greens kept longer: food safety in full. A float valve: what goes with reservoirs, and nothing of food."""
    room = made_up.tiny_room()
    kept = Trial("keeping greens up to 8 days", "greens", {"harvest": {"longest_wait_days": 8}})
    valve = Trial("a float valve", "reservoirs", {"reservoirs": []})
    for trial, dangers in (
        (kept, ("food",)),
        (valve, ("water and power", "sanitizer", "chemicals", "lifting", "load")),
    ):
        held = Held((), best=(tried(trial, kg=1.0),))
        assert holds_back.section(held, room, 364).blocks[-1] == Caution(cautions.beside(dangers, room.room.region))


def test_summary_keeps_the_change_to_try(made_up: ModuleType) -> None:
    """As a CHANGE file has it; several together are changes one after the other."""
    held = Held((CLOSED,), True, (), (tried(TUESDAYS, PEOPLE, kg=2.0), tried(TUESDAYS, kg=0.9)))
    entry = holds_back.entry(held)

    assert [each["change"] for each in entry["best"]] == [None, TUESDAYS.tables]
    assert entry["brings_more"][0] == "harvest on Tuesdays too and 2 more people on every shift"
    assert (entry["causes"][0]["is_of_closing"], entry["causes"][0]["kg"]) == (True, 8.0)


def test_a_cause_is_not_named_where_nothing_tried_against_it_brings_more(made_up: ModuleType) -> None:
    """Sowings skipped for want of a slot, the heaviest; one more shelf brings nothing, so the next is named. The table
    has both."""
    shelf, heavy = Trial("one more shelf", "slots", {}), replace(SKIPPED, kg=99.0)
    held = Held((heavy, PEAS), True, (tried(shelf, kg=-0.1),), (tried(TUESDAYS, kg=0.9),))
    lifted = Held((heavy, PEAS), True, (tried(shelf, kg=0.2),), (tried(TUESDAYS, kg=0.9),))

    assert not held.may_be_named(heavy)
    assert holds_back.why(held, made_up.tiny_room(), 364).startswith("Small head: 9,334 plants a year are lost")
    assert holds_back.why(lifted, made_up.tiny_room(), 364).startswith("Cutting leaf: 1,200 cells a year")
    assert len(holds_back.causes_table(held, made_up.tiny_room(), 364).rows) == 2


def test_closings_are_why_where_they_cost_most(made_up: ModuleType) -> None:
    """26 kg over closings and 25 or 27 over a harvest day. Of ten kilograms of leaf that partners lack four or
    two are there without closings, as tried; nine were in other weeks, or none; seven were lost for want of a slot."""
    room, opened = made_up.tiny_room(), tried(OPEN, kg=0.5, orders=0.3)

    def first(lacking: Lacking, kg: float, *causes: Cause, low: float = 0.1) -> str:
        measured = replace(opened, less_missing=Range(kg, low, 9.0))
        return holds_back.why(Held(causes, lacking=(lacking,), without_closings=measured), room, 364)

    assert holds_back.why(Held((replace(PEAS, kg=25.0),), without_closings=opened), room, 364).startswith("Closings")
    assert holds_back.why(Held((replace(PEAS, kg=27.0),), without_closings=opened), room, 364).startswith("Small head")
    uneven, even = (Lacking("cutting leaf", 50.0, 10.0, kg) for kg in (9.0, 0.0))
    assert first(uneven, 4.0).startswith("Closings cost")
    assert first(uneven, 2.0).startswith("Cutting leaf comes unevenly")
    assert first(even, 4.0, low=-0.1) == first(even, 2.0) == holds_back.NOT_EXPLAINED
    leaf = replace(SKIPPED, shares=(Share("cutting leaf", "sowings skipped", 70.0, 7.0),))
    assert first(even, 4.0, leaf).startswith("Cutting leaf: 70 cells")
    shelf = replace(tried(Trial("one more shelf", "slots", {}), kg=0.9), less_missing=Range(2.0, 1.0, 3.0))
    held = Held((leaf,), True, (shelf,), lacking=(even,))  # it makes good two of the seven
    assert held.explained_by(leaf) == pytest.approx(0.2)
    assert holds_back.why(held, room, 364) == holds_back.NOT_EXPLAINED


def test_bare_shelves_are_why_where_most_is_missing_while_they_fill(made_up: ModuleType) -> None:
    """Of ten kilograms missing, six or four are in the first seven weeks; three of them are not with full shelves, or
    that is chance. A closing after those weeks, or last year's, is not named."""
    room = made_up.tiny_room()
    begin, leaf = room.room.start_date, Lacking("cutting leaf", 50.0, 10.0, 9.0)
    full = replace(tried(FULL, kg=0.1), less_missing=Range(3.0, 1.0, 5.0))

    def told(kg: float, *, low: float = 1.0, closed: tuple[int, ...] = (), cause: tuple[Cause, ...] = ()) -> str:
        days = tuple(begin + timedelta(days=each) for each in closed)
        here = room.model_copy(update={"room": room.room.model_copy(update={"closed_days": days})})
        measured = replace(full, less_missing=Range(3.0, low, 5.0))
        held = Held(cause, lacking=(leaf,), with_full_shelves=measured, at_first=AtFirst(7, kg))
        return holds_back.why(held, here, 364)

    until = long_date(begin + timedelta(weeks=7))
    assert told(6.0, closed=(-9, 60)) == (
        f"6.0 kg of 10.0 kg missing a year is missing before {until}, while bare shelves fill. With full shelves at "
        "the start the same years lack 3.0 kg less. Promise less until then."
    )
    assert "while bare shelves fill and the room is closed. With" in told(6.0, closed=(48,))
    lost = replace(SKIPPED, shares=(Share("cutting leaf", "sowings skipped", 70.0, 7.0),))
    assert told(6.0, cause=(lost,)).startswith("Cutting leaf: 70 cells")
    assert told(4.0) == told(6.0, low=-0.1)
    assert told(4.0).startswith("Cutting leaf comes unevenly")


def test_what_advice_lifts_is_not_why_unless_it_explains_what_is_missing(made_up: ModuleType) -> None:
    """A valve that brings more for certain, and one plant a year that dried out: 0.4 kg of 30 that partners lack."""
    valve = Trial("a float valve", "reservoirs", {})
    dry = Cause("reservoir low", 0.4, (Share("cutting leaf", "dried_out", 1.0, 0.4),), 0.0)
    held = Held((dry,), True, (), (tried(valve, kg=0.6, orders=0.5),), (Lacking("cutting leaf", 250.0, 30.0, 1.0),))

    assert holds_back.why(held, made_up.tiny_room(), 364) == holds_back.NOT_EXPLAINED
    assert (
        holds_back.causes_table(held, made_up.tiny_room(), 364).rows[0][2] == "cutting leaf: 1 plant a year dries out"
    )


def test_where_orders_are_short_and_nothing_helps_the_sowing_plan_is_asked_about() -> None:
    """Two alike racks with half-full seed trays: a fifth more of all has no place, and `sow` finds another plan."""
    more, nothing = Trial("sowing 20% more of everything", "seed", {}), tried(PEOPLE, kg=0.0)
    asks = " A better sowing plan may: `growsim sow` looks for one."

    held = Held((), True, (tried(more, kg=-1.0), nothing), (nothing,))
    assert holds_back.tried_advice(held) == f"Nothing we tried brings more for certain.{asks}"
    assert holds_back.tried_advice(replace(held, tried=())) == "Nothing we tried brings more for certain."


def test_as_many_orders_are_said_so() -> None:
    """Greens that would spoil are given away: no order more, none fewer."""
    found = Tried((TUESDAYS,), Range(1.7, 1.5, 1.9), Range(0, 0, 0), Range(0.0, 0.0, 0.0), 18)

    assert holds_back.brought(found) == "+1.7 kg a week (+1.5 to +1.9) and as many orders filled"
    unsure = replace(found, orders=Range(0.01, -0.02, 0.04))
    assert holds_back.brought(unsure) == "+1.7 kg a week (+1.5 to +1.9), orders uncertain"


def test_where_only_orders_are_sure_their_range_is_told() -> None:
    """0.06 kg may be chance; 0.34 kg a week more of the ten ordered are not."""
    found = Tried((TUESDAYS,), Range(0.06, -0.18, 0.3), Range(0.34, 0.2, 0.5), Range(0.034, 0.02, 0.05), 18)

    assert found.brings_more
    assert holds_back.brought(found) == "+3.4 of 100 orders filled (+2.0 to +5.0) and +0.06 kg a week"
    alike = replace(found, kg=Range(-0.01, -0.05, 0.03))
    assert holds_back.brought(alike) == "+3.4 of 100 orders filled (+2.0 to +5.0) and as many greens"


def test_why_follows_what_partners_lack(made_up: ModuleType) -> None:
    """Of 10 kg of leaf missing 8 were lost over slots: that is why, though more heads are lost, which nobody lacks.
    Some of it lost; less lost than packed in other weeks, with one harvest day; and neither."""
    room = made_up.tiny_room()

    def first(leaf_kg: float, uneven: float) -> str:
        slots = replace(SKIPPED, kg=leaf_kg, shares=(Share("cutting leaf", "sowings skipped", 100 * leaf_kg, leaf_kg),))
        lacking = (Lacking("cutting leaf", 50.0, 10.0, uneven), Lacking("small head", 90.0, 0.1, 0.1))
        return holds_back.why(Held((PEAS, slots), lacking=lacking), room, 364)

    assert first(8.0, 0.0) == "Cutting leaf: 800 cells a year are not sown because no place on the shelves is free."
    assert first(8.0, 10.0).startswith("Cutting leaf: 800 cells")
    assert first(4.0, 0.0).startswith("Cutting leaf: 400 cells")
    assert first(4.0, 10.0) == (
        "Cutting leaf comes unevenly: 10.0 kg is missing a year, as much or more is left over in other weeks. "
        "What is not ripe on its Thursday comes a week later."
    )
    assert "10.0 kg is missing a year, 6.0 kg is left over in other weeks." in first(1.0, 6.0)
    assert first(1.0, 0.0) == "Nothing that was waited for explains most of what partners lack."


def test_greens_kept_longer_are_advised_with_food_safety() -> None:
    """Whatever else is done, nothing is said of it."""
    kept = Trial(
        "keeping greens up to 7 days in the cooler instead of 6", "greens", {"harvest": {"longest_wait_days": 7}}
    )
    given = Trial("giving away on Fridays", "greens", {"harvest": {"surplus_weekday": "fri"}})
    of_kept, of_given = (
        holds_back.tried_advice(Held((), was_tried=True, best=(tried(each, kg=0.9),))) for each in (kept, given)
    )

    assert of_kept.endswith(" Ask first what your food-safety rules allow; all that time they must stay cold.")
    assert "food-safety" not in of_given


def test_advice_of_few_days_names_the_question_that_weighs_all() -> None:
    """Sowing days and people each have one, which is followed where both speak."""

    def told(kind: str) -> str:
        return holds_back.tried_advice(Held((), was_tried=True, best=(tried(Trial("it", kind, {}), kg=0.9),)))

    assert told("sowing days").endswith(" `growsim sow` weighs all days together: follow it where it says otherwise.")
    assert told("people").endswith(" `growsim crew` says for which shifts.")
    assert told("slots").endswith("tried in the same years.")


def test_more_orders_with_fewer_greens_are_told_to_be_weighed() -> None:
    """Advice goes before."""
    less = tried(Trial("sowing 20% less of everything", "seed", {}), kg=-0.6, orders=1.0)
    held = Held((), was_tried=True, best=(less,))

    assert holds_back.tried_advice(held, "After that") == (
        "After that, sowing 20% less of everything: +10.0 of 100 orders filled (+8.0 to +12.0) and -0.60 kg a week, "
        "tried in the same years. Weigh it: greens in all are fewer."
    )
    assert "Weigh it" not in holds_back.tried_advice(replace(held, best=(less, tried(TUESDAYS, kg=0.9))))
