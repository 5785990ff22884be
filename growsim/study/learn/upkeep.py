"""What the table of faults teaches: how long machines run between failures, how long they take to repair, power
outages.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import Any

from growsim.scenario.equipment import Reliability
from growsim.scenario.machines import Machine, coming, machines_of
from growsim.scenario.record.record import FaultRow
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.job_minutes import moments
from growsim.study.learn.learned import Learned, Lesson
from growsim.study.learn.machines import (
    PRIOR_FAILURES,
    Life,
    alike,
    learn_life,
    spells,
    weibull_shape,
)
from growsim.study.learn.minutes import PRIOR_RECORDS, LogMean, learn_log_mean
from growsim.vocabulary.machines import BY_KEY, MACHINES, NAMED_PLACES, MachineKind

BARE_REPAIR_LOG_SD = 0.5
_LIFE = "gamma-exponential with censoring (Martz & Waller 1982; Meeker & Escobar 1998)"
_REPAIR = "normal-inverse-gamma on logarithms (Gelman et al. 2013)"


def lesson_of_faults(faults: Sequence[FaultRow], scenario: Scenario, begin: dt.date, end: dt.date, said: str) -> Lesson:
    """Everything the faults teach. begin, end: first and last day watched."""
    watched = (dt.datetime.combine(begin, dt.time()), dt.datetime.combine(end + dt.timedelta(days=1), dt.time()))
    lessons = [_group(group, faults, watched, said) for group in alike(machines_of(scenario))]
    from_outside = [row for row in MACHINES if row.comes is not None]
    lessons += [_coming(row, faults, scenario, watched, said) for row in from_outside]
    never = {row.machine for row in faults} - {
        machine.kind for group in alike(machines_of(scenario)) for machine in group
    }
    notes = [
        f"The room file has no failures of {BY_KEY[kind].many}, and the record has some: give running_hours_to_failure."
        for kind in sorted(never - {row.key for row in from_outside})
    ]
    return Lesson(
        figures=tuple(figure for lesson in lessons for figure in lesson.figures),
        change=tuple(piece for lesson in lessons for piece in lesson.change),
        not_learned=tuple(pair for lesson in lessons for pair in lesson.not_learned),
        notes=(*(note for lesson in lessons for note in lesson.notes), *notes),
    )


def _group(
    group: Sequence[Machine], faults: Sequence[FaultRow], watched: tuple[dt.datetime, dt.datetime], said: str
) -> Lesson:
    first = group[0]
    life_figure = first.reliability.running_hours_to_failure
    shape = weibull_shape(first.reliability)
    row = BY_KEY[first.kind]
    name = row.many if first.where else row.label
    if shape is None or life_figure is None:
        return Lesson(
            not_learned=((name, "the room file gives a bare number of hours, which says that all fail alike"),)
        )
    seen = [spell for machine in group for spell in spells(machine, faults, *watched)]
    life = learn_life(seen, life_figure.expected(), shape)
    here = [fault for fault in faults if any((fault.machine, fault.where) == (m.kind, m.where) for m in group)]
    figures = [
        Learned(
            f"{first.kind}.running_hours_to_failure", "machines", name, "running hours between failures", "h",
            life_figure.expected(), life.before, life.after, life.failures, "failures", PRIOR_FAILURES, _LIFE,
        )
    ]  # fmt: skip
    settings = _life_change(life, life_figure, said)
    mended = _mended(first.reliability, here)
    if mended is not None:
        key, label, unit, scale, learned, n = mended
        figures.append(
            Learned(
                f"{first.kind}.{key}", "mending", name, label, unit, scale, learned.known_before(scale),
                learned.known(scale), n, "repairs", PRIOR_RECORDS, _REPAIR,
            )
        )  # fmt: skip
        if n:
            settings[key] = _spread_figure(learned, scale, f"learned from {n} repair{'s' if n != 1 else ''} ({said})")
    change = tuple(_under(machine.path, settings) for machine in group)
    return Lesson(tuple(figures), change)


def _life_change(life: Life, figure: Uncertain, said: str) -> dict[str, Any]:
    known, middle = life.after, math.exp(life.log_mean)
    source = (
        f"learned from {life.failures} failure{'s' if life.failures != 1 else ''} in {life.running_hours:,.0f} running "
        f"hours ({said}); 8 in 10: {known.low:,.0f} to {known.high:,.0f} h; the room file counted as "
        f"{PRIOR_FAILURES:.0f} failures"
    )
    table: dict[str, Any] = {"distribution": "exponential", "mean": float(f"{middle:.4g}"), "source": source}
    if life.shape != 1.0:
        table = {"distribution": "weibull", "mean": table["mean"], "shape": round(life.shape, 3), "source": source}
    return {
        "running_hours_to_failure": table,
        "hours_factor": {
            "distribution": "lognormal",
            "mean": float(f"{math.exp(life.log_sd**2 / 2):.4g}"),
            "sd": float(f"{math.exp(life.log_sd**2 / 2) * math.sqrt(math.expm1(life.log_sd**2)):.3g}"),
            "source": "what is not known of the mean; its middle is 1",
        },
    }


def _mended(reliability: Reliability, rows: Sequence[FaultRow]) -> tuple[str, str, str, float, LogMean, int] | None:
    """Hours of repair where a spare is kept, else days of delivery: (key, label, unit, scale, learned, rows)."""
    hours = [
        (row.repaired - row.noticed).total_seconds() / 3600.0
        for row in rows
        if row.noticed is not None and row.repaired is not None and (row.to_the_hour or not reliability.spares)
    ]
    if reliability.spares:
        return _log_mean("repair_hours", "hours of repair", "h", reliability.repair_hours, hours)
    rest = reliability.repair_hours.expected()
    days = [max(0.05, (each - rest) / 24.0) for each in hours]
    return _log_mean("delivery_days", "days until a part is there", "days", reliability.delivery_days, days)


def _log_mean(
    key: str, label: str, unit: str, figure: Uncertain, values: Sequence[float]
) -> tuple[str, str, str, float, LogMean, int] | None:
    mean, sd = moments(figure)
    usable = [value for value in values if value > 0]
    if mean <= 0:
        return None
    spread = math.sqrt(math.log1p((sd / mean) ** 2)) if sd > 0 else BARE_REPAIR_LOG_SD
    learned = learn_log_mean([math.log(value / mean) for value in usable], -(spread**2) / 2, spread)
    return key, label, unit, mean, learned, len(usable)


def _spread_figure(learned: LogMean, scale: float, source: str) -> dict[str, Any]:
    """From repair to repair, what is not known of the mean included: a lognormal."""
    total = learned.spread**2 + learned.sd**2
    mean = scale * math.exp(learned.mean + total / 2)
    return {
        "distribution": "lognormal",
        "mean": float(f"{mean:.4g}"),
        "sd": float(f"{mean * math.sqrt(math.expm1(total)):.3g}"),
        "source": source,
    }


def _coming(
    row: MachineKind,
    faults: Sequence[FaultRow],
    scenario: Scenario,
    watched: tuple[dt.datetime, dt.datetime],
    said: str,
) -> Lesson:
    """Outages a year of what comes from outside (gamma-Poisson, the same arithmetic) and how long they last."""
    assert row.comes is not None
    a_year, lasts = coming(scenario, row.comes)
    if a_year <= 0:
        return Lesson()
    seen = [fault for fault in faults if fault.machine == row.key]
    days = (watched[1] - watched[0]).total_seconds() / 86400.0
    life = learn_life([(0.0, True)] * len(seen) + [(days, False)], 365.25 / a_year, 1.0)
    figures = [
        Learned(
            f"{row.key}.days_between_outages", "machines", row.label, f"days between {row.many}", "days",
            365.25 / a_year, life.before, life.after, len(seen), "outages", PRIOR_FAILURES, _LIFE,
        )
    ]  # fmt: skip
    # The rate's own mean, not one over the mean time: outages are drawn as so many a year.
    rate = (PRIOR_FAILURES + len(seen)) / (PRIOR_FAILURES * 365.25 / a_year + days) * 365.25
    change: dict[str, Any] = {
        row.comes.a_year: float(f"{rate:.3g}"),
        "source": f"{row.many} learned from {len(seen)} in {days:.0f} days ({said})",
    }
    hours = [
        (fault.repaired - fault.down).total_seconds() / 3600.0
        for fault in seen
        if fault.repaired is not None and fault.to_the_hour
    ]
    lasted = _log_mean(row.comes.hours, f"hours that {row.many} last", "h", lasts, hours)
    if lasted is not None:
        key, label, unit, scale, learned, n = lasted
        figures.append(
            Learned(
                f"{row.key}.{key}", "mending", row.label, label, unit, scale, learned.known_before(scale),
                learned.known(scale), n, "outages", PRIOR_RECORDS, _REPAIR,
            )
        )  # fmt: skip
        if n:
            change[key] = _spread_figure(learned, scale, f"learned from {n} outage{'s' if n != 1 else ''} ({said})")
    return Lesson(tuple(figures), ({row.comes.table: change},))


def _under(path: Sequence[str], settings: dict[str, Any]) -> dict[str, Any]:
    """The piece of a CHANGE file that puts settings at a path such as ("reservoirs", "north reservoir", "pump",
    "reliability").
    """
    if path[0] not in [place.entries for place in NAMED_PLACES]:
        inner: dict[str, Any] = settings
        for key in reversed(path):
            inner = {key: inner}
        return inner
    inner = settings
    for key in reversed(path[2:]):
        inner = {key: inner}
    return {path[0]: [{"name": path[1], **inner}]}
