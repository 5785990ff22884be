"""How lots fare: sown on which weekday, harvested after how many days."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from growsim.ledger.book import Book
from growsim.ledger.events import Harvested, Sown
from growsim.run.harvest_days import lots_fared, watch_lots
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny").scenario  # starts on Monday 6 January 2031


def test_watching_changes_nothing() -> None:
    """Every figure and account that `replicate` gives is there, to the last bit; lots come on top."""
    prepared, plan = prepare(TINY), RunPlan(84, 28)
    plain, watched = replicate(prepared, 3, 4, plan), watch_lots(prepared, 3, 4, plan)

    assert replace(watched, accounts={name: watched.accounts[name] for name in plain.accounts}) == plain
    days = {name.split(":")[2] for name in watched.accounts if name.startswith("lot harvested:mon:")}
    assert {"24", "31"} & days


def test_a_book_of_two_lots() -> None:
    """By hand: Monday's leaf, planned for the 13th and sown on the 14th, harvested 25 days after the plan; one sown too
    late to count, and one from the warm-up."""
    book = Book(-7 * 1440)
    name, late, early = "2031-01-13/cutting leaf/x", "2031-03-03/cutting leaf/x", "2031-01-03/cutting leaf/x"
    for record in (
        Sown(-3 * 1440, early, 1, "cutting leaf", 60, 120, "rack"),
        Sown(8 * 1440 + 600, name, 1, "cutting leaf", 40, 80, "rack"),
        Sown(8 * 1440 + 600, name, 2, "cutting leaf", 20, 40, "rack"),
        Sown(56 * 1440 + 600, late, 1, "cutting leaf", 60, 120, "rack"),
        Harvested(20 * 1440, early, 1, "cutting leaf", 50, 1000, 1, 0, -3 * 1440, "rack"),
        Harvested(32 * 1440 + 600, name, 1, "cutting leaf", 37, 900, 1, 0, 8 * 1440, "rack"),
        Harvested(39 * 1440 + 600, name, 2, "cutting leaf", 18, 500, 1, 0, 8 * 1440, "rack"),
        Harvested(49 * 1440 + 600, name, 2, "cutting leaf", 17, 300, 2, 0, 8 * 1440, "rack"),
    ):
        book.write(record)

    assert lots_fared(book, TINY, days=84) == pytest.approx(
        {
            "lot cells:mon:cutting leaf": 60,
            "lot harvested:mon:25:cutting leaf": 37,
            "lot harvested:mon:32:cutting leaf": 18,
            "lot kg:mon:cutting leaf": 1.7,
        }
    )
