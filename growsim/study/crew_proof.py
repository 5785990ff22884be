"""The answer rehearsed anew, with luck the search has not seen; where it falls short, more people.

A search keeps what looked good, and looking good is partly luck. So the goals are tested again in fresh years, with all
seasons' sign-ups in place, by the same sequential test: it accepts with at most the stated chance a sign-up whose true
mean lies below a goal, for all seasons and goals together.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.study.crew_goals import Target, values_in
from growsim.study.crew_rota import Rota, SignUp
from growsim.study.crew_rounds import Ample, Years, above
from growsim.study.crew_search import AIM, Trials
from growsim.study.crew_surface import Surfaces
from growsim.study.crew_trial import Rule, Trial

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
    each further one half of what is left.
    """
    now = rota
    goals = max(1, sum(len(each) for each in targets))
    begin = 1 + max(
        [-1, *ample.seen, *(year for each in trials for trial in each.known.values() for year in trial.seen)]
    )
    for attempt in range(ATTEMPTS):
        is_last = attempt == ATTEMPTS - 1
        rule = proof_rule(zone, doubt / 2 ** (attempt + 1) / goals, replications)
        outcomes, seen = _attempt(now, years, ample, targets, rule, begin, to_the_end=is_last)
        ends = _ends(years, ample, targets, outcomes, seen, margin)
        stepped = list(now)
        for season, trial in enumerate(seen):
            trials[season].of(now[season]).add(trial.seen)
            if ends[season] == "short" and trial.verdict == "rejected":
                lacking = AIM * zone - min(watch.mean for watch in trial.watches.values())
                curve = surfaces.of(season, now[season])
                stepped[season] = topped_up(now[season], trials[season].ample, curve, lacking)
        if tuple(stepped) == now or is_last:
            break
        now, begin = tuple(stepped), begin + len(outcomes)
    return Proof(now, tuple(outcomes), ends)


def proof_rule(zone: float, error: float, replications: int) -> Rule:
    """The strict test of a proof, for one goal in one season. Its zone is half the search's: it may take its time."""
    return Rule(zone / 2.0, error, replications, max(4, replications // 3), LONGER * replications, strict=True)


def _ends(
    years: Years,
    ample: Ample,
    targets: Sequence[Mapping[str, Target]],
    outcomes: Sequence[Outcome],
    seen: Sequence[Trial],
    margin: float,
) -> tuple[End, ...]:
    """How each season's proof ended. Where one failed, ample hands live through the same years to see why."""
    if all(trial.verdict == "accepted" for trial in seen):
        return tuple("proven" for _ in seen)
    keys = [outcome.replication for outcome in outcomes]
    if ample.missing(keys):
        ample.add(years.live([ample.rota], keys)[ample.rota])
    ends: list[End] = []
    for season, trial in enumerate(seen):
        missed = [key for key, watch in trial.watches.items() if watch.verdict != "accepted"]
        ends.append("proven" if not missed else "as ample")
        for key in missed:
            gaps = [
                ample.seen[outcome.replication][season][key] - values[key]
                for outcome in outcomes
                if key in (values := values_in(years.seasons[season], outcome))
            ]
            if targets[season][key].below_ample is not None or math.fsum(gaps) / len(gaps) > margin:
                ends[-1] = "short"
    return tuple(ends)


def _attempt(
    rota: Rota,
    years: Years,
    ample: Ample,
    targets: Sequence[Mapping[str, Target]],
    rule: Rule,
    begin: int,
    *,
    to_the_end: bool,
) -> tuple[list[Outcome], list[Trial]]:
    """Fresh years until every season is decided or, unless it is to go to the end, one is rejected."""
    seen = [Trial(rule) for _ in targets]
    hang_on_ample = any(target.below_ample is not None for each in targets for target in each.values())
    outcomes: list[Outcome] = []
    while any(trial.verdict is None for trial in seen):
        if not to_the_end and any(trial.verdict == "rejected" for trial in seen):
            break
        number = rule.step if outcomes else rule.first
        keys = range(begin + len(outcomes), begin + len(outcomes) + number)
        lived = years.live([rota, *([ample.rota] if hang_on_ample else [])], keys)
        if hang_on_ample:
            ample.add(lived[ample.rota])
        outcomes += lived[rota]
        for season, trial in enumerate(seen):
            trial.add(above(season, years, ample, targets[season], lived[rota]))
    return outcomes, seen


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
