"""`learn`: what a room's own record says about it, put together from its parts."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from growsim.run.prepare import Prepared
from growsim.scenario.change import apply_change, merged
from growsim.scenario.load import LoadedRoom, scenario_from
from growsim.scenario.record.record import Records
from growsim.scenario.scenario import Scenario
from growsim.study.learn.crops import lesson_of_crop
from growsim.study.learn.learned import Drift, Learned, Odd
from growsim.study.learn.light import Lamps, dark_times
from growsim.study.learn.moves import WorkDays, delays_of
from growsim.study.learn.pasts import Around
from growsim.study.learn.people import lesson_of_attendance, lesson_of_work
from growsim.study.learn.upkeep import lesson_of_faults

if TYPE_CHECKING:
    import pandas as pd

    from growsim.study.learn.learned import ForecastCheck

ABOUT = "learned from the record"


@dataclass(frozen=True)
class Learning:
    """All that was learned. change: tables of the CHANGE file (without [change]); scenario: the room with it made.

    forecast_check: how well the last weeks were forecast from what came before, where that was asked for.
    """

    records: Records
    before: Scenario
    scenario: Scenario
    figures: tuple[Learned, ...]
    odd: tuple[Odd, ...]
    drift: tuple[Drift, ...]
    not_learned: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    change: dict[str, Any]
    first: dt.date
    last: dt.date
    forecast_check: ForecastCheck | None = None

    def to_frame(self) -> pd.DataFrame:
        """One row a figure learned: key, what, label, unit, stated, before and after (mean, and the range that holds
        eight in ten), records, of, prior_share."""
        import pandas as pd

        return pd.DataFrame(
            [
                {
                    "key": figure.key, "what": figure.what, "label": figure.label, "unit": figure.unit,
                    "stated": figure.stated, "before": figure.before.mean, "before_low": figure.before.low,
                    "before_high": figure.before.high, "after": figure.after.mean, "after_low": figure.after.low,
                    "after_high": figure.after.high, "records": figure.records, "of": figure.of,
                    "prior_share": figure.prior_share,
                }
                for figure in self.figures
            ]
        )  # fmt: skip


def learn(room: LoadedRoom, prepared: Prepared, records: Records, *, no_faults: bool = False) -> Learning:
    """Everything the records teach about the room. no_faults: an empty table of faults says that nothing failed.

    Raises RoomFileError where the learned figures make no possible room.
    """
    scenario = room.scenario
    first, last = records.first, records.last
    said = f"{first.isoformat()} to {last.isoformat()}"
    dark = dark_times(records.faults, [bank.name for bank in scenario.lights])
    work = WorkDays(scenario)
    around = Around(Lamps(scenario, dark), work, delays_of(records.plantings, scenario, work))
    lessons = [
        lesson_of_crop(crop, scenario, prepared.curves, records.plantings, around, said) for crop in scenario.crops
    ]
    lessons.append(lesson_of_attendance(records.attendance, scenario.crew, said))
    lessons.append(lesson_of_work(records.timed, records.attendance, scenario.crew, said))
    notes: list[str] = list(_notes(scenario, first, last))
    if times := len({time for each in dark.values() for time in each}):
        notes.append(
            f"The lights were out {times} time{'s' if times > 1 else ''} by the table of faults. Those hours do not "
            f"count as growing time, so a crop is not taken to be slower for them."
        )
    if records.faults or no_faults:
        lessons.append(lesson_of_faults(records.faults, scenario, first, last, said))
        if not records.faults:
            notes.append(f"Nothing failed from {first} to {last}, as --no-faults says.")
    elif any(table.table == "faults" for table in records.tables):
        notes.append(
            "The table of faults is empty, so nothing is learned of machines; where truly nothing failed, say "
            "--no-faults."
        )
    change = merged(piece for lesson in lessons for piece in lesson.change)
    raw = apply_change(room.raw, change, file="learned.toml") if change else room.raw
    learned_room, _ = scenario_from(raw, "learned.toml")
    return Learning(
        records=records,
        before=scenario,
        scenario=learned_room,
        figures=_all(lesson.figures for lesson in lessons),
        odd=_all(lesson.odd for lesson in lessons),
        drift=_all(lesson.drift for lesson in lessons),
        not_learned=_all(lesson.not_learned for lesson in lessons),
        notes=(*notes, *_all(lesson.notes for lesson in lessons)),
        change=change,
        first=first,
        last=last,
    )


def _all(parts: Iterable[tuple[Any, ...]]) -> tuple[Any, ...]:
    return tuple(each for part in parts for each in part)


def _notes(scenario: Scenario, first: dt.date, last: dt.date) -> Iterable[str]:
    """Warn where the room file has learned from this very time before: records must not count twice."""
    texts = [
        figure.source
        for crop in scenario.crops
        for figure in (crop.germination_fraction, crop.typical_mass_g, crop.growth_pace)
        if figure.source.startswith("learned from")
    ]
    for text in dict.fromkeys(texts):
        days = [dt.date.fromisoformat(word.strip("();,")) for word in text.split() if _is_date(word.strip("();,"))]
        if len(days) >= 2 and days[0] <= last and first <= days[1]:
            yield (
                f"The room file has learned from a record of {days[0]} to {days[1]} already: what both records hold "
                "counts twice. Learn from the room file of before, or say --from."
            )
            return


def _is_date(word: str) -> bool:
    try:
        dt.date.fromisoformat(word)
    except ValueError:
        return False
    return len(word) == 10
