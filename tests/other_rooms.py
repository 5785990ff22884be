"""A room that is otherwise than its file says, in three figures, and what its people write down in a year.

    python tests/other_rooms.py otherwise 30    thirty years: which figures are named, and offered, after how many weeks
    python tests/other_rooms.py same 60         the same where nothing changed: false alarms

The file is the tiny room's, with a pump that fails about once a year.
"""

from __future__ import annotations

import datetime as dt
import shutil
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

from growsim.ledger.book import Book
from growsim.run.prepare import prepare_room
from growsim.run.replicate import trace
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.machines import with_reliability
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.record.record import Records
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.review import drift
from growsim.study.review.told import Told, told_by
from growsim.vocabulary.machines import BY_KEY
from tests.kept_records import as_csv, kept

TINY = Path(__file__).parents[1] / "scenarios" / "tiny"
SEED, WEEKS = 2040, 52
PUMP_HOURS = 110.0  # running hours; the pump runs 18 minutes a day: about a year
TRUE_SEED, FEWER, AS_OFTEN = 0.75, 0.8, 2.0  # 0.9 by the file
LOWER, PEOPLE, PUMP = "crops.small head.germination_fraction", "crew.chance_of_coming", "pump"


def as_filed(folder: Path) -> LoadedRoom:
    """The room as its file, laid down in a folder of rooms, has it."""
    shutil.copytree(TINY, folder / "tiny")
    file = folder / "tiny" / "room.toml"
    text = file.read_text(encoding="utf-8")
    assert text.count("mean = 900,") == 1
    file.write_text(text.replace("mean = 900,", f"mean = {PUMP_HOURS:g},"), encoding="utf-8")
    return load_scenario(folder / "tiny")


def otherwise(scenario: Scenario) -> Scenario:
    """The room as it is: seed of one crop 15 points lower, a fifth fewer volunteers, a pump twice as often down."""
    leaf, head = scenario.crops
    lower = Uncertain(value=TRUE_SEED)
    crew = scenario.crew.model_copy(
        update={"chance_of_coming": tuple(FEWER * chance for chance in scenario.crew.chance_of_coming)}
    )
    other = scenario.model_copy(
        update={"crops": (leaf, head.model_copy(update={"germination_fraction": lower})), "crew": crew}
    )
    life = Uncertain(distribution="exponential", mean=PUMP_HOURS / AS_OFTEN)
    return with_reliability(other, BY_KEY[PUMP], running_hours_to_failure=life)


def a_year(room: LoadedRoom, lived: Scenario, number: int, weeks: int = WEEKS) -> Book:
    """The log book of one of its years, from empty shelves."""
    return trace(replace(prepare_room(room), scenario=lived), SEED, number, RunPlan(7 * weeks, 0, "empty"))


def watched(room: LoadedRoom, records: Records) -> list[tuple[Told, drift.Sums]]:
    """Every figure that is watched in the first year of a record, with its sums."""
    monday = records.first - dt.timedelta(days=records.first.weekday())
    told = told_by(records, room.scenario, monday, WEEKS, 1)
    return [(each, drift.sums_of(each.watched, each.made_up, len(told))) for each in told]


def named(figures: list[tuple[Told, drift.Sums]]) -> dict[str, tuple[int, int | None]]:
    """Key of each figure that is named in the year -> after how many weeks, and after how many a change is offered."""
    found = {}
    for each, sums in figures:
        first, sure = sums.first_over(sums.limit), sums.first_over(sums.sure)
        if first is not None:
            found[each.key] = (first + 1, None if sure is None else sure + 1)
    return found


def years(kind: str, numbers: range) -> list[dict[str, tuple[int, int | None]]]:
    """What is named in years of the room otherwise than its file ("otherwise"), or as it says ("same")."""
    with tempfile.TemporaryDirectory() as folder:
        room = as_filed(Path(folder))
        lived = otherwise(room.scenario) if kind == "otherwise" else room.scenario
        found = []
        for number in numbers:
            tables = kept(a_year(room, lived, number), room.scenario)
            records = read_records(as_csv(tables, Path(folder) / str(number)), room.scenario)
            found.append(named(watched(room, records)))
    return found


if __name__ == "__main__":
    for number in range(int(sys.argv[2])):
        print(number, years(sys.argv[1], range(number, number + 1))[0], flush=True)
