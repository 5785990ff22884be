"""From the plan on paper to one that holds in rehearsal: cells are raised and lowered, and sowings moved to other days.

Every plan lives through the same years. Two coarse steps come first: each crop is scaled by what it lacked or had to
spare in all but a few weeks. Then moves are tried around the best plan: more, another sowing day, less, more of one
crop for less of another; and the best moves of several lines at once. Many moves are first tried in one year, the
likeliest in another and the best few in all: under shared luck one year ranks plans much as eight do. It ends when no
move makes the plan better.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import quantiles
from growsim.run.prepare import Prepared
from growsim.scenario.names import ANY_CROP
from growsim.scenario.orders import StandingOrder, standing_orders
from growsim.study.sow.plan import MOST_CELLS, Cells, Frame
from growsim.study.sow.score import Score, score_of

Live = Callable[[dict[str, Prepared], range], dict[str, list[Outcome]]]
"""Lives through some of the trial years in each room."""

COARSE_ROUNDS = 2
MOST_ROUNDS = 15
MOST_PLANS = 150  # tried in all, after which the search goes no further
BEGIN_AGAIN_BELOW = 75
LEAST_FACTOR, MOST_FACTOR = 0.6, 1.6
STEPS = (1, 2, 4)
FEWER = 0.6  # of the cells of a plan that is short, from where the search begins again
GIVE_UP = (0.5, 0.0)  # shares of a line that are kept where room is short
SPARE_LINES = 2  # sowing days not in use that are tried for a crop that is short
RACE = ((1, 10), (2, 5))  # years, and so many moves at most that are tried in more of them


@dataclass(frozen=True)
class Tried:
    """A plan and its score in the trial years."""

    cells: Cells
    score: Score

    @property
    def worth(self) -> tuple[float, float, float]:
        """Larger is better."""
        return self.score.worth


class Search:
    """Remembers every plan that was tried.

    years: trial years; a plan is judged in all of them. beyond: orders beyond any plan's reach.
    """

    def __init__(
        self,
        frame: Frame,
        prepared: Prepared,
        certainty: float,
        years: int,
        live: Live,
        beyond: Collection[StandingOrder] = (),
    ) -> None:
        self.frame, self._prepared, self.certainty, self._live, self._beyond = frame, prepared, certainty, live, beyond
        self._years = years
        self._lived: dict[Cells, list[Outcome]] = {}
        self._known: dict[tuple[Cells, int], Score] = {}

    @property
    def count(self) -> int:
        """Plans tried so far."""
        return len(self._lived)

    def look(self, plans: Iterable[Cells], years: int | None = None) -> list[Tried]:
        """The scores of these plans, in their order; what is new is lived through all at once."""
        wanted, years = list(plans), self._years if years is None else years
        new = [plan for plan in dict.fromkeys(wanted) if (plan, years) not in self._known]
        lacking: dict[int, list[Cells]] = {}
        for plan in new:
            lacking.setdefault(len(self._lived.get(plan, ())), []).append(plan)
        for already, several in lacking.items():
            if already < years:
                rooms = {str(n): replace(self._prepared, scenario=self.frame.room(p)) for n, p in enumerate(several)}
                lived = self._live(rooms, range(already, years))
                for number, plan in enumerate(several):
                    self._lived[plan] = [*self._lived.get(plan, ()), *map(_light, lived[str(number)])]
        for plan in new:
            lived_years, scenario = self._lived[plan][:years], self._prepared.scenario
            self._known[plan, years] = score_of(lived_years, scenario, self.certainty, self._beyond)
        return [Tried(plan, self._known[plan, years]) for plan in wanted]

    def aim(self, certainty: float) -> None:
        """Ask for another certainty from here on; what was lived through stays known."""
        self.certainty = certainty
        self._known = {key: replace(score, certainty=certainty) for key, score in self._known.items()}

    def climb(self, starts: Sequence[Cells]) -> Tried:
        """The best plan reached from the best of these, scaled; if it lacks the certainty, from others as well."""
        ranked = sorted(self.look(starts), key=lambda each: each.worth, reverse=True)
        best = self._uphill(self._coarse(ranked[0]))
        if not best.score.is_met:  # where room is short there are hills apart
            fewer = tuple(self._whole(number, FEWER * cells) for number, cells in enumerate(best.cells))
            for other in [*ranked, *self.look([fewer])]:
                if self.count < BEGIN_AGAIN_BELOW:
                    best = max(best, self._uphill(other), key=lambda each: each.worth)
        return best

    def _uphill(self, best: Tried) -> Tried:
        for _ in range(MOST_ROUNDS):
            if self.count >= MOST_PLANS:
                break
            better = next(filter(None, (self._better(best, moves) for moves in self._kinds(best))), None)
            if better is None:
                break
            best = better
        return best

    def _better(self, best: Tried, moves: Sequence[Cells]) -> Tried | None:
        """The best of these moves, or of several of them at once, if it is better than staying."""
        likely = list(dict.fromkeys(plan for plan in moves if plan != best.cells))
        for years, most in RACE:
            if len(likely) > most and years < self._years:
                ranked = sorted(self.look(likely, years), key=lambda each: self._promise(each.score), reverse=True)
                likely = [each.cells for each in ranked[:most]]
        better = [each for each in self.look(likely) if each.worth > best.worth]
        better.sort(key=lambda each: each.worth, reverse=True)
        if not better:
            return None
        return max([better[0], *self.look(self._together(best, better))], key=lambda each: each.worth)

    def _promise(self, score: Score) -> tuple[float, float]:
        """How likely a plan is to be good, from a first look: near enough to the goal counts as there."""
        return min(score.goal, self.certainty - 0.01), -score.seeds

    def _coarse(self, best: Tried) -> Tried:
        here = best
        for _ in range(COARSE_ROUNDS):
            factors = {line.crop: self._factor(line.crop, self._lived[here.cells]) for line in self.frame.lines}
            scaled = tuple(
                self._whole(number, cells * factors[self.frame.lines[number].crop])
                for number, cells in enumerate(here.cells)
            )
            if (scaled, self._years) in self._known:
                break
            (here,) = self.look([scaled])
            best = max(best, here, key=lambda each: each.worth)
        return best

    def _factor(self, crop: str, outcomes: Sequence[Outcome]) -> float:
        """By what the crop would have to be multiplied to cover its named orders in all but a few weeks."""
        named = [n for n, order in enumerate(standing_orders(self._prepared.scenario)) if order.crop == crop]
        ratios = []
        for outcome in outcomes:
            for week, kg in enumerate(outcome.weeks[f"kg_given:{crop}"]):
                asked = math.fsum(outcome.weeks[f"order_asked:{number}"][week] for number in named)
                if asked > 0:
                    ratios.append(kg / asked)
        if not ratios:
            return 1.0
        (low,) = quantiles(ratios, (1.0 - self.certainty,))
        return min(MOST_FACTOR, max(LEAST_FACTOR, 1.0 / low)) if low > 0 else MOST_FACTOR

    def _whole(self, line: int, cells: float) -> int:
        step = self.frame.steps[line]
        return min(MOST_CELLS, step * math.ceil(cells / step - 1e-9))

    def _kinds(self, best: Tried) -> Iterator[list[Cells]]:
        """Moves, kind by kind; a kind is tried only where those before it brought nothing."""
        cells, short = best.cells, self._short_crops(best.score)
        used = [number for number, each in enumerate(cells) if each > 0]
        lacking = [number for number in used if self.frame.lines[number].crop in short]
        if short:
            spares = [number for number in self._spares(cells) if self.frame.lines[number].crop in short]
            yield [self._more(cells, number, steps) for number in (*lacking, *spares) for steps in STEPS]
            yield self._shifts(cells, lacking)
        less = [self._more(cells, number, -steps) for number in used for steps in STEPS]
        if short:  # a crop for which there is no room may be in the way of another
            less += [
                self._with(cells, number, self._whole(number, cells[number] * kept))
                for number in used
                for kept in GIVE_UP
            ]
        yield less
        if short:  # room, or hands, for one by less of another
            yield [
                self._more(self._more(cells, number, up), other, -down)
                for number in lacking
                for other in used
                for up, down in ((1, 1), (1, 2), (2, 1))
                if other != number
            ]
        yield self._shifts(cells, used)
        if not short:  # less seed in all by a little more of one for much less of another
            yield [self._more(self._more(cells, a, 1), b, -n) for a in used for b in used for n in STEPS if a != b]

    def _more(self, cells: Cells, number: int, steps: int) -> Cells:
        return self._with(cells, number, cells[number] + steps * self.frame.steps[number])

    def _with(self, cells: Cells, number: int, changed: int) -> Cells:
        return (*cells[:number], min(MOST_CELLS, max(0, changed)), *cells[number + 1 :])

    def _shifts(self, cells: Cells, numbers: Sequence[int]) -> list[Cells]:
        """All of a line, or half of it, on another day."""
        found = []
        for number in numbers:
            for other in range(len(cells)):
                if other != number and self.frame.lines[other].crop == self.frame.lines[number].crop:
                    for moved in (cells[number], self._whole(number, cells[number] / 2)):
                        changed = list(cells)
                        changed[number] -= moved
                        changed[other] += moved
                        found.append(tuple(changed))
        return found

    def _spares(self, cells: Cells) -> list[int]:
        """For each crop the best few sowing days that are not in use."""
        found = []
        for crop in dict.fromkeys(line.crop for line in self.frame.lines):
            idle = [n for n, line in enumerate(self.frame.lines) if line.crop == crop and cells[n] == 0]
            idle.sort(key=lambda n: -math.fsum(feeds.in_time for feeds in self.frame.lines[n].feeds))
            found += idle[:SPARE_LINES]
        return found

    def _short_crops(self, score: Score) -> set[str]:
        """Crops of orders that lack the certainty; every crop where that is an order for any."""
        short = {order.crop for order, share in score.kept.items() if share < score.certainty - 1e-9}
        return {line.crop for line in self.frame.lines} if ANY_CROP in short else short

    def _together(self, best: Tried, better: Sequence[Tried]) -> list[Cells]:
        """The best moves of different lines at once: the first two, three, ... that touch no line twice."""
        merged, touched, found = list(best.cells), set[int](), []
        for each in better:
            changed = {n: cells for n, cells in enumerate(each.cells) if cells != best.cells[n]}
            if not touched & changed.keys():
                for number, cells in changed.items():
                    merged[number] = cells
                touched |= changed.keys()
                found.append(tuple(merged))
        return found[1:]


def _light(outcome: Outcome) -> Outcome:
    """Only what scores and scaling read: a search keeps hundreds of years in mind."""
    weeks = {name: row for name, row in outcome.weeks.items() if name.startswith(("order_", "kg_given:"))}
    measures = dict(outcome.measures)
    return Outcome(outcome.replication, measures, weeks, {}, {})
