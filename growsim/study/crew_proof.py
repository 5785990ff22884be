"""The answer rehearsed anew, with luck the search has not seen; where it falls short, more people.

A search keeps what looked good, and looking good is partly luck. So the goals are tested again in fresh years, with all
seasons' sign-ups in place (see `crew_proof_rule`): proven is with at most the stated chance a sign-up whose true mean
lies below a goal, for all seasons and goals together. What is plainly wanting is given up early, and topped up.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.study.crew_goals import Target, values_in
from growsim.study.crew_proof_rule import Evidence, ProofRule
from growsim.study.crew_rota import Rota, SignUp
from growsim.study.crew_rounds import Ample, Years, above
from growsim.study.crew_search import AIM, Trials
from growsim.study.crew_surface import Surfaces

End = Literal["proven", "as ample", "short"]
ATTEMPTS = 4
MOST_ADDED = 4  # people from one attempt to the next, in a season
LONGER = 3  # a proof may take so many times the years asked for


@dataclass(frozen=True)
class Proof:
    """rota: what was proven. outcomes: of the fresh years. ends: how it ended, by season.

    ends: "proven", all goals; "as ample", a goal was not, but in the same years ample hands are no better than by the
    margin, so that more people would not help; "short", neither.
    """

    rota: Rota
    outcomes: tuple[Outcome, ...]
    ends: tuple[End, ...]


def prove(
    rota: Rota,
    years: Years,
    ample: Ample,
    targets: Sequence[Mapping[str, Target]],
    trials: Sequence[Trials],
    surfaces: Surfaces,
    *,
    replications: int,
    zone: float,
    margin: float,
    doubt: float,
) -> Proof:
    """Test the rota in fresh years, and again with more people where it falls short.

    surfaces: say where more people help. replications: years at least. margin: how much better ample hands may be
    before more people are added. doubt: chance in all of proving what is not so; the first attempt gets half of it,
    each further one half of what is left, its seasons equal shares.
    """
    now = rota
    begin = 1 + max(
        [-1, *ample.seen, *(year for each in trials for trial in each.known.values() for year in trial.seen)]
    )
    for attempt in range(ATTEMPTS):
        rule = proof_rule(doubt / 2 ** (attempt + 1) / len(targets), replications)
        tried = _Attempt(now, years, ample, targets, rule, begin, margin)
        tried.live()
        stepped = now if attempt == ATTEMPTS - 1 else _stepped(tried, trials, surfaces, AIM * zone)
        if stepped == now:
            tried.live(to_the_end=True)
            break
        now, begin = stepped, begin + len(tried.outcomes)
    return Proof(now, tuple(tried.outcomes), tried.ends())


def proof_rule(error: float, replications: int) -> ProofRule:
    """The test of a proof, for one season."""
    return ProofRule(error, replications, max(2, replications // 2), LONGER * replications)


@dataclass
class _Attempt:
    """One sign-up for each season in fresh years from number `begin` on."""

    rota: Rota
    years: Years
    ample: Ample
    targets: Sequence[Mapping[str, Target]]
    rule: ProofRule
    begin: int
    margin: float
    outcomes: list[Outcome] = field(default_factory=list)
    seen: list[Evidence] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.seen = [Evidence(self.rule) for _ in self.targets]

    def live(self, *, to_the_end: bool = False) -> None:
        """Years until every season is decided or, unless it is to go to the end, one will not be proven."""
        while True:
            verdicts = [evidence.verdict for evidence in self.seen]
            if "rejected" in verdicts and not to_the_end:
                return
            if None not in verdicts and len(self.outcomes) >= self.rule.first:
                return
            self._live_on()

    def _live_on(self) -> None:
        first = self.begin + len(self.outcomes)
        keys = range(first, first + self.rule.next_years(len(self.outcomes)))
        beside = [self.ample.rota] if self._hangs_on_ample() else []
        lived = self.years.live([self.rota, *beside], keys)
        for rota in beside:
            self.ample.add(lived[rota])
        self.outcomes += lived[self.rota]
        for season, evidence in enumerate(self.seen):
            evidence.add(above(season, self.years, self.ample, self.targets[season], lived[self.rota]))

    def _hangs_on_ample(self) -> bool:
        """Whether a figure that is compared with ample hands is not proven yet."""
        return any(
            target.below_ample is not None and key not in evidence.proven
            for each, evidence in zip(self.targets, self.seen, strict=True)
            for key, target in each.items()
        )

    def ends(self) -> tuple[End, ...]:
        """How each season's proof stands. Where one failed, ample hands live through the same years to see why."""
        return tuple(self.end(season) for season in range(len(self.seen)))

    def end(self, season: int) -> End:
        """How one season's proof stands."""
        evidence = self.seen[season]
        if evidence.verdict == "accepted":
            return "proven"
        missing = self.ample.missing([each.replication for each in self.outcomes])
        if missing:
            self.ample.add(self.years.live([self.ample.rota], missing)[self.ample.rota])
        for key in evidence.hopeless or evidence.wanting:
            gaps = [
                self.ample.seen[outcome.replication][season][key] - values[key]
                for outcome in self.outcomes
                if key in (values := values_in(self.years.seasons[season], outcome))
            ]
            if self.targets[season][key].below_ample is not None or math.fsum(gaps) / len(gaps) > self.margin:
                return "short"
        return "as ample"


def _stepped(tried: _Attempt, trials: Sequence[Trials], surfaces: Surfaces, aim: float) -> Rota:
    """The rota with more people where it will not be proven and people are what it lacks; the search learns from it."""
    for season, evidence in enumerate(tried.seen):
        trials[season].of(tried.rota[season]).add(evidence.seen)
    lacking = {
        season: aim - evidence.margin
        for season, evidence in enumerate(tried.seen)
        if evidence.verdict == "rejected" and tried.end(season) == "short"
    }
    return with_more(tried.rota, lacking, trials, surfaces)


def with_more(rota: Rota, lacking: Mapping[int, float], trials: Sequence[Trials], surfaces: Surfaces) -> Rota:
    """The rota with more people in these seasons: one at least, and as many as the curve says make up for it."""
    stepped = list(rota)
    for season, missing in lacking.items():
        curve = surfaces.curve_alone(season, rota[season])
        stepped[season] = topped_up(rota[season], trials[season].ample, curve, missing)
    return tuple(stepped)


def topped_up(sign_up: SignUp, most: SignUp, above: Callable[[SignUp], float], lacking: float) -> SignUp:
    """More people, one at a time where the curve says that it helps most, until it has risen by what was lacking.

    At least one and at most MOST_ADDED; none where there is no room for more.
    """
    enough, now = above(sign_up) + lacking, sign_up
    for _ in range(MOST_ADDED):
        more = [
            tuple(people + (i == at) for i, people in enumerate(now)) for at in range(len(now)) if now[at] < most[at]
        ]
        if not more:
            break
        now = max(more, key=lambda each: (above(each), each))
        if above(now) >= enough:
            break
    return now
