"""Who did what where, read out of a log book: the work of each shift in the order in which it was taken up."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from growsim.ledger.events import Found, Germinated, Harvested, Sown, TaskDone, TaskDue, Transplanted, Worked
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.scenario.scenario import Scenario


@dataclass(frozen=True)
class Line:
    """One task in one shift.

    count, unit: of the whole task. minutes: person-minutes in this shift. where, to: racks (to only for a move). trays:
    that it fills, or washes. grams: a harvest brings, on paper. carried_on: begun in an earlier shift; goes_on: not
    finished in this one. sown: date the lot was sown, as the lot's name has it.
    """

    task: str
    crop: str = ""
    sown: str = ""
    lot: str = ""
    where: str = ""
    to: str = ""
    stage: str = ""
    count: float = 0.0
    unit: str = ""
    trays: int = 0
    grams: int = 0
    minutes: int = 0
    people: int = 0
    lead_only: bool = False
    carried_on: bool = False
    goes_on: bool = False


def lines_of_shifts(book: Book, scenario: Scenario) -> dict[tuple[int, str], tuple[Line, ...]]:
    """(day, shift) -> its lines, in the order in which people took them up."""
    jobs = _jobs(book, scenario)
    pieces: dict[tuple[int, str], dict[int, list[Worked]]] = {}
    named = _by_name(jobs)
    for worked in book.of(Worked):
        job = _job_of(named, worked)
        shift = worked.person.rpartition("/")[0]
        key = (worked.began_minute // 1440, shift)
        pieces.setdefault(key, {}).setdefault(job.number, []).append(worked)
    shifts_of: dict[int, list[tuple[int, str]]] = {}
    for key in sorted(pieces):
        for number in pieces[key]:
            shifts_of.setdefault(number, []).append(key)
    found = {}
    for key, worked_on in pieces.items():
        in_order = sorted(worked_on.items(), key=lambda item: (item[1][0].began_minute, item[0]))
        found[key] = tuple(
            replace(
                jobs[number].line,
                minutes=sum(piece.minute - piece.began_minute for piece in done),
                people=len({piece.person for piece in done}),
                carried_on=shifts_of[number][0] != key,
                goes_on=shifts_of[number][-1] != key or jobs[number].done_minute is None,
            )
            for number, done in in_order
        )
    return found


@dataclass
class _Job:
    number: int
    task: str
    about: str
    posted_minute: int
    line: Line
    done_minute: int | None = None


def _by_name(jobs: list[_Job]) -> dict[tuple[str, str], list[_Job]]:
    """Jobs of the same task and lot, in the order in which they were posted."""
    named: dict[tuple[str, str], list[_Job]] = {}
    for job in jobs:
        named.setdefault((job.task, job.about), []).append(job)
    return named


def _job_of(named: dict[tuple[str, str], list[_Job]], worked: Worked) -> _Job:
    """The job a piece of work belongs to: the first of its name not finished before the piece was."""
    same = named[worked.task, worked.about]
    return next(
        (
            job
            for job in same
            if job.posted_minute <= worked.began_minute
            and (job.done_minute is None or job.done_minute >= worked.minute)
        ),
        same[-1],
    )


def _jobs(book: Book, scenario: Scenario) -> list[_Job]:
    """Every task that came onto the board, with what, where and how much."""
    lead_only = {str(task.name): task.needs_lead for task in scenario.crew.tasks}
    whole = {crop.name: crop.unit for crop in scenario.crops if crop.is_cut_whole}
    jobs: list[_Job] = []
    open_jobs: dict[tuple[str, str], list[_Job]] = {}
    rack: dict[str, str] = {}
    crop: dict[str, str] = {}
    done_now: list[_Job] = []
    for record in book.records:
        kind = type(record)
        if kind in (Sown, Found, Germinated, Transplanted, Harvested):
            _place(record, kind, rack, crop, done_now)
        elif kind is TaskDue:
            line = _line(record, rack, crop, lead_only.get(record.task, False))
            job = _Job(len(jobs), record.task, record.about, record.minute, line)
            jobs.append(job)
            open_jobs.setdefault((record.task, record.about), []).append(job)
        elif kind is TaskDone:
            waiting = open_jobs.get((record.task, record.about))
            if waiting:
                job = waiting.pop(0)
                job.done_minute = record.minute
                done_now.append(job)
                del done_now[:-8]  # what a task brought is written right after it was done
    for job in jobs:  # a lot that was never placed has its crop in its name
        if not job.line.crop and "/" in job.about:
            job.line = replace(job.line, crop=crop.get(job.line.lot, _crop_in_name(job.line.lot)))
        if job.line.crop in whole and job.line.unit in ("cell", "plant"):
            job.line = replace(job.line, unit=whole[job.line.crop])
    return jobs


def _place(record: Any, kind: type, rack: dict[str, str], crop: dict[str, str], done_now: list[_Job]) -> None:
    """Note where a part stands now, and tell the task that brought it there."""
    about = f"{record.lot} #{record.part}"
    crop[record.lot] = record.crop
    task = {Sown: "sow", Transplanted: "transplant", Harvested: "harvest"}.get(kind)
    job = next((job for job in reversed(done_now) if job.about == about and job.task == task), None)
    if kind is Transplanted and job is not None:
        where = job.line.where or rack.get(about, "")
        job.line = replace(
            job.line, crop=record.crop, where=where, to=record.rack, stage=record.stage, trays=record.trays
        )
    elif kind is Sown and job is not None:
        job.line = replace(job.line, crop=record.crop, where=record.rack)
    elif kind is Harvested and job is not None:
        job.line = replace(job.line, crop=record.crop, where=record.rack, grams=record.grams)
    if kind is not Germinated:
        rack[about] = record.rack
        rack.setdefault(record.lot, record.rack)


def _line(due: TaskDue, rack: dict[str, str], crop: dict[str, str], lead_only: bool) -> Line:
    lot, _, part = due.about.rpartition(" #")
    if not part.isdigit():
        return Line(due.task, where=due.about, count=due.units, unit=TASKS[due.task].unit, lead_only=lead_only)
    return Line(
        due.task,
        crop=crop.get(lot, ""),
        sown=_sown_in_name(lot),
        lot=lot,
        where=rack.get(due.about, rack.get(lot, "")),
        count=due.units,
        unit=TASKS[due.task].unit,
        trays=round(due.units) if due.task == "wash" else 0,
        lead_only=lead_only,
    )


def _sown_in_name(lot: str) -> str:
    first = lot.partition("/")[0]
    try:
        return dt.date.fromisoformat(first).isoformat()
    except ValueError:
        return ""


def _crop_in_name(lot: str) -> str:
    parts = lot.split("/")
    return parts[1] if len(parts) > 2 else ""
