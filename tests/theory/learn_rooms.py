"""Rooms whose truth is known: the tiny room with other figures than its file says, and what its record teaches.

    python tests/theory/learn_rooms.py 200      learns from 200 records and prints how often the truth was covered
    python tests/theory/learn_rooms.py 12 millrace      of growth alone, on years of the demo room: six racks, crops
                                                        that are moved twice, heat, dry reservoirs, lack of hands
    python tests/theory/learn_rooms.py 12 undated       the same, nobody having written down the second move
    python tests/theory/learn_rooms.py 12 unlike        the same, under lamps that differ by a quarter

The truths are drawn from what `learn` takes the room file to mean (its prior), so that ranges that hold eight in ten
must hold the truth eight times in ten: simulation-based calibration (Cook, Gelman & Rubin 2006; Talts et al. 2018,
*Validating Bayesian inference algorithms with simulation-based calibration*; from memory).
"""

from __future__ import annotations

import itertools
import math
import sys
import tempfile
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from kept_records import Tables, as_csv, kept

from growsim.ledger.book import Book
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import LoadedRoom, load_scenario
from growsim.scenario.people import Shift
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.record.tables import BY_NAME
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.job_minutes import job_log_sd
from growsim.study.learn.crops import BARE_GERMINATION_SD, BARE_LOSS_SD, BARE_MASS_CV
from growsim.study.learn.growth import PACE_LOG_SD, ROUGHNESS, SPREAD_LOG_SD
from growsim.study.learn.machines import PRIOR_FAILURES
from growsim.study.learn.minutes import PRIOR_FREEDOM, PRIOR_RECORDS
from growsim.study.learn.people import ALL_MONTHS_SD, ONE_MONTH_SD
from growsim.study.learn.question import Learning, learn

TINY, MILLRACE = (Path(__file__).parents[2] / "scenarios" / name for name in ("tiny", "millrace"))
DAYS = 280
FAMILIES = {
    "germination_fraction": "seeds that germinate",
    "germination_spread_sd": "spread of seeds",
    "handling_loss": "plants lost in moving",
    "days_to_typical_mass": "days to typical mass",
    "days_spread_cv": "spread of days",
    "typical_mass_g": "typical mass",
    "chance_of_coming": "chance of coming",
    "minutes_per_unit": "minutes of work",
    "running_hours_to_failure": "running hours to failure",
}

Truth = dict[str, float]


def room_file() -> LoadedRoom:
    """The tiny room with hands enough, seed trays that lose a plant or two in moving, and lights that fail."""
    room = load_scenario(TINY)
    scenario = room.scenario
    shifts = tuple(
        shift.model_copy(update={"people": shift.people + 2, "hours": 4.0}) for shift in scenario.crew.shifts
    )
    more = Shift(name="Wednesday", weekday="wed", start_hour=9, hours=4, people=3)
    crops = tuple(
        crop.model_copy(
            update={
                "stages": tuple(
                    stage.model_copy(update={"loss_fraction": Uncertain(value=0.02)}) if stage.after else stage
                    for stage in crop.stages
                )
            }
        )
        for crop in scenario.crops
    )
    (bank,) = scenario.lights
    life = Uncertain(distribution="exponential", mean=1000.0)
    reliability = bank.reliability.model_copy(
        update={
            "running_hours_to_failure": life,
            "spares": 1,
            "repair_hours": Uncertain(value=1.0),
            "alarm_minutes": 5.0,
        }
    )
    scenario = scenario.model_copy(
        update={
            "crew": scenario.crew.model_copy(update={"shifts": (*shifts, more)}),
            "crops": crops,
            "lights": (bank.model_copy(update={"reliability": reliability}),),
            "room": scenario.room.model_copy(update={"closed_days": (), "people_at_once": 8}),
        }
    )
    return replace(room, scenario=scenario, raw=_as_written(scenario.model_dump(exclude_none=True)))


def _as_written(value: Any) -> Any:
    """Tables as a TOML file gives them: lists, not tuples."""
    if isinstance(value, dict):
        return {key: _as_written(inner) for key, inner in value.items()}
    return [_as_written(inner) for inner in value] if isinstance(value, (list, tuple)) else value


def true_room(file: Scenario, rng: np.random.Generator) -> tuple[Scenario, Truth]:
    """A room with other figures than the file's, and what they are, by the keys of `learn`."""
    truth: Truth = {}
    crops = []
    for crop in file.crops:
        key = f"crops.{crop.name}"
        p = crop.germination_fraction.expected()
        size = p * (1 - p) / BARE_GERMINATION_SD**2 - 1
        germination = rng.beta(p * size, (1 - p) * size)
        germination_spread = crop.germination_spread_sd * math.exp(rng.normal(0, SPREAD_LOG_SD))
        pace_sd = math.sqrt(math.log1p(PACE_LOG_SD**2))
        pace = math.exp(rng.normal(-(pace_sd**2) / 2, pace_sd))
        spread = crop.days_spread_cv * math.exp(rng.normal(0, SPREAD_LOG_SD))
        mass_sd = math.sqrt(math.log1p(BARE_MASS_CV**2))
        mass = crop.typical_mass_g.expected() * math.exp(rng.normal(-(mass_sd**2) / 2, mass_sd))
        loss_mean, loss_sd = 0.02, max(BARE_LOSS_SD, 0.02)
        loss_size = loss_mean * (1 - loss_mean) / loss_sd**2 - 1
        loss = rng.beta(loss_mean * loss_size, (1 - loss_mean) * loss_size)
        up = _days_up(file, crop.name)
        truth |= {
            f"{key}.germination_fraction": germination,
            f"{key}.germination_spread_sd": germination_spread,
            f"{key}.days_to_typical_mass": up + (crop.typical_days - up) / pace,
            f"{key}.days_spread_cv": spread,
            f"{key}.typical_mass_g": mass,
            f"{key}.handling_loss": loss,
        }
        crops.append(
            crop.model_copy(
                update={
                    "germination_fraction": Uncertain(value=germination),
                    "germination_spread_sd": germination_spread,
                    "growth_pace": Uncertain(value=pace),
                    "days_spread_cv": spread,
                    "typical_mass_g": Uncertain(value=mass),
                    "stages": tuple(
                        stage.model_copy(update={"loss_fraction": Uncertain(value=loss)}) if stage.after else stage
                        for stage in crop.stages
                    ),
                }
            )
        )
    together = rng.normal(0, ALL_MONTHS_SD)
    chances = []
    for month, chance in zip(MONTHS, file.crew.chance_of_coming, strict=True):
        odds = math.log(chance / (1 - chance)) + together + rng.normal(0, ONE_MONTH_SD)
        chances.append(1 / (1 + math.exp(-odds)))
        truth[f"crew.chance_of_coming.{month}"] = chances[-1]
    tasks = []
    for task in file.crew.tasks:
        factor = math.exp(job_log_sd(task) / math.sqrt(PRIOR_RECORDS) * rng.standard_t(PRIOR_FREEDOM))
        factor = min(max(factor, 0.3), 3.0)
        truth[f"crew.tasks.{task.name}.minutes_per_unit"] = task.minutes_per_unit.expected() * factor
        tasks.append(task.model_copy(update={"minutes_factor": Uncertain(value=factor)}))
    (bank,) = file.lights
    hours = bank.reliability.running_hours_to_failure
    assert hours is not None
    rate = rng.gamma(PRIOR_FAILURES) / (1.6783 * hours.expected())  # 1.6783: the middle of gamma(2)
    truth["lights.running_hours_to_failure"] = 1 / rate
    reliability = bank.reliability.model_copy(
        update={"running_hours_to_failure": Uncertain(distribution="exponential", mean=1 / rate)}
    )
    crew = file.crew.model_copy(update={"chance_of_coming": tuple(chances), "tasks": tuple(tasks)})
    changed = {"crops": tuple(crops), "crew": crew, "lights": (bank.model_copy(update={"reliability": reliability}),)}
    return file.model_copy(update=changed), truth


MONTHS = ("january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
          "december")  # fmt: skip


def _days_up(file: Scenario, name: str) -> float:
    from growsim.growth.germination import days_to_emerge

    table = next(crop.emergence for crop in file.crops if crop.name == name)
    return days_to_emerge(file.climate.air_temperature_c, table.temperature_c, table.days)


def learned_from(number: int, file: LoadedRoom) -> tuple[Learning, Truth]:
    """What is learned from the record of true room `number`, and the truth."""
    rng = np.random.default_rng([2031, number])
    true, truth = true_room(file.scenario, rng)
    book = trace(prepare(true), 2031, number, RunPlan(days=DAYS, warm_up_days=70))
    return _learn(file, true, book, rng), truth


def unlike_lamps(room: LoadedRoom) -> LoadedRoom:
    """The room with lamps of 0.85 to 1.1 times their brightness, every other one on for an hour longer."""
    brightness = itertools.cycle((1.0, 0.85, 1.0, 0.85, 1.1, 0.95))
    lights = tuple(
        bank.model_copy(
            update={"ppfd_umol_m2_s": times * bank.ppfd_umol_m2_s, "hours_per_day": bank.hours_per_day + number % 2}
        )
        for number, (bank, times) in enumerate(zip(room.scenario.lights, brightness, strict=False))
    )
    scenario = room.scenario.model_copy(update={"lights": lights})
    return replace(room, scenario=scenario, raw=_as_written(scenario.model_dump(exclude_none=True)))


def _undated(tables: Tables) -> Tables:
    """As in a record without the column of the second move."""
    again = [column.name for column in BY_NAME["plantings"].columns].index("transplanted_again")
    for row in tables["plantings"]:
        row[again] = None
    return tables


def _as_weighed(tables: Tables, rng: np.random.Generator) -> Tables:
    """Grams as a scale and wet leaves give them: off by what `learn` reckons with."""
    grams = [column.name for column in BY_NAME["plantings"].columns].index("grams")
    for row in tables["plantings"]:
        written = row[grams]
        if isinstance(written, int):
            row[grams] = round(written * math.exp(rng.normal(0, ROUGHNESS)))
    return tables


def demo_learned_from(number: int, file: LoadedRoom, *, dated: bool = True) -> tuple[Learning, Truth]:
    """What a year of a room as busy as the demo room teaches whose crops grow otherwise, and the truth of growth.

    dated: the second moves are written down."""
    rng = np.random.default_rng([2032, number])
    truth: Truth = {}
    crops = []
    for crop in file.scenario.crops:
        mass = crop.typical_mass_g.expected() * math.exp(rng.normal(0, BARE_MASS_CV))
        pace, spread = (
            math.exp(rng.normal(0, PACE_LOG_SD)),
            crop.days_spread_cv * math.exp(rng.normal(0, SPREAD_LOG_SD)),
        )
        up, key = _days_up(file.scenario, crop.name), f"crops.{crop.name}"
        truth |= {
            f"{key}.typical_mass_g": mass,
            f"{key}.days_to_typical_mass": up + (crop.typical_days - up) / pace,
            f"{key}.days_spread_cv": spread,
        }
        grows = {
            "typical_mass_g": Uncertain(value=mass),
            "growth_pace": Uncertain(value=pace),
            "days_spread_cv": spread,
        }
        crops.append(crop.model_copy(update=grows))
    true = file.scenario.model_copy(update={"crops": tuple(crops)})
    book = trace(prepare(true), 2032, number, RunPlan(days=364, warm_up_days=112))
    return _learn(file, true, book, rng, dated=dated), truth


def _learn(file: LoadedRoom, true: Scenario, book: Book, rng: np.random.Generator, *, dated: bool = True) -> Learning:
    tables = _as_weighed(kept(book, true), rng)
    with tempfile.TemporaryDirectory() as folder:
        records = read_records(as_csv(tables if dated else _undated(tables), Path(folder)), file.scenario)
    assert records.set_aside == ()
    return learn(file, prepare(file.scenario), records, no_faults=True)


def demo_rooms(kind: str) -> Callable[[int], tuple[Learning, Truth]]:
    """Years of the demo room: "millrace", "undated" (no second moves written down) or "unlike" (lamps that differ)."""
    file = load_scenario(MILLRACE)
    file = unlike_lamps(file) if kind == "unlike" else file
    return lambda number: demo_learned_from(number, file, dated=kind != "undated")


def small_rooms() -> Callable[[int], tuple[Learning, Truth]]:
    """The tiny room, with everything that is learned unknown."""
    file = room_file()
    return lambda number: learned_from(number, file)


def coverage(rooms: range, learned: Callable[[int], tuple[Learning, Truth]]) -> dict[str, list[bool]]:
    """For each family of figures, whether the truth lay in the range that holds eight in ten."""
    held: dict[str, list[bool]] = defaultdict(list)
    for number in rooms:
        learning, truth = learned(number)
        for figure in learning.figures:
            family = next((name for name in FAMILIES if name in figure.key), None)
            if family is not None and figure.key in truth and (figure.records or family == "running_hours_to_failure"):
                held[family].append(figure.after.low <= truth[figure.key] <= figure.after.high)
    return held


if __name__ == "__main__":
    asked = int(sys.argv[1]) if len(sys.argv) > 1 else 200
    rooms = demo_rooms(sys.argv[2]) if len(sys.argv) > 2 else small_rooms()
    for family, inside in coverage(range(asked), rooms).items():
        print(f"{FAMILIES[family]:28s} {sum(inside):5d} of {len(inside):5d}  {sum(inside) / len(inside):6.1%}")
