"""Which figures to find out first, and how: those in doubt on which most of the spread between years hangs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from growsim.report.crop_words import unit_of
from growsim.report.page import Bullets, Grid, Section, Text
from growsim.report.tables import Table
from growsim.report.words import counted, grams, listed, of_the_room, percent, rehearsals, upper_first
from growsim.scenario.anatomy import anatomy_of, field_at
from growsim.scenario.scenario import Scenario
from growsim.scenario.uncertain import Uncertain
from growsim.study.doubt import KILOGRAMS, ORDERS, Doubt, Doubts, Share
from growsim.vocabulary.find_out import FIND_OUT
from growsim.vocabulary.machines import MACHINES
from growsim.vocabulary.tasks import TASKS

if TYPE_CHECKING:
    from growsim.run.writing import Cell
    from growsim.scenario.origin import RoomFigure

MOST_TOLD = 5
RESULTS = {KILOGRAMS: "greens handed out", ORDERS: "orders filled"}
COLUMNS = (
    "figure", "key", "range", "whose", "source",
    *(f"share_of_{key}{end}" for key in RESULTS for end in ("", "_low", "_high")), "find_out",
)  # fmt: skip
UNKNOWN = "–"


@dataclass(frozen=True)
class _Told:
    """A figure in words. key: of the room file; whose: it is; both "" where that is not known."""

    what: str
    key: str
    within: str
    whose: str
    source: str
    how: str
    shares: dict[str, Share]


def section(doubts: Doubts, scenario: Scenario, figures: Sequence[RoomFigure], days: int) -> Section:
    """What hangs on which figure, and how to find out the first five. figures: every one of the room, where known."""
    heading, told = "Find these out first", [_told(each, scenario, figures) for each in doubts.told]
    years = rehearsals(doubts.years, days)
    if not doubts.figures:
        exact = "No figure of this room is given as a range, so none can be ranked by what hangs on it."
        return Section("find-out", heading, (Text(exact),))
    many = counted(len(doubts.figures), "figure")
    if not told:
        nothing = f"Of {many} in doubt, none has a share in the spread between {years} that is clear of noise."
        return Section("find-out", heading, (Text(f"{nothing} {_missed(doubts)}"),))
    results = {key: label for key, label in RESULTS.items() if key == KILOGRAMS or scenario.partners}
    table = Table(
        f"Figures in doubt, and how much of the spread between {years} hangs on each",
        ("figure", "in the room file", "whose", *(f"of {label}" for label in results.values())),
        tuple((each.what, each.within, each.whose or UNKNOWN, *(_cell(each, key) for key in results)) for each in told),
        f"Share of the variance between years, with its 95% range; {UNKNOWN}: not clear of noise. {_missed(doubts)} "
        "The rest is chance, such as who comes and what fails. Figures without a range have no part in it, nor have "
        "ranges drawn for each job or repair.",
    )
    return Section(
        "find-out",
        heading,
        (
            Text(f"{_first(told[0])} Of {many} in doubt, {_these(len(told))} clear of noise:"),
            Grid(table),
            Text("How to find out:" if len(told) <= MOST_TOLD else f"How to find out the first {MOST_TOLD}:"),
            Bullets(tuple(f"{upper_first(each.what)}: {each.how}" for each in told[:MOST_TOLD])),
        ),
    )


def entry(doubts: Doubts, scenario: Scenario, figures: Sequence[RoomFigure]) -> dict[str, Any]:
    """For summary.json: those told, those on which most hangs first; shares from 0 to 1."""
    return {
        "years": doubts.years,
        "in_doubt": len(doubts.figures),
        "smallest_share_seen": doubts.smallest,
        "figures": [
            {
                "figure": each.what, "key": each.key, "range": each.within, "whose": each.whose,
                "source": each.source, "find_out": each.how,
                "shares": {
                    key: {"share": share.share, "low": share.low, "high": share.high}
                    for key, share in each.shares.items()
                },
            }
            for each in (_told(doubt, scenario, figures) for doubt in doubts.told)
        ],
    }  # fmt: skip


def rows(doubts: Doubts, scenario: Scenario, figures: Sequence[RoomFigure]) -> Iterator[list[Cell]]:
    """For doubts.csv: a row for every figure in doubt; a share that is not clear of noise is left empty."""
    for each in (_told(doubt, scenario, figures) for doubt in doubts.figures):
        cells: list[Cell] = [each.what, each.key, each.within, each.whose, each.source]
        for key in RESULTS:
            share = each.shares.get(key)
            cells += ["", "", ""] if share is None else [round(x, 6) for x in (share.share, share.low, share.high)]
        yield [*cells, each.how]


def _first(first: _Told) -> str:
    said = [
        f"{percent(share.share)} of that of {RESULTS[key]} ({_range(share)})" for key, share in first.shares.items()
    ]
    said[0] = said[0].replace("of that of", "of the spread of", 1)
    return f"{listed(said)} {'hangs' if len(said) == 1 else 'hang'} on the {first.what}."


def _these(count: int) -> str:
    return "this one is" if count == 1 else f"these {count} are"


def _missed(doubts: Doubts) -> str:
    if doubts.smallest >= 1.0:
        return "With so few years no share can be told: ask for more replications."
    return f"From so many years a share under {percent(doubts.smallest)} can be missed; more replications show it."


def _cell(told: _Told, key: str) -> str:
    share = told.shares.get(key)
    return UNKNOWN if share is None else f"{percent(share.share)} ({_range(share)})"


def _range(share: Share) -> str:
    return f"{percent(share.low)} to {percent(share.high)}"


def _told(doubt: Doubt, scenario: Scenario, figures: Sequence[RoomFigure]) -> _Told:
    row, words = FIND_OUT[str(doubt.path[-1])], _words(doubt.path, scenario)
    of_room = next((each for each in figures if each.path == doubt.path), None)
    key, whose, source = (of_room.key, of_room.whose, of_room.source) if of_room is not None else ("", "", "")
    what, how = row.what.format(**words), row.how.format(**words)
    return _Told(what, key, _within(doubt.path, scenario), whose, source, how, dict(doubt.shares))


def _words(path: tuple[str | int, ...], scenario: Scenario) -> dict[str, str]:
    """What the row's sentences have of this room."""
    at = tuple(step for step in path[:-1] if isinstance(step, str))
    if at[0] == "crops":
        crop = scenario.crops[int(path[1])]
        stage = crop.stages[int(path[3])].name if "stages" in at else ""
        return {"of": crop.name, "plant": unit_of(crop), "stage": stage}
    if at == ("crew", "tasks"):
        task = TASKS[scenario.crew.tasks[int(path[2])].name]
        return {"doing": task.doing, "amounts": task.amounts}
    for row in MACHINES:
        named = (row.place.entries,) if row.place.entries else ()
        if row.table is not None and (*named, *row.table, "reliability") == at:
            return {"of": of_the_room(row.many, scenario)}
    return {}


def _within(path: tuple[str | int, ...], scenario: Scenario) -> str:
    """Its range as the room file has it."""
    value: Any = scenario
    for step in path:
        value = value[step] if isinstance(step, int) else getattr(value, step)
    field = field_at(Scenario, path)
    unit = anatomy_of(field).unit if field is not None else ""

    def shown(amount: float) -> str:
        return percent(amount) if unit == "fraction" else grams(amount) if unit == "g" else f"{amount:g}"

    def both(low: float, high: float) -> str:
        one, other = shown(low), shown(high)
        alike = one == other or one.partition(" ")[2] == other.partition(" ")[2] != ""
        return other if one == other else f"{one.partition(' ')[0] if alike else one} to {other}"

    times = " times" if unit == "-" else ""
    if not isinstance(value, Uncertain):
        return f"{both(min(value), max(value))}, give or take {shown(max(scenario.crew.chance_doubt_sd))}"
    if value.low is not None and value.high is not None:
        return f"{both(value.low, value.high)}{times}"
    spread = "" if value.sd is None else f", give or take {shown(value.sd)}"
    return f"{shown(value.expected())}{spread}{times}"
