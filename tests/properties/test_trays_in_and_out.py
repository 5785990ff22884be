"""Little's law for trays, in every room that comes with growsim: slots in use = trays a day x days each is held.

Source: Little 1961, *Operations Research* 9 (the law itself, from memory). The two sides are counted apart: slots in
use by the shelves themselves, trays and days from what the log book says was posted, moved and washed.
"""

from __future__ import annotations

import datetime as dt
import math
from collections import defaultdict
from pathlib import Path

import pytest

from growsim.ledger.book import Book
from growsim.ledger.events import SowingSkipped, TaskDone, TaskDue, Transplanted
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.obstacles import parts_of

ROOMS = sorted((Path(__file__).parents[2] / "scenarios").glob("*/room.toml"))
PLAN = RunPlan(days=182, warm_up_days=56)
END = PLAN.days * 1440


def trays_in_and_out(book: Book, scenario: Scenario) -> tuple[int, float]:
    """(trays that got a slot, tray-days they held it until the end of the run).

    A slot is held from the posting of the sowing or moving that needs it until the tray is washed, or given back where
    that work was given up or fewer trays were needed in the end.
    """
    places = {tray.name: tray.places for tray in scenario.trays}
    crops = {crop.name: crop.stages_in_order() for crop in scenario.crops}
    moves: dict[str, list[Transplanted]] = defaultdict(list)
    for moved in book.of(Transplanted):
        moves[f"{moved.lot} #{moved.part}"].append(moved)
    in_hand: dict[tuple[str, str], int] = {}
    to_wash: dict[str, list[int]] = defaultdict(list)
    trays, minutes = 0, 0

    def comes(count: int, minute: int) -> None:
        nonlocal trays, minutes
        trays += count
        minutes += count * (END - minute)

    for record in book.records:
        lot = getattr(record, "about", "").rsplit(" #", 1)[0]
        match record:
            case TaskDue(task="sow" | "transplant"):
                stages = crops[lot.split("/")[1]]
                ahead = moves[record.about]
                if record.task == "sow":
                    stage = stages[0]
                else:  # the move that comes of it says into which stage; given up or open still, the last that was due
                    sown_on = dt.date.fromisoformat(lot.split("/")[0])
                    age = record.minute / 1440 - (sown_on - scenario.room.start_date).days
                    due = [each for number, each in enumerate(stages) if sum(s.days for s in stages[:number]) <= age]
                    stage = next((each for each in stages if ahead and each.name == ahead[0].stage), due[-1])
                in_hand[record.task, record.about] = math.ceil(record.units / places[stage.tray])
                comes(in_hand[record.task, record.about], record.minute)
            case Transplanted():
                about = f"{record.lot} #{record.part}"
                comes(
                    record.trays - in_hand["transplant", about], record.minute
                )  # some died meanwhile: fewer are needed
                moves[about].pop(0)
            case TaskDone(task="sow" | "transplant", finished=False):
                comes(-in_hand[record.task, record.about], record.minute)
            case TaskDue(task="wash"):
                to_wash[record.about].append(int(record.units))
            case TaskDone(task="wash"):
                minutes -= to_wash[record.about].pop(0) * (END - record.minute)
            case SowingSkipped():
                assert {part.lift for part in parts_of(record.held_up)} <= {"slots", "people", "leads", "closings"}
            case _:
                pass
    return trays, minutes / 1440


@pytest.mark.parametrize("room", ROOMS, ids=lambda path: path.parent.name)
@pytest.mark.parametrize("seed", [1, 2])
def test_slots_in_use_are_trays_times_time(room: Path, seed: int) -> None:
    """To the last digit: the room starts bare, and what is held at the end counts up to the end."""
    prepared = prepare(load_scenario(room).scenario)
    book = trace(prepared, seed, 0, PLAN)
    days = PLAN.days + PLAN.lead_in_days
    in_use = sum(
        level.means(-PLAN.lead_in_days * 1440, days * 1440, 1)[0]
        for key, level in book.levels.items()
        if key[0] == "slots"
    )
    trays, tray_days = trays_in_and_out(book, prepared.scenario)

    assert in_use == pytest.approx((trays / days) * (tray_days / trays), rel=1e-9)
    assert trays > 100
