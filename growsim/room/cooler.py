"""The cooler and the partners: packed greens wait, partners collect, what no order needs before it spoils goes to open
distribution."""

from __future__ import annotations

from operator import itemgetter
from typing import TYPE_CHECKING, Final

from growsim.ledger.events import HandedOut, OrderServed, Packed, Wasted
from growsim.scenario.calendar import Calendar, Order, day_of, minute_of
from growsim.vocabulary.days import WEEKDAYS

if TYPE_CHECKING:
    from collections.abc import Callable

    from growsim.ledger.book import Book
    from growsim.room.clock import Clock
    from growsim.scenario.demand import Partner
    from growsim.scenario.scenario import Scenario

ANY: Final = "any"


class Crate:
    """Greens of one harvest, waiting. They may wait until `last_minute`."""

    __slots__ = ("crop", "grams", "harvest_minute", "last_minute", "lot")

    def __init__(self, lot: str, crop: str, grams: int, harvest_minute: int, last_minute: int) -> None:
        self.lot = lot
        self.crop = crop
        self.grams = grams
        self.harvest_minute = harvest_minute
        self.last_minute = last_minute


Wants = list[tuple[str, list[tuple[str, int]]]]  # crop and those who want it alike: (partner, grams)


def in_turn(partners: list[Partner], month: int) -> Wants:
    """What partners of one hour want in a month, as they are served: orders for a named crop first, then 'any';
    within each, by priority."""
    wanted = [
        (order.crop == ANY, order.crop, partner.priority, partner.name, round(order.kg * 1000))
        for partner in partners
        for order in partner.ordered_in(month)
    ]
    turns: dict[tuple[bool, str, int], list[tuple[str, int]]] = {}
    for is_any, crop, priority, name, grams in sorted(wanted, key=itemgetter(0, 1, 2)):
        turns.setdefault((is_any, crop, priority), []).append((name, grams))
    return [(crop, alike) for (_, crop, _), alike in turns.items()]


class Cooler:
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
        self._wants: dict[tuple[str, float, int, tuple[str, ...]], Wants] = {}
        self._pick_ups: dict[tuple[int, float], list[Partner]] = {}  # by weekday and hour
        self._due_today: list[tuple[int, Wants]] = []  # pick-ups still to come today: (minute, what is wanted)
        self.on_change: Callable[[], object] = lambda: None  # what is due today may be otherwise

    def start(self, first_day: int) -> None:
        """Put every weekly pick-up and the surplus on the calendar. Partners of one hour come together."""
        for partner in self._partners:
            self._pick_ups.setdefault((WEEKDAYS.index(partner.weekday), partner.hour), []).append(partner)
        for (weekday, hour), partners in self._pick_ups.items():
            self._plan_pick_up(self._calendar.first_on(WEEKDAYS[weekday], first_day), hour, partners)
        self._plan_surplus(self._calendar.first_on(self._harvest.surplus_weekday, first_day))

    def add(self, lot: str, part: int, crop: str, grams: int, harvest_minute: int) -> None:
        """Packed greens go in."""
        self._book.write(Packed(self._clock.now, lot, part, crop, grams))
        if grams > 0:
            self.hold(lot, crop, grams, harvest_minute)
            if self._due_today:
                self.on_change()

    def hold(self, lot: str, crop: str, grams: int, harvest_minute: int) -> None:
        """Greens that lie there from the start, packed before."""
        self._crates.append(Crate(lot, crop, grams, harvest_minute, harvest_minute + self._keeps_minutes[crop]))
        self._crates.sort(key=lambda crate: crate.harvest_minute)

    @property
    def grams(self) -> int:
        """Everything in the cooler."""
        return sum([crate.grams for crate in self._crates])

    def _plan_pick_up(self, day: int, hour: float, partners: list[Partner]) -> None:
        def pick_up(_: object) -> None:
            self._plan_pick_up(day + 7, hour, partners)
            if not self._calendar.is_closed(day):
                wants = self._wanted(partners, day)
                self._due_today = [due for due in self._due_today if due[1] is not wants]
                self._serve(wants)
                self.on_change()

        def morning(_: object) -> None:
            if not self._calendar.is_closed(day):
                wants = self._wanted(partners, day)
                self._due_today.append((minute_of(day, hour), wants))
                self.on_change()

        self._clock.at(day * 1440, Order.OPENING, morning)
        self._clock.at(minute_of(day, hour), Order.COOLER, pick_up)

    def is_due_today(self, crop: str) -> bool:
        """Whether partners who come later today want more of the crop than the cooler has, or more of any than it has
        in all."""
        of_crop = of_any = 0
        for _, wants in self._due_today:
            for want, alike in wants:
                grams = sum([each for _, each in alike])
                if want == crop:
                    of_crop += grams
                elif want == ANY:
                    of_any += grams
        return of_any > self.grams or of_crop > self._grams_of(crop)

    def _grams_of(self, crop: str) -> int:
        return sum([crate.grams for crate in self._crates if crate.crop == crop])

    def _wanted(self, partners: list[Partner], day: int) -> Wants:
        """What partners of one hour want on a day: the same list for all days on which the same ones collect."""
        month, collecting = self._calendar.month(day) + 1, partners
        if any(partner.closed_days for partner in partners):
            date = self._calendar.date(day)
            collecting = [partner for partner in partners if partner.collects(date)]
        key = (partners[0].weekday, partners[0].hour, month, tuple([partner.name for partner in collecting]))
        if key not in self._wants:
            self._wants[key] = in_turn(collecting, month)
        return self._wants[key]

    def _plan_surplus(self, day: int) -> None:
        def hand_out(_: object) -> None:
            self._plan_surplus(day + 7)
            if not self._calendar.is_closed(day):
                self._throw_out_old()
                for crate, kept in zip(self._crates, self._kept_for_orders(), strict=True):
                    given, crate.grams = crate.grams - kept, kept
                    if given:
                        self._book.write(
                            HandedOut(self._clock.now, crate.lot, crate.crop, "", given, crate.harvest_minute)
                        )
                self._crates = [crate for crate in self._crates if crate.grams > 0]

        self._clock.at(minute_of(day, self._harvest.surplus_hour), Order.COOLER, hand_out)

    def _kept_for_orders(self) -> list[int]:
        """Grams of each crate that partners will take before it is too old, if nothing more is harvested."""
        left = [crate.grams for crate in self._crates]
        for minute, wants in self._to_come(max([crate.last_minute for crate in self._crates], default=self._clock.now)):
            for crop, alike in wants:
                wanted = sum([grams for _, grams in alike])
                for number, crate in enumerate(self._crates):
                    if crop in (crate.crop, ANY) and crate.last_minute >= minute:
                        taken = min(left[number], wanted)
                        left[number] -= taken
                        wanted -= taken
        return [crate.grams - rest for crate, rest in zip(self._crates, left, strict=True)]

    def _to_come(self, until: int) -> list[tuple[int, Wants]]:
        """Pick-ups still to come until a minute, in turn."""
        found = list(self._due_today)
        for day in range(day_of(self._clock.now) + 1, day_of(until) + 1):
            if not self._calendar.is_closed(day):
                for (weekday, hour), partners in self._pick_ups.items():
                    if weekday == self._calendar.weekday(day):
                        found.append((minute_of(day, hour), self._wanted(partners, day)))
        return sorted([due for due in found if due[0] <= until], key=itemgetter(0))

    def _throw_out_old(self) -> None:
        now = self._clock.now
        for crate in self._crates:
            if crate.last_minute < now:
                self._book.write(Wasted(now, crate.lot, crate.crop, crate.grams))
        self._crates = [crate for crate in self._crates if crate.last_minute >= now]

    def _serve(self, wants: Wants) -> None:
        if wants:
            self._throw_out_old()
        for crop, wanted in wants:
            self._share_out(crop, wanted)

    def _share_out(self, crop: str, wanted: list[tuple[str, int]]) -> None:
        """Equals share in proportion to what they want."""
        there = sum([crate.grams for crate in self._crates if crop in (crate.crop, ANY)])
        for (partner, grams), share in zip(wanted, fair_shares(there, [grams for _, grams in wanted]), strict=True):
            self._hand_out(partner, crop, share)
            self._book.write(OrderServed(self._clock.now, partner, crop, grams, share))

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
            self._book.write(HandedOut(self._clock.now, crate.lot, crate.crop, partner, given, crate.harvest_minute))
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
