"""What a sowing may have lived through, as far as its row leaves it open: which banks lit it, when it was moved.

Its row has the day of the first move and perhaps of the second; what it does not have is summed out. Every past has
a chance before the plants are looked at: of a bank, its share of the slots; of a day of moving, how promptly this
room moves (`learn_moves`). Pasts that come to much the same speed are taken together, and how much they differ is
added to the doubt of a speed. In a room with one bank and a row with every date there is one past.
"""

from __future__ import annotations

import datetime as dt
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from growsim.scenario.record.record import PlantingRow
from growsim.scenario.scenario import Scenario
from growsim.study.learn.curve import FLATTEST, PlanCurve
from growsim.study.learn.light import Lamps
from growsim.study.learn.moves import Delays, WorkDays, due_days

SAME_DAYS = 0.1  # banks that gave a stage the same days of growing, to within so much, are taken as one
SAME_LOG_SPEED = 0.02  # as are pasts in which the same mass takes the same speed; half of what weighing leaves open
LEAST_CHANCE = 1e-4


@dataclass(frozen=True)
class Around:
    """What all sowings share: lamps and when they were dark, the days of work, how late moves were made."""

    lamps: Lamps
    work: WorkDays
    delays: Delays


@dataclass(frozen=True)
class Past:
    """One way in which a sowing may have lived until it was harvested, or several that come to much the same.

    chance: before its plants are looked at. unlike: log sd of the speed it would take to the same mass, among those
    taken together. until_harvest: days of growing in each stage until the harvest, at the mean light of that stage.
    mornings: the same until the mornings of the harvest days asked for; None where it still had to move.
    """

    chance: float
    unlike: float
    until_harvest: np.ndarray
    mornings: tuple[np.ndarray | None, ...]


class Pasts:
    """What the sowings of one crop may have lived through. curve: of the crop as the room file has it."""

    def __init__(self, scenario: Scenario, curve: PlanCurve, around: Around) -> None:
        self.work, self._lamps, self._delays = around.work, around.lamps, around.delays
        self._curve, self._crop, self._stages = curve, curve.crop, curve.stages
        self._banks = [
            [
                (bank, share, curve.pace_under(scenario, stage, bank))
                for bank, share in self._lamps.over(stage.name).items()
            ]
            for stage in curve.stages
        ]

    def of(self, row: PlantingRow, days: Sequence[dt.date]) -> list[Past]:
        """Those of a sowing that was harvested. days: harvest days whose mornings are asked for."""
        assert row.harvested is not None
        cut = self.work.at_work(row.harvested)
        mornings = [dt.datetime.combine(day, dt.time()) for day in days]
        chances, grown, looked = [], [], []
        for moves, chance in self._moves(row):
            under, growing = self._under_banks(row.sown, moves, [cut, *mornings])
            chances.append(chance * under)
            grown.append(growing)
            last_move = [row.sown, *moves][-1]
            looked.append(np.tile([day > last_move for day in days], (under.size, 1)))
        return _together(np.concatenate(chances), np.concatenate(grown), np.concatenate(looked), self._curve)

    def _moves(self, row: PlantingRow) -> list[tuple[tuple[dt.date, ...], float]]:
        """(days of the moves, chance)."""
        assert row.harvested is not None
        due, written = due_days(row.sown, self._crop), (row.transplanted, row.transplanted_again)
        each = [
            [(known, 1.0)] if known is not None else self._days_of_move(day, stage.latest_days)
            for day, stage, known in itertools.zip_longest(due, self._stages[1:], written[: len(due)])
        ]
        found: dict[tuple[dt.date, ...], float] = {}
        for way in itertools.product(*each):
            moves, chance = tuple(day for day, _ in way), float(np.prod([share for _, share in way]))
            if all(one <= two for one, two in itertools.pairwise((row.sown, *moves, row.harvested))):
                found[moves] = found.get(moves, 0.0) + chance
        if not found:  # harvested before its last move fell due: as planned, the last stage not reached
            found = {tuple(known or self.work.next_shift(day) for day, known in zip(due, written, strict=False)): 1.0}
        total = math.fsum(found.values())
        likely = {moves: chance for moves, chance in found.items() if chance > LEAST_CHANCE * total}
        return [(moves, chance / math.fsum(likely.values())) for moves, chance in likely.items()]

    def _days_of_move(self, due: dt.date, latest_days: float) -> list[tuple[dt.date, float]]:
        days = [(self.work.day_of_delay(due, late), chance) for late, chance in self._delays.items()]
        return [(day, chance) for day, chance in days if (day - due).days <= latest_days]

    def growing_days(self, sown: dt.date, moves: Sequence[dt.date], until: dt.datetime) -> np.ndarray:
        """Days of growing in each stage up to a moment, in the mean over the banks."""
        chances, growing = self._under_banks(sown, moves, [until])
        mean: np.ndarray = chances @ growing[:, 0]
        return mean

    def _under_banks(
        self, sown: dt.date, moves: Sequence[dt.date], untils: Sequence[dt.datetime]
    ) -> tuple[np.ndarray, np.ndarray]:
        """Chance of standing under every choice of banks, and growing days, shape (choices, moments, stages)."""
        up = self.work.at_work(sown) + dt.timedelta(days=self._curve.days_up)
        edges = [up, *(max(up, self.work.at_work(day)) for day in moves)]
        by_stage = [
            self._under_each(banks, begin, [min(end, until) for until in untils] if end is not None else untils)
            for banks, begin, end in itertools.zip_longest(self._banks, edges, edges[1:])
        ]
        chances, growing = np.ones(1), np.empty((1, len(untils), 0))
        for shares, days in by_stage:
            chances = np.outer(chances, shares).ravel()
            growing = np.concatenate(
                [np.repeat(growing, shares.size, axis=0), np.tile(days, (growing.shape[0], 1))[:, :, None]], axis=2
            )
        return chances, growing

    def _under_each(
        self, banks: Sequence[tuple[str, float, float]], begin: dt.datetime, ends: Sequence[dt.datetime]
    ) -> tuple[np.ndarray, np.ndarray]:
        """Shares of banks, and growing days under each until each end; banks that gave the same are one."""
        alike: dict[int, list[tuple[float, np.ndarray]]] = {}
        for bank, share, pace in banks:
            days = pace * np.array([self._lamps.lit_days(bank, begin, end) for end in ends])
            alike.setdefault(round(float(days[0]) / SAME_DAYS), []).append((share, days))
        means = [np.average([days for _, days in group], axis=0, weights=[share for share, _ in group])
                 for group in alike.values()]  # fmt: skip
        return np.array([float(math.fsum([share for share, _ in group])) for group in alike.values()]), np.array(means)


def _together(chances: np.ndarray, grown: np.ndarray, looked: np.ndarray, curve: PlanCurve) -> list[Past]:
    """Pasts by the speed they take to the same mass, those alike as one."""
    speeds = _log_speeds(chances, grown[:, 0], curve)
    order = np.argsort(speeds)
    found, begin = [], 0
    for end in range(1, order.size + 1):
        if end < order.size and speeds[order[end]] - speeds[order[begin]] <= SAME_LOG_SPEED:
            continue
        here, begin = order[begin:end], end
        weight, total = chances[here], float(chances[here].sum())
        middle = float(weight @ speeds[here]) / total
        mornings = []
        for k in range(looked.shape[1]):
            seen = weight * looked[here, k]
            was_looked_at = float(seen.sum()) > 0.5 * total
            mornings.append(seen @ grown[here, k + 1] / seen.sum() if was_looked_at else None)
        unlike = math.sqrt(max(0.0, float(weight @ (speeds[here] - middle) ** 2) / total))
        found.append(Past(total, unlike, weight @ grown[here, 0] / total, tuple(mornings)))
    return found


def _log_speeds(chances: np.ndarray, grown: np.ndarray, curve: PlanCurve) -> np.ndarray:
    """Log of the speed that takes each past to the same mass, against their mean, to first order."""
    mean = chances @ grown / chances.sum()

    def log_mass(speed: float, days: np.ndarray) -> float:
        return math.log(curve.relative_mass(np.array([speed]), days)[0])

    slope = max((log_mass(1.05, mean) - log_mass(0.95, mean)) / math.log(1.05 / 0.95), FLATTEST)
    a_day = [
        log_mass(1.0, mean + 0.5 * step) - log_mass(1.0, np.maximum(mean - 0.5 * step, 0.0))
        for step in np.eye(mean.size)
    ]
    speeds: np.ndarray = -(grown - mean) @ np.array(a_day) / slope
    return speeds
