"""The figure of one given outage: plants lost and greens missing, week by week."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from growsim.report.figures import BAND, BLUE, INK, SKY, VERMILION, drawing, in_pounds, styled
from growsim.report.words import short_date

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from growsim.study.outage_event import Effect, EventWeek, OutageEvent

WEEKS_BEFORE, WEEKS_AFTER = 2, 14


def event_weeks(event: OutageEvent) -> Figure:
    """Two weeks before the outage to fourteen after it."""
    first = max(0, event.outage.start_day // 7 - WEEKS_BEFORE)
    weeks = event.weeks[first : first + WEEKS_BEFORE + WEEKS_AFTER]
    struck_at = event.outage.start_day / 7.0 - 0.5 + event.outage.start_hour / 168.0
    places = [week.week - 1 for week in weeks]
    with styled():
        figure, (upper, lower) = drawing(5.4, rows=2)
        _bars(upper, places, [week.plants_lost for week in weeks], VERMILION, "//")
        upper.set_ylabel("plants lost more")
        upper.set_title("Plants lost because of it, in each week")
        _bars(lower, places, [week.kg_missing for week in weeks], SKY, "")
        _so_far(lower, places, weeks)
        lower.set_ylabel("kg handed out less")
        in_pounds(lower, "right").set_ylabel("lb")
        lower.set_title("Greens missing: bars in the week, line so far (below nought: made up)")
        lower.legend(loc="best")
        start = event.scenario.room.start_date
        labels = [short_date(start + dt.timedelta(weeks=place)).rsplit(" ", 1)[0] for place in places]
        for axes in (upper, lower):
            axes.axhline(0, color=INK, linewidth=0.8)
            axes.axvline(struck_at, color=INK, linewidth=1.2, linestyle=(0, (3, 2)))
            axes.set_xticks(places, labels=labels, fontsize=8.5, rotation=45, ha="right")
            axes.grid(axis="y")
        upper.annotate("it begins", (struck_at, 1.0), (3, -10), xycoords=("data", "axes fraction"),
                       textcoords="offset points", fontsize=9.5)  # fmt: skip
        lower.set_xlabel("week from")
    return figure


def _bars(axes: Axes, places: list[int], effects: list[Effect], colour: str, hatch: str) -> None:
    means = [effect.mean.mean for effect in effects]
    axes.bar(places, means, color=colour, hatch=hatch, edgecolor=INK, linewidth=0.6, width=0.72)
    for place, effect in zip(places, effects, strict=True):
        if effect.mean.low is not None and effect.mean.high is not None:
            axes.plot([place, place], [effect.mean.low, effect.mean.high], color=INK, linewidth=1.0)


def _so_far(axes: Axes, places: list[int], weeks: tuple[EventWeek, ...]) -> None:
    so_far = [week.kg_missing_so_far.mean for week in weeks]
    if all(each.low is not None and each.high is not None for each in so_far):
        axes.fill_between(
            places,
            [each.low or 0.0 for each in so_far],
            [each.high or 0.0 for each in so_far],
            color=BAND,
            linewidth=0,
            zorder=0,
        )
    axes.plot(
        places, [each.mean for each in so_far], color=BLUE, linewidth=2.2, marker="o", markersize=4, label="so far"
    )
