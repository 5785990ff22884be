"""The smallest sign-up of one season: along the ladder to the first that is enough, then one person away at a time.

It rests on more hands never being worse: what is below a rejected sign-up is rejected unseen, what is above an accepted
one accepted. Three steps:

1. The ladder (see `crew_need`) is halved until one rung is accepted and the rung below it is rejected.
2. From there one person is taken away, from each shift in turn, as long as some such sign-up is accepted. All are seen
   in the same years; the first to be accepted is kept.
3. Then sign-ups of one place fewer that also shift people between days: where there are few, all of them (with 2, every
   smaller sign-up is thereby rejected: each lies below one of these); where there are many, the likeliest.

The search asks for years to be rehearsed by yielding; whoever drives it may rehearse other seasons in the same years.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import product

from growsim.study.crew_rota import SignUp
from growsim.study.crew_trial import Rule, Trial, Verdict

FEW = 12  # so many sign-ups of one place fewer are all tried
MOST_SHIFTED = 4  # else so many of the likeliest


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


@dataclass(frozen=True)
class Found:
    """sign_up: the smallest accepted. all_tried: whether every sign-up of one place fewer was rejected."""

    sign_up: SignUp
    all_tried: bool


Search = Generator[Wish, None, Found]


def smallest(
    trials: Trials, rungs: Sequence[SignUp], guess: int, *, few: int = FEW, shifted: int = MOST_SHIFTED
) -> Search:
    """Search; returns what was found. guess: the rung to look at first. The last rung is the ample one."""
    standing = yield from _along(trials, rungs, guess)
    least = rungs[0]
    while True:
        fewer = one_away(standing, least)
        better = yield from _race(trials, standing, fewer)
        all_tried = True
        if better is None:
            others = _level_below(standing, least, rungs[-1], few)
            all_tried = others is not None
            if others is None:
                others = likeliest(trials, standing, least, rungs[-1], shifted)
            better = yield from _race(trials, standing, others)
        if better is None:
            return Found(standing, all_tried)
        standing = better


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
    """Rehearse all of them until one is accepted (the one with most to spare, if several) or all are rejected."""
    while True:
        accepted = [each for each in candidates if trials.verdict(each) == "accepted"]
        if accepted:
            return max(accepted, key=lambda each: (trials.of(each).margin, each))
        undecided = trials.undecided(candidates)
        if not undecided:
            return None
        yield Wish(standing, undecided)


def _level_below(standing: SignUp, least: SignUp, most: SignUp, few: int) -> list[SignUp] | None:
    """Every sign-up of one place fewer in all, or None where there are more than `few`."""
    found: list[SignUp] = []
    for sign_up in _of_total(sum(standing) - 1, least, most):
        found.append(sign_up)
        if len(found) > few:
            return None
    return found


def _of_total(total: int, least: SignUp, most: SignUp) -> Iterator[SignUp]:
    if not least:
        if total == 0:
            yield ()
        return
    rest_least, rest_most = sum(least[1:]), sum(most[1:])
    for people in range(max(least[0], total - rest_most), min(most[0], total - rest_least) + 1):
        for rest in _of_total(total - people, least[1:], most[1:]):
            yield (people, *rest)


def likeliest(trials: Trials, standing: SignUp, least: SignUp, most: SignUp, number: int) -> list[SignUp]:
    """Two people away and one put elsewhere: the most promising, by what each place was seen to be worth.

    A second person away costs at least as much as the first, and one more brings at most what the last one did; so a
    sign-up that is short by this reckoning is short.
    """
    shifts = range(len(standing))
    worth = [worth_of_last(trials, standing, i) for i in shifts]
    promising: list[tuple[float, SignUp]] = []
    for i, j, k in product(shifts, repeat=3):
        if i > j or k in (i, j):
            continue
        moved = _moved(standing, {i: -2, k: 1} if i == j else {i: -1, j: -1, k: 1})
        if not (_below(least, moved) and _below(moved, most)) or trials.verdict(moved) == "rejected":
            continue
        likely = min(
            (
                watch.mean - worth[i].get(key, 0.0) - worth[j].get(key, 0.0) + worth[k].get(key, 0.0)
                for key, watch in trials.of(standing).watches.items()
            ),
            default=0.0,
        )
        promising.append((likely, moved))
    promising.sort(reverse=True)
    return [moved for likely, moved in promising if likely > 0.0][:number]


def worth_of_last(trials: Trials, standing: SignUp, shift: int) -> dict[str, float]:
    """What the last place of a shift brings to each figure, at least nought: from the nearest two sign-ups that differ
    in just that place, by the years both have been seen in."""
    pairs = [
        (sum(abs(a - b) for a, b in zip(one, standing, strict=True)), one, other)
        for one in trials.known
        if (other := _moved(one, {shift: -1})) in trials.known
    ]
    if not pairs:
        return {}
    _, one, other = min(pairs)
    worth = {}
    for key, watch in trials.known[one].watches.items():
        with_it, without = watch.above, trials.known[other].watches[key].above
        n = min(len(with_it), len(without))
        worth[key] = max(0.0, (math.fsum(with_it[:n]) - math.fsum(without[:n])) / n) if n else 0.0
    return worth


def _moved(sign_up: SignUp, by: dict[int, int]) -> SignUp:
    return tuple(people + by.get(i, 0) for i, people in enumerate(sign_up))


def _below(one: SignUp, other: SignUp) -> bool:
    return all(a <= b for a, b in zip(one, other, strict=True))
