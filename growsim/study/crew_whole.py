"""What the search found, put together and tried whole before it is proven.

A search judges each season beside sign-ups under trial in the others, and ends where its curve points: perhaps at a
sign-up that was never rehearsed itself. A proof that fails costs fresh years, often with ample hands beside them. So
the whole rota first lives through years of the search, in which ample hands have lived already; where a season falls
short, people are added, in its own months or in those before them: work left undone in May is missed in June, and then
no number of hands helps in June. Both are tried, and whichever brings more for each sign-up a month stays. These years
prove nothing: a proof has its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from growsim.ledger.outcome import Outcome
from growsim.study.crew_goals import Target
from growsim.study.crew_proof import with_more
from growsim.study.crew_rota import Rota, Season
from growsim.study.crew_rounds import Ample, Years, above
from growsim.study.crew_search import AIM, Trials
from growsim.study.crew_surface import Surfaces
from growsim.study.crew_trial import Trial

STEPS = 3  # times people are added, at most
ENOUGH = 0.5  # of what is aimed at: a season that seems to clear its goals by that is left as it is


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
