"""The forms of the questions: the few things each needs to know.

The fields stand for options of the commands (`growsim COMMAND --help`); what a field may hold is for the command's own
reader to say, so that page and command line refuse in the same sentence.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass, replace

from growsim.report.words import listed, upper_first
from growsim.scenario.scenario import Scenario
from growsim.study.standing import RECORDS
from growsim.vocabulary.machines import MACHINES, NAMED_PLACES
from growsim.vocabulary.questions import BY_NAME, PERIOD_DAYS, QUESTIONS, Question
from growsim.vocabulary.registry import of_each
from growsim.web.ask.files import BY_RECORD, by_record_here
from growsim.web.ask.listed import change_files, change_title, record_tables, table_files
from growsim.web.folder import RoomFolder

FILES = ("changes", "table", "records")
"""Kinds of fields that name files."""


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
class Form:
    """A question with the few things it needs to know, as a room would have them filled in at first."""

    question: Question
    fields: tuple[Field, ...]


ON_ASK_PAGE = tuple(question.name for question in QUESTIONS if question.place == "ask")


def form_of(question: Question, room: RoomFolder, scenario: Scenario, today: dt.date) -> Form:
    """The form of a question, as this room would have it filled in."""
    return Form(question, tuple(_FIELDS[question.name](room, scenario, today)))


def _years(name: str, scenario: Scenario, *, more: bool = True) -> Field:
    years = BY_NAME[name].years
    assert years is not None
    number = years.unless_said(None, scenario.rehearsal.replications)
    help_text = f"{upper_first(years.why)}."
    return Field(
        "replications", f"How many {years.what}", "number", "--replications", help_text, str(number), more=more
    )


def _days(scenario: Scenario) -> Field:
    return Field(
        "days", "How many days of each to count", "number", "--days", "364 days are 52 weeks.",
        str(scenario.rehearsal.days), "days", more=True,
    )  # fmt: skip


def _start(scenario: Scenario) -> Field:
    return Field(
        "start", "What stands on the shelves when it begins", "choice", "--start",
        standard=scenario.rehearsal.start, more=True,
        choices=(("filled", "the plan has been running for a while"), ("empty", "bare shelves")),
    )  # fmt: skip


DATES_ARE = Field(
    "dates", "Dates such as 3/4/2031 have", "choice", "--dates",
    choices=(("", "none: dates are written 2031-04-03"), ("day-first", "the day first"),
             ("month-first", "the month first")),
)  # fmt: skip


def _rehearse(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    return [_years("rehearse", scenario, more=False), _days(scenario), _start(scenario)]


def _compare(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    changes = Field(
        "changes", "Which changes", "changes", "",
        "Each is compared with the room as it is, by itself.",
        choices=tuple((path.name, change_title(path)) for path in change_files(room)),
    )  # fmt: skip
    return [changes, _years("compare", scenario, more=False), _days(scenario)]


def _crew(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    goals = scenario.goals
    return [
        Field(
            "on_time", "Of 100 jobs, how many are to be done in time", "number", "--on-time",
            standard=f"{100 * goals.tasks_on_time_fraction:g}", unit="of 100",
        ),
        Field(
            "orders", "Of 100 parts of the greens ordered, how many are to be handed out", "number", "--orders",
            standard=f"{100 * goals.orders_filled_fraction:g}", unit="of 100",
        ),
        Field(
            "at_least", "People in every shift at least, the lead not counted", "number", "--at-least",
            standard="1", unit="people", more=True,
        ),
        _years("crew", scenario),
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
        _years("outage", scenario),
    ]  # fmt: skip


def _sow(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    return [
        Field(
            "certainty", "In how many of 100 weeks is each standing order to be met in full", "number", "--certainty",
            standard="90", unit="of 100",
        ),
        _years("sow", scenario),
    ]  # fmt: skip


def _shelves(room: RoomFolder, today: dt.date, *, needed: bool) -> Field:
    kept = tuple((path.relative_to(room.home).as_posix(), path.name) for path in table_files(room))
    by_record = ((BY_RECORD, "what the record says stands there"),) if by_record_here(room, today) else ()
    none = "choose, or send one below" if needed else "no count: the plan has been running for a while"
    return Field(
        "shelves", "What was counted on the shelves", "table", "--shelves",
        "A table (CSV or XLSX) with the columns lot, crop, stage, sown, plants, rack; greens in the cooler are "
        "lines of stage “cooler” with kg.",
        choices=(*by_record, ("", none), *kept), standard=BY_RECORD if by_record else "",
    )  # fmt: skip


def _review(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    kept = len(record_tables(room))
    choices = ((RECORDS, f"the record kept under “Records” ({kept} {'table' if kept == 1 else 'tables'})"),)
    return [
        Field("records", "What is on record", "records", "--records", standard=RECORDS if kept else "",
              choices=choices if kept else (("", "none is kept yet: write a shift down first"),)),
        Field("week", "A day of the week you want", "date", "--week", "Empty: the last week on record."),
        replace(DATES_ARE, more=True),
        _years("review", scenario),
    ]  # fmt: skip


def _promise(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    return [
        _shelves(room, today, needed=True),
        Field("date", "The morning of the count", "date", "--date", standard=today.isoformat()),
        Field("weeks", "How many weeks ahead", "number", "--weeks", "As long as the slowest crop takes where empty.",
              unit="weeks"),
        _years("promise", scenario),
        Field("no_rescue", "Do not try what would save deliveries at risk", "check", "--no-rescue",
              "Quicker.", more=True),
    ]  # fmt: skip


def _sheet(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    first = scenario.room.start_date
    week = today if today >= first else first
    return [
        Field("week", "A day of the week you want", "date", "--week", standard=week.isoformat()),
        _shelves(room, today, needed=False),
        Field("date", "The morning of the count", "date", "--date", "Only with a count."),
    ]


def _funder(room: RoomFolder, scenario: Scenario, today: dt.date) -> list[Field]:
    kept = len(record_tables(room))
    tables = (
        ((RECORDS, f"the record kept under “Records” ({kept} {'table' if kept == 1 else 'tables'})"),) if kept else ()
    )
    spans = ((name, f"a {name} ({days // 7} weeks)") for name, days in PERIOD_DAYS.items())
    none = "no record: only what could be expected" if kept else "none is kept under “Records” yet"
    return [
        Field("records", "What is on record", "records", "--records",
              "Told first, beside what the same days could be expected to bring.", choices=(("", none), *tables)),
        Field("from", "From this day on", "date", "--from",
              "Empty: from the record's first day, or the room's first day where no record is chosen."),
        Field("until", "Up to this day", "date", "--until",
              "Empty: to the record's last day, or as long as said below where no record is chosen."),
        replace(DATES_ARE, help="Only with a record."),
        Field("period", "How long a time to tell of", "choice", "--period",
              choices=(("", "from the first day to the last, or a year where none is said"), *spans)),
        _years("funder", scenario),
    ]  # fmt: skip


_FIELDS = of_each(
    "question of the ask page",
    ON_ASK_PAGE,
    {
        "rehearse": _rehearse,
        "compare": _compare,
        "crew": _crew,
        "outage": _outage,
        "sow": _sow,
        "review": _review,
        "promise": _promise,
        "sheet": _sheet,
        "funder": _funder,
    },
    "growsim.web.ask.questions._FIELDS",
)
