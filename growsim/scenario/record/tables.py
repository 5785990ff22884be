"""What a record holds: six tables in plain words, from which templates, reading and explanations are made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from growsim.scenario.wording import listing
from growsim.vocabulary.losses import DRIED_OUT, LOSSES, TOO_SMALL, TRANSPLANTING
from growsim.vocabulary.machines import CAN_FAIL, NAMED_PLACES
from growsim.vocabulary.tasks import TASKS

Kind = Literal["date", "moment", "whole", "number", "text"]
ENTRY, REPLACES = "entry", "replaces"  # which entry of the page a row is, and which earlier one it takes the place of
OTHER = "other"  # what a record calls a loss that is none of ours
LOST_TO = (*(loss.record_word for loss in LOSSES if loss.record_word), OTHER)


@dataclass(frozen=True)
class Column:
    """One column. moment: a date, with the time of day where it is known. needed: a row without it says nothing."""

    name: str
    meaning: str
    kind: Kind
    needed: bool = False
    low: float = 0.0
    high: float = 1e6


@dataclass(frozen=True)
class RecordTable:
    """One table of the record: a file plantings.csv, or a sheet of that name in a workbook.

    examples: rows that show how it is meant; templates carry them as remarks.
    """

    name: str
    about: str
    columns: tuple[Column, ...]
    examples: tuple[tuple[str, ...], ...]

    @property
    def known(self) -> tuple[str, ...]:
        """Columns that may be there: its own, and those of what is written on the page."""
        return (*(column.name for column in self.columns), ENTRY, REPLACES)

    @property
    def needed(self) -> tuple[str, ...]:
        """Columns that must be there."""
        return tuple(column.name for column in self.columns if column.needed)


PLANTINGS = RecordTable(
    "plantings",
    "One row for all trays of a crop that were sown together. Fill in what is known; add to the row as time goes on. "
    "Harvested in several goes: one row for each, with cells and emerged in the first only.",
    (
        Column("sown", "Date of sowing.", "date", needed=True),
        Column("crop", "Name of the crop, as in the room file.", "text", needed=True),
        Column("cells", "Cells sown.", "whole", low=1, high=100_000),
        Column(
            "seeds_per_cell", "Seeds put into one cell; empty for what the room file says.", "whole", low=1, high=20
        ),
        Column("emerged", "Cells in which at least one seedling germinated.", "whole", high=100_000),
        Column(
            "transplanted",
            "Date of the first move to a wider stand; the day most were moved, if it took several.",
            "date",
        ),
        Column(
            "transplanted_again",
            "Date of the second move, for a crop that is moved twice; empty for others. Without it nobody can tell "
            "plants that were moved late from plants that grew slowly.",
            "date",
        ),
        Column("harvested", "Date of harvest.", "date"),
        Column(
            "harvest_number", "1 for the first harvest, 2 for the second; empty for the first.", "whole", low=1, high=12
        ),
        Column(
            "plants_harvested",
            "Plants harvested; empty where it is those emerged less those lost.",
            "whole",
            high=100_000,
        ),
        Column("grams", "What the harvested plants weighed when packed.", "number", high=1e7),
        Column("lost", "Plants lost between germination and harvest; 0 where none was.", "whole", high=100_000),
        Column(
            "why",
            f"Why they were lost: {', '.join(LOST_TO[:-1])} or {OTHER}. Pests and disease are {OTHER}: no rehearsal "
            f"has them. With counts where there are several, such as: "
            f"2 {TRANSPLANTING.record_word}, 1 {TOO_SMALL.record_word}.",
            "text",
        ),
        Column(
            "plants_moved",
            "Plants moved on that day, where the others stayed; empty for all of them.",
            "whole",
            high=100_000,
        ),
    ),
    (
        (
            "2031-03-03",
            "butterhead",
            "72",
            "1",
            "66",
            "2031-03-17",
            "2031-03-25",
            "2031-04-10",
            "",
            "63",
            "8316",
            "3",
            TRANSPLANTING.record_word,
            "",
        ),
        (
            "2031-03-06",
            "basil",
            "48",
            "2",
            "46",
            "2031-03-22",
            "",
            "",
            "",
            "",
            "",
            "1",
            f"1 {DRIED_OUT.record_word}",
            "",
        ),
    ),
)
ATTENDANCE = RecordTable(
    "attendance",
    "One row for each shift that was held.",
    (
        Column("date", "Date of the shift.", "date", needed=True),
        Column("shift", "Name of the shift, as in the room file.", "text"),
        Column("signed_up", "Volunteers signed up, without the lead.", "whole", needed=True, high=200),
        Column("came", "Volunteers of those who came.", "whole", needed=True, high=200),
        Column("guests", "Others who came and had not signed up; empty for none.", "whole", high=200),
    ),
    (("2031-03-03", "Monday morning", "4", "3", ""), ("2031-03-06", "Thursday morning", "5", "5", "1")),
)
WORK = RecordTable(
    "work",
    "One row for a piece of work that was done. A few of each kind that somebody timed are enough to learn from.",
    (
        Column("date", "Date of the work.", "date", needed=True),
        Column("task", f"{listing(TASKS)}.", "text", needed=True),
        Column(
            "units",
            f"How much of it: {listing(dict.fromkeys(row.amounts for row in TASKS.values()))}.",
            "number",
            needed=True,
            high=100_000,
        ),
        Column("people", "How many worked at it; empty for one.", "number", low=0.1, high=100),
        Column("minutes", "Minutes from beginning to end; empty where not timed.", "number", low=0.1, high=10_000),
    ),
    (("2031-03-03", "sow", "144", "2", "14"), ("2031-03-06", "harvest", "66", "2", "21")),
)
_PLACES = listing(place.word for place in NAMED_PLACES)
FAULTS = RecordTable(
    "faults",
    "One row for each time a machine was down. An empty table teaches nothing: whoever knows that nothing failed "
    "says so with --no-faults.",
    (
        Column("machine", f"{listing(row.key for row in CAN_FAIL)}.", "text", needed=True),
        Column(
            "where",
            f"Which {_PLACES}; empty for the room's own machines.",
            "text",
        ),
        Column("down", "When it failed, as far as is known.", "moment", needed=True),
        Column("noticed", "When somebody noticed, or the alarm went.", "moment"),
        Column("repaired", "When it worked again.", "moment"),
    ),
    (("pump", "north reservoir", "2031-03-08 03:00", "2031-03-08 20:30", "2031-03-08 21:40"),),
)
DELIVERIES = RecordTable(
    "deliveries",
    "One row for each crop that a partner took at a pick-up.",
    (
        Column("date", "Date of the pick-up.", "date", needed=True),
        Column("partner", "Name of the partner, as in the room file.", "text", needed=True),
        Column("crop", "Name of the crop, as in the room file; 'any' for an order of any.", "text", needed=True),
        Column("kg", "How much was handed out; 0 for nothing.", "number", needed=True, high=1e5),
    ),
    (("2031-04-10", "food pantry", "butterhead", "4.5"),),
)
READINGS = RecordTable(
    "readings",
    "One row for each time the strength and pH of a reservoir were read.",
    (
        Column("date", "Date of the reading.", "date", needed=True),
        Column("reservoir", "Name of the reservoir, as in the room file.", "text", needed=True),
        Column("strength_before_ms_cm", "Strength (EC) before it was filled.", "number", high=20),
        Column("strength_after_ms_cm", "Strength (EC) after it was filled.", "number", high=20),
        Column("ph", "pH, after it was filled.", "number", high=14),
    ),
    (("2031-03-03", "north reservoir", "2.1", "1.6", "6.0"),),
)
TABLES = (PLANTINGS, ATTENDANCE, WORK, FAULTS, DELIVERIES, READINGS)
BY_NAME = {table.name: table for table in TABLES}
