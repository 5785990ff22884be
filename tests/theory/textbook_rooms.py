"""The room's own crew, board, shelves, machines and power, set up as the cases that textbooks solve.

Nothing here queues, serves, blocks or repairs by itself: drivers only post jobs and ask for slots at random times.
Times of the textbook's unit are stretched to UNIT minutes, so that whole minutes do not matter.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Generator
from typing import Any

import numpy as np

from growsim.chance.fixed import FixedLuck
from growsim.chance.streams import Luck
from growsim.ledger.book import Book
from growsim.ledger.events import Repaired, WentDown, Worked
from growsim.room.board import Board, Job
from growsim.room.clock import Clock
from growsim.room.crew import Crew
from growsim.room.machines import Machine, Mains
from growsim.room.rota import Rota
from growsim.room.shelves import Grant, ShelfBook
from growsim.scenario.bays import Bays
from growsim.scenario.calendar import Calendar, Order
from growsim.scenario.equipment import Power, Reliability
from growsim.scenario.people import Crew as CrewSpec
from growsim.scenario.people import Shift
from growsim.scenario.place import Rack, Shelves, Tray

UNIT = 1_000  # minutes of the room for one unit of textbook time
FOR_EVER = 10**7  # hours
Process = Generator[Any, Any, None]


class Workshop:
    """A board and so many people on a shift that never ends, each job one piece."""

    def __init__(self, people: int) -> None:
        self.clock, self.book = Clock(0), Book(0)
        self.board = Board(self.clock, self.book, piece_minutes=10**9)
        # Past what a room file may say (24 h a day), on purpose: a shift's end would break into the textbook's service.
        shift = Shift(name="always", weekday="mon", start_hour=0, hours=24, people=people, lead=False).model_copy(
            update={"hours": FOR_EVER}
        )
        crew = Crew(
            CrewSpec(shifts=(shift,), chance_of_coming=(1.0,) * 12),
            people,  # so many are let in: next week's shift finds the room full
            self.clock,
            Calendar(dt.date(2031, 1, 6)),
            self.board,
            self.book,
            FixedLuck(),
        )
        crew.start(0)

    def job(self, about: str, minutes: int, done: Callable[[Job], None] = lambda _: None) -> None:
        """Post a job now."""
        self.board.post(Job("transplant", about, minutes, 0, False, 0, done), 1)


def minutes_of(units: np.ndarray) -> list[int]:
    """Textbook time to whole minutes, at least one."""
    return [max(1, round(unit)) for unit in (units * UNIT).tolist()]


def mean_wait(people: int, between: np.ndarray, work: np.ndarray, leave_out: int) -> float:
    """Mean wait (textbook units) for a free person, first come first served, from an empty board.

    between: times from one job to the next. work: of each job. The first `leave_out` jobs are not counted.
    """
    shop = Workshop(people)
    work_minutes = minutes_of(work)
    posted: dict[str, int] = {}

    def arrivals() -> Process:
        for number, (wait, minutes) in enumerate(zip(minutes_of(between), work_minutes, strict=True)):
            yield shop.clock.until(shop.clock.now + wait, Order.CALENDAR)
            posted[str(number)] = shop.clock.now
            shop.job(str(number), minutes)

    shop.clock.live(arrivals())
    shop.clock.run(sum(minutes_of(between)) + sum(work_minutes) + 1)
    began = {record.about: record.began_minute for record in shop.book.of(Worked)}
    waits = [began[str(number)] - posted[str(number)] for number in range(leave_out, len(work_minutes))]
    return sum(waits) / len(waits) / UNIT


def machines_down(
    machines: int, mean_up: float, mean_repair: float, repairers: int, units: float, luck: np.random.Generator
) -> float:
    """Mean number of machines down or in repair over `units`, the first tenth left out; a repair is a job."""
    shop = Workshop(repairers)
    down = shop.book.level("down")

    def machine(name: str) -> Process:
        while True:
            (up,) = minutes_of(luck.exponential(mean_up, 1))
            yield shop.clock.until(shop.clock.now + up, Order.CALENDAR)
            down.add(shop.clock.now, 1)
            mended = shop.clock.event()
            (work,) = minutes_of(luck.exponential(mean_repair, 1))
            shop.job(name, work, lambda _, mended=mended: shop.clock.answer(mended, None))
            yield mended
            down.add(shop.clock.now, -1)

    for number in range(machines):
        shop.clock.live(machine(str(number)))
    end = round(units * UNIT)
    shop.clock.run(end)
    return down.means(end // 10, end - end // 10, 1)[0]


def rack(name: str, stage: str, slots: int) -> Rack:
    """A rack with so many slots for one stage."""
    shelf = Shelves(name="only", count=1, slots=slots, slot_length_cm=60, slot_width_cm=40, stages=(stage,))
    return Rack(name=name, reservoir="reservoir", lights="lights", shelves=(shelf,))


def shelf_book(racks: tuple[Rack, ...], clock: Clock, book: Book) -> ShelfBook:
    """The shelf book of some racks, with one kind of tray."""
    tray = Tray(name="tray", places=1, length_cm=60, width_cm=40, plug_volume_ml=20)
    stages = sorted({stage for rack in racks for shelf in rack.shelves for stage in shelf.stages})
    bays = Bays(racks, {"lights": 100.0}, [(stage, tray) for stage in stages])
    return ShelfBook(bays, {"tray": tray}, clock, book)


def line_throughput(stations: int, pieces: int, leave_out: int, luck: np.random.Generator) -> float:
    """Pieces a textbook unit out of a line of one-slot racks that never lacks pieces.

    A piece holds its slot while it is worked on and until it has the next one.
    """
    shop = Workshop(stations)
    book = shelf_book(tuple(rack(f"rack {k}", f"stage {k}", 1) for k in range(stations)), shop.clock, shop.book)
    work = [minutes_of(luck.exponential(1.0, pieces)) for _ in range(stations)]
    out: list[int] = []

    def granted_slot(k: int) -> Any:
        answer = shop.clock.event()
        book.ask(f"stage {k}", "tray", 1, 2**60, lambda grant: shop.clock.answer(answer, grant))
        return answer

    def piece(number: int) -> Process:
        held: Grant = []
        for k in range(stations):
            grant = yield granted_slot(k)
            for bay, trays in held:
                book.give_back(bay, f"stage {k - 1}", trays)
            held = grant
            if k == 0 and number + 1 < pieces:  # the next one stands at the door
                shop.clock.live(piece(number + 1))
            done = shop.clock.event()
            shop.job(f"{number}", work[k][number], lambda _, done=done: shop.clock.answer(done, None))
            yield done
        book.give_back(held[0][0], f"stage {stations - 1}", 1)
        out.append(shop.clock.now)

    shop.clock.live(piece(0))
    shop.clock.run(sum(map(sum, work)) + 1)
    assert len(out) == pieces
    return (pieces - leave_out) / ((out[-1] - out[leave_out - 1]) / UNIT)


def share_blocked(
    slots: int, load: float, arrivals: int, stay: Callable[[int], np.ndarray], luck: np.random.Generator
) -> float:
    """Share of requests that find no slot and cannot wait. stay: times in a slot, mean 1."""
    clock, log = Clock(0), Book(0)
    book = shelf_book((rack("rack", "stage", slots),), clock, log)
    between, stays = minutes_of(luck.exponential(1.0 / load, arrivals)), minutes_of(stay(arrivals))
    blocked = 0

    def requests() -> Process:
        for wait, minutes in zip(between, stays, strict=True):
            yield clock.until(clock.now + wait, Order.CALENDAR)
            book.ask("stage", "tray", 1, clock.now, lambda grant, minutes=minutes: settle(grant, minutes))

    def settle(grant: Grant, minutes: int) -> None:
        nonlocal blocked
        if not grant:
            blocked += 1
            return
        ((bay, trays),) = grant
        clock.at(clock.now + minutes, Order.FINISHED, lambda _: book.give_back(bay, "stage", trays))

    clock.live(requests())
    clock.run(sum(between) + 1)
    return blocked / arrivals


def machine_share_down(
    reliability: dict[str, Any], running_share: float, days: int, replication: int, crew: CrewSpec
) -> float:
    """Share of the time that a machine is down, over so many days."""
    clock, book = Clock(0), Book(0)
    rota = Rota(crew, Calendar(dt.date(2031, 1, 6)))
    spec = Reliability.model_validate(reliability)
    machine = Machine("pump", "reservoir", spec, running_share, clock, book, Luck(2031, replication), rota)
    machine.start()
    clock.run(days * 1440)
    return minutes_down(book, days * 1440) / (days * 1440)


def outage_minutes_a_year(outages_per_year: float, outage_hours: dict[str, Any], years: int, replication: int) -> float:
    """Minutes without utility power in a year, on average over so many years."""
    clock, book = Clock(0), Book(0)
    mains = Mains(
        Power.model_validate({"outages_per_year": outages_per_year, "outage_hours": outage_hours}), clock, book,
        Luck(2031, replication),
    )  # fmt: skip
    mains.start()
    end = round(years * 365.25 * 1440)
    clock.run(end)
    return minutes_down(book, end) / years


def minutes_down(book: Book, end: int) -> int:
    """Minutes between the log book's WentDown and Repaired; a spell still open lasts to the end."""
    repaired = list(book.of(Repaired))
    went = list(book.of(WentDown))
    assert 0 <= len(went) - len(repaired) <= 1
    return sum(record.down_minutes for record in repaired) + sum(
        end - record.minute for record in went[len(repaired) :]
    )
