"""One replication told day by day."""

from __future__ import annotations

import inspect
from types import ModuleType
from typing import Any, get_type_hints

import pytest

from growsim.ledger import events
from growsim.report.rehearse.story import QUIET, Terms, story, tell
from growsim.vocabulary.losses import HEAT

LOT = "2031-01-06/basil/basil Mondays"
EXAMPLES: list[tuple[Any, str]] = [
    (
        events.Sown(600, LOT, 1, "basil", 60, 120, "north rack"),
        "basil of 6 Jan 2031 (basil Mondays) sown: 120 seeds in 60 cells on north rack",
    ),
    (
        events.SowingSkipped(600, LOT, "basil", 60, "no slot"),
        "basil of 6 Jan 2031 (basil Mondays): 60 cells not sown because no place on the shelves is free",
    ),
    (
        events.Germinated(600, LOT, 1, "basil", 57, 1, 5),
        "basil of 6 Jan 2031 (basil Mondays) is up: 57 cells filled, 1 extra seedling to pull; 5 seeds did not "
        "germinate",
    ),
    (
        events.Waiting(600, LOT, 1, "leaf", 30, 2880, True),
        "basil of 6 Jan 2031 (basil Mondays) (30 plants) got a slot for leaf after 2.0 days",
    ),
    (
        events.Transplanted(600, LOT, 2, "basil", "leaf", 30, 2, "north rack", 1.5, "no lead"),
        "basil of 6 Jan 2031 (basil Mondays) part 2: 30 plants moved to leaf on north rack, 2 trays, 1.5 days late "
        "because no shift in that time has a lead",
    ),
    (
        events.Lost(600, LOT, 1, "basil", 4, "dried_out", "leaf", True),
        "basil of 6 Jan 2031 (basil Mondays): 4 plants dried out (harvested before)",
    ),
    (
        events.Harvested(43200, LOT, 1, "basil", 55, 1000, 2, 0.0, 0, "north rack"),
        "basil of 6 Jan 2031 (basil Mondays): 55 plants harvested (harvest 2), 1.0 kg, 30 days old",
    ),
    (
        events.HandedOut(600, LOT, "basil", "", 500, 300),
        "0.50 kg from basil of 6 Jan 2031 (basil Mondays) to open distribution, harvested 5.0 hours before",
    ),
    (
        events.Wasted(600, LOT, "basil", 500),
        "0.50 kg from basil of 6 Jan 2031 (basil Mondays) too old, thrown away",
    ),
    (
        events.OrderServed(600, "pantry", "basil", 1000, 750),
        "pantry ordered 1.0 kg of basil and got 0.75 kg, short by 0.25 kg",
    ),
    (events.WentDown(600, "pump", "north reservoir"), "pump of north reservoir: down"),
    (events.Noticed(600, "power", "", "alarm"), "utility power: noticed by the alarm"),
    (
        events.Repaired(600, "pump", "north reservoir", 2880, 60.0),
        "pump of north reservoir: up again after 2.0 days, part USD 60.00",
    ),
    (
        events.ToppedUp(600, "north reservoir", 0, 0, 18927, 120000, 1.62, True),
        "north reservoir: 19 L added, now 120 L at 1.6 mS/cm",
    ),
    (events.ToppedUp(600, "north reservoir", 0, 0, 300, 120000, 1.62, True), ""),
    (
        events.ShiftHeld(600, "Monday", 4, 3, 3, True, 360, 120, 300),
        "shift Monday ends: 3 of 4 volunteers came, with a lead; 5.0 of 8.0 person-hours worked",
    ),
    (
        events.TaskDone(2040, "wash", LOT, 600, 20, True),
        "wash (basil of 6 Jan 2031 (basil Mondays)): done, 24.0 hours late",
    ),
    (events.TaskDone(600, "sow", LOT, 600, 20, True), ""),
    (events.TaskDone(600, "harvest", "", 600, 0, False), "harvest: withdrawn, not done"),
]


TERMS = Terms("USD", {"peas": "tray"})


def test_a_crop_sown_by_the_tray_is_told_by_trays() -> None:
    """No plant, no cell and no seed that did not germinate, but trays."""
    lot, peas = "2031-01-06/peas/Mondays", "peas of 6 Jan 2031 (Mondays)"

    assert tell(events.Sown(600, lot, 1, "peas", 4, 4, "rack"), TERMS) == f"{peas} sown: 4 trays on rack"
    assert tell(events.Germinated(600, lot, 1, "peas", 4, 0, 0), TERMS) == f"{peas} is up: 4 trays"
    assert tell(events.Lost(600, lot, 1, "peas", 1, HEAT.key, "lit", False), TERMS).startswith(f"{peas}: 1 tray ")
    skipped = events.SowingSkipped(600, lot, "peas", 4, "no slot")
    assert tell(skipped, TERMS) == f"{peas}: 4 trays not sown because no place on the shelves is free"


@pytest.mark.parametrize(("event", "told"), EXAMPLES, ids=[type(event).__name__ for event, _ in EXAMPLES])
def test_a_happening_is_told_in_words(event: Any, told: str) -> None:
    """Trade words, units beside numbers."""
    assert tell(event, TERMS) == told


def test_every_kind_of_happening_can_be_told() -> None:
    """A new kind of record needs words of its own, or a place among the quiet ones; none is told by its field names."""
    kinds = [
        kind for _, kind in inspect.getmembers(events, inspect.isclass) if "minute" in getattr(kind, "_fields", ())
    ]
    sample = {int: 1, float: 1.0, str: HEAT.key, bool: True}
    named = {"machine": "pump", "why": "pump", "held_up": "no slot"}
    untold = []
    for kind in kinds:
        made = kind(*(named.get(name, sample[typed]) for name, typed in get_type_hints(kind).items()))
        if kind not in QUIET and tell(made, TERMS).startswith(f"{kind.__name__}: "):
            untold.append(kind.__name__)

    assert untold == []


def test_the_story_goes_day_by_day_and_marks_the_warm_up(made_up: ModuleType) -> None:
    """Minute 0 is the first counted day, 6 January 2031; the day before is warm-up. Missed floods are told once a "
    "day."""
    told = story(
        [
            events.WentDown(-100, "pump", "reservoir"),
            events.FloodMissed(120, "reservoir", "pump"),
            events.FloodMissed(360, "reservoir", "pump"),
            events.AirRead(400, 25.0),
            events.Repaired(1440 + 540, "pump", "reservoir", 2080, 0.0),
        ],
        made_up.tiny_room(),
    )

    assert told == (
        "Sunday 5 January 2031, day -1 (warm-up, not counted)\n"
        "  22:20  pump of reservoir: down.\n"
        "\n"
        "Monday 6 January 2031, day 0\n"
        "  02:00  2 floods of reservoir missed this day: the pump was down.\n"
        "\n"
        "Tuesday 7 January 2031, day 1\n"
        "  09:00  pump of reservoir: up again after 34.7 hours.\n"
    )


def test_an_empty_log_is_told_as_such(made_up: ModuleType) -> None:
    """Nothing happened."""
    assert story([], made_up.tiny_room()) == "Nothing happened.\n"
