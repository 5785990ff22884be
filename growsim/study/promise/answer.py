"""What can be promised, week by week and delivery by delivery, and what would save a delivery; and its tidy tables."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import Estimate
from growsim.scenario.load import LoadedRoom
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.scenario.shelves import Today
from growsim.study.promise.rescue import Rescue
from growsim.study.promised import CropWeek, Delivery
from growsim.study.today import GivenUp, days_without_sowing

if TYPE_CHECKING:
    import pandas as pd

PROMISE_COLUMNS = [
    "week",
    "week_from",
    "date",
    "crop",
    "partner",
    "safe_kg",
    "likely_kg",
    "possible_kg",
    "spare_safe_kg",
    "ordered_kg",
    "chance_met",
    "chance_low",
    "chance_high",
    "short_kg",
    "at_risk",
]
RESCUE_COLUMNS = ["action", "kind", "saves", "puts_at_risk", "met", "met_low", "met_high", "kg", "kg_low", "kg_high"]


@dataclass(frozen=True)
class Promises:
    """What can be promised, week by week, and what it rests on.

    room: as its file has it. scenario: with today as day 0. crops: everything and each crop, week by week. deliveries:
    of the standing orders, in order of date. rescues: single actions, the best first. together: the best ones done at
    once, adding one at a time; () where one is enough or none helps. given_up: what of the count was past its last day
    already. seconds is not part of what makes two promises equal.
    """

    room: LoadedRoom
    scenario: Scenario
    today: Today
    plan: RunPlan
    seed: int
    outcomes: tuple[Outcome, ...]
    estimates: dict[str, Estimate]
    crops: tuple[CropWeek, ...]
    deliveries: tuple[Delivery, ...]
    rescues: tuple[Rescue, ...] = ()
    together: tuple[Rescue, ...] = ()
    given_up: tuple[GivenUp, ...] = ()
    seconds: float = field(default=0.0, compare=False)

    @property
    def date(self) -> dt.date:
        """Today."""
        return self.scenario.room.start_date

    @property
    def weeks(self) -> int:
        """Weeks promised for."""
        return self.plan.days // 7

    @property
    def days_without_sowing(self) -> int:
        """Days since the newest sowing in the count, where that doubts that it is of today; else 0."""
        return days_without_sowing(self.today, self.room.scenario, self.date)

    @property
    def at_risk(self) -> tuple[Delivery, ...]:
        """Deliveries met in full in fewer than 90 of 100 futures, the soonest first."""
        return tuple(each for each in self.deliveries if each.is_at_risk)

    @property
    def most_pressing(self) -> Delivery | None:
        """Of the deliveries at risk the soonest that is rather not met than met; if none is, the least surely met."""
        rather_not = [each for each in self.at_risk if each.chance.share < 0.5]
        if rather_not:
            return min(rather_not, key=lambda each: (each.date, each.chance.share))
        return min(self.at_risk, key=lambda each: (each.chance.share, each.date), default=None)

    @property
    def helpful(self) -> tuple[Rescue, ...]:
        """Single actions that help for certain, the best first."""
        return tuple(rescue for rescue in self.rescues if rescue.helps)

    def to_frame(self) -> pd.DataFrame:
        """One row a week and crop ("" for everything together), and one a delivery.

        Columns: week, week_from, date, crop, partner, safe_kg, likely_kg, possible_kg, spare_safe_kg, ordered_kg,
        chance_met, chance_low, chance_high, short_kg, at_risk. partner is "" for what there is of the crop.
        """
        return promise_frame(self)


@dataclass(frozen=True)
class Stands:
    """What there is for a delivery. week: of its crop. ripe: plants standing today that are ripe in the week up to it,
    the last of them on `last`. next_ripe: (date, plants) that stand today and are full-grown too late; may_be_small:
    whether they may be harvested in time all the same, as soon as they weigh enough. sow_by: the day by which it would
    have to be sown. All by the room file's days; of a crop harvested again, only its first harvest.
    """

    week: CropWeek
    ripe: int
    last: dt.date | None
    next_ripe: tuple[dt.date, int] | None
    may_be_small: bool
    sow_by: dt.date
    is_closed: bool


def stands_for(promises: Promises, delivery: Delivery) -> Stands | None:
    """What there is for a delivery of one crop; None for one of any greens."""
    crop = next((crop for crop in promises.scenario.crops if crop.name == delivery.crop), None)
    week = next((each for each in promises.crops if (each.crop, each.week) == (delivery.crop, delivery.week)), None)
    if crop is None or week is None:
        return None
    takes = round(crop.typical_days)
    found: dict[dt.date, int] = {}
    for lot in promises.today.lots:
        if lot.crop == crop.name and not lot.harvests:
            ripe = promises.date + dt.timedelta(days=max(0, takes - lot.days_since_sowing))
            found[ripe] = found.get(ripe, 0) + lot.plants
    begins = delivery.date - dt.timedelta(days=7)
    in_time = {day: plants for day, plants in found.items() if begins < day <= delivery.date}
    later = min((day for day in found if day > delivery.date), default=None)
    sooner = (1.0 - min(1.0, math.sqrt(crop.harvest_from_mass_fraction))) * takes  # mass grows with the square of time
    sow_by = delivery.date - dt.timedelta(days=takes)
    return Stands(
        week, sum(in_time.values()), max(in_time, default=None), None if later is None else (later, found[later]),
        later is not None and (later - delivery.date).days <= sooner,
        sow_by, sow_by in set(promises.scenario.room.closed_days),
    )  # fmt: skip


def promise_frame(promises: Promises) -> pd.DataFrame:
    """Weeks from 1; partner "" for what there is of the crop, crop "" for everything together."""
    import pandas as pd

    rows: list[tuple[object, ...]] = [
        (
            each.week + 1,
            each.starts.isoformat(),
            "",
            each.crop,
            "",
            each.there.safe,
            each.there.likely,
            each.there.possible,
            each.spare.safe,
            each.ordered,
            None,
            None,
            None,
            None,
            None,
        )
        for each in promises.crops
    ]
    starts = {each.week: each.starts.isoformat() for each in promises.crops}
    rows += [
        (
            each.week + 1,
            starts[each.week],
            each.date.isoformat(),
            each.crop,
            each.partner,
            each.gets.safe,
            each.gets.likely,
            each.gets.possible,
            None,
            each.ordered,
            each.chance.share,
            each.chance.low,
            each.chance.high,
            each.short,
            each.is_at_risk,
        )
        for each in promises.deliveries
    ]
    frame = pd.DataFrame(rows, columns=PROMISE_COLUMNS)
    numbers = ["spare_safe_kg", "chance_met", "chance_low", "chance_high", "short_kg"]
    return frame.astype(dict.fromkeys(numbers, float)).astype({"at_risk": "boolean"})


def rescue_frame(promises: Promises) -> pd.DataFrame:
    """One row an action (or several together), the best first."""
    import pandas as pd

    rows = [
        (
            rescue.name,
            "+".join(action.kind for action in rescue.actions),
            len(rescue.saves),
            len(rescue.risks),
            rescue.met.mean,
            rescue.met.low,
            rescue.met.high,
            rescue.kg.mean,
            rescue.kg.low,
            rescue.kg.high,
        )
        for rescue in (*promises.together, *promises.rescues)
    ]
    return pd.DataFrame(rows, columns=RESCUE_COLUMNS)
