"""The answer rehearsed anew, with luck the search has not seen; where it falls short, one person more.

A search keeps what looked good, and looking good is partly luck. So the goals are tested again in fresh years, with all
seasons' sign-ups in place, by the same sequential test: it accepts with at most the stated chance a sign-up whose true
mean lies below a goal, for all seasons and goals together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.study.crew_goals import Target, values_in
from growsim.study.crew_rota import Rota, SignUp
from growsim.study.crew_rounds import Ample, Years, above
from growsim.study.crew_search import Trials, worth_of_last
from growsim.study.crew_trial import Rule, Trial

End = Literal["proven", "as ample", "short"]
ATTEMPTS = 4
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
    hours: Sequence[float],
    *,
    replications: int,
    zone: float,
    margin: float,
    doubt: float,
) -> Proof:
    """Test the rota in fresh years, and again with more people where it falls short.

    hours: of work by shift on paper, for want of better. replications: years at least. margin: how much better ample
    hands may be before more people are added. doubt: chance in all of proving what is not so; the first attempt gets
    half of it, each further one half of what is left.
    """
    now = rota
    goals = max(1, sum(len(each) for each in targets))
    begin = 1 + max(
        [-1, *ample.seen, *(year for each in trials for trial in each.known.values() for year in trial.seen)]
    )
    for attempt in range(ATTEMPTS):
        rule = proof_rule(zone, doubt / 2 ** (attempt + 1) / goals, replications)
        outcomes, seen = _attempt(now, years, ample, targets, rule, begin)
        ends = _ends(years, ample, targets, outcomes, seen, margin)
        stepped = tuple(
            one_more(trials[season], sign_up, seen[season], hours) if ends[season] == "short" else sign_up
            for season, sign_up in enumerate(now)
        )
        if stepped == now or attempt == ATTEMPTS - 1:
            break
        now, begin = stepped, begin + len(outcomes)
    return Proof(now, tuple(outcomes), ends)


def proof_rule(zone: float, error: float, replications: int) -> Rule:
    """The strict test of a proof, for one goal in one season."""
    return Rule(zone, error, replications, max(4, replications // 3), LONGER * replications, strict=True)


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
    rota: Rota, years: Years, ample: Ample, targets: Sequence[Mapping[str, Target]], rule: Rule, begin: int
) -> tuple[list[Outcome], list[Trial]]:
    seen = [Trial(rule) for _ in targets]
    hang_on_ample = any(target.below_ample is not None for each in targets for target in each.values())
    outcomes: list[Outcome] = []
    while any(trial.verdict is None for trial in seen):
        number = rule.step if outcomes else rule.first
        keys = range(begin + len(outcomes), begin + len(outcomes) + number)
        lived = years.live([rota, *([ample.rota] if hang_on_ample else [])], keys)
        if hang_on_ample:
            ample.add(lived[ample.rota])
        outcomes += lived[rota]
        for season, trial in enumerate(seen):
            trial.add(above(season, years, ample, targets[season], lived[rota]))
    return outcomes, seen


def one_more(trials: Trials, sign_up: SignUp, seen: Trial, hours: Sequence[float]) -> SignUp:
    """One person more where it helps the scarcest figure most, by what places were seen to be worth; within reach.

    Where nothing was seen, where there is most work on paper for each who signed up.
    """
    key = min(seen.watches, key=lambda name: seen.watches[name].mean, default="")
    open_to = [i for i, people in enumerate(sign_up) if people < trials.ample[i]]
    if not open_to:
        return sign_up
    best = max(open_to, key=lambda i: (worth_of_last(trials, sign_up, i).get(key, 0.0), hours[i] / (sign_up[i] + 1)))
    return tuple(people + (i == best) for i, people in enumerate(sign_up))
