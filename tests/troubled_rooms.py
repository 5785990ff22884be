"""Small rooms with trouble made to happen, and rooms that have lived, for tests over generated rooms."""

from __future__ import annotations

from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from strategies import room_tables

from growsim.chance.streams import Luck
from growsim.growth.crops import build_curves
from growsim.ledger.book import Book
from growsim.room.model import RoomHere
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.machines import MACHINES


def steady(examples: int) -> settings:
    """The same examples every time, so that a red test stays red and a green one green."""
    return settings(derandomize=True, deadline=None, max_examples=examples)


@st.composite
def troubled_rooms(draw: st.DrawFn, *, failures: bool | None = None) -> dict[str, Any]:
    """Tables of a small room, some with outages made to happen, overlapping shifts, reservoirs that run low."""
    raw = draw(room_tables(failures=failures))
    raw["outages"] = [
        {
            "name": f"outage {number}",
            "machine": row.key,
            "where": row.place.rack,  # reservoir and lights of a small room are called so
            "start_day": draw(st.integers(0, 40)),
            "start_hour": draw(st.sampled_from([0, 5.5, 12, 23])),
            "hours": draw(st.sampled_from([1, 10, 60, 200])),
        }
        for number, row in enumerate(draw(st.lists(st.sampled_from(MACHINES), max_size=3)))
    ]
    if draw(st.booleans()):
        first = raw["crew"]["shifts"][0]
        raw["crew"]["shifts"].append(
            {**first, "name": "second", "start_hour": first["start_hour"] - 0.25, "lead": True}
        )
    for reservoir in raw["reservoirs"]:
        reservoir["lowest_flood_level_l"] = draw(st.sampled_from([0, 60, 69.5]))
        if draw(st.booleans()):
            reservoir |= {"flood_every_hours": 0.5, "flood_minutes": 2}
    return raw


class Lived:
    """A room that has lived through a replication, and its book."""

    def __init__(self, raw: dict[str, Any], seed: int, *, checked: bool = True, **plan: Any) -> None:
        self.scenario = scenario_from(raw, "made up")[0] if checked else Scenario.model_validate(raw)
        rehearsal = self.scenario.rehearsal
        self.plan = RunPlan(rehearsal.days, rehearsal.warm_up_days, **plan)
        self.room = RoomHere(self.scenario, build_curves(self.scenario), Luck(seed, 0), self.plan)
        self.room.start()
        self.room.clock.run(self.plan.days * 1440)
        self.room.finish()
        self.book: Book = self.room.book

    @property
    def story(self) -> tuple[list[Any], list[Any], dict[tuple[str, ...], tuple[list[int], list[float]]]]:
        """All that the book holds, to be compared."""
        levels = {key: (level.minutes, level.values) for key, level in self.book.levels.items()}
        return self.book.records, self.book.standing, levels
