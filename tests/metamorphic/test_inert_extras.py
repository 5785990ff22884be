"""Something added to a room that does nothing changes nothing else, cell by cell."""

from __future__ import annotations

import copy
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from troubled_rooms import Lived, steady, troubled_rooms

from growsim.ledger.events import MetersRead, ToppedUp

Tables = dict[str, Any]
WHOLE_WEEK = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]


def unused_crop(raw: Tables) -> None:
    """A crop that nobody sows."""
    raw["crops"].append({**copy.deepcopy(raw["crops"][1]), "name": "never sown", "heat_limit_c": 35})


def unused_tray(raw: Tables) -> None:
    """A kind of tray that no stage uses."""
    raw["trays"].append({**raw["trays"][0], "name": "in the cellar"})


def rack_without_slots(raw: Tables) -> None:
    """A rack with no shelves yet."""
    raw["racks"].append({**raw["racks"][0], "name": "bare rack", "shelves": []})


def shelves_that_are_none(raw: Tables) -> None:
    """Shelves of which there are none, at the end of the file."""
    raw["racks"][-1]["shelves"].append({**raw["racks"][0]["shelves"][0], "name": "planned", "count": 0})


def sowing_never_due(raw: Tables) -> None:
    """A line of the sowing plan for years to come, and one for a season that was over long before."""
    line = {"crop": raw["crops"][0]["name"], "cells": 10, "weekday": "mon"}
    raw["sowing"] = [
        *raw["sowing"],
        {**line, "name": "in ten years", "first_week": 520},
        {**line, "name": "long ago", "until_date": "1999-01-01"},
    ]


def partner_out_of_season(raw: Tables) -> None:
    """A partner who orders only in a month that does not come."""
    start = raw["room"]["start_date"]
    month = (start.month - 1 - 3) % 12 + 1  # three months back; warm-up and days together stay below five
    raw["rehearsal"] |= {"warm_up_days": min(raw["rehearsal"]["warm_up_days"], 28)}
    order = {"crop": raw["crops"][0]["name"], "kg": 50, "months": [month]}
    raw["partners"].append({"name": "out of season", "weekday": "tue", "hour": 9, "priority": 0, "orders": [order]})


def outage_after_the_end(raw: Tables) -> None:
    """A power outage made to happen long after."""
    raw["outages"].append({"name": "late", "machine": "power", "start_day": 5000, "hours": 100})


def lives_beyond_the_year(raw: Tables) -> None:
    """Machines that may fail, after a thousand years, in place of machines that never do."""
    for table in (raw["reservoirs"][0]["pump"], raw["reservoirs"][0]["timer"], raw["lights"][0], raw["climate"]):
        if not table.get("reliability"):
            table["reliability"] = {
                "running_hours_to_failure": {"distribution": "fixed", "value": 9e6},
                "alarm_minutes": 1,
                "spares": 3,
            }


EXTRAS: tuple[Callable[[Tables], None], ...] = (
    unused_crop,
    unused_tray,
    rack_without_slots,
    shelves_that_are_none,
    sowing_never_due,
    partner_out_of_season,
    outage_after_the_end,
    lives_beyond_the_year,
)


@pytest.mark.parametrize("extra", EXTRAS, ids=lambda extra: extra.__name__)
def test_an_inert_extra_changes_nothing(extra: Callable[[Tables], None]) -> None:
    """Every record, every level, everything standing at the end is the same with it as without it."""

    @steady(8)
    @given(troubled_rooms(), st.integers(0, 1000))
    def live(raw: Tables, seed: int) -> None:
        more = copy.deepcopy(raw)
        extra(more)
        raw["rehearsal"] = more["rehearsal"]

        assert Lived(more, seed, checked=False).story == Lived(raw, seed, checked=False).story

    live()


@steady(8)
@given(troubled_rooms(), st.integers(0, 1000))
def test_a_reservoir_and_lights_that_serve_no_rack(raw: Tables, seed: int) -> None:
    """They change their own water and electricity only."""
    more = copy.deepcopy(raw)
    more["reservoirs"].append(
        {**raw["reservoirs"][0], "name": "spare reservoir", "top_up": "float valve", "change_every_weeks": 0}
    )
    more["lights"].append({**raw["lights"][0], "name": "spare lights"})

    def others(life: Lived) -> list[Any]:
        return [
            record
            for record in life.book.records
            if not isinstance(record, MetersRead)
            and getattr(record, "reservoir", "") != "spare reservoir"
            and getattr(record, "where", "") not in ("spare reservoir", "spare lights")
        ]

    with_extra, without = Lived(more, seed, checked=False), Lived(raw, seed, checked=False)

    assert others(with_extra) == others(without)
    assert with_extra.story[1:] == without.story[1:]


@steady(8)
@given(troubled_rooms(failures=False), st.integers(0, 1000))
def test_an_empty_shelf_costs_its_light_and_nothing_else(raw: Tables, seed: int) -> None:
    """Lamps over a shelf that no stage may use burn; a heat pump strong enough carries their heat; plants notice
    nothing."""
    raw["outages"] = [outage for outage in raw["outages"] if outage["machine"] in ("pump", "timer", "reservoir leak")]
    raw["climate"]["cooling_kw"] = 9
    more = copy.deepcopy(raw)
    more["racks"][-1]["shelves"].append({**raw["racks"][0]["shelves"][0], "name": "empty", "stages": []})

    def but_meters(life: Lived) -> list[Any]:
        return [record for record in life.book.records if not isinstance(record, MetersRead)]

    with_extra, without = Lived(more, seed), Lived(raw, seed)
    lit, before = list(with_extra.book.of(MetersRead))[-1], list(without.book.of(MetersRead))[-1]

    assert but_meters(with_extra) == but_meters(without)
    assert with_extra.story[1:] == without.story[1:]
    assert lit.kwh_lights > before.kwh_lights
    assert (lit.kwh_pumps, lit.kwh_fans) == (before.kwh_pumps, before.kwh_fans)
    assert sum(1 for _ in with_extra.book.of(ToppedUp)) > 0
