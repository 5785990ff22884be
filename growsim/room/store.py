"""The cold store and the partners: packed greens wait, partners collect, what is left goes to open distribution."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.ledger.events import HandedOut, OrderServed, Packed, Wasted
from growsim.spec.calendar import Calendar, Order, day_of, minute_of

if TYPE_CHECKING:
    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.spec.demand import Order as OrderSpec
    from growsim.spec.demand import Partner
    from growsim.spec.scenario import Scenario

ANY = "any"


@dataclass(slots=True)
class Crate:
    """Greens of one cut, waiting. They may wait until `last_minute`."""

    lot: str
    crop: str
    grams: int
    cut_minute: int
    last_minute: int


class Store:
    """Crates, oldest first, and who takes them when."""

    def __init__(self, scenario: Scenario, clock: Clock, calendar: Calendar, book: Book) -> None:
        self._clock, self._calendar, self._book = clock, calendar, book
        self._partners = scenario.partners
        self._harvest = scenario.harvest
        self._keeps_minutes = {
            crop.name: round(min(crop.shelf_life_days, scenario.harvest.longest_wait_days) * 1440)
            for crop in scenario.crops
        }
        self._crates: list[Crate] = []

    def start(self, first_day: int) -> None:
        """Put every weekly pick-up and the surplus on the calendar. Partners of one hour come together."""
        pick_ups: dict[tuple[str, float], list[Partner]] = {}
        for partner in self._partners:
            pick_ups.setdefault((partner.weekday, partner.hour), []).append(partner)
        for (weekday, hour), partners in pick_ups.items():
            self._plan_pick_up(self._calendar.first_on(weekday, first_day), hour, partners)
        self._plan_surplus(self._calendar.first_on(self._harvest.surplus_weekday, first_day))

    def add(self, lot: str, part: int, crop: str, grams: int, cut_minute: int) -> None:
        """Packed greens go in."""
        self._book.write(Packed(self._clock.now, lot, part, crop, grams))
        if grams > 0:
            self.hold(lot, crop, grams, cut_minute)

    def hold(self, lot: str, crop: str, grams: int, cut_minute: int) -> None:
        """Greens that lie there from the start, packed before."""
        self._crates.append(Crate(lot, crop, grams, cut_minute, cut_minute + self._keeps_minutes[crop]))
        self._crates.sort(key=lambda crate: crate.cut_minute)

    @property
    def grams(self) -> int:
        """Everything in the store."""
        return sum(crate.grams for crate in self._crates)

    def _plan_pick_up(self, day: int, hour: float, partners: list[Partner]) -> None:
        def pick_up(_: object) -> None:
            self._plan_pick_up(day + 7, hour, partners)
            if not self._calendar.is_closed(day):
                self._serve(partners)

        self._clock.at(minute_of(day, hour), Order.STORE, pick_up)

    def _plan_surplus(self, day: int) -> None:
        def hand_out(_: object) -> None:
            self._plan_surplus(day + 7)
            if not self._calendar.is_closed(day):
                self._throw_out_old()
                for crate in self._crates:
                    self._book.write(
                        HandedOut(self._clock.now, crate.lot, crate.crop, "", crate.grams, crate.cut_minute)
                    )
                self._crates.clear()

        self._clock.at(minute_of(day, self._harvest.surplus_hour), Order.STORE, hand_out)

    def _throw_out_old(self) -> None:
        now = self._clock.now
        for crate in self._crates:
            if crate.last_minute < now:
                self._book.write(Wasted(now, crate.lot, crate.crop, crate.grams))
        self._crates = [crate for crate in self._crates if crate.last_minute >= now]

    def _serve(self, partners: list[Partner]) -> None:
        """Orders for a named crop first, then 'any'; within each, by priority, equals by fair share."""
        month = self._calendar.month(day_of(self._clock.now)) + 1
        wanted = [
            (partner, order)
            for partner in partners
            for order in partner.orders
            if not order.months or month in order.months
        ]
        if wanted:
            self._throw_out_old()
        crops = sorted({order.crop for _, order in wanted}, key=lambda crop: (crop == ANY, crop))
        for crop in crops:
            of_crop = [(partner, order) for partner, order in wanted if order.crop == crop]
            for priority in sorted({partner.priority for partner, _ in of_crop}):
                self._share_out(crop, [(p, order) for p, order in of_crop if p.priority == priority])

    def _share_out(self, crop: str, wanted: list[tuple[Partner, OrderSpec]]) -> None:
        there = sum(crate.grams for crate in self._crates if crop in (crate.crop, ANY))
        shares = fair_shares(there, [round(order.kg * 1000) for _, order in wanted])
        for (partner, order), share in zip(wanted, shares, strict=True):
            self._hand_out(partner.name, crop, share)
            self._book.write(OrderServed(self._clock.now, partner.name, crop, round(order.kg * 1000), share))

    def _hand_out(self, partner: str, crop: str, grams: int) -> None:
        """Oldest first."""
        for crate in self._crates:
            if grams <= 0:
                break
            if crop not in (crate.crop, ANY):
                continue
            given = min(crate.grams, grams)
            crate.grams -= given
            grams -= given
            self._book.write(HandedOut(self._clock.now, crate.lot, crate.crop, partner, given, crate.cut_minute))
        self._crates = [crate for crate in self._crates if crate.grams > 0]


def fair_shares(there: int, wanted: list[int]) -> list[int]:
    """Share out whole grams: everyone the same fraction of what they want, all of it where there is enough.

    Left-over grams of rounding go one by one to the first in line.
    """
    total = sum(wanted)
    if total <= there:
        return list(wanted)
    shares = [there * want // total for want in wanted]
    short = [index for index, want in enumerate(wanted) if shares[index] < want]
    for index in short[: there - sum(shares)]:
        shares[index] += 1
    return shares
