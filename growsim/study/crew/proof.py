"""What the search found, proven: rehearsed again, with luck the search has not seen. Where it falls short, more people.

A proof looks at the year as a whole, as the goals do. One that fails is tried again with a person more, in fresh years.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from growsim.ledger.outcome import Outcome
from growsim.study.crew.goals import Target, Values, above, values_in
from growsim.study.crew.proof_rule import Evidence, ProofRule
from growsim.study.crew.years import Years
from growsim.study.rota import Rota, Season

End = Literal["proven", "as ample", "short"]
ATTEMPTS = 3
LONGER, LONG = 3, 120  # a proof may take so many times the years asked for, or so many where that is more
LOOKS_AGAIN = 4  # after the first look


def proof_rule(error: float, replications: int) -> ProofRule:
    """The test of a proof."""
    more = max((LONGER - 1) * replications, LONG - replications)
    step = max(2, math.ceil(more / LOOKS_AGAIN))
    return ProofRule(error, replications, step, replications + LOOKS_AGAIN * step)


@dataclass
class Attempt:
    """One sign-up in fresh years from number `begin` on.

    ample: the sign-up of an ample crew, and seen_ample what it reached, year by year. margin: how much better
    that may be before more people are of use.
    """

    rota: Rota
    years: Years
    year: Season
    targets: Mapping[str, Target]
    ample: Rota
    rule: ProofRule
    begin: int
    margin: float
    outcomes: list[Outcome] = field(default_factory=list)
    seen_ample: dict[int, Values] = field(default_factory=dict)
    evidence: Evidence = field(init=False)

    def __post_init__(self) -> None:
        self.evidence = Evidence(self.rule)

    def live(self, *, to_the_end: bool = False) -> None:
        """Years until it is decided or, unless it is to go to the end, until it will not be proven."""
        while True:
            verdict = self.evidence.verdict
            enough = len(self.outcomes) >= self.rule.first
            if (verdict == "rejected" and (not to_the_end or enough)) or (verdict is not None and enough):
                return
            first = self.begin + len(self.outcomes)
            keys = range(first, first + self.rule.next_years(len(self.outcomes)))
            if any(t.below_ample is not None and key not in self.evidence.proven for key, t in self.targets.items()):
                self._live_with_ample(keys)
            lived = self.years.live([self.rota], keys)[self.rota]
            self.outcomes += lived
            self.evidence.add(above(self.year, self.targets, lived, self.seen_ample))

    def _live_with_ample(self, keys: range) -> None:
        for outcome in self.years.live([self.ample], keys)[self.ample]:
            self.seen_ample[outcome.replication] = values_in(self.year, outcome)

    @property
    def end(self) -> End:
        """How it ended: "proven", all goals; "as ample", a goal was not, but in the same years an ample crew is no
        better than by the margin, so that more people would not help; "short", neither."""
        if self.evidence.verdict == "accepted":
            return "proven"
        if any(outcome.replication not in self.seen_ample for outcome in self.outcomes):
            self._live_with_ample(range(self.begin, self.begin + len(self.outcomes)))
        for key in self.evidence.hopeless or self.evidence.wanting:
            gaps = [
                self.seen_ample[outcome.replication][key] - values[key]
                for outcome in self.outcomes
                if key in (values := values_in(self.year, outcome))
            ]
            if self.targets[key].below_ample is not None or math.fsum(gaps) / len(gaps) > self.margin:
                return "short"
        return "as ample"
