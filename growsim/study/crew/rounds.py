"""Rehearsing sign-ups: whole years, with every season's sign-up under trial at once and luck shared by all of them.

A year is rehearsed with one sign-up in each season, so a search in every season goes on in the same years. Years come
in blocks; in each round one block is lived through, the one that most of the sign-ups under trial have not seen. What
one season's trial does to the weeks of the next is small; at the end the whole answer is rehearsed again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers
from growsim.scenario.plan import RunPlan
from growsim.study.crew.goals import Target, Values, values_in
from growsim.study.crew.search import Found, Search, Trials, Wish
from growsim.study.rota import Rota, Season, signed_up


@dataclass
class Years:
    """Rehearses rotas of one room. rehearsed: years lived through so far."""

    rehearsers: Rehearsers
    prepared: Prepared
    seed: int
    plan: RunPlan
    seasons: tuple[Season, ...]
    shared: SharedProgress
    rehearsed: int = 0

    def live(self, rotas: Sequence[Rota], keys: Sequence[int]) -> dict[Rota, list[Outcome]]:
        """Every rota in the same replications; outcomes sorted by replication."""
        rooms = {str(rota): signed_up(self.prepared, self.seasons, rota) for rota in dict.fromkeys(rotas)}
        lived = self.rooms(rooms, keys)
        return {rota: lived[str(rota)] for rota in rotas}

    def rooms(self, rooms: Mapping[str, Prepared], keys: Sequence[int]) -> dict[str, list[Outcome]]:
        """Any rooms in the same replications."""
        number = len(rooms) * len(keys)
        self.rehearsed += number
        return self.rehearsers.run(rooms, self.seed, keys, self.plan, self.shared.more(number))


@dataclass
class Ample:
    """The crew with as many hands as are of use, year by year: what goals out of reach are compared with."""

    years: Years
    rota: Rota
    seen: dict[int, tuple[Values, ...]] = field(default_factory=dict)
    outcomes: list[Outcome] = field(default_factory=list)

    def add(self, outcomes: Sequence[Outcome]) -> None:
        """Years lived through."""
        for outcome in outcomes:
            if outcome.replication not in self.seen:
                self.outcomes.append(outcome)
            self.seen[outcome.replication] = tuple(values_in(season, outcome) for season in self.years.seasons)

    def missing(self, keys: Sequence[int]) -> list[int]:
        """Which of these replications have not been lived through."""
        return [key for key in keys if key not in self.seen]


def above(
    season: int, years: Years, ample: Ample, targets: Mapping[str, Target], outcomes: Sequence[Outcome]
) -> dict[int, dict[str, float]]:
    """Replication -> how far above its goals it lies in a season; figures that do not exist in it are left out."""
    found = {}
    for outcome in outcomes:
        values = values_in(years.seasons[season], outcome)
        beside = ample.seen[outcome.replication][season] if outcome.replication in ample.seen else {}
        found[outcome.replication] = {
            key: target.above(values[key], beside.get(key, target.ample))
            for key, target in targets.items()
            if key in values
        }
    return found


def search_together(
    years: Years,
    ample: Ample,
    targets: Sequence[Mapping[str, Target]],
    trials: Sequence[Trials],
    searches: Sequence[Search],
) -> tuple[Found, ...]:
    """Drive the search of every season to its end."""
    found: dict[int, Found] = {}
    wishes: dict[int, Wish] = {}
    standing = [trial.ample for trial in trials]

    def go_on(season: int) -> None:
        try:
            wishes[season] = next(searches[season])
            standing[season] = wishes[season].standing
        except StopIteration as end:
            wishes.pop(season, None)
            found[season] = end.value
            standing[season] = found[season].sign_up

    for season in range(len(searches)):
        go_on(season)
    hang_on_ample = any(target.below_ample is not None for each in targets for target in each.values())
    while wishes:
        keys = _next_block(wishes, trials)
        asked = {
            season: [each for each in wish.candidates if keys[0] not in trials[season].of(each).seen]
            for season, wish in wishes.items()
        }
        rotas = [
            tuple(
                asked[season][turn] if turn < len(asked.get(season, ())) else standing[season]
                for season in range(len(searches))
            )
            for turn in range(max(len(candidates) for candidates in asked.values()))
        ]
        beside = [ample.rota] if hang_on_ample and ample.missing(keys) else []
        lived = years.live([*rotas, *beside], keys)
        for rota in beside:
            ample.add(lived[rota])
        for season, candidates in asked.items():
            for turn, candidate in enumerate(candidates):
                seen = above(season, years, ample, targets[season], lived[rotas[turn]])
                trials[season].of(candidate).add(seen)
        for season in list(wishes):
            go_on(season)
    return tuple(found[season] for season in range(len(searches)))


def _next_block(wishes: Mapping[int, Wish], trials: Sequence[Trials]) -> range:
    """The block of years that most of the sign-ups under trial have not seen; the first of several."""
    step = trials[0].rule.step
    unseen: dict[int, int] = {}
    for season, wish in wishes.items():
        for candidate in wish.candidates:
            seen = trials[season].of(candidate).seen
            for block in range(len(seen) // step + 2):  # one of these at least is unseen
                if block * step not in seen:
                    unseen[block] = unseen.get(block, 0) + 1
    best = max(unseen, key=lambda block: (unseen[block], -block))
    return range(best * step, (best + 1) * step)
