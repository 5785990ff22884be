"""Rehearsing sign-ups: whole years of one room with so many people for each shift and season, under shared luck."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from growsim.ledger.outcome import Outcome
from growsim.run.prepare import Prepared
from growsim.run.progress import SharedProgress
from growsim.run.rehearsers import Rehearsers, See, unseen
from growsim.scenario.plan import RunPlan
from growsim.study.rota import Rota, Season, signed_up


@dataclass
class Years:
    """Rehearses rotas of one room and remembers them. rehearsed: years lived through so far."""

    rehearsers: Rehearsers
    prepared: Prepared
    seed: int
    plan: RunPlan
    seasons: tuple[Season, ...]
    shared: SharedProgress
    rehearsed: int = 0
    _known: dict[Rota, dict[int, Outcome]] = field(default_factory=dict)

    def live(self, rotas: Sequence[Rota], keys: Sequence[int], see: See = unseen) -> dict[Rota, list[Outcome]]:
        """Every rota in the same replications, in their order; what is known already is not lived through again."""
        wanting: dict[tuple[int, ...], list[Rota]] = {}
        for rota in dict.fromkeys(rotas):
            known = self._known.setdefault(rota, {})
            missing = tuple(key for key in keys if key not in known)
            if missing:
                wanting.setdefault(missing, []).append(rota)
        for missing, needing in wanting.items():
            rooms = {str(rota): signed_up(self.prepared, self.seasons, rota) for rota in needing}
            lived = self.rooms(rooms, missing, see)
            for rota in needing:
                self._known[rota].update({outcome.replication: outcome for outcome in lived[str(rota)]})
        return {rota: [self._known[rota][key] for key in keys] for rota in rotas}

    def rooms(self, rooms: Mapping[str, Prepared], keys: Sequence[int], see: See = unseen) -> dict[str, list[Outcome]]:
        """Any rooms in the same replications."""
        number = len(rooms) * len(keys)
        self.rehearsed += number
        return self.rehearsers.run(rooms, self.seed, keys, self.plan, self.shared.more(number), see)

    def known(self, rota: Rota) -> list[Outcome]:
        """Every year of a rota lived through so far."""
        return [outcome for _, outcome in sorted(self._known.get(rota, {}).items())]

    def renamed(self, before: Rota, seasons: tuple[Season, ...], after: Rota) -> None:
        """From now on years have these seasons; what one rota brought is known under its new name."""
        self.seasons, self._known = seasons, {after: self._known[before]}
