"""A further kind of machine is a row of growsim/vocabulary/machines.py: everything names it, or says what is missing.

The package is copied, a made-up kind is written into the copy's table, and fresh Pythons run the copy.
"""

from __future__ import annotations

import ast
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from growsim.ledger.catalogue import CATALOGUE
from growsim.vocabulary.machines import BY_KEY, CAN_FAIL, LIGHTS, MACHINES, PUMP, MachineKind

ROOT = Path(__file__).parents[2]
TABLE = "vocabulary/machines.py"
LAST = "CO2, DOOR)\n"
KEY = "mist maker"
ROW = """
MIST: Final = MachineKind(
    key="mist maker",
    also=("fogger",),
    label="mist maker",
    many="mist makers",
    down="a failed mist maker",
    head="Mist maker failed",
    place=RESERVOIR,
    table=("timer",),
    stops_water=True,
    no_flood="the mist maker was down",
    tried=("warmest",),
    part="spare mist maker",
    spare="spare mist maker",
    alarm=Alarm("mist maker alarm", "mist makers"),
)

MACHINES: Final ="""
NEEDS = {  # module -> (line of its list, the made-up kind's line, what it must have)
    "room/upkeep.py": ("        CO2.key: _machines,\n", '        "mist maker": _machines,\n', "what it strikes"),
    "report/outage/to_do.py": ("        CO2.key: _co2,\n", '        "mist maker": _lights,\n', "what to do first"),
}
SAYS = """
import argparse, datetime as dt, json, sys
from dataclasses import replace
from outage_rooms import tiny
from growsim.cli.outage import arguments
from growsim.errors import RoomFileError
from growsim.ledger.events import FloodMissed, WentDown
from growsim.report import model_text, record_templates
from growsim.report.funder import record as funder_record, words as funder_words
from growsim.report.outage import lead, tables
from growsim.report.outage.event import front
from growsim.report.outage.sheets import sheets
from growsim.report.outage.wall import wall_rows
from growsim.report.rehearse.story import tell
from growsim.report.tables import machines as rehearsed_machines
from growsim.scenario.anatomy import anatomy_of
from growsim.scenario.checks.machines import outages_have_a_machine
from growsim.scenario.equipment import PlannedOutage, Protection, Reliability
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.record import Records
from growsim.scenario.record.rows import RowReader
from growsim.scenario.record.tables import FAULTS
from growsim.scenario.spreadsheets import SheetRow
from growsim.scenario.uncertain import Uncertain
from growsim.study.funder.record import sums_of
from growsim.study.learn.upkeep import lesson_of_faults
from growsim.study.outage.event import study_event
from growsim.study.outage.protections import protections_for
from growsim.study.outage.question import study_outages
from growsim.study.outage.trials import Trials
from growsim.web.ask.questions import _FIELDS as fields
from growsim.web.days.words import day_in_words

room = tiny()
life = Uncertain(distribution="exponential", mean=200)
timer = room.reservoirs[0].timer.model_copy(
    update={"reliability": Reliability(running_hours_to_failure=life, alarm_minutes=10.0, spares=1)}
)
room = room.model_copy(update={"reservoirs": (room.reservoirs[0].model_copy(update={"timer": timer}),)})
nowhere = PlannedOutage(name="x", machine="mist maker", start_day=1, hours=2)
given = nowhere.model_copy(update={"where": "reservoir"})
parser = argparse.ArgumentParser()
arguments(parser)
parser.parse_args(["--machine", "mist maker"])
cells = {"machine": "Fogger", "where": "reservoir", "down": "2031-03-08 03:00", "repaired": "2031-03-08 21:40"}
fault = RowReader(FAULTS, room, None).read("faults.csv", SheetRow(2, cells, ()))
records = Records(faults=(fault,))
outages = study_outages(
    room, seed=1, replications=2, plan=RunPlan(28, 28),
    trials=Trials(hours=(12.0,), start_hours=(0.0,), plant_replications=1, kg_replications=1),
)
event = study_event(room, given, seed=1, replications=2, plan=RunPlan(14, 28))
day = {"date": "2031-03-08", "floods_missed": [["reservoir", "mist maker", 2]], "down": [
    {"machine": "mist maker", "where": "reservoir", "from_minute": 0, "until_minute": 9, "noticed": ""}
]}
print(json.dumps({
    "the command's help": parser.format_help(),
    "the page's choices of an outage": repr([f.choices for f in fields["outage"](None, room, dt.date(2031, 1, 6))]),
    "the form's choices": repr(anatomy_of(PlannedOutage.model_fields["machine"]).choices),
    "the form's choices of protections": repr(anatomy_of(Protection.model_fields["name"]).choices),
    "the check of the room file": repr(list(outages_have_a_machine(room.model_copy(update={"outages": (nowhere,)})))),
    "how to keep a record": record_templates.how_to(workbook=False),
    "a row of the record": fault.machine,
    "what learn says": repr([f.what for f in lesson_of_faults([fault], room, dt.date(2031, 1, 6), dt.date(2031, 6, 30),
                                                              "it").figures]),
    "what an outage costs": repr(front(event)),
    "the clock": repr(tables.clock(outages).rows),
    "the numbers behind the wall": repr(tables.wall_numbers(outages).rows),
    "the year, machine by machine": repr(tables.machines(outages).rows),
    "the protections": repr(tables.protections(outages, added=False).rows),
    "the page of the answer": repr(lead.table(outages).plain().rows),
    "the sheets": repr([sheet.title for sheet in sheets(outages)]),
    "the wall chart": repr(wall_rows(outages)),
    "the funder's protections": repr(funder_words.protections(room)),
    "the funder's record": repr(funder_record.section(sums_of(records, room), records)),
    "the machines of a rehearsal": repr(rehearsed_machines(outages.year.outcomes, outages.scenario, 28).rows),
    "the story": tell(WentDown(600, "mist maker", "reservoir"), "USD"),
    "the story of a flood": tell(FloodMissed(600, "reservoir", "mist maker"), "USD"),
    "a day": repr(day_in_words({"hour": 8, "shelves": []}, day).down),
    "how the model works": repr(model_text.LOGIC),
}))
"""
SURFACES = [line.split('"')[1] for line in SAYS.splitlines() if line.startswith('    "') and '": ' in line]


def copied(folder: Path, row: str, needs: dict[str, tuple[str, str, str]]) -> Path:
    """A copy of the package with a row more in its table, and what these modules need for it."""
    shutil.copytree(ROOT / "growsim", folder / "growsim", ignore=shutil.ignore_patterns("__pycache__"))
    edits = {TABLE: [(LAST, LAST.replace(")", ", MIST)")), ("\nMACHINES: Final =", row)]}
    edits |= {module: [(line, line + more)] for module, (line, more, _) in needs.items()}
    for module, pairs in edits.items():
        file = folder / "growsim" / module
        text = file.read_text(encoding="utf-8")
        for old, new in pairs:
            assert text.count(old) == 1, (module, old)
            text = text.replace(old, new)
        file.write_text(text, encoding="utf-8")
    return folder


def run(folder: Path, code: str) -> subprocess.CompletedProcess[str]:
    """A fresh Python with that copy of the package."""
    path = os.pathsep.join((str(folder), str(ROOT / "tests")))
    return subprocess.run(
        [sys.executable, "-P", "-c", code],
        env={**os.environ, "PYTHONPATH": path},
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture(scope="module")
def said(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """What the copy says everywhere, with the made-up kind in its table and in the modules that must know it."""
    done = run(copied(tmp_path_factory.mktemp("more"), ROW, NEEDS), SAYS)
    assert done.returncode == 0, done.stderr
    found: dict[str, str] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize("surface", SURFACES)
def test_it_is_named_with_no_further_edit(said: dict[str, str], surface: str) -> None:
    """Options, choices, checks, records, learning, tables, sheets, the chart for the wall, the funder's page."""
    assert KEY in said[surface].lower()
    assert len(SURFACES) == len(said) > 20


@pytest.mark.parametrize("module", NEEDS)
def test_a_module_that_must_know_it_refuses_to_start(tmp_path: Path, module: str) -> None:
    """One sentence: which kind, where, and what is missing."""
    others = {name: need for name, need in NEEDS.items() if name != module}
    name = f"growsim.{module.removesuffix('.py').replace('/', '.')}"
    refused = run(copied(tmp_path, ROW, others), f"import {name}").stderr.splitlines()[-1]

    assert refused.startswith(
        f"LookupError: there is nothing for the machine kind '{KEY}' in {name} ({NEEDS[module][2]}"
    )
    assert refused.endswith("; add it there")


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (
            ROW.replace('table=("timer",)', 'table=("mist",)'),
            "the machine kind 'mist maker' stands in a room file at reservoirs.mist.reliability, which "
            "growsim.scenario does not have; add it there",
        ),
        (
            ROW.replace('("warmest",)', "()"),
            "the machine kind 'mist maker' is not tried, nor another in its stead; say `tried`",
        ),
        (ROW.replace('"fogger"', '"pumps"'), "two machine kinds have the name 'pumps'; give each its own"),
    ],
)
def test_a_row_that_cannot_be_is_refused(tmp_path: Path, row: str, said: str) -> None:
    """A table that no room file has; a kind that no trial tells of; a word that two kinds go by."""
    refused = run(copied(tmp_path, row, NEEDS), "import growsim.scenario.machines").stderr.splitlines()[-1]

    assert refused == f"LookupError: {said}"


def test_machines_are_listed_once() -> None:
    """One MACHINES in the house; nowhere else a kind by its name, as far as no table of the room file has it too."""
    lists, named = [], []
    telling = {key for key in BY_KEY if " " in key}
    for module in sorted((ROOT / "growsim").rglob("*.py")):
        name = module.relative_to(ROOT / "growsim").as_posix()
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Name) and node.id == "MACHINES" and isinstance(node.ctx, ast.Store):
                lists.append(name)
            if isinstance(node, ast.Constant) and node.value in telling and name != TABLE:
                named.append(name)

    assert (lists, named) == ([TABLE], [])


@pytest.mark.parametrize("row", MACHINES, ids=lambda row: row.key)
def test_a_row_says_what_follows_from_it(row: MachineKind) -> None:
    """What stops floods has words for one that is missed; what kills nobody says what comes of it; and so on."""
    assert bool(row.no_flood) == row.stops_water
    assert bool(row.instead) != row.can_kill
    assert bool(row.part) == bool(row.spare) == (row.table is not None)
    assert row.measure in CATALOGUE
    assert (row in CAN_FAIL) == row.can_fail


@pytest.mark.parametrize(
    ("row", "where", "name"),
    [
        (PUMP, "north reservoir", "pump of north reservoir"),
        (PUMP, "", "pump"),
        (LIGHTS, "Lights A", "Lights A"),
        (LIGHTS, "left", "lights left"),
    ],
)
def test_one_machine_is_named_by_its_place(row: MachineKind, where: str, name: str) -> None:
    """A light bank is its own place, so it is not named twice."""
    assert row.at(where) == name
