"""What a sheet asks for and the record has as done at another shift: it is not asked again.

A sheet of the plan does not know what was done early, or in one go where the plan takes two shifts to it.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

from growsim.scenario.ahead import sowing_days
from growsim.scenario.record.record import PlantingRow, WorkRow
from growsim.web.shift.entries import Day, Item

WAITS_DAYS = 6  # so long a task of a sheet may be late; a sowing is given up then


def is_done(item: Item, day: Day, *, where: str = "", carried_on: bool = False) -> bool:
    """Whether the record has it. where: the reservoir. carried_on: whether the sheet has it begun before this shift."""
    if day.records is None:
        return False
    if item.task == "sow":
        return _is_sown(item, day, carried_on=carried_on)
    if item.task == "transplant":
        name = ("transplanted", "transplanted_again")[min(item.moves, 1)]
        moved = [row.plants_moved for row in _others(day)
                 if (row.crop, str(row.sown)) == (item.crop, item.sown) and getattr(row, name) is not None]  # fmt: skip
        stay = [each for each in day.standing.batches if (each.crop, str(each.sown)) == (item.crop, item.sown)]
        return bool(moved) and (None in moved or not stay or len({each.stage for each in stay}) == 1)
    days = _days_written(item.key, day)
    if item.task == "thin":
        return bool(days)
    if item.task == "change solution":
        weeks = next(each.change_every_weeks for each in day.room.scenario.reservoirs if each.name == where)
        return any((day.date - last).days < 7 * max(1, weeks) for last in days)
    return item.task == "harvest" and carried_on and any((day.date - last).days <= WAITS_DAYS for last in days)


def changes_due(day: Day) -> list[str]:
    """Reservoirs whose solution is due to be changed since it last was, by the record."""
    found = []
    for each in day.room.scenario.reservoirs if day.records is not None else ():
        days = _days_written(f"change solution {each.name}", day)
        if each.change_every_weeks and days and (day.date - max(days)).days >= 7 * each.change_every_weeks:
            found.append(each.name)
    return found


def _is_sown(item: Item, day: Day, *, carried_on: bool) -> bool:
    """Whether it was sown since it fell due. Of a crop, what fell due first is sown first, as many cells as it has;
    what fell due before the record began is nothing to it."""
    due, start = dt.date.fromisoformat(item.sown), day.room.scenario.room.start_date
    others = list(_others(day))
    if (due == day.date and not carried_on) or not others:
        return False
    began = max(min(due, day.date - dt.timedelta(days=WAITS_DAYS)), min(map(_written_on, others)))
    sown = sorted((row.sown, row.cells) for row in others
                  if row.crop == item.crop and row.cells and min(began, due) <= row.sown <= day.date)  # fmt: skip
    planned = sorted(
        (start + dt.timedelta(days=number), line.cells)
        for line in day.room.scenario.sowing if line.crop == item.crop
        for number in sowing_days(day.room.scenario, line, (began - start).days, (day.date - start).days + 1)
    )  # fmt: skip
    left = [cells for _, cells in sown]
    for planned_day, cells in planned:
        wanted = cells
        for number, (sown_day, _) in enumerate(sown):
            if sown_day >= planned_day:
                taken = min(wanted, left[number])
                left[number] -= taken
                wanted -= taken
        if planned_day == due and wanted == cells:
            return False
    return any(sown_day >= due for sown_day, _ in sown)


def _others(day: Day) -> Iterator[PlantingRow]:
    """What is on record of plantings up to this shift, without what is written of it itself."""
    for row in day.records.bits if day.records is not None else ():
        if _written_on(row) <= day.date and not row.entry.startswith(f"{day.prefix} "):
            yield row


def _written_on(row: PlantingRow | WorkRow) -> dt.date:
    return dt.date.fromisoformat(row.entry[:10]) if row.entry else row.date


def _days_written(key: str, day: Day) -> list[dt.date]:
    """Days of other shifts at which the item was written down on the page, up to this one."""
    rows: list[PlantingRow | WorkRow] = [*_others(day), *(day.records.work if day.records is not None else ())]
    return [_written_on(row) for row in rows
            if row.entry.partition(" #")[0].endswith(f" {key}") and not row.entry.startswith(f"{day.prefix} ")
            and _written_on(row) <= day.date]  # fmt: skip
