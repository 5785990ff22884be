"""What a tenth more of each thing brings: the sentence, and its entry in summary.json."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from growsim.report.words import is_a_year, listed, mass, mass_range, rehearsals
from growsim.study.holds_back import HoldsBack, TenthGain


def sentence(found: HoldsBack, days: int, *, when: str = "today") -> str:
    """What holds the room back, by what a tenth more would bring. when: "today" or "after the change"."""
    years = rehearsals(found.replications, days)
    first = found.first
    if not first:
        return (
            f"In {years} no tenth more of any one thing brings more greens than luck might: {when} nothing by itself "
            "holds the room back."
        )
    best = first[0]
    words = f"{_upper(when)} the room is held back most by {best.what}: a tenth more would bring {_gain(best)}"
    if len(first) > 1:
        rivals = listed([gain.what for gain in first[1:]], "or")
        words += f", which cannot be told in {years} from what a tenth more {rivals} brings"
    then = [gain for gain in found.gains if gain.is_more and gain not in first]
    if then:
        words += f". Then come {listed([f'{g.what} ({mass(g.gain.mean)})' for g in then])}"
    harm = [gain for gain in found.gains if gain.gain.high is not None and gain.gain.high < 0]
    if harm:
        words += f". A tenth more {listed([g.what for g in harm], 'or')} would bring less"
    others = len(found.gains) - len(first) - len(then) - len(harm)
    if others:
        noun = "years" if is_a_year(days) else "rehearsals"
        words += f". A tenth more of anything else makes no difference that shows in {found.replications} {noun}"
    return f"{words}."


def _gain(gain: TenthGain) -> str:
    words = f"{mass(gain.gain.mean)} a week more"
    if gain.gain.low is not None and gain.gain.high is not None:
        words += f" (range {mass_range(gain.gain.low, gain.gain.high)})"
    return words


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def tenths_entry(found: HoldsBack, days: int, *, when: str = "today") -> dict[str, Any]:
    """The ranking as summary.json states it; kilograms a week."""
    return {
        "sentence": sentence(found, days, when=when),
        "replications": found.replications,
        "gains": [{**asdict(gain), "is_more": gain.is_more} for gain in found.gains],
    }
