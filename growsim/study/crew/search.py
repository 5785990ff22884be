"""The smallest sign-up of one season that meets the goals: two ways to look for it.

Both rest on more hands never being worse: what is below a rejected sign-up is rejected unseen, what is above an
accepted one accepted. Both begin on the ladder (see `crew_need`) and ask for years to be rehearsed by yielding; whoever
drives them may rehearse other seasons in the same years.

`exactly`, for rooms with few options: the ladder is halved until one rung is accepted and the rung below rejected;
then people are taken away, shift after shift, as long as what is left is accepted; then every sign-up of one place
fewer is tried. With every one of them rejected, every smaller one is: each lies below one of these.

`near_enough`, for all others: round after round the smallest sign-up that looks enough (see `crew_surface`) is
rehearsed, and with it those of one person less on each shift, so that years gather where enough ends. When it no longer
moves, the likeliest of those of one place fewer are tried until each is accepted or rejected.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Literal

from growsim.study.crew.surface import Surfaces, shifted, smallest_likely
from growsim.study.crew.trial import Rule, Trial, Verdict
from growsim.study.rota import SignUp

FEW_OPTIONS = 64  # so many sign-ups are weighed exactly
LIKELIEST = 3  # else so many of one place fewer are tried to the end
ROUNDS, STILL = 6, 2  # rounds at most; rounds without a move that are enough
RACES = 4  # of the likeliest, at most; each but the last makes the answer a place smaller
AIM = 0.6  # of the zone: what is looked for clears its goals by that, so that a proof is likely to succeed


@dataclass(frozen=True)
class Wish:
    """Sign-ups to be rehearsed further, and the one that stands for the season in other seasons' years."""

    standing: SignUp
    candidates: tuple[SignUp, ...]


@dataclass
class Trials:
    """Every sign-up of a season that has been looked at. ample: accepted without trial, as the goals hang on it."""

    rule: Rule
    ample: SignUp
    known: dict[SignUp, Trial] = field(default_factory=dict)

    def of(self, sign_up: SignUp) -> Trial:
        """The trial of a sign-up, a new one where there is none yet."""
        return self.known.setdefault(sign_up, Trial(self.rule))

    def verdict(self, sign_up: SignUp) -> Verdict | None:
        """Its own, or what follows from those below and above it."""
        if sign_up in self.known and self.known[sign_up].verdict is not None:
            return self.known[sign_up].verdict
        if sign_up == self.ample or any(
            trial.verdict == "accepted" and _below(other, sign_up) for other, trial in self.known.items()
        ):
            return "accepted"
        if any(trial.verdict == "rejected" and _below(sign_up, other) for other, trial in self.known.items()):
            return "rejected"
        return None

    def undecided(self, sign_ups: Sequence[SignUp]) -> tuple[SignUp, ...]:
        """Those of them without a verdict."""
        return tuple(sign_up for sign_up in sign_ups if self.verdict(sign_up) is None)


Refused = Literal["all", "likeliest", "some"]


@dataclass(frozen=True)
class Found:
    """The smallest sign-up found.

    refused: which sign-ups of one place fewer were tried and rejected: "all" of them, the "likeliest", or only "some",
    where the search stopped first.
    """

    sign_up: SignUp
    refused: Refused


Search = Generator[Wish, None, Found]


def exactly(trials: Trials, rungs: Sequence[SignUp], guess: int) -> Search:
    """Every option weighed. guess: the rung to look at first; the last rung is the ample one."""
    least, most = rungs[0], rungs[-1]
    standing = yield from _along(trials, rungs, guess)
    while True:
        for shift in range(len(least)):
            while standing[shift] > least[shift]:
                fewer = _moved(standing, {shift: -1})
                while trials.verdict(fewer) is None:
                    yield Wish(standing, (fewer,))
                if trials.verdict(fewer) == "rejected":
                    break
                standing = fewer
        better = yield from _race(trials, standing, list(_of_total(sum(standing) - 1, least, most)))
        if better is None:
            return Found(standing, "all")
        standing = better


def near_enough(trials: Trials, rungs: Sequence[SignUp], guess: int, surfaces: Surfaces, season: int) -> Search:
    """The likeliest options weighed; the last rung is the ample one. surfaces: of all seasons, this one's by number."""
    least, most = rungs[0], rungs[-1]
    wanted = AIM * trials.rule.zone

    def allowed(sign_up: SignUp) -> bool:
        return trials.verdict(sign_up) != "rejected"

    above = surfaces.of(season, rungs[min(2 * guess, len(rungs) - 1)])
    standing = next((each for each in rungs if above(each) >= wanted), most)
    unmoved = 0
    for _ in range(ROUNDS):
        yield Wish(standing, (standing, *one_away(standing, least)))
        above, before = surfaces.of(season, standing), standing
        standing = smallest_likely(standing, least, most, above, allowed, wanted)
        unmoved = unmoved + 1 if standing == before else 0
        if unmoved == STILL:
            break
    for _ in range(RACES):
        fewer = [*one_away(standing, least), *(s for s in shifted(standing) if _below(least, s) and _below(s, most))]
        fewer.sort(key=lambda each: (-above(each), each))
        likely = [each for each in fewer if allowed(each)][:LIKELIEST]
        better = yield from _race(trials, standing, likely)
        if better is None:
            return Found(standing, "likeliest")
        standing = better
        above = surfaces.of(season, standing)
    return Found(standing, "some")


def options(least: SignUp, most: SignUp) -> int:
    """How many sign-ups there are in all."""
    return math.prod(high - low + 1 for low, high in zip(least, most, strict=True))


def one_away(sign_up: SignUp, least: SignUp) -> tuple[SignUp, ...]:
    """The sign-ups with one person less on one shift."""
    return tuple(_moved(sign_up, {i: -1}) for i in range(len(sign_up)) if sign_up[i] > least[i])


def _along(trials: Trials, rungs: Sequence[SignUp], guess: int) -> Generator[Wish, None, SignUp]:
    """The lowest rung that is accepted, by halving; rungs already rehearsed a little are looked at first."""
    low, high = -1, len(rungs) - 1
    first: int | None = guess
    while True:
        for at in range(low + 1, high):
            verdict = trials.verdict(rungs[at])
            if verdict == "rejected":
                low = at
            elif verdict == "accepted":
                high = at
                break
        if high - low <= 1:
            return rungs[high]
        middle = (low + high) // 2
        begun = [at for at in range(low + 1, high) if rungs[at] in trials.known]
        at = min(begun, key=lambda rung: abs(rung - middle), default=middle)
        if first is not None and low < first < high:
            at = first
        first = None
        while trials.verdict(rungs[at]) is None:
            yield Wish(rungs[high], (rungs[at],))


def _race(trials: Trials, standing: SignUp, candidates: Sequence[SignUp]) -> Generator[Wish, None, SignUp | None]:
    """Rehearse all of them until one is accepted (the first in order, if several) or all are rejected."""
    while True:
        accepted = [each for each in candidates if trials.verdict(each) == "accepted"]
        if accepted:
            return accepted[0]
        undecided = trials.undecided(candidates)
        if not undecided:
            return None
        yield Wish(standing, undecided)


def _of_total(total: int, least: SignUp, most: SignUp) -> Iterator[SignUp]:
    if not least:
        if total == 0:
            yield ()
        return
    rest_least, rest_most = sum(least[1:]), sum(most[1:])
    for people in range(max(least[0], total - rest_most), min(most[0], total - rest_least) + 1):
        for rest in _of_total(total - people, least[1:], most[1:]):
            yield (people, *rest)


def _moved(sign_up: SignUp, by: dict[int, int]) -> SignUp:
    return tuple(people + by.get(i, 0) for i, people in enumerate(sign_up))


def _below(one: SignUp, other: SignUp) -> bool:
    return all(a <= b for a, b in zip(one, other, strict=True))
