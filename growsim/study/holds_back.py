"""What holds the room back: what a tenth more of each thing would bring, under shared luck, ranked.

Where whole slots or cells make it a little more or less than a tenth, the gain is brought to a tenth in proportion.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from typing import TYPE_CHECKING

from growsim.ledger.outcome import Outcome
from growsim.run.intervals import mean_interval
from growsim.run.prepare import Prepared, prepare
from growsim.run.rehearsers import Progress, Rehearsers
from growsim.spec.plan import RunPlan
from growsim.spec.scenario import Scenario
from growsim.study.alternatives import keep_pace
from growsim.study.counting import Counting
from growsim.study.pay_back import KG, Range
from growsim.study.tenths import TENTH, Tenth, tenths_of
from growsim.study.verdicts import NOISE

if TYPE_CHECKING:
    import pandas as pd

TO_PARTNERS = "kg_to_partners_per_week"
AT_MOST = 40  # possible years; a tenth more either shows by then or is not worth a planner's thought
DOUBT = 0.05

Rehearse = Callable[[Prepared, Sequence[int]], list[Outcome]]


@dataclass(frozen=True)
class TenthGain:
    """What a tenth more of one thing brings: kilograms a week, a mean with a range.

    gain: handed out. to_partners: of the kilograms that partners ordered. share_added: what was really added; the gain
    is brought to a tenth. cannot_be_told_from_first: the difference to the first of the ranking may be luck.
    """

    key: str
    what: str
    added: str
    share_added: float
    gain: Range
    to_partners: Range
    cannot_be_told_from_first: bool

    @property
    def is_more(self) -> bool:
        """Whether it brings more, luck aside."""
        return self.gain.low is not None and self.gain.low > NOISE


@dataclass(frozen=True)
class HoldsBack:
    """The ranking, largest gain first. replications: possible years it rests on. kg_per_week: handed out today.

    All ranges hold at once with 95 % confidence.
    """

    gains: tuple[TenthGain, ...]
    replications: int
    kg_per_week: float

    def to_frame(self) -> pd.DataFrame:
        """One row a thing: more_of, key, share_added, kg_per_week, low, high, kg_to_partners_per_week, is_more."""
        from growsim.study.frames import tenths_frame

        return tenths_frame(self)

    @property
    def first(self) -> tuple[TenthGain, ...]:
        """What holds the room back first: the largest gain and those that cannot be told from it; () where none is."""
        if not self.gains or not self.gains[0].is_more:
            return ()
        return tuple(gain for gain in self.gains if gain.is_more and gain.cannot_be_told_from_first)


def replications_for(done: int) -> int:
    """Possible years to rehearse each tenth in, where the room itself has been rehearsed so often."""
    return min(done, AT_MOST)


def count_of(prepared: Prepared) -> int:
    """How many rooms `what_holds_back` rehearses."""
    return len(tenths_of(prepared.scenario))


def what_holds_back(prepared: Prepared, outcomes: Sequence[Outcome], rehearse: Rehearse) -> HoldsBack:
    """Rehearse the room with a tenth more of each thing.

    outcomes: of the room as it is. rehearse: lives through the replications it is given.
    """
    known = sorted(outcomes, key=lambda outcome: outcome.replication)[: replications_for(len(outcomes))]
    tenths = tenths_of(prepared.scenario)
    changes: dict[str, tuple[list[float], list[float]]] = {}
    for tenth in tenths:
        scenario, _ = keep_pace(prepared, tenth.scenario)
        lived = rehearse(prepare(scenario), [outcome.replication for outcome in known])
        scale = TENTH / tenth.share
        changes[tenth.key] = (_changes(known, lived, KG, scale), _changes(known, lived, TO_PARTNERS, scale))
    base = [outcome.measures.get(KG, 0.0) for outcome in known]
    return HoldsBack(_ranked(tenths, changes), len(known), sum(base) / len(base))


def rank_room(
    scenario: Scenario,
    outcomes: Sequence[Outcome],
    *,
    seed: int,
    plan: RunPlan,
    workers: int = 1,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> HoldsBack:
    """`what_holds_back` for a room that has been rehearsed with this seed and plan. Raises Interrupted on Ctrl-C."""
    prepared = prepare(scenario)
    counting = Counting(progress, count_of(prepared) * replications_for(len(outcomes)))
    with Rehearsers(workers, executor=executor) as rehearsers:

        def rehearse(each: Prepared, keys: Sequence[int]) -> list[Outcome]:
            return rehearsers.run({"": each}, seed, keys, plan, counting.more(len(keys)))[""]

        return what_holds_back(prepared, outcomes, rehearse)


def _changes(before: Sequence[Outcome], after: Sequence[Outcome], key: str, scale: float) -> list[float]:
    return [
        (two.measures.get(key, 0.0) - one.measures.get(key, 0.0)) * scale
        for one, two in zip(before, after, strict=True)
    ]


def _ranked(
    tenths: Sequence[Tenth], changes: Mapping[str, tuple[Sequence[float], Sequence[float]]]
) -> tuple[TenthGain, ...]:
    level = 1.0 - DOUBT / max(1, len(tenths))

    def over(values: Sequence[float]) -> Range:
        return Range(*mean_interval(values, level))

    gains = {tenth.key: over(changes[tenth.key][0]) for tenth in tenths}
    ranked = sorted(tenths, key=lambda tenth: -gains[tenth.key].mean)

    def may_be_first(tenth: Tenth) -> bool:
        best = changes[ranked[0].key][0]
        apart = over([first - own for first, own in zip(best, changes[tenth.key][0], strict=True)])
        return tenth is ranked[0] or apart.low is None or apart.low <= 0

    return tuple(
        TenthGain(
            tenth.key,
            tenth.what,
            tenth.added,
            tenth.share,
            gains[tenth.key],
            over(changes[tenth.key][1]),
            may_be_first(tenth),
        )
        for tenth in ranked
    )
