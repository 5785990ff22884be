"""A kind of work is one row: whatever lists tasks lists a further one too, or says at import what it lacks."""

from __future__ import annotations

import dataclasses
import subprocess
import sys
import textwrap
from pathlib import Path
from typing import get_args

import pytest

from growsim.vocabulary import tasks
from growsim.vocabulary.dangers import ROWS, Danger
from growsim.vocabulary.tasks import TASK_WORDS, TASKS

MIST = """
TaskRow(
    key="mist", unit="tray", units="trays", done="misted", doing="misting trays", usual_minutes=0.7, turn=8,
    says="Mist {amount} of {crop}", in_short="mist {amount}", asks="misted ____", row="crop", dangers=("glare",),
    lot_waits=True, waits="to be misted", also=("spraying",), luck="mist", REASON
),
"""
BEFORE = """
import importlib.util, sys
spec = importlib.util.find_spec("growsim.vocabulary.tasks")
source = open(spec.origin, encoding="utf-8").read()
made_up = importlib.util.module_from_spec(spec)
sys.modules["growsim.vocabulary.tasks"] = made_up
last = source.rindex("TaskRow(\\n            key=")
exec(compile(source[:last] + MIST + source[last:], spec.origin, "exec"), made_up.__dict__)
"""
LOOKED_UP = """
from pathlib import Path
from growsim.report import record_templates
from growsim.report.week.rows import rows_of
from growsim.run.replay.day import STATES
from growsim.scenario.dictionary import as_csv, as_markdown
from growsim.scenario.load import load_scenario
from growsim.scenario.people import Task
from growsim.scenario.record.rows import RowReader
from growsim.scenario.record.tables import WORK
from growsim.scenario.spreadsheets import SheetRow
from growsim.study.week.tasks import Line
from growsim.web.days import words

room = load_scenario(Path("ROOM")).scenario
line = Line("mist", crop="basil", sown="2031-03-03", lot="2031-03-03/basil/a", where="rack", count=2)
cells = {"date": "2031-03-03", "task": "Spraying", "units": "2", "minutes": "3"}
assert Task.model_validate({"name": "mist", "minutes_per_unit": 1.0}).name == "mist"
assert "top up, mist, change solution" in "".join(line for line in as_csv().splitlines() if "crew.tasks[].name" in line)
assert ["mist" in column.meaning for column in WORK.columns] == [False, True, True, False, False]
assert "trays misted" in record_templates.how_to(workbook=True)
assert RowReader(WORK, room, None).read("work.csv", SheetRow(2, cells, ())).task == "mist"
assert [(row.what, row.blanks) for row in rows_of((line, line), room)] == [("Mist 4 trays of basil", "misted ____")]
assert STATES["to mist"] == "to be misted" and words.STATES["to mist"] == ("mist", "to be misted")
"""


def run(reason: str, then: str) -> subprocess.CompletedProcess[str]:
    """Python with a made-up row in the table of tasks, before anything else of growsim is read."""
    code = f"MIST = {MIST.replace('REASON', reason)!r}\n{BEFORE}\n{textwrap.dedent(then)}"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)


def test_a_made_up_task_is_everywhere() -> None:
    """Room files, data dictionary, records, sheets and shelves know it by its row alone."""
    root = Path(__file__).parents[2]

    done = run("", LOOKED_UP.replace("ROOM", str(root / "scenarios" / "tiny")))

    assert done.stderr == ""


def test_a_task_with_a_reason_says_which_rooms_need_it() -> None:
    """A row that gives a reason why a room needs the task, and no rooms: refused at import in one sentence."""
    done = run('needed_as="leaves dry out"', "import growsim.scenario.load")

    assert done.stderr.splitlines()[-1] == (
        "LookupError: 'mist': give a reason in its row and, here, the rooms it holds for, or neither"
    )


@pytest.mark.parametrize(("field", "what"), [("also", "name"), ("luck", "luck")])
def test_no_two_tasks_share_a_word_or_their_luck(field: str, what: str) -> None:
    """One word, one task; one stream, one task."""
    taken = {"also": ("sowing",), "luck": "move"}[field]
    mist = dataclasses.replace(
        TASKS["thin"], key="mist", done="m", doing="n", **{"also": (), "luck": "mist", field: taken}
    )

    with pytest.raises(LookupError, match=f"two tasks have the {what} '{'sowing' if field == 'also' else 'move'}'"):
        tasks.table_of([*TASKS.values(), mist])


def test_luck_stays_where_names_change() -> None:
    """The names in the random streams are those of before: numbers of the same seed stay."""
    born_with = {row.key: row.luck for row in TASKS.values() if row.luck != row.key}

    assert born_with == {"transplant": "move", "harvest": "cut", "change solution": "renew tub"}


def test_records_may_say_it_in_other_words() -> None:
    """What people write for a kind of work."""
    said = ["sowing", "harvested", "washing", "topping up", "pack"]

    assert [TASK_WORDS[word] for word in said] == ["sow", "harvest", "wash", "top up", "pack"]


def test_every_danger_has_its_caution() -> None:
    """Tasks and machines name what can hurt; what is said of it stands with all others."""
    assert set(ROWS) == set(get_args(Danger))
