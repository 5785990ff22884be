"""The report of `growsim outage ROOM --machine ...`: what one given outage costs."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim import units
from growsim.report import cautions
from growsim.report.frame import Answer, measures_of, model_section, picture
from growsim.report.front import AnswerTable, Cell, Column, Front, Row
from growsim.report.outage import figures as drawn
from growsim.report.outage import tables as outage_tables
from growsim.report.page import Bullets, Caution, Grid, Page, Section, Text
from growsim.report.provenance import Provenance
from growsim.report.words import (
    counted,
    day_and_date,
    hour_of_day,
    mass,
    mass_cell,
    money_per_mass,
    number,
    rehearsals,
    upper_first,
)
from growsim.run.intervals import summarize
from growsim.run.results import measures_frame, write_frame
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.study.outage.event import Effect, OutageEvent
    from growsim.study.pay_back import Range

OF = "the room with the outage"


def write_event(event: OutageEvent, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write report.html, summary.json, CSV tables and figures into `out`, all or nothing; give the summary.

    Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    answer = Answer(
        provenance, event.scenario, event.seed, len(event.without), event.plan.days, event.plan.lead_in_days,
        front=front(event),
    )  # fmt: skip
    with_it, without = summarize(event.with_it), summarize(event.without)

    def files(folder: Path) -> None:
        write_frame(folder / "weeks.csv", event.to_frame().round(6))
        write_frame(folder / "measures.csv", measures_frame(with_it, event.plan.days))
        write_frame(folder / "measures_without.csv", measures_frame(without, event.plan.days))

    summary = answer.summary(
        measures_of(with_it, answer.days),
        measures_without=measures_of(without, answer.days),
        measures_of=OF,
        **_own(event),
    )
    return answer.write(out, summary, lambda folder: compose(event, answer, folder), files, replace=replace)


def front(event: OutageEvent) -> Front:
    """The page of the answer."""
    return Front(headline(event), (), table(event), how_sure(event), why=why(event))


def headline(event: OutageEvent) -> str:
    """Plants killed and greens lost for good, with their ranges; what may be chance is said to be."""
    kills, killed = BY_KEY[event.outage.machine].kills, event.killed.mean
    said = f"{upper_first(name_of(event))}, {kills} "
    if killed.mean < 0.5:
        said += "no plant"
    elif killed.low is not None and killed.low <= 0:
        said += "no plant for certain"
    else:
        said += f"{counted(killed.mean, 'plant')} ({_range(killed, number)})"
    return f"{said}. {_greens(event)}"


NONE_LOST = "No greens are lost for good."


def _greens(event: OutageEvent) -> str:
    lost = event.kg_lost
    if lost.p10 == lost.p90 == lost.mean.mean == 0.0:
        return "Not a gram of greens is lost or late."
    if lost.mean.mean <= 0 or (lost.mean.low is not None and lost.mean.low <= 0):
        most = lost.mean.high or 0.0
        return f"Whether greens are lost for good is not certain: at most {mass(most)}." if most > 0 else NONE_LOST
    ends = f"{_range(lost.mean, mass_cell)} {units.unit('kg')}"
    return f"{mass(lost.mean.mean)} of greens are lost for good ({ends})."


def why(event: OutageEvent) -> str:
    """How many floods do not come, where most of the dead stood; "" where none is killed for certain."""
    killed = event.killed.mean
    if killed.mean < 0.5 or (killed.low is not None and killed.low <= 0):
        return ""
    stage, dead = max(event.killed_by_stage.items(), key=lambda each: each[1], default=("", 0.0))
    most = f"{number(dead)} of the dead stood in {stage}" if dead >= 0.5 else ""
    floods = f"{counted(event.floods_missed, 'flood does', 'floods do')} not come" if event.floods_missed >= 0.5 else ""
    said = "; ".join(each for each in (floods, most) if each)
    return f"{said}." if said else ""


def table(event: OutageEvent) -> AnswerTable:
    """Orders, greens, plants, money: on average with the range, and what a single case may bring."""
    currency = event.scenario.prices.currency
    kg = units.unit("kg")
    rows: list[tuple[str, Effect, Callable[[float], str], str]] = [
        (f"orders go short of, {kg}", event.kg_short, mass_cell, "kg"),
        (f"greens lost for good, {kg}", event.kg_lost, mass_cell, "kg"),
        ("plants killed", event.killed, number, "plants"),
        ("plants lost otherwise", event.lost_otherwise, number, "plants"),
        (f"cost, {currency}", event.money, number, "money"),
    ]
    of = "the room with the outage, less the same years without it"
    return AnswerTable(
        "What the outage brings",
        (Column("on average (range)", of), Column("8 in 10 lie within", of)),
        tuple(
            Row(
                label,
                (
                    outage_tables.ranged(effect.mean, told, unit),
                    Cell.between(effect.p10, effect.p50, effect.p90, told, unit),
                ),
            )
            for label, effect, told, unit in rows
            if effect is not event.kg_short or event.scenario.partners
        ),
        f"Greens count as lost that have not come by {_until(event)}; {mass(max(0.0, event.kg_late))} only come late. "
        f"Cost: greens at {money_per_mass(event.value_per_kg, currency)}, what they cost to grow here, and the change "
        "in all other costs. A new part is not in it. Below zero: saved, or made up.",
    )


def _range(found: Range, told: Callable[[float], str]) -> str:
    """ "9 to 15"; of a few rehearsals that there is none."""
    if found.low is None or found.high is None:
        return "too few for a range"
    return f"{told(found.low)} to {told(found.high)}"


def how_sure(event: OutageEvent) -> str:
    """What it rests on."""
    return (
        f"From {rehearsals(len(event.without), event.plan.days)}, the same with the outage and without, followed "
        f"until {_until(event)}."
    )


def name_of(event: OutageEvent) -> str:
    """ "a failed pump (wide one) from Monday 12 July 2032, 20:00, for 24 hours"."""
    outage = event.outage
    date = event.scenario.room.start_date + dt.timedelta(days=outage.start_day)
    where = f" ({outage.where})" if outage.where else ""
    return (
        f"{BY_KEY[outage.machine].down}{where} from {day_and_date(date)}, {hour_of_day(outage.start_hour)}, for "
        f"{counted(outage.hours, 'hour', decimals=0 if outage.hours == round(outage.hours) else 1)}"
    )


def _until(event: OutageEvent) -> str:
    """The day on which the plants that stood through it have been handed out, or counting ends."""
    return day_and_date(event.scenario.room.start_date + dt.timedelta(days=event.plan.days))


def compose(event: OutageEvent, answer: Answer, folder: Path) -> Page:
    """Draw the figure into `folder` and put the page together."""
    return answer.page(
        (
            f"{rehearsals(len(event.without), event.plan.days)}, each simulated twice: with the outage "
            f"and without it, followed until {_until(event)}"
        ),
        (
            Section(
                "weeks",
                "Week by week",
                (
                    Grid(outage_tables.event_weeks(event)),
                    Caution(cautions.beside(BY_KEY[event.outage.machine].dangers, event.scenario.room.region)),
                ),
            ),
            Section(
                "how-sure",
                "How sure this is",
                (
                    Bullets(
                        (
                            "What differs is the outage and what follows from it: empty slots, other work, another "
                            "lot for an order. What follows swings by chance, so the range of the greens is wider "
                            "than that of the plants.",
                            "They are followed until the plants that stood through the outage have been handed out; "
                            "what differs later is chance alone.",
                            "Everything else that may fail still does, with it and without it.",
                            "The range of the average narrows with more replications; eight times in ten is what a "
                            "single case may bring, and does not.",
                        )
                    ),
                    Text("How many plants die of drought, heat or cold in how many hours is the planner's own figure."),
                ),
            ),
            model_section(),
        ),
        title=name_of(event),
        shows=picture(
            lambda: drawn.event_weeks(event),
            folder,
            "event",
            "Above: plants lost more than without the outage. Below: greens handed out less in the week (bars) and so "
            "far (line). Strip and thin lines: the range of the average.",
        ),
    )


def _own(event: OutageEvent) -> dict[str, Any]:
    """What only a given outage has in its summary."""
    return {
        "event": {
            "machine": event.outage.machine,
            "where": event.outage.where,
            "start_day": event.outage.start_day,
            "start_hour": event.outage.start_hour,
            "hours": event.outage.hours,
            "plants_killed": _entry(event.killed),
            "plants_lost_otherwise": _entry(event.lost_otherwise),
            "plants_killed_by_stage": event.killed_by_stage,
            "kg_lost": _entry(event.kg_lost),
            "kg_late": event.kg_late,
            "kg_orders_short": _entry(event.kg_short),
            "money": _entry(event.money),
            "floods_missed": event.floods_missed,
            "value_per_kg": event.value_per_kg,
        },
        "start": event.plan.start,
    }


def _entry(effect: Effect) -> dict[str, float | None]:
    mean = effect.mean
    return {
        "mean": mean.mean,
        "mean_low": mean.low,
        "mean_high": mean.high,
        "p10": effect.p10,
        "p50": effect.p50,
        "p90": effect.p90,
    }
