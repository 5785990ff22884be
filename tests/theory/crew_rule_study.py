"""How often is a sign-up proven that only just misses what is asked? By simulation, with `crew`'s own test and others.

    python tests/theory/crew_rule_study.py 20000      60 years first, one of six seasons at a joint 5 %; some minutes

Years are dealt from a law whose mean lies exactly at the goal, so that every proof is a wrong one: a gamma distribution
turned round (most years good, a few bad; skewness -2/sqrt(shape)), or a normal one. Giving up is left out: it can only
make wrong proofs rarer.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence

import numpy as np

from growsim.run.intervals import proportion_interval, t_quantile
from growsim.study.crew.proof import proof_rule
from growsim.study.crew.proof_rule import ProofRule

SEASONS = 6
JOINT_ERROR = 0.05
YEARS_FIRST = 60
SKEWNESS = -1.5  # of the demo room's share of tasks on time

Proves = Callable[[ProofRule, Sequence[float]], bool]


def by_our_test(rule: ProofRule, above: Sequence[float]) -> bool:
    """As `crew` proves."""
    return rule.proves(above)


def by_plain_t(rule: ProofRule, above: Sequence[float]) -> bool:
    """Student's t with the same care over looks, made for years that are not skewed."""
    values = np.asarray(above)
    t = values.mean() / values.std(ddof=1) * np.sqrt(len(values))
    return bool(t >= t_quantile(1.0 - rule.error / rule.looks, len(values) - 1))


def looking_once(rule: ProofRule, above: Sequence[float]) -> bool:
    """Our test with no care over looks: the whole error spent at every one."""
    return ProofRule(rule.error, len(above), 1, len(above)).proves(above)


def wrong_proofs(proves: Proves, rule: ProofRule, tries: int, *, skewness: float, seed: int = 1) -> int:
    """Of so many seasons exactly at their goal, those that are proven at one of the looks."""
    dice, wrong = np.random.default_rng(seed), 0
    looks = range(rule.first, rule.at_most + 1, rule.step)
    for _ in range(tries):
        years = dealt(dice, rule.at_most, skewness).tolist()
        wrong += any(proves(rule, years[:look]) for look in looks)
    return wrong


def dealt(dice: np.random.Generator, years: int, skewness: float) -> np.ndarray:
    """Years about a mean of zero with this skewness, zero or below."""
    if skewness == 0:
        return dice.normal(size=years)
    shape = 4.0 / skewness**2
    return shape - dice.gamma(shape, size=years)


if __name__ == "__main__":
    asked = int(sys.argv[1]) if len(sys.argv) > 1 else 20_000
    whole = proof_rule(JOINT_ERROR / SEASONS, YEARS_FIRST)
    print(f"wanted: {whole.error:.2%} at most, {whole.looks} looks of {whole.first} to {whole.at_most} years")
    for name, test in (("crew's test", by_our_test), ("plain t", by_plain_t), ("no care over looks", looking_once)):
        for skew in (0.0, SKEWNESS):
            share = proportion_interval(wrong_proofs(test, whole, asked, skewness=skew), asked)
            print(f"{name:20s} skewness {skew:4.1f}: {share.share:.2%} ({share.low:.2%} to {share.high:.2%})")
