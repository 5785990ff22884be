"""The report of `growsim learn`: sentence first, every figure with its records, text that never acts as a formula."""

from __future__ import annotations

import csv
import json
import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

import figure_boxes
import pytest
from kept_records import Tables, as_csv, kept
from one_system import foreign
from plain_words import of_answer

from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.learn.answer import write_learning
from growsim.report.learn.figures import before_and_after
from growsim.report.learn.words import front
from growsim.report.provenance import Provenance
from growsim.run.prepare import prepare
from growsim.run.replicate import trace
from growsim.scenario.load import load_scenario
from growsim.scenario.plan import RunPlan
from growsim.scenario.record.files import read_records
from growsim.scenario.uncertain import Uncertain
from growsim.study.learn.effects import KILOGRAMS, WORK, Effect, together
from growsim.study.learn.forecast import forecast_last
from growsim.study.learn.learned import Known, Learned
from growsim.study.learn.question import Learning, learn

TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
PREPARED = prepare(TINY.scenario)
PROVENANCE = Provenance("learn", "growsim learn room record", "0" * 64)


def tables() -> Tables:
    """The record of a room whose heads come out a fifth lighter than its file says, with two rows gone wrong."""
    leaf, head = TINY.scenario.crops
    light = head.model_copy(update={"typical_mass_g": Uncertain(value=88.0)})
    true = TINY.scenario.model_copy(update={"crops": (leaf, light)})
    made = kept(trace(prepare(true), 31, 0, RunPlan(days=182, warm_up_days=56)), true)
    made["attendance"][2][3] = "=2+2"
    made["plantings"][4][11] = '=HYPERLINK("http://x")'
    made["plantings"][4][10] = 99
    return made


@pytest.fixture(scope="module")
def learning(tmp_path_factory: pytest.TempPathFactory) -> Learning:
    """What it teaches, with four weeks held back."""
    records = read_records(as_csv(tables(), tmp_path_factory.mktemp("record")), TINY.scenario)
    held = forecast_last(TINY, PREPARED, records, 4, seed=1, replications=30)
    return replace(learn(TINY, PREPARED, records), forecast_check=held)


@pytest.fixture(scope="module")
def folder(learning: Learning, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The report, written."""
    out = tmp_path_factory.mktemp("out") / "report"
    write_learning(learning, out, provenance=PROVENANCE)
    return out


@pytest.fixture(scope="module")
def summary(folder: Path) -> Any:
    """summary.json."""
    return json.loads((folder / "summary.json").read_text("utf-8"))


def test_the_plain_sentence_comes_first_with_its_range(learning: Learning) -> None:
    """What all that was learned makes of the greens; why: what weighs most, with the true figure's range."""
    page = front(learning)

    assert re.fullmatch(
        r"By your record \d figures? differs? from the room file: expect 0\.\d+ to 0\.\d+ kg of greens a week less\.",
        page.headline,
    )
    assert re.match(
        r"Your small head weighs \d+% less than the room file says: 0\.\d+ to 0\.\d+ kg a week less\.", page.why
    )
    assert page.spent()[0] <= MOST_WORDS and page.spent()[1] <= MOST_NUMBERS
    assert page.advice[0].startswith("Take it in: `growsim keep ROOM learned.toml`, with the file beside")
    assert re.search(
        r"Your record tells \d+ of \d+ figures; the others stay near .+ 2 skipped, each with its .+", page.sure
    )


def test_all_figures_together_are_their_sum(learning: Learning) -> None:
    """Kilograms alone, each figure in doubt by itself: by hand, 1 + 2 - 4 with ranges of 3 and 4 is -1 (-6 to 4)."""
    figures = tuple(each for each in learning.figures if each.records)[:1]
    made = [
        Effect(figures, KILOGRAMS, 1.0, -2.0, 4.0, 0.1), Effect(figures, KILOGRAMS, 2.0, -2.0, 6.0, 0.2),
        Effect(figures, KILOGRAMS, -4.0, -4.0, -4.0, 0.4), Effect(figures, WORK, 9.0, 8.0, 10.0, 0.9),
    ]  # fmt: skip
    whole = together(made)
    assert whole is not None
    assert (whole.change, whole.low, whole.high) == (-1.0, -6.0, 4.0)
    assert whole.share == pytest.approx(0.1)
    assert together(made[3:]) is None


def test_no_record_shows_that_a_loss_is_exactly_zero(learning: Learning) -> None:
    """A room file that says none is lost stays borne out where next to none is; a percent is a difference."""
    losses = next(each for each in learning.figures if each.group == "losses")
    next_to_none = replace(losses.after, q025=0.0004, low=0.0006, middle=0.001, high=0.003, q975=0.005)
    at_zero = replace(losses, stated=0.0, after=next_to_none, records=9)
    assert not at_zero.is_clear
    assert replace(at_zero, after=replace(next_to_none, q025=0.01, middle=0.02, q975=0.03)).is_clear


def test_the_table_tells_each_figure_before_and_after(learning: Learning) -> None:
    """The weightiest that is clear first; room file, record with its range, and what it means a week."""
    made = front(learning).table
    first, mass = made.rows[0], next(each for each in learning.figures if each.key.endswith("head.typical_mass_g"))

    assert [column.label for column in made.columns] == ["room file", "your record (8 in 10)", "a week, about"]
    assert first.label == "small head: harvest weight of a plant"
    assert [cell.text for cell in first.cells[:2]] == ["110 g", f"{mass.after.low:.1f} to {mass.after.high:.1f} g"]
    assert (first.cells[1].low, first.cells[1].mean, first.cells[1].high) == (
        mass.after.low, mass.after.middle, mass.after.high,
    )  # fmt: skip
    assert re.fullmatch(r"0\.\d+ kg a week less", first.cells[2].text)
    assert first.cells[2].unit == "kg/week" and first.cells[2].low < first.cells[2].mean < first.cells[2].high < 0
    marks = [row.cells[1].text.startswith("≈ ") for row in made.rows]
    assert marks == sorted(marks)  # what is not clear of the room file stands below
    assert ("≈ may still be" in made.note) == any(marks)


def test_rows_add_up_in_the_answer_and_the_summary(learning: Learning, summary: Any) -> None:
    """Rows read = used + set aside, each set aside with file, line and reason."""
    records = summary["records"]

    assert records["rows_read"] == records["used"] + len(records["set_aside"])
    assert [(row["file"], row["line"]) for row in records["set_aside"]] == [("attendance.csv", 4), ("plantings.csv", 6)]
    assert f"{records['used']:,} used, 2 skipped, each with its reason" in " ".join(summary["answer"])
    assert records["rows_read"] == sum(table.rows for table in learning.records.tables)


def test_the_summary_keeps_the_contract(summary: Any) -> None:
    """What every command states, and each figure with mean, range of the mean, eight in ten and n."""
    for key in ("growsim", "command", "room", "room_sha256", "seed", "replications", "days", "warm_up_days",
                "repeat_with", "answer", "measures"):  # fmt: skip
        assert key in summary
    mass = summary["measures"]["crops.small head.typical_mass_g"]

    assert {"label", "unit", "mean", "mean_low", "mean_high", "p10", "p50", "p90", "n"} <= set(mass)
    assert mass["mean_low"] < mass["p10"] < mass["p50"] < mass["p90"] < mass["mean_high"]
    assert mass["p10"] < 88.0 < mass["p90"]
    assert (mass["unit"], mass["room_file"], mass["clear_of_room_file"]) == ("g", 110.0, True)
    assert summary["forecast_check"]["series"]["kg_packed"]["weeks"] == 4
    largest = summary["effects"][0]
    assert (largest["figures"], largest["small"]) == (["crops.small head.typical_mass_g"], False)
    assert largest["p10"] < largest["about"] < largest["p90"] < 0


def test_the_files_are_all_there(folder: Path) -> None:
    """Page, summary, tables, the CHANGE file, and each figure as SVG and PNG."""
    names = {path.name for path in folder.iterdir()}
    drawn = {path.name for path in (folder / "figures").iterdir()}

    assert names - {".growsim.json"} == {"report.html", "summary.json", "learned.toml", "measures.csv",
        "rows.csv", "set_aside.csv", "answer.csv",
                     "odd_rows.csv", "early_and_late.csv", "effects.csv", "weeks.csv", "figures"}  # fmt: skip
    assert {"learned-seeds.svg", "learned-mass.png", "learned-people.svg", "forecast-check-kg-packed.svg"} <= drawn
    pictures = [name.removesuffix(".png") for name in drawn if name.endswith(".png")]
    assert drawn == {name + end for name in pictures for end in figure_boxes.FILES}


def test_text_that_would_act_as_a_formula_is_written_as_text(folder: Path) -> None:
    """In every CSV file; and what was set aside is there as it was, behind its apostrophe."""
    for path in folder.glob("*.csv"):
        for row in csv.reader(path.read_text("utf-8").splitlines()):
            for cell in row:
                is_number = cell.replace(".", "").replace("e", "").replace("-", "").isdigit()
                assert is_number or not cell.startswith(("=", "+", "-", "@")), (path.name, cell)
    assert "'=2+2" in (folder / "set_aside.csv").read_text("utf-8")
    assert "'=HYPERLINK" in (folder / "set_aside.csv").read_text("utf-8")


def test_the_page_says_what_stands_behind_each_figure(folder: Path) -> None:
    """Records, weight of the room file, rows set aside; self-contained; nothing a user wrote is markup."""
    page = (folder / "report.html").read_text("utf-8")
    assert foreign(page, but_for=("minutes for each kg",)) == []  # the pace of a task, not a mass

    for words in (
        "What matters most",
        "room file counts as",
        "told by",
        "Rows set aside",
        "attendance.csv line 4",
        "The last weeks, forecast unseen",
        "Follow the local code",
        "growsim learn room record",
    ):
        assert words in page
    assert "http://" not in page.replace("http://www.w3.org", "").replace("http://x", "")
    assert "<script" not in page


def test_the_change_file_is_toml_and_names_its_sources(folder: Path) -> None:
    """Only what differs; each uncertain figure says how many records it rests on."""
    raw = tomllib.loads((folder / "learned.toml").read_text("utf-8"))
    head = next(crop for crop in raw["crops"] if crop["name"] == "small head")

    assert raw["change"]["name"] == "learned from the record"
    assert head["typical_mass_g"]["source"].startswith("learned from ")
    assert "the room file counted as" in head["typical_mass_g"]["source"]
    assert len(raw["crew"]["chance_of_coming"]) == len(raw["crew"]["chance_doubt_sd"]) == 12


def test_the_same_record_gives_the_same_bytes(learning: Learning, folder: Path, tmp_path: Path) -> None:
    """Nothing of the hour or the machine is in it."""
    write_learning(learning, tmp_path / "again", provenance=PROVENANCE)

    for path in sorted(folder.rglob("*")):
        if path.is_file():
            assert path.read_bytes() == (tmp_path / "again" / path.relative_to(folder)).read_bytes(), path.name


def test_losses_of_which_the_room_file_says_none_are_drawn_in_their_own_percent() -> None:
    """Nothing is a percentage of none: with a stated zero the scale is percent of plants, and has its numbers."""
    known = Known(0.003, 0.002, 0.0, 0.001, 0.003, 0.005, 0.007)
    seen = Known(0.021, 0.003, 0.016, 0.018, 0.021, 0.025, 0.027)
    none = Learned("crops.leaf.loss", "losses", "leaf", "lost", "", 0.0, known, seen, 22, "sowings", 2.0, "counted")

    axes = before_and_after([none], "losses").axes[0]
    some = before_and_after([replace(none, stated=0.003)], "losses").axes[0]

    assert axes.get_xlabel() == "percent"
    assert [line.get_xdata()[0] for line in axes.lines if line.get_marker() in ("o", "D")] == [0.0, pytest.approx(2.1)]
    assert len(axes.get_xticks()) > 1
    assert some.get_xlabel() == "percent of what the room file says"


def test_every_sentence_is_plain(folder: Path) -> None:
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(folder) == []
