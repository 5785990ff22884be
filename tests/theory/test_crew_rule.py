"""A sign-up that just misses its goal is proven no more often than stated; a simpler test would prove it too often.

Wanted share and both simpler tests: computed here by simulation, no published figure; `crew_rule_study.py` has more.
"""

from __future__ import annotations

import pytest
from theory.crew_rule_study import SKEWNESS, Proves, by_our_test, by_plain_t, looking_once, wrong_proofs

from growsim.run.intervals import Share, proportion_interval
from growsim.study.crew.proof import proof_rule

RULE = proof_rule(0.025, 30)
TRIES = 3_000


def share_of_wrong(proves: Proves, skewness: float) -> Share:
    """How often what lies exactly at its goal is proven."""
    return proportion_interval(wrong_proofs(proves, RULE, TRIES, skewness=skewness), TRIES)


@pytest.mark.parametrize("skewness", [0.0, SKEWNESS])
def test_proving_what_is_not_so_is_rare(skewness: float) -> None:
    """Years normal or skewed as those of the demo room, all looks together."""
    wrong = share_of_wrong(by_our_test, skewness)

    assert wrong.low <= RULE.error
    assert wrong.high < 1.3 * RULE.error


@pytest.mark.parametrize(
    ("proves", "skewness"), [(by_plain_t, SKEWNESS), (looking_once, 0.0)], ids=["plain t", "no care over looks"]
)
def test_without_either_care_it_would_not_be(proves: Proves, skewness: float) -> None:
    """What the cubic transformation and Bonferroni's division are for: this simulation sees what they prevent."""
    assert share_of_wrong(proves, skewness).low > 1.3 * RULE.error
