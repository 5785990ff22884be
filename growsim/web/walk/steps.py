"""The eight steps that describe a new room, and every field of them: pages, order, counts and tests come from STEPS."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

from growsim.scenario import usual
from growsim.vocabulary.days import NAME_OF_WEEKDAY, WEEKDAYS
from growsim.vocabulary.regions import REGION_NAMES

Path = tuple[str | int, ...]
Options = tuple[tuple[str, str], ...]
Kind = Literal["text", "number", "whole number", "choice", "crops", "a crop", "days"]
RowsOf = Literal["cells", "shifts", "promises"]

MOST_CROPS: Final = 4
MOST_PROMISES: Final = 2
DAYS: Final[Options] = tuple((day, NAME_OF_WEEKDAY[day]) for day in WEEKDAYS)


@dataclass(frozen=True)
class Field:
    """One thing a planner knows.

    at: where a room file has it; of a row: the key in its table. also: what else has the same value. unit: of the file.
    is_optional: left empty, it asks for nothing and is not counted.
    """

    name: str
    label: str
    kind: Kind
    at: Path
    help: str = ""
    unit: str = ""
    choices: Options = ()
    also: tuple[Path, ...] = ()
    is_optional: bool = False
    row: int | None = None


@dataclass(frozen=True)
class Rows:
    """The same few fields several times: so many shifts at most, so many promises."""

    of: RowsOf
    legend: str
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
        "place", "The place", "Where the room is, and how large.",
        (
            Field("region", "Where it stands", "choice", ("room", "region"), choices=_same(REGION_NAMES),
                  help="Sets the units, the order of dates, and whose limits the cautions name."),
            Field("walls", "How the walls are made", "choice", ("room", "walls"),
                  "From this follows how fast the room cools.", choices=_same(usual.names("walls"))),
            Field("floor", "Floor area", "number", ("room", "floor_area_m2"), unit="m²"),
            Field("height", "Height to the ceiling", "number", ("room", "height_m"), unit="m"),
            Field("january", "Outdoors in January, on average", "number", ("room", "outdoor_january_c"), unit="°C",
                  help="The mean of day and night; a weather site of your town has it."),
            Field("july", "Outdoors in July, on average", "number", ("room", "outdoor_july_c"), unit="°C"),
            Field("air", "Air temperature you keep", "number", ("climate", "air_temperature_c"), unit="°C"),
        ),
        more=(("the room", "room"), ("heating, cooling and fans", "climate")),
    ),
    Step(
        "racks", "The racks", "Racks that are alike. Each has lights, a reservoir, a pump and a timer of its own.",
        (
            Field("racks", "Racks", "whole number", ("racks", 0, "count")),
            Field("shelves", "Shelves in each rack", "whole number", (*_SHELVES, 0, "count"),
                  "Those for seedlings too."),
            Field("slots", "Trays side by side on a shelf", "whole number", (*_SHELVES, 0, "slots"),
                  "Trays of the outline that is sold everywhere, all of one size."),
        ),
        more=(("racks and shelves", "racks"), ("reservoirs and pumps", "reservoirs"), ("lights", "lights")),
    ),
    Step(
        "crops", "The crops", "What you grow: four at most here. Each comes with usual days, weights and germination, "
        "and the source of each.",
        (
            Field("crops", "Crops", "crops", ("crops",), choices=_same(usual.names("crops"))),
            Field("sow", "Sown each week on", "choice", ("sowing", 0, "weekday"), choices=DAYS),
        ),
        Rows("cells", "Cells sown each week", MOST_CROPS, (
            Field("cells", "Cells", "whole number", ("cells",), "One place of a seedling tray, for one plant."),
        )),
        more=(("crops", "crops"), ("trays", "trays"), ("the sowing plan", "sowing")),
    ),
    Step(
        "shifts", "Who comes when", "The shifts of a week. Somebody leads each; say how many volunteers are "
        "signed up, too. Greens are cut on these days.",
        rows=Rows("shifts", "Shift", 3, (
            Field("weekday", "Day", "choice", ("weekday",), choices=(("", "no shift"), *DAYS)),
            Field("start", "Begins at", "number", ("start_hour",), "24-hour clock; 18:30 is read too.", unit="h"),
            Field("hours", "Lasts", "number", ("hours",), unit="h"),
            Field("people", "Volunteers", "whole number", ("people",)),
        )),
        more=(("the crew and its tasks", "crew"), ("days of cutting", "harvest")),
    ),
    Step(
        "promises", "Who is promised what", "Who collects greens each week, and how much.",
        (Field("surplus", "What is left over is given away on", "choice", ("harvest", "surplus_weekday"),
               choices=DAYS),),
        rows=Rows("promises", "Promise", MOST_PROMISES, (
            Field("who", "Who", "text", ("name",), "Left empty: no promise."),
            Field("crop", "Crop", "a crop", ("crop",)),
            Field("kg", "How much each week", "number", ("kg",), unit="kg"),
            Field("weekday", "Collected on", "choice", ("weekday",), choices=DAYS),
        )),
        more=(("partners and their orders", "partners"),),
    ),
    Step(
        "closed", "Closed times", "Days when nobody comes in: holidays, summer, a move.",
        (
            Field("closed", "Closed days", "days", ("room", "closed_days"),
                  "One on a line, or the first and the last, such as “20 December 2031 to 2 January 2032”."),
            Field("away", "Days when your partners collect nothing", "days", ("partners", 0, "closed_days"),
                  "School holidays, say. Leave it empty if there are none.", also=(("partners", 1, "closed_days"),),
                  is_optional=True),
        ),
        more=(("what is switched off while closed", "room"),),
    ),
    Step(
        "prices", "Prices", "What power costs. All other prices begin at nothing.",
        (
            Field("electricity", "Electricity, for one kilowatt-hour", "number", ("prices", "electricity_per_kwh"),
                  help="Of another currency, write it too: 0.18 CHF.", unit="money/kWh"),
        ),
        more=(("all prices", "prices"),),
    ),
    Step("answer", "The first answer", "Rehearse the room: a year of it, many times over, each with its own "
    "chance events."),
)  # fmt: skip
BY_NAME: Final[dict[str, Step]] = {step.name: step for step in STEPS}
MOST_FIELDS: Final = 40
