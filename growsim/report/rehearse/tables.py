"""The tables behind the figures: the same numbers, to be read or copied."""

from __future__ import annotations

import math
from collections.abc import Sequence

from growsim.ledger.outcome import Outcome
from growsim.report import summaries
from growsim.report.rehearse.figures import shelf_rows
from growsim.report.tables import Table
from growsim.report.words import number, of_the_room, percent, short_date, span
from growsim.scenario.scenario import Scenario
from growsim.units import MINUTES_PER_DAY
from growsim.vocabulary.losses import FATES
from growsim.vocabulary.machines import BY_KEY


def every_seed(outcomes: Sequence[Outcome]) -> Table:
    """Fate by crop, in plants and as a share of the seeds sown."""
    fates = summaries.fate_means(outcomes)
    names = list(fates)
    rows = []
    for fate in FATES:
        cells = []
        for crop in names:
            sown = math.fsum(fates[crop].values())
            count = fates[crop][fate.key]
            cells.append(f"{number(count, 1)} ({percent(count / sown, 1)})" if sown else "–")
        rows.append((fate.label, *cells))
    rows.append(("seeds sown", *(number(math.fsum(fates[crop].values()), 1) for crop in names)))
    return Table("Where every seed went (plants, share of seeds sown)", ("", *names), tuple(rows))


def room_map(outcomes: Sequence[Outcome], scenario: Scenario) -> Table:
    """Mean slots in use by rack and stage, month by month."""
    months = summaries.months(scenario, summaries.week_count(outcomes))
    rows = tuple(
        (
            what,
            str(slots),
            *(number(float(series[list(month.weeks)].mean()), 1) for month in months),
        )
        for what, series, slots in shelf_rows(outcomes, scenario)
    )
    note = "Slots that may hold a stage may hold another as well, so the second column does not add up to the rack."
    return Table("Slots in use", ("rack and stage", "slots", *(month.label for month in months)), rows, note)


def crew_hours(outcomes: Sequence[Outcome], scenario: Scenario) -> Table:
    """Week by week: hours falling due, present and worked, means over replications."""
    weeks = summaries.week_count(outcomes)
    kinds = [summaries.weekly_mean(outcomes, f"crew_hours_{kind}") for kind in ("needed", "present", "worked")]
    starts = summaries.week_starts(scenario, weeks)
    rows = tuple((short_date(starts[week]), *(number(float(kind[week]), 1) for kind in kinds)) for week in range(weeks))
    return Table("Crew hours in the week", ("week from", "falling due", "present", "worked"), rows)


def work_and_shifts(outcomes: Sequence[Outcome], scenario: Scenario) -> Table:
    """Hours a week by kind of work and, by shift, how many came of those signed up."""
    rows = []
    for task in summaries.series_under(outcomes, "crew_hours_worked:"):
        worked = summaries.matrix(outcomes, f"crew_hours_worked:{task}")
        late = summaries.matrix(outcomes, f"late:{task}")
        rows.append((f"work: {task}", f"{number(float(worked.mean()), 1)} h", f"{number(float(late.mean()), 2)} late"))
    for shift in scenario.crew.shifts:
        came = summaries.matrix(outcomes, f"came:{shift.name}")
        if came.size:
            signed = float(summaries.matrix(outcomes, f"signed_up:{shift.name}").mean())
            rows.append(
                (
                    f"shift: {shift.name}",
                    f"{number(float(came.mean()) * shift.hours, 1)} volunteer-hours",
                    f"{number(float(came.mean()), 1)} came of {number(signed, 1)} signed up",
                )
            )
    return Table("Work by kind and shift by shift (averages a week)", ("", "hours", "tasks or people"), tuple(rows))


def outages(outcome: Outcome, scenario: Scenario) -> Table:
    """Outages of one replication, in order."""
    first = summaries.week_starts(scenario, 1)[0]

    def day(minute: int) -> str:
        import datetime as dt

        return short_date(first + dt.timedelta(days=minute // MINUTES_PER_DAY))

    rows = tuple(
        (
            of_the_room(BY_KEY[o.machine].at(o.where), scenario),
            day(o.down_minute),
            span(o.noticed_minute - o.down_minute) if o.noticed_minute is not None else "not noticed",
            span(o.repaired_minute - o.down_minute) if o.repaired_minute is not None else "still down at the end",
        )
        for o in outcome.counted_outages
    )
    head = ("machine", "failed on", "until noticed", "until up again")
    return Table(f"Machines that were down in replication {outcome.replication}", head, rows)
