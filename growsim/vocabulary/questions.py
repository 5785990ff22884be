"""The questions of growsim, in the order a planner meets them: a row for each.

Command line, page, reports, `growsim.__all__` and help are made from these rows. One question more is a row here, its
command (`growsim/cli/<name>.py`), and, where it leaves a report, its answer (`growsim/report/<folder>/answer.py`).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from growsim.vocabulary.dangers import DANGERS, HARVEST, SHELVES, Danger

File = Literal["room", "changes", "records", "shelves"]
Place = Literal["ask", "records", "answers"]
PERIOD_DAYS: Final = {"year": 364, "quarter": 91}  # what the funder is told of, where no record says
POSSIBLE_FUTURES: Final = 200
PLANNED_WEEKS: Final = 40


@dataclass(frozen=True, kw_only=True)
class Years:
    """How many rehearsed years (or weeks, or futures) a question is asked in.

    what: they are; why: more or fewer, half a sentence. usual: how many where nobody says; None: as many as the room
    file has, but no fewer than `fewest`.
    """

    what: str
    why: str
    fewest: int = 1
    usual: int | None = None

    def unless_said(self, said: int | None, of_room: int) -> int:
        """How many, where somebody has said so or not. of_room: the room file's."""
        return said or self.usual or max(self.fewest, of_room)


@dataclass(frozen=True, kw_only=True)
class Work:
    """A rough rule for how long a question takes: room-years to simulate, and seconds for pages and pictures.

    fixed: whatever is asked. each: for one of its `Years`; each_change: more, for each change. given: a field of the
    form which, where it is filled in, makes `each` to be `each_given`.
    """

    pages: float = 8.0
    fixed: float = 0.0
    each: float = 1.0
    each_change: float = 0.0
    given: str = ""
    each_given: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Question:
    """A question, and everything that is true of it wherever it is asked or answered.

    name: of its command. asks: in the planner's words. about: what is done to answer it; more: what else the help on
    the terminal says. needs, takes: files it cannot do without, and those it may be given. short: what its answer is
    called in lists. title: of its report, after the room's name. leaves: (file, what it is) a reader is pointed to.
    folder: of its study and report. place: where on the page it is asked. set_apart: fields of the form that tell one
    answer from another in lists. dangers: cautioned of above its answer on the page. python: public functions of
    growsim. Raises ValueError where a row lacks what its others call for.
    """

    name: str
    asks: str
    about: str
    more: str = ""
    is_command: bool = True
    needs: tuple[File, ...] = ("room",)
    takes: tuple[File, ...] = ()
    short: str = ""
    title: str = ""
    leaves: tuple[tuple[str, str], ...] = ()
    folder: str = ""
    place: Place | None = None
    set_apart: tuple[str, ...] = ()
    dangers: tuple[Danger, ...] = ()
    python: tuple[str, ...] = ()
    years: Years | None = None
    work: Work | None = None

    def __post_init__(self) -> None:
        lacking = [
            (not self.asks.endswith(("?", ".")), "asks: it is no sentence"),
            (not self.about.endswith("."), "about: it is no sentence"),
            (bool(self.leaves) and not self.title, "title: its report has none"),
            (bool(self.leaves) and not self.folder, "folder: its report lies nowhere"),
            (self.place is not None and not self.short, "short: its answers have no name in lists"),
            (self.place == "ask" and self.work is None, "work: nobody can say how long it takes"),
        ]
        for is_lacking, what in lacking:
            if is_lacking:
                raise ValueError(f"vocabulary/questions.py, {self.name}: {what}.")

    @property
    def has_report(self) -> bool:
        """Whether its command leaves a report."""
        return bool(self.leaves)

    @property
    def change_file(self) -> str:
        """The CHANGE file that its command leaves; "" for none."""
        return next((file for file, _ in self.leaves if file.endswith(".toml")), "")


REPORT = ("report.html", "The whole report")
QUESTIONS: Final[tuple[Question, ...]] = (
    Question(
        name="new",
        asks="I have no room file yet.",
        about="Writes a small invented room with every key explained, to be made yours.",
        more="With --records: empty tables to keep a record in, from which `growsim learn` learns. Nothing is ever "
        "written over.",
        needs=(),
    ),
    Question(
        name="check",
        asks="Is my room file complete and valid?",
        about="Reads the room file and says everything that is wrong with it, one line each: file, key, what is wrong, "
        "what would be right.",
        more="A sound room is answered with its size on paper, and with what is possible but surely not meant.",
        python=("check",),
    ),
    Question(
        name="rehearse",
        asks="What will this room give over a year, and what limits it?",
        about="Simulates many years of the room as it is described, each with chance events of its own.",
        more="Writes a report into a folder of its own: an answer in sentences with their ranges, pictures and tables "
        "(report.html, summary.json, CSV tables, figures).",
        short="What the room gives",
        title="the plan, rehearsed",
        leaves=(REPORT, ("logbook.csv", "The log book")),
        folder="rehearse",
        place="ask",
        dangers=("water and power", *SHELVES, *HARVEST),
        python=("rehearse",),
        years=Years(what="rehearsed years", why="more give surer averages and take longer"),
        work=Work(fixed=60.0),  # years in which it is tried what would bring more
    ),
    Question(
        name="compare",
        asks="What would another rack, crop, layout or timetable change?",
        about="Simulates the same years with the room as it is and with each change made.",
        more="It goes on until the difference in orders, greens, hours and costs is decided or too small to "
        "matter. Says what each change brings, with its range, and why; where the CHANGE file "
        "has a price, when it is paid back.",
        needs=("room", "changes"),
        short="What a change brings",
        title="changes compared",
        leaves=(REPORT,),
        folder="compare",
        place="ask",
        set_apart=("changes",),
        dangers=("water and power", "lifting", "load"),
        python=("compare",),
        years=Years(what="rehearsed years at most", why="it stops sooner where all is decided", fewest=2),
        work=Work(each=1, each_change=3),
    ),
    Question(
        name="keep",
        asks="How do I put a change into my room?",
        about="Writes the room with the change made in it into a new folder; the old room stays as it is.",
        more="What `learn` or `sow` found can then be rehearsed, promised from and printed on sheets. Several changes "
        "are made one after the other. Remarks of the room file are kept; the CHANGE files lie in the folder "
        "kept-changes. Records and answers stay with the old room.",
        needs=("room", "changes"),
        python=("keep",),
    ),
    Question(
        name="crew",
        asks="How many volunteers do I need, on which day, in which month?",
        about="Finds the sign-up that is easiest to recruit, shift by shift and month by month, with which the goals "
        "of the room file are met.",
        more="It is sure to 95%, no-shows and new volunteers counted in. Says where people are not what is short, "
        "and for which tasks the last people are. Shows what one person less costs on each day, what larger and "
        "smaller crews bring, which task is late first.",
        short="Volunteers needed",
        title="how many volunteers, on which day, in which month",
        leaves=(REPORT, ("crew.toml", "The sign-up as a CHANGE file")),
        folder="crew",
        place="ask",
        dangers=("alone", "lifting", "hot room"),
        python=("crew",),
        years=Years(
            what="new rehearsed years, at least, in which the answer is confirmed",
            why="the search needs more",
            fewest=5,
        ),
        work=Work(fixed=500, each=11),
    ),
    Question(
        name="outage",
        asks="What does a failed pump, failed lights, a power outage or lost cooling cost? How long do I have? Which "
        "backup is worth buying?",
        about="Looks at every machine, or at one outage on one day that you describe.",
        more="Without --machine: the hours until plants die, what each machine's failing costs in a year, and "
        "what each protection is worth. Prints a chart for the wall and sheets of what to do first. With "
        "--machine: what that one outage costs, against the same year without it.",
        short="When something fails",
        title="when something fails",
        leaves=(
            REPORT,
            ("wall.html", "For the wall, to print"),
            ("what-to-do-first.html", "What to do first, to print"),
        ),
        folder="outage",
        place="ask",
        set_apart=("machine", "date"),
        dangers=("water and power", "chemicals", "lifting", "hot room"),
        python=("outage", "outage_event"),
        years=Years(what="rehearsed years", why="each is simulated with and without what fails", fewest=2),
        work=Work(pages=15, each=10, given="machine", each_given=2),
    ),
    Question(
        name="sow",
        asks="What do I sow, and when, so that partners get what I promised?",
        about="Looks for the plan with the least seed that keeps the standing orders as surely as you ask.",
        more="Says how many cells of each crop to sow on which day, within the shelves and the crew. If no plan "
        "keeps them all, it is the best, with what is short. The plan is written as a CHANGE file for `growsim "
        "compare` and "
        "`growsim keep`.",
        short="What to sow",
        title="what to sow, and when",
        leaves=(REPORT, ("sowing.toml", "The plan as a CHANGE file")),
        folder="sow",
        place="ask",
        dangers=(*SHELVES, *HARVEST),
        python=("sow",),
        years=Years(
            what="new rehearsed years in which the plan found is confirmed",
            why="more give a surer answer and take longer",
            fewest=2,
        ),
        work=Work(pages=10, each=3),  # and the search: see `likely_time`
    ),
    Question(
        name="learn",
        asks="What does my own record say about my room?",
        about="Reads what was written down (sowings, attendance, work, faults) and learns the room's own figures "
        "from it, with their ranges.",
        more="Writes a report and learned.toml, a CHANGE file for `growsim compare` and `growsim keep`. A row that "
        "cannot be used is skipped and named by file and line, with the reason.",
        needs=("room", "records"),
        short="What the record says",
        title="what its record says",
        leaves=(REPORT, ("learned.toml", "The CHANGE file")),
        folder="learn",
        place="records",
        dangers=("water and power", "chemicals", *HARVEST),
        python=("learn",),
        years=Years(what="rehearsals of the weeks forecast", why="only with --forecast-last", fewest=20, usual=200),
    ),
    Question(
        name="review",
        asks="Did the week go as it should? What drifts from the room file?",
        about="Holds the record of the last week, and of eight, against what the room as described gives for them, "
        "from what then stood.",
        more="Names what is not as described, and how sure that is. Says which figure of the room file would explain "
        "it. Finds small drifts of many weeks too. Chance alone names something in about one year of two. Where it is "
        "surer than that, reviewed.toml holds what the record makes of the figure, tried in the next eight weeks.",
        takes=("records",),
        short="The week, held against the file",
        title="the week held against what was expected",
        leaves=(REPORT, ("reviewed.toml", "The CHANGE file")),
        folder="review",
        place="ask",
        set_apart=("week",),
        python=("review",),
        years=Years(what="rehearsals of each week", why="for its ranges", fewest=20, usual=100),
        work=Work(pages=5, fixed=0, each=1),
    ),
    Question(
        name="promise",
        asks="With what is on the shelves today, how much can I promise?",
        about="Rehearses many times what becomes of what stands on the shelves, as counted or by the record.",
        more="Says, week by week, what is safe to promise (90 of 100 give at least that), likely (50) and "
        "possible (10). Names the standing orders at risk, and what would save them, as tried in the same "
        "rehearsals.",
        takes=("shelves", "records"),
        short="What to promise",
        title="what can be promised",
        leaves=(REPORT,),
        folder="promise",
        place="ask",
        set_apart=("date",),
        dangers=HARVEST,
        python=("promise",),
        years=Years(
            what="rehearsals", why="more give surer promises and take longer", fewest=9, usual=POSSIBLE_FUTURES
        ),
        work=Work(pages=5),
    ),
    Question(
        name="sheet",
        asks="What does the team do this week, shift by shift?",
        about="Writes one page to print for each shift, a list of supplies, and a calendar file.",
        more="On the page of a shift: tasks in order, counts, where, minutes, blanks for the record. Then the week on "
        "one page, supplies for four weeks, and the shifts for a calendar program (RFC 5545).",
        takes=("shelves", "records"),
        short="Sheets for the week",
        title="the week of",
        leaves=(("report.html", "The sheets, to print"), ("week.ics", "For a calendar")),
        folder="week",
        place="ask",
        set_apart=("week",),
        dangers=DANGERS,
        python=("sheet",),
        years=Years(what="rehearsals of the week", why="for its ranges", usual=PLANNED_WEEKS),
        work=Work(pages=3, fixed=10, each=0),
    ),
    Question(
        name="funder",
        asks="What may I show the funder?",
        about="Rehearses a quarter, a year, any days or your record's; writes a page and a workbook for funders.",
        more="It tells of orders, output in servings, volunteer hours and their value, costs, energy and losses, "
        "and how sure that is.",
        takes=("records",),
        short="For the funder",
        title="what the room gives, for its funder",
        leaves=(("report.html", "The page"), ("funder.xlsx", "The workbook")),
        folder="funder",
        place="ask",
        set_apart=("period", "records", "from", "until"),
        years=Years(what="rehearsed years", why="more give surer averages and take longer"),
        work=Work(),
    ),
    Question(
        name="replay",
        asks="What would one rehearsed year look like, day by day?",
        about="Simulates one numbered year again, to be stepped through.",
        is_command=False,
        short="One year, day by day",
        place="answers",
    ),
    Question(
        name="page",
        asks="I would rather point and click.",
        about="Starts a page on this computer and opens the browser: describe the room in forms, ask, read answers.",
        more="No phone or other computer can reach it; nothing leaves this one. Ctrl-C closes it; what is saved stays.",
        needs=(),
    ),
)
BY_NAME: Final = {question.name: question for question in QUESTIONS}
COMMANDS: Final = tuple(question for question in QUESTIONS if question.is_command)
