"""The questions a planner can ask, in their words, each with the few things it needs to know.

The fields stand for options of the commands (`growsim COMMAND --help`); what a field may hold is for the command's own
reader to say, so that page and command line refuse in the same sentence.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from growsim.report.words import listed
from growsim.scenario.scenario import Scenario
from growsim.vocabulary.machines import MACHINES, NAMED_PLACES
from growsim.web.ask.listed import RECORDS, change_files, change_title, record_tables, table_files
from growsim.web.folder import RoomFolder


@dataclass(frozen=True)
class Field:
    """One thing to say. kind: number, date, choice, check, changes, table or records. option: of the command.

    standard: what it holds at first. choices: (value, words). more: folded away, for those who want it.
    """

    name: str
    label: str
    kind: str
    option: str
    help: str = ""
    standard: str = ""
    unit: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    more: bool = False


@dataclass(frozen=True)
class Question:
    """A question. name: of the command. short: for lists of answers. fixed_seconds, years: how long it takes."""

    name: str
    asks: str
    short: str
    about: str
    fields: tuple[Field, ...] = ()


QUESTIONS: tuple[Question, ...] = (
    Question(
        "rehearse",
        "What will this room give, week by week, over a year, and what holds it back?",
        "What the room gives",
        "Lives through many possible years of the room as it is described, each with other luck.",
    ),
    Question(
        "compare",
        "What does another rack, another crop, another layout or timetable change?",
        "What a change brings",
        "Lives through the same years with and without each change you tick.",
    ),
    Question(
        "crew",
        "How many volunteers do I need, on which day, in which month?",
        "Volunteers needed",
        "Finds the smallest sign-up, shift by shift and month by month, with which the work gets done.",
    ),
    Question(
        "outage",
        "What does a failed pump, lights out, a power outage or loss of cooling cost, how long do I have, and what is "
        "worth "
        "buying?",
        "When something stops",
        "Looks at every machine, or at one outage on one day that you describe.",
    ),
    Question(
        "sow",
        "What shall I sow, when, so that partners get what I promised?",
        "What to sow",
        "Looks for the plan with the least seed that keeps the standing orders as surely as you ask.",
    ),
    Question(
        "promise",
        "Given what stands on the shelves today, what may I promise for the coming weeks?",
        "What to promise",
        "Lives through many possible futures of what you counted on the shelves.",
    ),
    Question(
        "sheet",
        "What does the team do this week, shift by shift?",
        "Sheets for the week",
        "Writes one page to print for each shift, a list of supplies, and a calendar file.",
    ),
    Question(
        "funder",
        "What may I show the funder: output, people, cost, losses, and how sure it is?",
        "For the funder",
        "Rehearses a quarter, a year or the time of your record and writes a page and a workbook for the funder.",
    ),
    Question(
        "replay",
        "What would one possible year look like, day by day?",
        "One year, day by day",
        "Lives through one numbered year again, to be stepped through.",
    ),
    Question(
        "learn",
        "What does my own record say about my room?",
        "What the record says",
        "Learns the room's own figures from what was written down.",
    ),
)
BY_NAME = {question.name: question for question in QUESTIONS}
ON_ASK_PAGE = tuple(question.name for question in QUESTIONS if question.name not in ("replay", "learn"))


def with_fields(question: Question, room: RoomFolder, scenario: Scenario, today: dt.date) -> Question:
    """The question with its fields, as this room would have them filled in."""
    return replace(question, fields=tuple(_FIELDS[question.name](room, scenario, today)))


def _years(scenario: Scenario, least: int = 2, many: int | None = None) -> Field:
    number = many if many is not None else max(least, scenario.rehearsal.replications)
    return Field(
        "replications", "How many possible years to live through", "number", "--replications",
        "More years: surer averages, and a longer wait.", str(number), "years",
    )  # fmt: skip


def _days(scenario: Scenario) -> Field:
    return Field(
        "days", "How many days of each to count", "number", "--days", "364 days are 52 weeks.",
        str(scenario.rehearsal.days), "days", more=True,
    )  # fmt: skip


_START = Field(
    "start", "What stands on the shelves when it begins", "choice", "--start",
    standard="filled", more=True,
    choices=(("filled", "the plan has been running for a while"), ("empty", "bare shelves")),
)  # fmt: skip
DATES_ARE = Field(
    "dates", "Dates such as 3/4/2031 have", "choice", "--dates",
    choices=(("", "none: dates are written 2031-04-03"), ("day-first", "the day first"),
             ("month-first", "the month first")),
)  # fmt: skip
_TENTH = Field(
    "tenth_more", "Also see what a tenth more of each thing would bring", "check", "--tenth-more",
    "About ten times the wait.", more=True,
)  # fmt: skip


def _rehearse(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    return [_years(scenario), _days(scenario), _START, _TENTH]


def _compare(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    changes = Field(
        "changes", "Which changes", "changes", "",
        "Each is compared with the room as it is, by itself.",
        choices=tuple((path.name, change_title(path)) for path in change_files(room)),
    )  # fmt: skip
    years = replace(_years(scenario), help="At most; it stops sooner where all is decided.")
    return [changes, years, _days(scenario), _TENTH]


def _crew(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    goals = scenario.goals
    return [
        Field(
            "on_time", "Of 100 jobs, how many are to be done in time", "number", "--on-time",
            standard=f"{100 * goals.tasks_on_time_fraction:g}", unit="of 100",
        ),
        Field(
            "orders", "Of 100 kilograms ordered, how many are to be handed out", "number", "--orders",
            standard=f"{100 * goals.orders_filled_fraction:g}", unit="of 100",
        ),
        Field(
            "at_least", "People in every shift at least, besides the lead", "number", "--at-least",
            standard="1", unit="people", more=True,
        ),
        replace(_years(scenario, least=5), help="In which the answer is proven; the search needs more.", more=True),
    ]  # fmt: skip


def _outage(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    from growsim.scenario.machines import names_at

    places = [("", "no place to name")]
    places += [(name, f"{place.word}: {name}") for place in NAMED_PLACES for name in names_at(scenario, place)]
    placed = listed([row.label for row in MACHINES if row.place in NAMED_PLACES], "or")
    return [
        Field(
            "machine", "What fails", "choice", "--machine",
            choices=(("", "study every machine"), *((row.key, row.label) for row in MACHINES)),
        ),
        Field(
            "where", f"Where (for {placed})", "choice", "--where", choices=tuple(places),
            help="Only if you name what fails.",
        ),
        Field("date", "On which day", "date", "--date", "Only if you name what fails."),
        Field("hour", "At which hour of the day", "number", "--hour", "0 is midnight.", unit="h", more=True),
        Field("hours", "For how long", "number", "--hours", "24 hours where left empty.", unit="hours"),
        replace(_years(scenario), more=True),
    ]  # fmt: skip


def _sow(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    return [
        Field(
            "certainty", "In how many of 100 weeks is each standing order to be met in full", "number", "--certainty",
            standard="90", unit="of 100",
        ),
        replace(_years(scenario), help="In which the plan found is proven.", more=True),
    ]  # fmt: skip


def _shelves(room: RoomFolder, *, needed: bool) -> Field:
    kept = tuple((path.relative_to(room.home).as_posix(), path.name) for path in table_files(room))
    none = "choose, or send one below" if needed else "no count: the plan has been running for a while"
    return Field(
        "shelves", "What was counted on the shelves", "table", "--shelves",
        "A table (CSV or XLSX) with the columns lot, crop, stage, sown, plants, rack; greens in the cooler are "
        "lines of stage “cooler” with kg.",
        choices=(("", none), *kept),
    )  # fmt: skip


def _promise(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    return [
        _shelves(room, needed=True),
        Field("date", "The morning of the count", "date", "--date", standard=today.isoformat()),
        Field("weeks", "How many weeks ahead", "number", "--weeks", "As long as the slowest crop takes where empty.",
              unit="weeks"),
        Field("replications", "How many possible futures", "number", "--replications", standard="200", more=True),
        Field("no_rescue", "Do not try what would save deliveries at risk", "check", "--no-rescue",
              "Quicker.", more=True),
    ]  # fmt: skip


def _sheet(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    first = scenario.room.start_date
    week = today if today >= first else first
    return [
        Field("week", "A day of the week you want", "date", "--week", standard=week.isoformat()),
        _shelves(room, needed=False),
        Field("date", "The morning of the count", "date", "--date", "Only with a count."),
    ]


def _funder(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    kept = len(record_tables(room))
    tables = (
        ((RECORDS, f"the record kept under “Records” ({kept} {'table' if kept == 1 else 'tables'})"),) if kept else ()
    )
    none = "no record: only what could be expected" if kept else "none is kept under “Records” yet"
    return [
        Field("records", "What is on record", "records", "--records",
              "Told first, beside what the same days could be expected to bring.", choices=(("", none), *tables)),
        Field("from", "Tell of the record from this day on", "date", "--from", "Empty: all of it."),
        Field("until", "Tell of the record up to this day", "date", "--until", "Empty: all of it."),
        replace(DATES_ARE, help="Only with a record."),
        Field("period", "How long a time to tell of", "choice", "--period",
              choices=(("", "the time of the record, or a year where none is chosen"), ("year", "a year"),
                       ("quarter", "a quarter (13 weeks)"))),
        replace(_years(scenario), more=True),
    ]  # fmt: skip


_FIELDS = {
    "rehearse": _rehearse,
    "compare": _compare,
    "crew": _crew,
    "outage": _outage,
    "sow": _sow,
    "promise": _promise,
    "sheet": _sheet,
    "funder": _funder,
}
