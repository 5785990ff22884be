"""The section on what to find out first: sentences, table, summary and CSV, of made-up years."""

from __future__ import annotations

import csv
import dataclasses
import re
import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from growsim.ledger.outcome import Outcome
from growsim.report.page import Bullets, Grid, Text
from growsim.report.provenance import Provenance
from growsim.report.rehearse import find_out
from growsim.report.rehearse.answer import write_rehearsal
from growsim.scenario.load import LoadedRoom, room_from
from growsim.scenario.origin import RoomFigure, figures_of
from growsim.study.doubt import KILOGRAMS, ORDERS, Doubt, Doubts, Share, doubts_of, drawn
from growsim.units import shown_in

FILE = Path(__file__).parents[2] / "scenarios" / "tiny" / "room.toml"
MASS, SOWING = ("crops", 1, "typical_mass_g"), ("crew", "tasks", 0, "minutes_factor")
PUMP = ("reservoirs", 0, "pump", "reliability", "hours_factor")
HALF, TENTH = Share(0.5, 0.35, 0.64), Share(0.1, 0.004, 0.3)


@pytest.fixture(scope="module")
def room() -> LoadedRoom:
    """The tiny room with a few ranges."""
    raw: dict[str, Any] = tomllib.loads(FILE.read_text("utf-8"))
    raw["crops"][1]["typical_mass_g"] = {"low": 100, "likely": 110, "high": 130, "source": "invented, as all here"}
    raw["crops"][1]["stages"][1]["loss_fraction"] = {"distribution": "beta", "mean": 0.03, "sd": 0.01}
    raw["crew"]["tasks"][0]["minutes_factor"] = {"low": 0.5, "likely": 1, "high": 2}
    raw["crew"] |= {"chance_doubt_sd": [0.05] * 12}
    raw["reservoirs"][0]["pump"]["reliability"]["hours_factor"] = {"low": 0.8, "likely": 1, "high": 1.2}
    return room_from(raw, FILE, "")


def listed(room: LoadedRoom) -> tuple[RoomFigure, ...]:
    """Every figure of the room with whose it is."""
    return figures_of(room.scenario, room.raw, room.usual)


def told(room: LoadedRoom, doubts: Doubts, days: int = 364) -> tuple[list[str], list[tuple[str, ...]]]:
    """Sentences (notes of tables too) and rows of the section."""
    words: list[str] = []
    rows: list[tuple[str, ...]] = []
    for block in find_out.section(doubts, room.scenario, listed(room), days).blocks:
        if isinstance(block, Text):
            words.append(block.text)
        elif isinstance(block, Bullets):
            words += block.items
        elif isinstance(block, Grid):
            words.append(block.table.note)
            rows += [block.table.head, *block.table.rows]
    return words, rows


def test_the_first_is_told_in_a_sentence_and_all_in_a_table(room: LoadedRoom) -> None:
    """What hangs on it, of what; its range and whose it is; and how to find it out."""
    doubts = Doubts(
        60,
        (Doubt(MASS, {KILOGRAMS: HALF, ORDERS: TENTH}), Doubt(SOWING, {ORDERS: TENTH}), Doubt(PUMP, {})),
        0.14,
    )
    words, rows = told(room, doubts)

    assert words == [
        "50% of the spread of greens handed out (35% to 64%) and 10% of that of orders filled (under 1% to 30%) hang "
        "on the mass of a plant of small head. Of 3 figures in doubt, these 2 are clear of noise:",
        "Share of the variance between years, with its 95% range; –: not clear of noise. From so many years a share "
        "under 14% can be missed; more replications show it. The rest is chance, such as who comes and what fails. "
        "Figures without a range have no part in it, nor have ranges drawn for each job or repair.",
        "How to find out:",
        "Mass of a plant of small head: Weigh 20 plants of small head at harvest, from several days. Take the average.",
        "Minutes for sowing: Time sowing on three days: the minutes, and how many cells sown. `growsim learn` does the "
        "rest.",
    ]
    assert rows == [
        ("figure", "in the room file", "whose", "of greens handed out", "of orders filled"),
        ("mass of a plant of small head", "100 to 130 g", "invented", "50% (35% to 64%)", "10% (under 1% to 30%)"),
        ("minutes for sowing", "0.5 to 2 times", "invented", "–", "10% (under 1% to 30%)"),
    ]


def test_where_nothing_is_clear_of_noise_that_is_said(room: LoadedRoom) -> None:
    """From how many years, and what they could have missed; with too few, that no share could be told at all."""
    assert told(room, Doubts(20, (Doubt(MASS, {}),), 0.4)) == (
        [
            "Of 1 figure in doubt, none has a share in the spread between 20 rehearsed years that is clear of noise. "
            "From so many years a share under 40% can be missed; more replications show it."
        ],
        [],
    )
    assert told(room, Doubts(2, (Doubt(MASS, {}),), 1.0), 70)[0][0].endswith(
        "the spread between 2 rehearsals of 70 days that is clear of noise. With so few years no share can be told: "
        "ask for more replications."
    )
    assert told(room, Doubts(20, (), 0.4))[0][0].startswith("No figure of this room is given as a range")


def test_no_more_than_five_are_explained(room: LoadedRoom) -> None:
    """The table has all; how to find out is said of five."""
    doubts = Doubts(60, tuple(Doubt(MASS, {KILOGRAMS: TENTH}) for _ in range(7)), 0.1)
    words, rows = told(room, doubts)

    assert (len(rows), len([each for each in words if each.startswith("Mass of a plant")])) == (8, 5)
    assert "How to find out the first 5:" in words


def test_ranges_are_told_in_the_readers_units(room: LoadedRoom) -> None:
    """Ounces where the room is told so."""
    with shown_in("us"):
        rows = told(room, Doubts(60, (Doubt(MASS, {KILOGRAMS: HALF}),), 0.1))[1]

    assert rows[1][1] == "3.5 to 4.6 oz"


def test_every_figure_in_doubt_has_its_words(room: LoadedRoom) -> None:
    """Every kind that this room draws, in words without a gap, with its key and range."""
    doubts = Doubts(9, tuple(Doubt(path, {}) for path in drawn(room.scenario, 1, range(9))), 0.1)
    cells = [row[:4] for row in find_out.rows(doubts, room.scenario, listed(room))]

    assert cells == [
        ["mass of a plant of small head", "crops.small head.typical_mass_g", "100 to 130 g", "invented"],
        [
            "loss of small head in moving to the stage head",
            "crops.small head.stages.head.loss_fraction",
            "3%, give or take 1%",
            "invented",
        ],
        ["minutes for sowing", "crew.tasks.sow.minutes_factor", "0.5 to 2 times", "invented"],
        [
            "hours to failure of pumps",
            "reservoirs.reservoir.pump.reliability.hours_factor",
            "0.8 to 1.2 times",
            "invented",
        ],
        ["show-up rate", "crew.chance_of_coming", "65% to 90%, give or take 5%", "invented"],
    ]


def test_report_summary_and_csv_tell_the_same(made_up: ModuleType, room: LoadedRoom, tmp_path: Path) -> None:
    """Made-up years whose greens follow a figure: it stands in the page, the summary and the CSV, with one share."""
    rehearsal = made_up.rehearsal(room.scenario, replications=30)
    draws = drawn(room.scenario, rehearsal.seed, range(30))[MASS]

    def following(outcome: Outcome, mass: float) -> Outcome:
        measures = dict(outcome.measures) | {KILOGRAMS: outcome.measures[KILOGRAMS] * mass / 110}
        return dataclasses.replace(outcome, measures=measures)

    outcomes = tuple(following(*each) for each in zip(rehearsal.outcomes, draws, strict=True))
    rehearsal = dataclasses.replace(rehearsal, outcomes=outcomes)
    origin = Provenance("rehearse", "growsim rehearse tiny", "ab" * 32, figures=listed(room))
    summary = write_rehearsal(rehearsal, tmp_path / "out", provenance=origin)

    share = doubts_of(room.scenario, rehearsal.seed, outcomes).told[0].shares[KILOGRAMS]
    doubts = summary["doubts"]
    assert (doubts["years"], doubts["in_doubt"]) == (30, 5)
    assert [(each["key"], each["whose"]) for each in doubts["figures"]] == [
        ("crops.small head.typical_mass_g", "invented")
    ]
    assert doubts["figures"][0]["shares"] == {KILOGRAMS: dataclasses.asdict(share)}
    page = re.sub(r"\s+", " ", (tmp_path / "out" / "report.html").read_text(encoding="utf-8"))
    assert f"{100 * share.share:.0f}% of the spread of greens handed out" in page
    with (tmp_path / "out" / "doubts.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row[f"share_of_{KILOGRAMS}"] != "" for row in rows] == [True, False, False, False, False]
    assert float(rows[0][f"share_of_{KILOGRAMS}"]) == pytest.approx(share.share, abs=1e-6)
