"""What trials in the same years brought, what of it is advised, and what holds the room back by them."""

from __future__ import annotations

import math
from collections.abc import Collection
from dataclasses import dataclass, replace
from typing import Any, Final

from growsim.study.causes import AtFirst, Cause, Lacking
from growsim.study.pay_back import Range
from growsim.study.to_try import SHORT, Trial
from growsim.study.verdicts import NOISE
from growsim.vocabulary.obstacles import parts_of

GREENS: Final = "greens"
ORDERS: Final = "orders_filled_fraction"
LITTLE: Final = 0.05  # kilograms a week: less is not advised, however certain
LITTLE_SHARE: Final = 0.01  # of pick-ups, the same
A_TENTH: Final = 0.1


@dataclass(frozen=True)
class Tried:
    """What one trial, or two together, brought: handed out and to partners, kilograms a week; orders, a share of what
    was ordered (None where nothing is). Differences to the room as it is, in the same years; all ranges hold at once.
    by_pick_ups: orders is the share of pick-ups met in full, and that alone counts. less_missing: of what partners
    lack, kilograms a rehearsal.
    """

    trials: tuple[Trial, ...]
    kg: Range
    to_partners: Range
    orders: Range | None
    years: int
    by_pick_ups: bool = False
    less_missing: Range | None = None

    @property
    def name(self) -> str:
        """What to do, as one says it."""
        names = [trial.name for trial in self.trials]
        return (", and " if any("," in name for name in names) else " and ").join(names)

    @property
    def tables(self) -> dict[str, Any] | None:
        """As one CHANGE file; None for several together, which are changes one after the other."""
        return self.trials[0].tables if len(self.trials) == 1 else None

    @property
    def worth(self) -> float:
        """By what trials are ranked: kilograms handed out and, once more, those that partners ordered; or pick-ups."""
        return math.fsum(found.mean for found, _ in self._counted())

    @property
    def brings_more(self) -> bool:
        """Whether it brings more of what counts for certain, and no less of any of it that matters."""
        found = self._counted()[: 1 if self.orders is None else 2]
        more = any(each.low is not None and each.low > NOISE and each.mean >= little for each, little in found)
        return more and not any(each.mean < -little for each, little in found)

    @property
    def sure(self) -> tuple[str, ...]:
        """Of what it brings more for certain: GREENS, ORDERS, both or neither."""
        counted = ((GREENS, self.kg, LITTLE), (ORDERS, self.orders, LITTLE_SHARE))
        return tuple(
            what for what, found, little in counted if found and (found.low or 0.0) > NOISE and found.mean >= little
        )

    @property
    def is_for_orders(self) -> bool:
        """Whether it fills more orders for certain, with fewer greens in all."""
        return ORDERS in self.sure and self.kg.mean < -LITTLE

    @property
    def is_likely_more(self) -> bool:
        """Whether it brings more on average, if not for certain."""
        return self.worth >= self._counted()[0][1]

    def is_decided(self, among: Collection[Tried]) -> bool:
        """Whether a range half as wide, as of four times the years, would say the same of it."""
        ranges = (self.kg, self.to_partners, self.orders)
        kg, to_partners, orders = (None if each is None else each.half_as_wide for each in ranges)
        assert kg is not None
        assert to_partners is not None
        half = replace(self, kg=kg, to_partners=to_partners, orders=orders)
        return self._is_advised(among) == half._is_advised(among)

    def _is_advised(self, among: Collection[Tried]) -> bool:
        alone = [each for each in among if len(each.trials) < len(self.trials)]
        return (self.brings_more or self.is_for_orders) and all(self.beats(each) for each in alone)

    def beats(self, other: Tried) -> bool:
        """Whether it brings more for certain than the other does on average, and enough more to be worth doing one
        thing more."""
        return any(
            own.low is not None and own.low > its.mean + max(little, A_TENTH * abs(its.mean))
            for (own, little), (its, _) in zip(self._counted(), other._counted(), strict=True)
        )

    def _counted(self) -> list[tuple[Range, float]]:
        """What counts, each with what is too little to be advised."""
        if self.by_pick_ups and self.orders is not None:
            return [(self.orders, LITTLE_SHARE)]
        return [(self.kg, LITTLE), (self.to_partners, LITTLE)]


@dataclass(frozen=True)
class Held:
    """What holds the room back. causes: what was waited for (see `study.causes`). tried: all that was tried, in few
    years; was_tried says whether anything could be. best: the two best, and both together, in other years, best first.
    lacking: what partners lack, by crop. without_closings: the room open on every day, in few years; None where that
    was not lived, or nothing is closed. with_full_shelves: begun with full shelves, in few years, where it begins with
    bare ones; at_first: what is missing then while they fill.
    """

    causes: tuple[Cause, ...]
    was_tried: bool = False
    tried: tuple[Tried, ...] = ()
    best: tuple[Tried, ...] = ()
    lacking: tuple[Lacking, ...] = ()
    without_closings: Tried | None = None
    with_full_shelves: Tried | None = None
    at_first: AtFirst | None = None

    @property
    def missing_kg(self) -> float:
        """What partners lack in all, a rehearsal; 0 where too little to be asked about."""
        missing = math.fsum(each.missing for each in self.lacking)
        return missing if missing >= SHORT * math.fsum(each.ordered for each in self.lacking) else 0.0

    def explained_by(self, cause: Cause) -> float:
        """How much of that was lost over it, as a share, but no more than the best that was tried against it made good:
        what is lost may be missed in no week. 0 where nothing is missing."""
        missing = self.missing_kg
        lost = math.fsum(each.lost_over([cause]) for each in self.lacking)
        made_good = [tried.less_missing.mean for tried in self._against(cause) if tried.less_missing]
        return max(0.0, min(lost, max(made_good, default=lost))) / missing if missing else 0.0

    @property
    def to_weigh(self) -> tuple[Tried, ...]:
        """What fills more orders for certain with fewer greens in all; two things together are too much for that."""
        return tuple(tried for tried in self.best if len(tried.trials) == 1 and tried.is_for_orders)

    @property
    def advice(self) -> tuple[Tried, ...]:
        """What brings more for certain, the best first. Both together only where that beats each alone."""
        sure = [tried for tried in self.best if tried.brings_more]
        alone = [tried for tried in self.best if len(tried.trials) == 1]
        together = [tried for tried in sure if len(tried.trials) > 1 and all(tried.beats(one) for one in alone)]
        return (*together, *(tried for tried in sure if tried in alone))

    def may_be_named(self, cause: Cause) -> bool:
        """Whether a cause is told as one: not where all that was tried against it brought nothing, on average."""
        against = self._against(cause)
        return not against or any(tried.is_likely_more for tried in against)

    def _against(self, cause: Cause) -> list[Tried]:
        lifts = {part.lift for part in parts_of(cause.held_up)}
        alone = [tried for tried in (*self.tried, *self.best) if len(tried.trials) == 1]
        return [tried for tried in alone if tried.trials[0].kind in lifts]

    def of_closings(self, *, are: bool = True) -> tuple[Cause, ...]:
        """Causes in which a closing has a part, or those in which none has."""
        return tuple(cause for cause in self.causes if cause.is_of_closing == are)
