"""What the search found, put together and tried whole, and then proven: rehearsed again, with luck the search has not
seen. Where it falls short, more people.

A search judges each season beside sign-ups under trial in the others, and ends where its curve points: perhaps at a
sign-up that was never rehearsed itself. A proof that fails costs fresh years, often with ample hands beside them. So
the whole rota first lives through years of the search, in which ample hands have lived already; where a season falls
short, people are added, in its own months or in those before them: work left undone in May is missed in June, and then
no number of hands helps in June. Both are tried, and whichever brings more for each sign-up a month stays. These years
prove nothing: a proof has its own.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.study.crew.goals import Target, values_in
from growsim.study.crew.proof_rule import Evidence, ProofRule
from growsim.study.crew.rounds import Ample, Years, above
from growsim.study.crew.search import AIM, Trials
from growsim.study.crew.surface import Surfaces
from growsim.study.crew.trial import Trial
from growsim.study.rota import Rota, Season, SignUp

End = Literal["proven", "as ample", "short"]
ATTEMPTS = 4
MOST_ADDED = 4  # people from one attempt to the next, in a season
LONGER = 3  # a proof may take so many times the years asked for
STEPS = 3  # times people are added, at most
ENOUGH = 0.5  # of what is aimed at: a season that seems to clear its goals by that is left as it is


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


def tried_whole(
    rota: Rota,
    years: Years,
    ample: Ample,
    targets: Sequence[Mapping[str, Target]],
    trials: Sequence[Trials],
    surfaces: Surfaces,
    *,
    zone: float,
) -> Rota:
    """The rota, with more people where it seems to fall short. What it did whole takes the place of what was known."""
    aim, keys = AIM * zone, range(trials[0].rule.first)

    def tried(rotas: Iterable[Rota]) -> list[_Tried]:
        lived = years.live(list(rotas), keys)
        return [_Tried(each, _trials(outcomes, years, ample, targets, trials)) for each, outcomes in lived.items()]

    (now,) = tried([rota])
    for _ in range(STEPS):
        for trial, sign_up, whole in zip(trials, now.rota, now.seasons, strict=True):
            trial.known[sign_up] = whole
        seems = [surfaces.of(season, sign_up)(sign_up) for season, sign_up in enumerate(now.rota)]
        short = [season for season, margin in enumerate(seems) if margin < ENOUGH * aim]
        lacking = {season: aim - seems[season] for season in short}
        before = dict.fromkeys(months_before(years.seasons, short), 0.0)
        steps = {with_more(now.rota, each, trials, surfaces) for each in (lacking, before)} - {now.rota}
        if not short or not steps:
            break
        now = max(tried(sorted(steps)), key=lambda each: each.worth(now, years.seasons, short, aim))
    return now.rota


def months_before(seasons: Sequence[Season], short: Sequence[int]) -> list[int]:
    """The other seasons, by number, that have a month just before one of these."""
    months = {(month - 1) % 12 for season in short for month in seasons[season].months}
    return [season for season, each in enumerate(seasons) if season not in short and months & set(each.months)]


@dataclass(frozen=True)
class _Tried:
    """A rota and what came of it, by season."""

    rota: Rota
    seasons: tuple[Trial, ...]

    def worth(self, now: _Tried, seasons: Sequence[Season], short: Sequence[int], aim: float) -> float:
        """How much nearer it brings the short seasons to the aim than `now` does, for each sign-up a month added."""
        gain = math.fsum(min(self.seasons[s].margin, aim) - min(now.seasons[s].margin, aim) for s in short)
        added = sum(
            (sum(sign_up) - sum(was)) * len(season.months)
            for sign_up, was, season in zip(self.rota, now.rota, seasons, strict=True)
        )
        return gain / added


def _trials(
    outcomes: Sequence[Outcome],
    years: Years,
    ample: Ample,
    targets: Sequence[Mapping[str, Target]],
    trials: Sequence[Trials],
) -> tuple[Trial, ...]:
    found = []
    for season, trial in enumerate(trials):
        whole = Trial(trial.rule)
        whole.add(above(season, years, ample, targets[season], outcomes))
        found.append(whole)
    return tuple(found)
