"""The seven steps that describe a new room, and every field of them: pages, order, counts and tests come from STEPS."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from growsim.scenario import usual
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS

Path = tuple[str | int, ...]
Options = tuple[tuple[str, str], ...]
Kind = Literal["text", "number", "whole number", "choice", "crops", "a crop", "day", "days", "yes or no"]
RowsOf = Literal["shifts", "promises"]

MOST_CROPS: Final = 4
MOST_PROMISES: Final = 2
DAYS: Final[Options] = tuple((day, NAME_OF_WEEKDAY[day]) for day in WEEKDAYS)


@dataclass(frozen=True)
class Field:
    """One thing a planner knows.

    at: where a room file has it, of several names the first; of a row: the key in its table. unit: of the file.
    """

    name: str
    label: str
    kind: Kind
    at: Path
    help: str = ""
    unit: str = ""
    choices: Options = ()
    row: int | None = None


@dataclass(frozen=True)
class Rows:
    """The same few fields several times: so many shifts at most, so many promises. more: what opens an empty one."""

    of: RowsOf
    legend: str
    more: str
    most: int
    fields: tuple[Field, ...]

    def inputs(self, row: int) -> tuple[Field, ...]:
        """The fields of one row, under names of their own."""
        return tuple(replace(each, name=f"{self.of}-{row}-{each.name}", row=row) for each in self.fields)


@dataclass(frozen=True)
class Step:
    """One page. asks: what it asks, in a sentence or two. more: the full forms behind it, words and key."""

    name: str
    title: str
    asks: str
    fields: tuple[Field, ...] = ()
    rows: Rows | None = None
    more: tuple[tuple[str, str], ...] = ()

    def inputs(self) -> tuple[Field, ...]:
        """Every field there can be on the page."""
        rows = self.rows
        return self.fields + (tuple(each for i in range(rows.most) for each in rows.inputs(i)) if rows else ())


def _same(words: tuple[str, ...] | list[str]) -> Options:
    return tuple((each, each) for each in words)


_SHELVES: Final[Path] = ("racks", 0, "shelves")

STEPS: Final[tuple[Step, ...]] = (
    Step(
        "place", "The place", "How large the room is, and how warm.",
        (
            Field("floor", "Floor area", "number", ("room", "floor_area_m2"), "Or its sides, such as 6 x 3.5.",
                  unit="m²"),
            Field("walls", "How the walls are made", "choice", ("room", "walls"), choices=_same(usual.names("walls"))),
            Field("weather", "Weather like that of", "choice", ("room", "weather"),
                  choices=_same(usual.names("weather"))),
            Field("heating", "Heated by", "choice", ("climate", "like"), choices=_same(
                [name for name in usual.names("climate") if "heating_kw" in usual.profile("climate", name).tables])),
            Field("air", "Air temperature you keep", "number", ("climate", "air_temperature_c"), unit="°C"),
        ),
        more=(("the room", "room"), ("heating, cooling and fans", "climate")),
    ),
    Step(
        "racks", "The racks", "Each has lights, a reservoir, a pump and a timer of its own.",
        (
            Field("racks", "Racks", "whole number", ("racks", 0, "count")),
            Field("shelves", "Shelves in each rack", "whole number", (*_SHELVES, 0, "count")),
            Field("slots", "Trays side by side on a shelf", "whole number", (*_SHELVES, 0, "slots")),
        ),
        more=(("racks and shelves", "racks"), ("reservoirs and pumps", "reservoirs"), ("lights", "lights")),
    ),
    Step(
        "crops", "The crops", "Tick up to four. Their usual days and weights come with them.",
        (Field("crops", "Crops", "crops", ("crops",), choices=_same(usual.names("crops"))),),
        more=(("crops", "crops"), ("trays", "trays"), ("the sowing plan", "sowing")),
    ),
    Step(
        "shifts", "Who comes when", "The shifts of a week. Greens are harvested on days with a lead.",
        rows=Rows("shifts", "Shift", "One more shift", 3, (
            Field("weekday", "Day", "choice", ("weekday",), choices=(("", "no shift"), *DAYS)),
            Field("start", "Begins at", "number", ("start_hour",), unit="h"),
            Field("hours", "Lasts", "number", ("hours",), unit="h"),
            Field("people", "Volunteers, without the lead", "whole number", ("people",)),
            Field("lead", "Somebody leads it", "yes or no", ("lead",), choices=_same(("yes", "no"))),
        )),
        more=(("the crew and its tasks", "crew"), ("days of harvest", "harvest")),
    ),
    Step(
        "promises", "Who is promised what", "As much is sown each week as this takes, until you say otherwise.",
        rows=Rows("promises", "Promise", "One more promise", MOST_PROMISES, (
            Field("who", "Who", "text", ("name",)),
            Field("crop", "Crop", "a crop", ("crop",)),
            Field("kg", "How much each week", "number", ("kg",), unit="kg"),
            Field("weekday", "Collected on", "choice", ("weekday",), choices=DAYS),
        )),
        more=(("partners, their orders and holidays", "partners"), ("the sowing plan", "sowing")),
    ),
    Step(
        "closed", "The year and power", "When it begins, when nobody comes in, and what power costs.",
        (
            Field("begins", "It begins on", "day", ("room", "start_date")),
            Field("start", "What stands on the shelves then", "choice", ("rehearsal", "start"), choices=(
                ("filled", "plants of every age: it has been running"), ("empty", "nothing: a new room"))),
            Field("closed", "Closed days", "days", ("room", "closed_days"),
                  "One on a line: “24 Dec”, or the first and the last, “24 Dec to 2 Jan”."),
            Field("electricity", "Electricity, for one kilowatt-hour", "number", ("prices", "electricity_per_kwh"),
                  unit="money/kWh"),
        ),
        more=(("what is switched off while closed", "room"), ("all prices", "prices")),
    ),
    Step("answer", "The first answer", "Rehearse the room: a year of it, many times over, each with its own "
    "chance events."),
)  # fmt: skip
BY_NAME: Final[dict[str, Step]] = {step.name: step for step in STEPS}
MOST_FIELDS: Final = 36
