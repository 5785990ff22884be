"""Every option of every command is held to its effect: what is asked for is what the question is asked with.

The question itself is stopped before it begins, so that only the way from the words typed to it is looked at.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from growsim.cli import main
from growsim.cli.door import parser
from growsim.vocabulary.questions import COMMANDS

ROOT = Path(__file__).parents[2]
TINY = str(ROOT / "scenarios" / "tiny")
RECORDS, PLANTINGS = "record", "sown,crop,cells\n2031-03-03,small head,40\n"
DAYS = "lot,crop,stage,days_since_sowing,plants,rack\na,small head,head,28,28,rack\n"
SHELVES = "lot,crop,stage,sown,plants,rack\na,small head,head,2031-01-13,28,rack\n"
CHANGE = '[change]\nname = "colder"\n[climate]\nair_temperature_c = 20\n'
PUMP = ["--machine", "pump", "--date", "2031-03-04"]
HELD = ["--forecast-last", "4w"]
KEPT = ["--records", RECORDS]
TODAY = ["--shelves", "today.csv", "--date", "2031-02-10"]

REHEARSE, COMPARE = "growsim.run.rehearse.rehearse", "growsim.study.compare.question.compare"
CREW, SOW = "growsim.study.crew.question.crew", "growsim.study.sow.question.sow"
OUTAGES, EVENT = "growsim.study.outage.question.study_outages", "growsim.study.outage.event.study_event"
PROMISE, WEEK = "growsim.study.promise.question.promise", "growsim.study.week.question.week_plan"
LEARN, FORECAST = "growsim.study.learn.question.learn", "growsim.study.learn.forecast.forecast_last"
READ = "growsim.scenario.record.files.read_records"
REVIEW = "growsim.study.review.question.review"
STANDING = "growsim.study.standing.standing_in"
WATCH, TRIALS = "growsim.run.replay.watch.watch", "growsim.study.trials.try_all"

Asked = tuple[tuple[Any, ...], dict[str, Any]]
FILES = {"compare": ["change.toml"], "learn": [RECORDS], "promise": TODAY}


class Stopped(BaseException):
    """The question is not begun. asked: what it was asked with."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__()
        self.asked: Asked = args, named


def named(name: str) -> Callable[[Asked], Any]:
    """What was given by that name."""
    return lambda asked: asked[1][name]


def of_plan(name: str, plan: str = "plan") -> Callable[[Asked], Any]:
    """A field of the plan of the run."""
    return lambda asked: getattr(asked[1][plan], name)


def of_event(*names: str) -> Callable[[Asked], Any]:
    """Fields of the outage asked about."""
    return lambda asked: tuple(getattr(asked[0][1], name) for name in names)


# command, words typed, question asked, where the effect is seen, what it is without the words, what with them
EFFECTS: list[tuple[str, list[str], str, Callable[[Asked], Any], Any, Any]] = [
    *(
        (command, [*also, "--seed", "91"], question, named("seed"), 7, 91)
        for command, question, also in (
            ("rehearse", REHEARSE, []), ("compare", COMPARE, []), ("crew", CREW, []), ("outage", OUTAGES, []),
            ("outage", EVENT, PUMP), ("sow", SOW, []), ("promise", PROMISE, []), ("sheet", WEEK, []),
            ("learn", FORECAST, HELD), ("funder", REHEARSE, []),
        )
    ),
    *(
        (command, [*also, "--replications", "77"], question, named(name), usual, 77)
        for command, question, also, name, usual in (
            ("rehearse", REHEARSE, [], "replications", None), ("compare", COMPARE, [], "at_most", None),
            ("crew", CREW, [], "replications", None), ("outage", OUTAGES, [], "replications", None),
            ("outage", EVENT, PUMP, "replications", None), ("sow", SOW, [], "replications", None),
            ("promise", PROMISE, [], "replications", None), ("sheet", WEEK, [], "replications", None),
            ("learn", FORECAST, HELD, "replications", None), ("funder", REHEARSE, [], "replications", None),
        )
    ),
    *(
        (command, [*also, "--workers", "3"], question, named("workers"), None, 3)
        for command, question, also in (
            ("rehearse", REHEARSE, []), ("compare", COMPARE, []), ("crew", CREW, []), ("outage", OUTAGES, []),
            ("outage", EVENT, PUMP), ("sow", SOW, []), ("promise", PROMISE, []), ("sheet", WEEK, []),
            ("learn", FORECAST, HELD), ("funder", REHEARSE, []),
        )
    ),
    *(
        (command, [*also, "--days", "98"], question, of_plan("days", plan), None, 98)
        for command, question, also, plan in (
            ("rehearse", REHEARSE, [], "plan"), ("compare", COMPARE, [], "plan"), ("crew", CREW, [], "plan"),
            ("outage", OUTAGES, [], "plan"), ("outage", EVENT, PUMP, "plan"), ("sow", SOW, [], "run"),
            ("funder", REHEARSE, [], "plan"),
        )
    ),
    *(
        (command, ["--start", "empty"], question, of_plan("start"), "filled", "empty")
        for command, question in (("rehearse", REHEARSE), ("compare", COMPARE), ("crew", CREW))
    ),
    *(
        (command, ["--precision", "3.5"], question, named(name), usual, 3.5)
        for command, question, name, usual in (
            ("rehearse", REHEARSE, "precision_percent", None), ("crew", CREW, "precision_percent", None),
            ("funder", REHEARSE, "precision_percent", None), ("compare", COMPARE, "too_small_percent", 2.0),
        )
    ),
    ("rehearse", ["--start", "days.csv"], REHEARSE, lambda asked: len(asked[1]["plan"].shelves), 0, 1),
    ("rehearse", ["--replication", "5"], WATCH, lambda asked: asked[0][2], None, 5),
    ("rehearse", ["--replication", "5", "--seed", "91"], WATCH, lambda asked: asked[0][1], None, 91),
    ("compare", ["--no-why"], COMPARE, named("why"), True, False),
    ("crew", ["--on-time", "80"], CREW, lambda asked: asked[1]["goals"]["tasks_on_time_fraction"], None, 0.8),
    ("crew", ["--orders", "70"], CREW, lambda asked: asked[1]["goals"]["orders_filled_fraction"], None, 0.7),
    ("crew", ["--at-least", "2"], CREW, named("at_least"), 1, 2),
    ("outage", PUMP, EVENT, of_event("machine", "start_day", "start_hour", "hours"), None, ("pump", 57, 0.0, 24.0)),
    ("outage", ["--machine", "power", "--day", "9"], EVENT, of_event("machine", "start_day"), None, ("power", 9)),
    ("outage", [*PUMP, "--hour", "18.5"], EVENT, of_event("start_hour"), None, (18.5,)),
    ("outage", [*PUMP, "--hours", "7"], EVENT, of_event("hours"), None, (7.0,)),
    ("outage", [*PUMP, "--where", "reservoir"], EVENT, of_event("where"), None, ("reservoir",)),
    ("sow", ["--certainty", "80"], SOW, named("certainty"), 0.9, 0.8),
    ("promise", [], PROMISE, lambda asked: asked[0][1].lots[0].crop, "small head", "small head"),  # --shelves
    ("promise", ["--date", "2031-02-17"], PROMISE, named("date"), dt.date(2031, 2, 10), dt.date(2031, 2, 17)),
    ("promise", ["--weeks", "5"], PROMISE, named("weeks"), None, 5),
    ("promise", ["--no-rescue"], PROMISE, named("rescue"), True, False),
    ("sheet", ["--week", "2031-03-05"], WEEK, named("week"), None, dt.date(2031, 3, 5)),
    ("sheet", TODAY, WEEK, lambda asked: (asked[1]["date"], asked[1]["today"] is not None), (None, False),
     (dt.date(2031, 2, 10), True)),
    ("learn", ["--no-faults"], LEARN, named("no_faults"), False, True),
    ("learn", [*HELD, "--no-faults"], FORECAST, named("no_faults"), None, True),
    ("learn", HELD, FORECAST, lambda asked: asked[0][3], None, 4),
    ("learn", ["--dates", "month-first"], READ, named("order"), None, "month-first"),
    ("learn", ["--from", "2031-03-01"], READ, named("since"), None, dt.date(2031, 3, 1)),
    ("learn", ["--until", "2031-09-30"], READ, named("until"), None, dt.date(2031, 9, 30)),
    *((command, [*KEPT, "--dates", "month-first"], STANDING, named("order"), None, "month-first")
      for command in ("promise", "sheet")),
    ("review", [*KEPT, "--seed", "91"], REVIEW, named("seed"), None, 91),
    ("review", [*KEPT, "--replications", "77"], REVIEW, named("replications"), None, 77),
    ("review", [*KEPT, "--workers", "3"], REVIEW, named("workers"), None, 3),
    ("review", [*KEPT, "--week", "2031-03-05"], REVIEW, named("week"), None, dt.date(2031, 3, 5)),
    ("review", [*KEPT, "--dates", "month-first"], READ, named("order"), None, "month-first"),
    ("review", [*KEPT, "--from", "2031-03-01"], READ, named("since"), None, dt.date(2031, 3, 1)),
    ("review", [*KEPT, "--until", "2031-09-30"], READ, named("until"), None, dt.date(2031, 9, 30)),
    ("funder", ["--period", "quarter"], REHEARSE, of_plan("days"), 364, 91),
    ("funder", ["--from", "2031-04-01"], REHEARSE, lambda asked: asked[0][0].room.start_date, dt.date(2031, 1, 6),
     dt.date(2031, 4, 1)),
    ("funder", ["--until", "2031-02-02"], REHEARSE, of_plan("days"), 364, 28),
    ("funder", ["--records", RECORDS], READ, named("order"), None, None),
    ("funder", ["--records", RECORDS, "--dates", "day-first"], READ, named("order"), None, "day-first"),
]  # fmt: skip

ELSEWHERE = {  # option -> test file that holds it
    "--json": "tests/cli/test_rehearse.py",
    "--out": "tests/run/test_writing.py",
    "--replace": "tests/run/test_writing.py",
    "--scheduler": "tests/run/test_cluster.py",
    "rehearse --trace": "tests/cli/test_rehearse.py",
    "rehearse --no-why": "tests/cli/test_options.py",
    "check --figures": "tests/scenario/test_origin.py",
    "new --records": "tests/cli/test_new.py",
    "new --xlsx": "tests/cli/test_learn.py",
}


@pytest.fixture(autouse=True)
def files(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files that options name, in an empty folder."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("growsim.cli.options.system_date", lambda: dt.date(2030, 12, 1))
    Path("today.csv").write_text(SHELVES, encoding="utf-8")
    Path("days.csv").write_text(DAYS, encoding="utf-8")
    Path(RECORDS).mkdir()
    Path(RECORDS, "plantings.csv").write_text(PLANTINGS, encoding="utf-8")
    Path("change.toml").write_text(CHANGE, encoding="utf-8")


def asked(command: str, words: list[str], question: str, monkeypatch: pytest.MonkeyPatch) -> Asked:
    """What the question was asked with."""

    def stop(*args: Any, **given: Any) -> None:
        raise Stopped(*args, **given)

    monkeypatch.setattr(question, stop)
    if question == FORECAST:
        monkeypatch.setattr(LEARN, lambda *_, **__: None)
    with pytest.raises(Stopped) as stopped:
        main([command, TINY, *(FILES.get(command, []) if words[:2] != KEPT else []), *words])
    return stopped.value.asked


@pytest.mark.parametrize(
    ("command", "words", "question", "seen", "without", "effect"),
    EFFECTS,
    ids=[" ".join([row[0], *(Path(word).name for word in row[1])]) for row in EFFECTS],
)
def test_an_option_reaches_the_question(
    command: str,
    words: list[str],
    question: str,
    seen: Callable[[Asked], Any],
    without: Any,
    effect: Any,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Typed, it is there; where the table says what it is otherwise, that is so too."""
    assert seen(asked(command, words, question, monkeypatch)) == effect
    if without is not None:
        kept = words[:-2] if words[-2:-1] and words[-2].startswith("--") and words not in (PUMP, TODAY) else []
        assert seen(asked(command, kept, question, monkeypatch)) == without


def test_no_option_is_without_a_test() -> None:
    """A further one gets a row above, or its place in the list of those held elsewhere."""
    held = {(row[0], word) for row in EFFECTS for word in (*row[1], *FILES.get(row[0], [])) if word.startswith("--")}
    missing = []
    for action in parser()._subparsers._group_actions:  # type: ignore[union-attr]
        for command, own in action.choices.items():  # type: ignore[union-attr]
            for option in own._option_string_actions:
                elsewhere = ELSEWHERE.get(option) or ELSEWHERE.get(f"{command} {option}")
                if option.startswith("--") and option != "--help" and (command, option) not in held:
                    where = ROOT / elsewhere if elsewhere else None
                    if where is None or option not in where.read_text(encoding="utf-8"):
                        missing.append(f"{command} {option}")

    assert missing == []
    assert {row[0] for row in EFFECTS} == {each.name for each in COMMANDS if each.has_report}


def test_no_why_leaves_out_the_trials(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of a rehearsal: without it they are made, in the same years; with it none is."""
    words = ["--days", "28", "--replications", "2", "--workers", "1", "--seed", "5"]
    (_, tried) = asked("rehearse", words, TRIALS, monkeypatch)
    (_, written) = asked(
        "rehearse", [*words, "--no-why"], "growsim.report.rehearse.answer.write_rehearsal", monkeypatch
    )

    assert (tried["seed"], tried["plan"].days) == (5, 28)
    assert written["held"] is None
