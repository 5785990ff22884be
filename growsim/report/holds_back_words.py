"""What holds the room back, in words, with the figures the rule saw and, where it is so, the days it happens on."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

from growsim.report.holds_back import Cause, HoldsBack, WorstDays
from growsim.report.ranges import in_practice
from growsim.report.words import a_period, counted, listed, number, percent, period, short_date

if TYPE_CHECKING:
    from growsim.run.intervals import Estimate

    Estimates = Mapping[str, Estimate]


def holds_back(finding: HoldsBack, estimates: Estimates, days: int) -> str:
    """What holds the room back, with the figures the rule saw."""
    used = finding.hours_used_share
    hours = f"the work falling due takes {percent(used)} of the hours present" if used is not None else ""
    after = ""
    if finding.first == "slots":
        named, evidence = "room on the shelves", _slots_evidence(finding, estimates, days)
    elif finding.first == "hands" and (finding.tight_months or used is None):
        named, evidence = "too few hands", _hands_evidence(finding, estimates, days)
    elif finding.first == "hands":
        named = f"hands at the right moment: over the {period(days)} {hours}, yet"
        evidence = _hands_evidence(finding, estimates, days)
    elif finding.first == "tubs":
        named, evidence = "tubs that run low", _tubs_evidence(finding, estimates, days)
        after = " A float valve, or somebody who comes to fill them up, would keep these plants."
    elif finding.first == "machines":
        named, evidence = "machines that stand still", _machines_evidence(finding, estimates, days)
    else:
        return _nothing_strained(finding, hours)
    joined = " " if named.endswith("yet") else ": "
    also = listed([_also(cause, finding, estimates) for cause in finding.others])
    besides = f" Besides, {also}." if also else ""
    return f"What holds the room back first is {named}{joined}{listed(evidence)}.{after}{besides}"


def _plants_a_year(estimate: Estimate | None, words: str, days: int) -> list[str]:
    if estimate is None or estimate.mean < 0.5:
        return []
    return [f"{counted(estimate.mean, 'plant')} {a_period(days)} {words} ({in_practice(estimate, days)})"]


def _slots_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    parts = []
    waiting = estimates.get("slots_waiting_mean")
    if waiting is not None and waiting.mean >= 0.05:
        parts.append(f"on average {counted(waiting.mean, 'tray', decimals=1)} wait for a slot")
    if finding.fullest is not None:
        fullest = finding.fullest
        parts.append(f"racks open to the {fullest.stage} stage are {percent(fullest.share)} full in {fullest.month}")
    return parts + _plants_a_year(estimates.get("plants_lost_no_room"), "find no slot", days)


def _hands_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    parts = []
    on_time = estimates.get("tasks_on_time_fraction")
    if on_time is not None:
        most = f", {finding.latest_task} most often" if finding.latest_task else ""
        parts.append(
            f"{percent(1 - on_time.mean)} of the tasks are done late ({in_practice(on_time, days)} in time{most})"
        )
    if finding.short_months:
        parts.append(f"more work falls due than there are hours present in {months_named(finding.short_months)}")
    overgrown = _plants_a_year(estimates.get("plants_lost_overgrown"), "are lost overgrown", days)
    return parts + [words + _when("overgrown", finding) for words in overgrown]


def _tubs_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    dried = _plants_a_year(estimates.get("plants_lost_dried_out"), "dry out", days)
    low = f", {percent(finding.dried_low_tub_share)} of them because their tub was not filled up in time"
    return [words + low + _when("dried_out", finding) for words in dried]


def _machines_evidence(finding: HoldsBack, estimates: Estimates, days: int) -> list[str]:
    dried = _plants_a_year(estimates.get("plants_lost_dried_out"), "dry out", days)
    parts = [words + _when("dried_out", finding) for words in dried]
    parts += _plants_a_year(estimates.get("plants_lost_heat"), "are lost to heat", days)
    failures = estimates.get("machine_failures")
    if failures is not None:
        times = f"machines fail {number(failures.mean, 1)} times {a_period(days)}"
        parts.append(f"{times} ({in_practice(failures, days)})")
    return parts


def _when(fate: str, finding: HoldsBack) -> str:
    """The days on which most of it happens; "" where it happens all through the year."""
    worst = finding.worst_days.get(fate)
    return "" if worst is None else f", {_days_named(worst)}"


def _days_named(worst: WorstDays) -> str:
    named = f"most of it ({percent(worst.share)}) from {short_date(worst.first)} to {short_date(worst.last)}"
    if not worst.closed_days:
        return named
    all_of_them = worst.closed_days == (worst.last - worst.first).days + 1
    return f"{named}, {'when' if all_of_them else f'on {worst.closed_days} days of which'} the room is closed"


def months_named(months: Sequence[str]) -> str:
    """Months in words; many of them with their number first."""
    return listed(months) if len(months) <= 6 else f"{len(months)} months ({', '.join(months)})"


def _also(cause: Cause, finding: HoldsBack, estimates: Estimates) -> str:
    """A cause that holds the room back as well, in a few words."""
    waiting, on_time = estimates.get("slots_waiting_mean"), estimates.get("tasks_on_time_fraction")
    if cause == "slots":
        return "slots are tight" + (f" ({counted(waiting.mean, 'tray', decimals=1)} waiting)" if waiting else "")
    if cause == "hands":
        return "hands come too late" + (f" for {percent(1 - on_time.mean)} of the tasks" if on_time else "")
    lost = f"{percent(finding.shares[cause], 1)} of the seedlings"
    if cause == "tubs":
        return f"tubs that are not filled up in time cost {lost}"
    return f"machines that stand still cost {lost}"


def _nothing_strained(finding: HoldsBack, hours: str) -> str:
    slack = [hours] if hours else []
    if finding.slots_used_share is not None:
        slack.insert(0, f"{percent(finding.slots_used_share)} of the slots are in use on average")
    seen = f": {listed(slack)}" if slack else ""
    if finding.first == "plan":
        return f"What holds the room back is the sowing plan; slots, hands and machines would allow more{seen}."
    return f"Nothing in the room holds it back at present; orders are met with slots and hands to spare{seen}."
