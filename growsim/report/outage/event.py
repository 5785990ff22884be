"""The report of `growsim outage ROOM --machine ...`: what one given outage costs."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report import cautions
from growsim.report.frame import Answer, measures_of, model_section, picture
from growsim.report.outage import figures as drawn
from growsim.report.outage import tables as outage_tables
from growsim.report.outage import words
from growsim.report.page import Bullets, Caution, Page, Section, Text
from growsim.report.provenance import Provenance
from growsim.report.words import (
    counted,
    day_and_date,
    hour_of_day,
    listed,
    mass,
    mass_range,
    money,
    money_per_mass,
    number,
    rehearsals,
)
from growsim.run.intervals import summarize
from growsim.run.results import measures_frame, write_frame
from growsim.vocabulary.losses import PLANT_LOSSES
from growsim.vocabulary.machines import BY_KEY

if TYPE_CHECKING:
    from growsim.study.outage.event import Effect, OutageEvent

OTHER_CAUSES = ", ".join(loss.record_word for loss in PLANT_LOSSES if loss.limit != "machines")


def write_event(event: OutageEvent, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write report.html, summary.json, CSV tables and figures into `out`, all or nothing; give the summary.

    Raises OutputError where `out` exists (unless `replace`) or cannot be written.
    """
    answer = Answer(
        provenance, event.scenario, event.seed, len(event.without), event.plan.days, event.plan.lead_in_days,
        tuple(answer_of(event)),
    )  # fmt: skip
    with_it, without = summarize(event.with_it), summarize(event.without)

    def files(folder: Path) -> None:
        write_frame(folder / "weeks.csv", event.to_frame().round(6))
        write_frame(folder / "measures.csv", measures_frame(with_it, event.plan.days))
        write_frame(folder / "measures_without.csv", measures_frame(without, event.plan.days))

    summary = answer.summary(
        measures_of(with_it, answer.days), measures_without=measures_of(without, answer.days), **_own(event)
    )
    return answer.write(out, summary, lambda folder: compose(event, answer, folder), files, replace=replace)


def answer_of(event: OutageEvent) -> list[tuple[str, str]]:
    """(head, sentence): plants, greens, partners, money."""
    return [
        ("Plants", _plants(event)),
        ("Greens", _greens(event)),
        ("Partners", _partners(event)),
        ("Money", _money(event)),
    ]


def name_of(event: OutageEvent) -> str:
    """ "a failed pump (wide one) from Monday 12 July 2032, 20:00, for 24 hours"."""
    outage = event.outage
    date = event.scenario.room.start_date + dt.timedelta(days=outage.start_day)
    where = f" ({outage.where})" if outage.where else ""
    return (
        f"{BY_KEY[outage.machine].down}{where} from {day_and_date(date)}, {hour_of_day(outage.start_hour)}, for "
        f"{counted(outage.hours, 'hour', decimals=0 if outage.hours == round(outage.hours) else 1)}"
    )


def _plants(event: OutageEvent) -> str:
    killed, other = event.killed.mean.mean, event.lost_otherwise.mean.mean
    name = name_of(event)
    text = f"{words.sentence(name)} {BY_KEY[event.outage.machine].kills} "
    low = event.killed.mean.low
    if round(killed) <= 0:
        text += "no plant"
    elif low is not None and low <= 0:
        text += f"no plant that could be told from chance: {number(killed)} on average{_range(event.killed, 0)}"
    else:
        text += f"{counted(killed, 'plant')}{_range(event.killed, 0)}"
        stages = [f"{number(n)} in {stage}" for stage, n in event.killed_by_stage.items() if n >= 0.5]
        text += f", {listed(stages)}" if stages else ""
        text += f". Eight times in ten: {number(event.killed.p10)} to {number(event.killed.p90)} plants"
    if round(other) != 0:
        more = "more" if other > 0 else "fewer"
        text += f"; besides, {number(abs(other))} {more} are lost to other causes ({OTHER_CAUSES})"
    return f"{text}. {_floods(event)}".strip()


def _floods(event: OutageEvent) -> str:
    if event.floods_missed < 0.5:
        return ""
    return f"{counted(event.floods_missed, 'flood is', 'floods are')} missed."


def _greens(event: OutageEvent) -> str:
    lost, late = event.kg_lost, event.kg_late
    if lost.p10 == lost.p90 == lost.mean.mean == 0.0:
        return "Not a gram of greens is lost or late."
    low, high = lost.mean.low, lost.mean.high
    if lost.mean.mean <= 0 or (low is not None and low <= 0):
        start = (
            f"No greens can be shown to be lost for good by {_until(event)}: {mass(lost.mean.mean)}{_mass_range(lost)}"
        )
    else:
        start = f"{mass(lost.mean.mean)} of greens are lost for good by {_until(event)}{_mass_range(lost)}"
    text = f"{start}. Eight times in ten: {mass_range(lost.p10, lost.p90)}"
    if low is None or high is None:
        text = f"{start} (one rehearsal only, so no range)"
    worst = max(event.weeks, key=lambda week: week.kg_missing_so_far.mean.mean, default=None)
    if late >= 0.05 and worst is not None:
        date = event.scenario.room.start_date + dt.timedelta(weeks=worst.week)
        text += f". At worst {mass(worst.kg_missing_so_far.mean.mean)} are missing, by {day_and_date(date)}; "
        text += f"{mass(late)} of that only come later"
    return f"{text}."


def _partners(event: OutageEvent) -> str:
    short = event.kg_short.mean.mean
    if not event.scenario.partners:
        return "No partner has a standing order."
    if short < 0.05:
        return f"Partners miss next to nothing: {mass(max(0.0, short))} of their orders{_mass_range(event.kg_short)}."
    return f"Partners go short of {mass(short)} of what they ordered{_mass_range(event.kg_short)}."


def _money(event: OutageEvent) -> str:
    currency, cost = event.scenario.prices.currency, event.money.mean
    how = (
        f"the greens at {money_per_mass(event.value_per_kg, currency)}, which is what they cost to grow here, "
        "and the change in all other costs. A new part is not in it."
    )
    if cost.low is not None and cost.high is not None and cost.high < 0:  # the power that was not used
        saved = f" (95% range of the average {number(-cost.high)} to {number(-cost.low)})"
        return f"It saves {money(-cost.mean, currency, 0)}{saved}, more than the greens lost are worth: {how}"
    return f"It costs {money(cost.mean, currency, 0)}{_range(event.money, 0)}: {how}"


def _range(effect: Effect, decimals: int) -> str:
    low, high = effect.mean.low, effect.mean.high
    if low is None or high is None or low == high:
        return ""
    return f" (95% range of the average {number(low, decimals)} to {number(high, decimals)})"


def _mass_range(effect: Effect) -> str:
    low, high = effect.mean.low, effect.mean.high
    if low is None or high is None or low == high:
        return ""
    return f" (95% range of the average {mass_range(low, high)})"


def _until(event: OutageEvent) -> str:
    """The day on which the plants that stood through it have been handed out, or counting ends."""
    return day_and_date(event.scenario.room.start_date + dt.timedelta(days=event.plan.days))


def compose(event: OutageEvent, answer: Answer, folder: Path) -> Page:
    """Draw the figure into `folder` and put the page together."""
    return answer.page(
        (
            f"{rehearsals(len(event.without), event.plan.days, 'possible')}, each lived through twice on a computer: "
            f"with the outage and without it, under the same luck; followed until {_until(event)}"
        ),
        (
            Section(
                "weeks",
                "Week by week",
                (
                    picture(
                        drawn.event_weeks(event),
                        folder,
                        "event",
                        "Above: plants lost more than without the outage. Below: greens handed out less in the week "
                        "(bars; below zero is made up later) and less so far (line). Averages; the strip and the "
                        "thin lines are the 95% range of the average.",
                        outage_tables.event_weeks(event),
                    ),
                    Caution(cautions.beside(BY_KEY[event.outage.machine].dangers, event.scenario.room.region)),
                ),
            ),
            Section(
                "how-sure",
                "How sure this is",
                (
                    Bullets(
                        (
                            "Both meet the same luck, so what differs is the outage and what follows from it: empty "
                            "slots, other work, an order served from another lot. What follows swings by chance too; "
                            "so the range of the greens is wider than that of the plants.",
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
