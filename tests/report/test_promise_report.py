"""The report of a promise: sentences that promise no more than was found, pages and tables that agree with them."""

from __future__ import annotations

import copy
import dataclasses
import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any

import pandas as pd
import pytest
from one_system import foreign

from growsim.report.promise import words
from growsim.report.promise.answer import write_promises
from growsim.report.provenance import Provenance
from growsim.scenario.load import load_scenario, scenario_from
from growsim.scenario.plan import ShelfLot
from growsim.scenario.shelves import Today
from growsim.study.promise.answer import Promises
from growsim.study.promise.question import promise
from growsim.units import shown_in

ORIGIN = Provenance("promise", "growsim promise scenarios/tiny --shelves today.csv", "ab" * 32)
TINY = load_scenario(Path(__file__).parents[2] / "scenarios" / "tiny")
LEAF = ShelfLot("leaf", "cutting leaf", "leaf", 21, 58, "rack")
HEADS = ShelfLot("heads", "small head", "head", 28, 28, "rack")


def promised(*lots: ShelfLot, hours: float = 2.0, partners: list[dict[str, Any]] | None = None) -> Promises:
    """Three weeks from Monday 10 February, with a Thursday shift of so many hours and one volunteer."""
    raw = copy.deepcopy(TINY.raw)
    raw["crew"]["shifts"][1] |= {"hours": hours, "people": 1}
    raw["partners"] = raw["partners"] if partners is None else partners
    room = dataclasses.replace(TINY, raw=raw, scenario=scenario_from(raw, "tiny")[0])
    return promise(room, Today(lots), date=dt.date(2031, 2, 10), seed=4, weeks=3, replications=39)


@pytest.fixture(scope="module")
def promises() -> Promises:
    """Leaf and heads on the shelves, few hands."""
    return promised(LEAF, HEADS, hours=1.0)


@pytest.fixture(scope="module")
def folder(promises: Promises, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its report."""
    out = tmp_path_factory.mktemp("reports") / "tiny-promise"
    write_promises(promises, out, provenance=ORIGIN)
    return out


def test_amounts_are_rounded_down() -> None:
    """2.99 kg is 2.9 kg, and its 6.59 lb are 6.5 lb."""
    assert words.down(2.99) == "2.9 kg"
    assert words.down(3.0) == "3.0 kg"
    assert words.down(0.0) == "0.0 kg"
    with shown_in("us"):
        assert words.down(2.99) == "6.5 lb"


def test_the_first_sentence_promises_what_is_safe(promises: Promises) -> None:
    """An amount, its week, its rate; likely and possible beside it."""
    first = promises.crops[0]

    said = words.amounts(promises)

    assert first.there.safe > 0
    assert said.startswith(
        f"You can safely promise {words.down(first.there.safe)} of greens in the week of 10 February: at least that "
        f"comes in 90 of 100 rehearsals. {words.down(first.there.likely)} is likely (50 of 100), "
        f"{words.down(first.there.possible)} possible (10 of 100)."
    )


def test_crops_are_said_to_add_up_to_less_only_where_they_do(promises: Promises) -> None:
    """With one crop there is nothing to add up; with two it is said where more is missing than rounding down takes."""
    whole = promises.crops[0]

    def said(total: float, *safe: float) -> str:
        """Of a week with so much safe in all, and of each crop."""
        there = [dataclasses.replace(whole.there, safe=each, likely=each, possible=each) for each in (total, *safe)]
        rows = [dataclasses.replace(whole, crop=name, there=each) for name, each in zip(" ab", there, strict=False)]
        rows[0] = dataclasses.replace(rows[0], crop="")
        return words.crops(dataclasses.replace(promises, crops=tuple(rows)))

    assert said(1.2, 1.2) == "Safe in the week of 10 February: a 1.2 kg, likely 1.2 kg."
    assert "add up" not in said(2.19, 1.09, 1.09)  # 2.1 against 1.0 + 1.0: rounded down
    assert said(2.6, 1.0, 1.0).endswith(
        " They add up to less than the safe total: seldom do all crops have a bad week at once."
    )


def test_deliveries_at_risk_are_named_with_their_range(promises: Promises) -> None:
    """How many, which is the soonest, how certain, how much of it is safe."""
    soonest = promises.at_risk[0]

    said = words.at_risk(promises)

    assert f"{len(promises.at_risk)} of 6 deliveries in 3 weeks are at risk" in said
    assert f"trial pantry, {soonest.ordered:.1f} kg" in said
    assert f"(range {round(100 * soonest.chance.low)}% to {round(100 * soonest.chance.high)}%)" in said


def test_bare_shelves_promise_nothing() -> None:
    """Nothing stands, nothing ripens within three weeks, and nothing on top of the orders."""
    bare = promised()

    assert words.amounts(bare) == "In the next 3 weeks nothing can be promised: nothing ripens in time."
    assert words.spare(bare) == "On top of the standing orders nothing more is safe to promise in these weeks."
    assert "none of it is safe" in words.at_risk(bare)


def test_nothing_at_risk_is_said_too() -> None:
    """A small order that is always met; the rest can be promised to somebody else."""
    small = [{"name": "one", "weekday": "thu", "hour": 14, "orders": [{"crop": "cutting leaf", "kg": 0.2}]}]
    calm = promised(LEAF, dataclasses.replace(LEAF, lot="b", days_since_sowing=14), partners=[])
    tiny_order = promised(LEAF, partners=small)

    assert calm.deliveries == ()
    assert [head for head, _ in words.answer(calm)] == [
        "What you can promise",
        "The count",
        "Crop by crop",
        "Beyond the orders",
    ]  # the newest sowing is two weeks old in a room that sows every week
    assert "On top of the standing orders these are safe to promise at most: " in words.spare(tiny_order)


def test_the_folder_is_complete(folder: Path) -> None:
    """Page, summary, tables, figures."""
    files = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}

    assert {"report.html", "summary.json", "promises.csv", "tried.csv", "measures.csv", "weeks.csv"} <= files
    assert {f"figures/{name}.{kind}" for name in ("weeks-ahead", "certainty") for kind in ("svg", "png")} <= files


def test_summary_and_table_tell_the_same(folder: Path, promises: Promises) -> None:
    """summary.json has what every command states; its weeks are those of promises.csv."""
    summary = json.loads((folder / "summary.json").read_text("utf-8"))
    table = pd.read_csv(folder / "promises.csv", keep_default_na=False)

    assert {
        "growsim",
        "command",
        "room",
        "room_sha256",
        "seed",
        "replications",
        "days",
        "warm_up_days",
    } <= summary.keys()
    assert {"repeat_with", "answer", "measures"} <= summary.keys()
    assert summary["answer"] == [sentence for _, sentence in words.answer(promises)]
    told = [(each["crop"], each["week_from"], each["kg"]["safe"]) for each in summary["weeks"]]
    whole = table[table.partner == ""]
    assert told == list(zip(whole.crop, whole.week_from, whole.safe_kg.astype(float), strict=True))
    assert len(summary["deliveries"]) == len(table) - len(whole)


def test_the_page_says_the_answer_and_stands_alone(folder: Path) -> None:
    """Answer, caution, numbers behind, the command; nothing fetched."""
    page = (folder / "report.html").read_text("utf-8")
    summary = json.loads((folder / "summary.json").read_text("utf-8"))

    assert all(sentence.replace("'", "&#39;") in page for sentence in summary["answer"])
    assert foreign(page) == []
    assert "certifies nothing" in page
    assert "Food safety." in page
    assert ORIGIN.repeat_with in page
    assert not [where for where in ('src="http', 'href="http', "url(http") if where in page]


def test_what_helps_is_there_as_a_change_file(tmp_path: Path) -> None:
    """For `growsim compare`: named, and with the one thing that differs."""
    short = promised(LEAF, HEADS, hours=0.75)
    write_promises(short, tmp_path / "out", provenance=ORIGIN)

    files = sorted((tmp_path / "out" / "changes").glob("*.toml"))

    assert [path.stem for path in files] == sorted(rescue.name.lower().replace(" ", "-") for rescue in short.helpful)
    for path in files:
        tables = tomllib.loads(path.read_text("utf-8"))
        assert tables["change"]["name"] in {rescue.name for rescue in short.helpful}
        assert len(tables) == 2
