"""What a tenth more of each thing brings: the sentence, and its entry in summary.json."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from growsim.report.signed import plus, sizes
from growsim.report.words import is_a_year, listed, mass, rehearsals
from growsim.study.holds_back import HoldsBack, TenthGain
from growsim.study.pay_back import KG
from growsim.study.verdicts import NOISE
from growsim.units import pounds


def sentence(found: HoldsBack, days: int, *, when: str = "today") -> str:
    """What holds the room back, by what a tenth more would bring. when: "today" or "after the change"."""
    years = rehearsals(found.replications, days)
    first = found.first
    harm = [gain for gain in found.gains if gain.gain.high is not None and gain.gain.high < -NOISE]
    then = [gain for gain in found.gains if gain.is_more and gain not in first]
    if not first:
        parts = [f"{_upper(when)}, in {years}, a tenth more of no one thing brings more greens for certain"]
        if found.gains and found.gains[0].gain.mean > NOISE:
            best = found.gains[0]
            parts.append(f"The likeliest is {best.what}: {_gain(best)}")
    else:
        best = first[0]
        words = f"{_upper(when)} the room is held back most by {best.what}: a tenth more would bring {_gain(best)}"
        if len(first) > 1:
            rivals = listed([gain.what for gain in first[1:]], "or")
            words += f", which cannot be told in {years} from what a tenth more {rivals} brings"
        parts = [words]
    if then:
        parts.append(f"Then come {listed([f'{gain.what} ({mass(gain.gain.mean)})' for gain in then])}")
    if harm:
        parts.append(f"A tenth more {listed([gain.what for gain in harm], 'or')} would bring less")
    others = len(found.gains) - len(first) - len(then) - len(harm)
    if first and others:
        noun = "years" if is_a_year(days) else "rehearsals"
        parts.append(f"A tenth more of anything else makes no difference that shows in {found.replications} {noun}")
    return ". ".join(parts) + "."


def _gain(gain: TenthGain) -> str:
    words, low, high = f"{mass(gain.gain.mean)} a week more", gain.gain.low, gain.gain.high
    if low is None or high is None:
        return words
    if low >= 0:
        return f"{words}, range {sizes(KG, low, high, '')}"
    return f"{words}, range {plus(low, 2)} to {plus(high, 2)} kg, {plus(pounds(low), 2)} to {plus(pounds(high), 2)} lb"


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def tenths_entry(found: HoldsBack, days: int, *, when: str = "today") -> dict[str, Any]:
    """The ranking as summary.json states it; kilograms a week."""
    return {
        "sentence": sentence(found, days, when=when),
        "replications": found.replications,
        "gains": [{**asdict(gain), "is_more": gain.is_more} for gain in found.gains],
    }
