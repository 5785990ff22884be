"""The cooler: fair shares, oldest first, priorities, shelf life, surplus; by hand and over made-up weeks."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st
from small_rooms import scenario_of, tables

from growsim.ledger.book import Book
from growsim.ledger.events import HandedOut, OrderServed, Packed, Wasted
from growsim.room.clock import Clock
from growsim.room.cooler import Cooler, fair_shares
from growsim.scenario.calendar import Calendar, Order

DAY = 1440


def order(crop: str, kg: float, **more: Any) -> dict[str, Any]:
    """One standing order."""
    return {"crop": crop, "kg": kg, **more}


def partner(
    name: str, *orders: dict[str, Any], weekday: str = "mon", hour: float = 12, priority: int = 1
) -> dict[str, Any]:
    """One partner."""
    return {"name": name, "priority": priority, "weekday": weekday, "hour": hour, "orders": list(orders)}


class Week:
    """A store from Monday, day 0, on."""

    def __init__(
        self, *partners: dict[str, Any], keeps: float = 5, longest: float = 7, closed: tuple[int, ...] = ()
    ) -> None:
        raw = tables()
        raw["crops"] = [{**raw["crops"][0], "name": name, "shelf_life_days": keeps} for name in ("leaf", "basil")]
        raw["sowing"], raw["partners"] = [], list(partners)
        raw["harvest"]["longest_wait_days"] = longest
        self.clock, self.book = Clock(0), Book(0)
        monday = dt.date(2031, 1, 6)
        calendar = Calendar(monday, tuple(monday + dt.timedelta(days=day) for day in closed))
        self.cooler = Cooler(scenario_of(raw), self.clock, calendar, self.book)

    def pack(self, at: int, lot: str, crop: str, grams: int, cut: int | None = None) -> None:
        """Greens go in at a minute, harvested then or earlier."""
        harvest_minute = at if cut is None else cut
        self.clock.at(at, Order.FINISHED, lambda _: self.cooler.add(lot, 1, crop, grams, harvest_minute))

    def live(self, until: int = 7 * DAY) -> list[tuple[int, str, str, int]]:
        """(minute, lot, to whom, grams)."""
        self.cooler.start(0)
        self.clock.run(until)
        return [(given.minute, given.lot, given.partner, given.grams) for given in self.book.of(HandedOut)]


def test_equals_share_fairly_and_priority_goes_first() -> None:
    """1,000 g for A and B who want 900 and 600 (60 % and 40 %), and C who comes after them: nothing."""
    week = Week(
        partner("C", order("leaf", 0.3), priority=2), partner("A", order("leaf", 0.9)), partner("B", order("leaf", 0.6))
    )
    week.pack(10, "one", "leaf", 1000)

    assert week.live() == [(720, "one", "A", 600), (720, "one", "B", 400)]
    assert {served.partner: served.grams_given for served in week.book.of(OrderServed)} == {"A": 600, "B": 400, "C": 0}


def test_the_oldest_goes_first() -> None:
    """Harvested before, packed after: handed out first."""
    week = Week(partner("A", order("leaf", 0.5)))
    week.pack(20, "young", "leaf", 400, cut=15)
    week.pack(30, "old", "leaf", 300, cut=10)

    assert week.live()[:2] == [(720, "old", "A", 300), (720, "young", "A", 200)]


def test_named_crops_first_then_any() -> None:
    """Whoever wants leaf gets leaf before whoever wants anything, whatever the priority; 'any' takes the oldest."""
    week = Week(partner("anyone", order("any", 0.5)), partner("leaf only", order("leaf", 0.3), priority=9))
    week.pack(10, "one", "leaf", 400)
    week.pack(20, "two", "basil", 300)

    assert week.live()[:3] == [(720, "one", "leaf only", 300), (720, "one", "anyone", 100), (720, "two", "anyone", 300)]


def test_too_old_is_thrown_away() -> None:
    """Keeps 2 days: harvested on Saturday at noon it may go on Monday at noon sharp, a minute older not."""
    for cut, handed_out in ((-2 * DAY + 720, 100), (-2 * DAY + 719, 0)):
        week = Week(partner("A", order("leaf", 0.1)), keeps=2)
        week.pack(5, "one", "leaf", 100, cut=cut)
        week.live(2 * DAY)

        assert sum(handed.grams for handed in week.book.of(HandedOut)) == handed_out
        assert [wasted.grams for wasted in week.book.of(Wasted)] == ([] if handed_out else [100])


def test_the_longest_wait_holds_for_every_crop() -> None:
    """A crop that keeps 5 days in a room that hands out nothing older than 3."""
    week = Week(partner("A", order("leaf", 0.1), weekday="fri"), longest=3)
    week.pack(5, "one", "leaf", 100)
    week.live()

    assert [(wasted.minute, wasted.grams) for wasted in week.book.of(Wasted)] == [(4 * DAY + 720, 100)]


def test_what_is_left_goes_to_open_distribution() -> None:
    """On Friday at 17:00, to nobody in particular."""
    week = Week(partner("A", order("leaf", 0.1)))
    week.pack(5, "one", "leaf", 250)

    assert week.live() == [(720, "one", "A", 100), (4 * DAY + 1020, "one", "", 150)]
    assert week.cooler.grams == 0


def test_what_an_order_needs_before_it_spoils_is_kept() -> None:
    """Of 250 g left on Friday 100 are kept for Saturday and 60, of any crop, for Monday. By the Wednesday after they
    would be 8 days old: nothing is kept for it."""
    week = Week(
        partner("A", order("leaf", 0.1), weekday="sat"),
        partner("B", order("any", 0.06)),
        partner("late", order("leaf", 0.2), weekday="wed"),
        keeps=7,
    )
    week.pack(DAY, "one", "leaf", 450)

    assert week.live(12 * DAY) == [
        (2 * DAY + 720, "one", "late", 200),
        (4 * DAY + 1020, "one", "", 90),
        (5 * DAY + 720, "one", "A", 100),
        (7 * DAY + 720, "one", "B", 60),
    ]


def test_only_the_rest_is_given_away() -> None:
    """Oldest first for whoever comes first: of 300 and 400 g, Saturday wants 350 of leaf, Monday 100; 250 are left, of
    the younger. Another crop is wanted by nobody."""
    week = Week(partner("A", order("leaf", 0.35), weekday="sat"), partner("B", order("leaf", 0.1)), keeps=7)
    week.pack(2 * DAY, "old", "leaf", 300)
    week.pack(3 * DAY, "young", "leaf", 400)
    week.pack(3 * DAY, "herb", "basil", 80)

    assert week.live(8 * DAY) == [
        (4 * DAY + 1020, "young", "", 250),
        (4 * DAY + 1020, "herb", "", 80),
        (5 * DAY + 720, "old", "A", 300),
        (5 * DAY + 720, "young", "A", 50),
        (7 * DAY + 720, "young", "B", 100),
    ]


def test_a_pick_up_later_that_day_is_kept_for_too() -> None:
    """Friday at six in the evening, an hour after giving away; on a closed Saturday nobody comes."""
    week = Week(
        partner("A", order("leaf", 0.1), weekday="fri", hour=18),
        partner("B", order("leaf", 9), weekday="sat"),
        closed=(5,),
    )
    week.pack(3 * DAY, "one", "leaf", 150)

    assert week.live() == [(4 * DAY + 1020, "one", "", 50), (4 * DAY + 1080, "one", "A", 100)]


def test_closed_days_hand_nothing_out() -> None:
    """Closed on Monday and Friday: no order counts as served or missed. Of what is left on the Friday after, 100 g are
    kept for one Monday more, and 50 are given away."""
    week = Week(partner("A", order("leaf", 0.1)), keeps=20, longest=20, closed=(0, 4))
    week.pack(5, "one", "leaf", 300)

    assert week.live(15 * DAY) == [
        (7 * DAY + 720, "one", "A", 100),
        (11 * DAY + 1020, "one", "", 100),
        (14 * DAY + 720, "one", "A", 100),
    ]
    assert [served.minute for served in week.book.of(OrderServed)] == [7 * DAY + 720, 14 * DAY + 720]


def test_orders_of_some_months_only() -> None:
    """Day 0 is in January: an order for February is not asked for until then."""
    week = Week(partner("A", order("leaf", 0.1, months=[2])), keeps=60, longest=60)
    week.live(30 * DAY)

    assert [served.minute // DAY for served in week.book.of(OrderServed)] == [28]  # Monday, 3 February


def test_orders_are_weighed_to_the_gram() -> None:
    """0.57 kg are 570 g, whatever a computer makes of 0.57 × 1,000; 0.2904 kg are 290 g."""
    week = Week(partner("A", order("leaf", 0.57)), partner("B", order("leaf", 0.2904)))
    week.pack(5, "one", "leaf", 2000)
    week.live(DAY)

    assert [(served.grams_ordered, served.grams_given) for served in week.book.of(OrderServed)] == [
        (570, 570),
        (290, 290),
    ]


def test_nothing_cut_is_nothing_packed() -> None:
    """Packing of 0 g is told and makes no crate."""
    week = Week()
    week.pack(5, "one", "leaf", 0)

    assert week.live() == []
    assert [packed.grams for packed in week.book.of(Packed)] == [0]


@settings(derandomize=True, deadline=None, max_examples=200)
@given(st.integers(0, 3000), st.lists(st.integers(0, 1500), min_size=1, max_size=6))
def test_fair_shares(there: int, wanted: list[int]) -> None:
    """All that is there or all that is wanted; nobody more than they want; everybody the same share to the gram."""
    shares = fair_shares(there, wanted)

    assert sum(shares) == min(there, sum(wanted))
    assert all(0 <= share <= want for share, want in zip(shares, wanted, strict=True))
    if there < sum(wanted):
        assert all(abs(share - there * want / sum(wanted)) <= 1 for share, want in zip(shares, wanted, strict=True))


@settings(derandomize=True, deadline=None, max_examples=60)
@given(
    st.lists(
        st.tuples(st.integers(0, 20 * DAY), st.sampled_from(["leaf", "basil"]), st.integers(0, 900), st.integers(0, 6)),
        max_size=15,
    ),
    st.lists(
        st.tuples(
            st.sampled_from(["mon", "thu"]),
            st.sampled_from([9, 12]),
            st.integers(1, 2),
            st.sampled_from(["leaf", "basil", "any"]),
            st.sampled_from([0.0004, 0.2, 1.0]),
        ),
        max_size=5,
    ),
)
def test_every_gram_is_somewhere(packed: list[Any], orders: list[Any]) -> None:
    """In = out + thrown away + left, lot by lot; nothing too old, nothing of the wrong crop, nothing twice."""
    week = Week(
        *(
            partner(f"P{number}", order(crop, kg), weekday=weekday, hour=hour, priority=priority)
            for number, (weekday, hour, priority, crop, kg) in enumerate(orders)
        ),
        keeps=4,
    )
    crop_of, grams_in = {}, Counter[str]()
    for number, (minute, crop, grams, days) in enumerate(packed):
        week.pack(minute, f"lot {number}", crop, grams, cut=minute - days * DAY)
        crop_of[f"lot {number}"] = crop
        grams_in[f"lot {number}"] += grams
    week.live(30 * DAY)
    grams_out = Counter[str]()
    wanted = {f"P{number}": crop for number, (_, _, _, crop, _) in enumerate(orders)}
    for given_out in week.book.of(HandedOut):
        grams_out[given_out.lot] += given_out.grams
        assert given_out.crop == crop_of[given_out.lot]
        assert wanted.get(given_out.partner, "any") in ("any", given_out.crop)
        assert given_out.minute - given_out.harvest_minute <= 4 * DAY
    for wasted in week.book.of(Wasted):
        grams_out[wasted.lot] += wasted.grams

    assert all(grams_out[lot] <= grams for lot, grams in grams_in.items())
    assert sum(grams_in.values()) == sum(grams_out.values()) + week.cooler.grams
