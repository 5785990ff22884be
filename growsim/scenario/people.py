"""The crew: shifts on the calendar, who comes, how fast they work, what each task takes."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from growsim.scenario.base import Table, figure, name_field
from growsim.scenario.uncertain import Uncertain, UncertainFactor, UncertainMinutes
from growsim.vocabulary.days import Weekday
from growsim.vocabulary.tasks import DUE_TODAY, USUAL_ORDER, TaskName

HARD_TO_FIND = 1.5
Months = Annotated[tuple[Annotated[int, Field(ge=1, le=12)], ...], Field(max_length=12)]


class Shift(Table):
    """A weekly shift."""

    name: str = name_field("Name of the shift.", "Monday morning")
    weekday: Weekday = figure("Day of the week.")
    start_hour: float = figure("Hour it starts.", "h", ge=0, lt=24)
    hours: float = figure(
        "How long it lasts.", "h", gt=0, le=24, plausible=(0.5, 12, "a shift lasts one to some hours")
    )
    people: int = figure(
        "Volunteers signed up, the lead not counted; 0 where the lead is alone.",
        "people",
        ge=0,
        le=200,
        plausible=(0, 60, "as many as can work side by side"),
    )
    people_by_month: Annotated[tuple[Annotated[int, Field(ge=0, le=200)], ...], Field(max_length=12)] = figure(
        "Volunteers signed up in each month, January to December, where it differs; empty for the same all year.",
        "people",
        default=(),
    )
    lead: bool = figure("Whether a lead is there (paid or trained; always comes, works too).", default=True)
    months: Months = figure("Only held in these months (1-12); empty for all.", default=())

    def is_held(self, month: int) -> bool:
        """Whether there is such a shift in a month (0 for January)."""
        return not self.months or month + 1 in self.months

    def signed_up(self, month: int) -> int:
        """Volunteers signed up in a month (0 for January), besides the lead; nobody where it is not held."""
        if not self.is_held(month):
            return 0
        return self.people_by_month[month] if len(self.people_by_month) == 12 else self.people


class WalkThrough(Table):
    """A short walk-through by somebody able to notice a failure. No work is done."""

    name: str = name_field("Name of the walk-through.", "evening walk-through")
    weekdays: Annotated[tuple[Weekday, ...], Field(min_length=1, max_length=7)] = figure("Days of the week.")
    hour: float = figure("Hour of the walk-through.", "h", ge=0, lt=24)


class OfCrop(Table):
    """A crop on which a kind of work takes longer or shorter."""

    crop: str = name_field("Which crop.", "pea shoots")
    minutes_per_unit: UncertainMinutes = figure("Minutes for each unit of it, at a practiced pace.", "min")


class Task(Table):
    """What one kind of work takes."""

    name: TaskName = figure("Which work.")
    fixed_minutes: UncertainMinutes = figure(
        "Minutes to get ready and clear up, once a job.",
        "min",
        default=Uncertain(value=0.0),
        plausible=(0, 240, "getting ready takes minutes"),
    )
    minutes_per_unit: UncertainMinutes = figure(
        "Minutes for each unit, at a practiced pace.",
        "min",
        plausible=(0, 120, "seconds a plant, minutes a tray, half an hour a reservoir"),
    )
    minutes_factor: UncertainFactor = figure(
        "What is not known of these minutes: a factor around 1 on all of them, drawn once a replication.",
        "-",
        default=Uncertain(value=1.0),
    )
    by_crop: tuple[OfCrop, ...] = figure("Crops on which a unit takes longer or shorter.", default=())
    needs_lead: bool = figure("Only done while a lead is there.", default=False)
    priority: int | None = figure(
        "Lower is done first when both are due. Left out, the usual order: "
        f"{DUE_TODAY} harvesting and packing what a partner collects today and the cooler lacks, {USUAL_ORDER}.",
        "",
        default=None,
        ge=0,
        le=99,
    )

    def on(self, crop: str) -> Task:
        """The same work on a crop, with that crop's minutes."""
        for own in self.by_crop:
            if own.crop == crop:
                return self.model_copy(update={"minutes_per_unit": own.minutes_per_unit})
        return self


class Crew(Table):
    """Everyone who works in the room."""

    shifts: tuple[Shift, ...] = figure("Weekly shifts.", default=())
    walk_throughs: tuple[WalkThrough, ...] = figure("Walk-throughs between shifts.", default=())
    chance_of_coming: Annotated[
        tuple[Annotated[float, Field(ge=0, le=1)], ...], Field(min_length=12, max_length=12)
    ] = figure("Chance that someone signed up comes, January to December.", "fraction")
    chance_doubt_sd: Annotated[tuple[Annotated[float, Field(ge=0, le=0.4)], ...], Field(max_length=12)] = figure(
        "What is not known of those chances (sd), January to December, empty for none; one draw a replication moves "
        "all twelve.",
        "fraction",
        default=(),
    )
    chance_spread_sd: float = figure(
        "Spread of that chance from person to person (sd).", "fraction", default=0.0, ge=0, le=0.4
    )
    recruiting_effort: Annotated[tuple[Annotated[float, Field(gt=0, le=100)], ...], Field(max_length=12)] = figure(
        "How hard it is to find one more volunteer, January to December; 1 for an easy month. Empty for "
        f"{HARD_TO_FIND} in the three warmest months and 1 in the others (common practice, no source).",
        "-",
        default=(),
    )
    stay_weeks: float = figure(
        "Weeks a volunteer stays on average before a beginner takes the place.", "weeks", default=40, ge=1, le=5000
    )
    beginner_pace: float = figure(
        "Pace on the first shift, as a share of a practiced pace.", "fraction", default=0.5, gt=0.05, le=1
    )
    shifts_to_learn: float = figure(
        "Shifts after which two thirds of the gap in pace is closed.", "shifts", default=4, gt=0, le=200
    )
    piece_minutes: int = figure(
        "Work is shared out in pieces of at most so many minutes, so that several people can share a big task.",
        "min",
        default=30,
        ge=1,
        le=100000,
    )
    tasks: tuple[Task, ...] = figure("What each kind of work takes.", default=())
    days_allowed: int = figure(
        "A task done more than this many days after it is due counts as late.", "days", default=0, ge=0, le=60
    )
