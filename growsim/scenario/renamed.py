"""Old words in a room or CHANGE file: found, told once each, and put right so that the rest can be checked."""

from __future__ import annotations

from collections import Counter
from typing import Any

from growsim.scenario.wording import Finding
from growsim.vocabulary.old_words import is_now


def in_words_of_today(raw: dict[str, Any]) -> tuple[dict[str, Any], list[Finding]]:
    """The tables with every old word replaced, and a finding for each of them, once however often it stands there."""
    found: Counter[Finding] = Counter()

    def walked(given: Any, where: str, shown: str) -> Any:
        """where: the table as it is called now; shown: as the file calls it. Entries of a list go without a name."""
        if isinstance(given, (list, tuple)):
            return [walked(entry, where, shown) for entry in given]
        if isinstance(given, str) and (new := is_now(where, given)):
            found[shown, f'"{given}" is now called "{new}"', "rename it"] += 1
            return new
        if not isinstance(given, dict):
            return given
        today: dict[str, Any] = {}
        for key, value in given.items():
            new, old = is_now(where, key), f"{shown}.{key}".lstrip(".")
            if new is not None:
                found[old, f"is now called {new}", "keep one of the two" if new in given else "rename it"] += 1
            today[new or key] = walked(value, f"{where}.{new or key}".lstrip("."), old)
        return today

    today = walked(raw, "", "")
    findings = [
        (key, problem, remedy + (f", in all {times} places" if times > 1 else ""))
        for (key, problem, remedy), times in found.items()
    ]
    return (today if found else raw), findings
