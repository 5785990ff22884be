"""The answer rehearsed anew, with luck the search has not seen; where it falls short, one person more.

A search keeps what looked good, and looking good is partly luck. So the goals are tested again in fresh years, with all
seasons' sign-ups in place, by the same sequential test: it accepts with at most the stated chance a sign-up whose true
mean lies below a goal, for all seasons and goals together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from growsim.ledger.outcome import Outcome
from growsim.study.crew_goals import Target
from growsim.study.crew_rota import Rota, SignUp
from growsim.study.crew_rounds import Ample, Years, above
from growsim.study.crew_search import Trials, worth_of_last
from growsim.study.crew_trial import Rule, Trial

ATTEMPTS = 4
LONGER = 3  # a proof may take so many times the years asked for


@dataclass(frozen=True)
class Proof:
    """rota: what was proven. outcomes: of the fresh years. passed: by season, whether all its goals were.

    added: people added to what the search found, by season, because it fell short in fresh years.
    """

    rota: Rota
    outcomes: tuple[Outcome, ...]
    passed: tuple[bool, ...]
    added: tuple[int, ...]


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
    doubt: float,
) -> Proof:
    """Test the rota in fresh years, and again with more people where it falls short.

    hours: of work by shift on paper, for want of better. replications: years at least. doubt: chance in all of proving what is not so; the first attempt gets half of it,
    each further one half of what is left.
    """
    now = rota
    goals = max(1, sum(len(each) for each in targets))
    begin = 1 + max(
        (max(ample.seen, default=-1), *(t.years for each in trials for t in each.known.values())), default=0
    )
    for attempt in range(ATTEMPTS):
        rule = Rule(zone, doubt / 2 ** (attempt + 1) / goals, replications, _step(replications), LONGER * replications)
        outcomes, seen = _attempt(now, years, ample, targets, rule, begin)
        passed = tuple(trial.verdict == "accepted" for trial in seen)
        if all(passed) or attempt == ATTEMPTS - 1:
            break
        stepped = tuple(
            sign_up if fine else one_more(trials[season], sign_up, seen[season], hours)
            for season, (sign_up, fine) in enumerate(zip(now, passed, strict=True))
        )
        if stepped == now:
            break
        now, begin = stepped, begin + len(outcomes)
    added = tuple(sum(after) - sum(before) for before, after in zip(rota, now, strict=True))
    return Proof(now, tuple(outcomes), passed, added)


def _step(replications: int) -> int:
    return max(4, replications // 3)


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
