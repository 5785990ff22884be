"""The report of a promise: sentences that promise no more than was found, pages and tables that agree with them."""

from __future__ import annotations

import copy
import dataclasses
import datetime as dt
import json
import tomllib
from pathlib import Path
from typing import Any

import figure_boxes
import pandas as pd
import pytest
from one_system import foreign
from plain_words import of_answer

from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.promise import tables, words
from growsim.report.promise.answer import write_promises
from growsim.report.provenance import Provenance
from growsim.report.words import upper_first
from growsim.run.intervals import Share
from growsim.scenario.load import load_scenario, scenario_from
from growsim.scenario.plan import ShelfLot
from growsim.scenario.shelves import Today
from growsim.study.promise.answer import Promises
from growsim.study.promise.question import promise
from growsim.study.promise.rescue import Gain
from growsim.study.promised import CropWeek, Levels, safe_between
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


def test_the_headline_promises_what_is_safe_and_counts_what_is_at_risk(promises: Promises) -> None:
    """An amount, its week, what is likely; then the deliveries."""
    first = promises.crops[0]

    assert first.there.safe > 0
    assert words.headline(promises) == (
        f"You can promise {words.down(first.there.safe)} of greens in the week of 10 February; "
        f"{words.down(first.there.likely)} is likely. {len(promises.at_risk)} of 6 deliveries in 3 weeks are at risk."
    )


def made_up(promises: Promises) -> Promises:
    """Two weeks with made-up amounts, three deliveries in the first, two of them at risk."""
    whole = promises.crops[0]
    weeks = tuple(
        dataclasses.replace(whole, week=at, starts=dt.date(2031, 2, 10 + 7 * at), there=Levels(safe, likely, possible))
        for at, (safe, likely, possible) in enumerate([(4.19, 5.0, 6.5), (0.0, 2.0, 3.0)])
    )
    one = promises.deliveries[0]
    sure, poor, poorest = (
        dataclasses.replace(one, partner=name, crop=crop, week=0, ordered=kg, chance=Share(share, 0.1, 0.99, 39))
        for name, crop, kg, share in [("a", "any", 1.0, 0.95), ("b", "small head", 2.0, 0.8), ("c", "any", 0.5, 0.62)]
    )
    return dataclasses.replace(promises, crops=weeks, deliveries=(sure, poor, poorest), rescues=(), together=())


def test_the_table_has_a_week_a_line(promises: Promises) -> None:
    """Safe (rounded down), likely, possible, ordered, and the least sure of what is at risk."""
    made = words.table(made_up(promises))

    assert [column.label for column in made.columns] == ["safe", "likely", "possible", "ordered", "at risk"]
    assert all("from what stands on the shelves on 10 February" in column.of for column in made.columns)
    assert [(row.label, [cell.text for cell in row.cells]) for row in made.rows] == [
        ("10 Feb", ["4.1", "5.0", "6.5", "3.5", "2 of 3, least sure: c (62%)"]),
        ("17 Feb", ["0.0", "2.0", "3.0", "0.0", "no pick-up"]),
    ]
    assert [cell.mean for cell in made.rows[0].cells] == [4.19, 5.0, 6.5, 3.5, 2.0]


def test_the_page_is_short(promises: Promises) -> None:
    """At most so many words and numbers before the table, with what saves and what speaks against the count."""
    spent = words.front(promises).spent()
    assert spent[0] <= MOST_WORDS and spent[1] <= MOST_NUMBERS


def test_what_saves_is_what_was_tried(promises: Promises) -> None:
    """The best with its range and its harm; and where nothing helps, that."""
    rescue = dataclasses.replace(
        promises.rescues[0], saves=(("a", "any", 0),), risks=(("b", "any", 0),), met=Gain(1.3, 0.8, 1.8)
    )
    best = dataclasses.replace(promises, rescues=(rescue,), together=(rescue,))
    none = dataclasses.replace(promises, rescues=(dataclasses.replace(rescue, met=Gain(0.0, -0.5, 0.5)),), together=())

    said = f"{upper_first(rescue.name)}: 1.3 more deliveries arrive in full (0.8 to 1.8)"
    many, fewer = len(promises.at_risk), dataclasses.replace(rescue, risks=())
    assert words.what_saves(best) == f"{said}."
    saved = words.what_saves(dataclasses.replace(promises, rescues=(fewer,), together=(fewer,)))
    assert saved == f"{said}; {many - 1} instead of {many} are at risk."
    assert words.what_saves(none).startswith("Nothing tried saves them (")
    assert words.what_saves(none).endswith(").")


def test_the_page_leads_with_what_presses_most(promises: Promises) -> None:
    """The soonest delivery that is rather not met than met; where none is, the least sure one."""
    each, first = promises.deliveries[0], promises.deliveries[0].date

    def led_by(*told: tuple[int, float]) -> tuple[int, float]:
        """Deliveries so many days on, met with such a chance; which one leads."""
        made = tuple(
            dataclasses.replace(
                each, date=first + dt.timedelta(days=days), chance=dataclasses.replace(each.chance, share=share)
            )
            for days, share in told
        )
        led = dataclasses.replace(promises, deliveries=made).most_pressing
        assert led is not None
        return (led.date - first).days, led.chance.share

    assert led_by((4, 0.18), (0, 0.45), (2, 0.95)) == (0, 0.45)
    assert led_by((0, 0.7), (3, 0.6)) == (3, 0.6)


def test_bare_shelves_promise_nothing() -> None:
    """Nothing stands, and nothing is safe; what is likely at best is told with its week."""
    bare = promised()
    nothing = dataclasses.replace(
        bare, crops=tuple(dataclasses.replace(each, there=Levels(0.0, 0.0, 0.0)) for each in bare.crops)
    )

    last = max(each.week for each in bare.crops)
    late = [
        dataclasses.replace(each, there=Levels(0.0, 1.2, 1.5)) if (each.crop, each.week) == ("", last) else each
        for each in nothing.crops
    ]
    likely = dataclasses.replace(bare, crops=tuple(late))

    assert words.headline(bare).startswith("Nothing is safe to promise in the next 3 weeks")
    assert words.headline(likely) == (
        "Nothing is safe to promise in the next 3 weeks; 1.2 kg is likely in the week of 24 February. 6 of 6 "
        "deliveries in 3 weeks are at risk."
    )
    assert words.headline(nothing) == (
        "Nothing is safe to promise in the next 3 weeks. 6 of 6 deliveries in 3 weeks are at risk."
    )


def test_nothing_at_risk_is_said_too() -> None:
    """A small order that is always met; and where nobody orders, nothing of deliveries."""
    small = [{"name": "one", "weekday": "thu", "hour": 14, "orders": [{"crop": "cutting leaf", "kg": 0.2}]}]
    calm = promised(LEAF, dataclasses.replace(LEAF, lot="b", days_since_sowing=14), partners=[])
    tiny_order = promised(LEAF, partners=small)

    assert calm.deliveries == ()
    assert [column.label for column in words.table(calm).columns] == ["safe", "likely", "possible"]
    assert "deliver" not in words.headline(calm)
    assert words.advice(calm)[0].startswith("The newest sowing in it is of")  # two weeks old; the room sows each week
    assert words.headline(tiny_order).endswith("None of 3 deliveries in 3 weeks is at risk.") or tiny_order.at_risk


def test_the_folder_is_complete(folder: Path) -> None:
    """Page, summary, tables, figures."""
    files = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}

    assert {"report.html", "summary.json", "promises.csv", "tried.csv", "measures.csv", "weeks.csv"} <= files
    assert {f"figures/{name}{end}" for name in ("weeks-ahead", "certainty") for end in figure_boxes.FILES} <= files


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
    assert summary["answer"] == [sentence for _, sentence in words.front(promises).said()]
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


def test_every_sentence_is_plain(folder: Path) -> None:
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(folder) == []


def test_a_share_met_in_full_is_rounded_once_and_down(promises: Promises) -> None:
    """In the table of weeks and in that of deliveries; what is at risk never reads as 90%."""
    told = [words.met_in_full(share) for share in (0.175, 0.896, 0.9, 1.0)]
    one = dataclasses.replace(promises.deliveries[0], chance=Share(0.175, 0.1, 0.25, 40))
    found = dataclasses.replace(promises, deliveries=(one,))

    assert told == ["17%", "89%", "90%", "100%"]
    assert tables.by_partner(found).rows[0][4].startswith("17% (10% to 25%)")
    assert any("(17%)" in cell.text for row in words.table(found).rows for cell in row.cells)


def test_why_a_delivery_is_at_risk_is_what_stands_for_it(promises: Promises) -> None:
    """By the room file's days: plants ripe in the week up to it, or too late, or nothing at all, and then until when
    it is to be sown."""
    crop = promises.scenario.crops[1]
    takes = round(crop.typical_days)
    due = promises.date + dt.timedelta(days=10)
    week = next(each for each in promises.crops if each.crop == crop.name and each.week == 1)
    short = dataclasses.replace(week, there=Levels(0.4, 1.26, 3.0), ordered=2.0)
    one = dataclasses.replace(
        promises.deliveries[0], crop=crop.name, week=1, date=due, ordered=2.0, gets=Levels(0.4, 1.0, 2.0),
        chance=Share(0.3, 0.1, 0.5, 39),
    )  # fmt: skip

    def said(*ages: int, there: CropWeek = short) -> str:
        lots = tuple(ShelfLot(f"lot {age}", crop.name, "head", age, 20) for age in ages)
        today = dataclasses.replace(promises.today, lots=lots)
        return words.why(dataclasses.replace(promises, today=today, crops=(there,), deliveries=(one,)))

    runs_short = f"Small head runs short by {words.long_day(due)}: 1.2 kg is likely, 2.0 kg is ordered."
    ripe_on = promises.date + dt.timedelta(days=9)
    assert said(takes - 9, takes - 8, takes - 30) == (
        f"{runs_short} Of it 40 plants ripen in time, the last on {words.long_day(ripe_on)}."
    )
    assert said(takes - 12) == (  # from 85 % of its mass on: 0.92 of 35 days, which are 2.7 days sooner
        f"{runs_short} None is full-grown that week; the next 20 plants are only just ripe, or too late."
    )
    assert said(takes - 13) == f"{runs_short} None is full-grown that week; the next 20 plants are too late."
    sow_by = words.long_day(due - dt.timedelta(days=takes))
    assert said() == f"{runs_short} Nothing on the shelves ripens for it; it had to be sown by {sow_by}."
    enough = dataclasses.replace(short, there=Levels(0.4, 2.5, 3.0))
    assert "is short in a bad week" in said(there=enough)
    assert "0.4 kg is safe, 2.0 kg is ordered" in said(there=enough)
    assert words.instead(one).endswith("0.4 kg of small head instead of 2.0 kg, and say so early.")


def test_few_rehearsals_say_how_little_they_know() -> None:
    """The 10th percentile of a hundred lies, eight times in ten, between two order statistics: binomial tables (n =
    100, p = 0.1: P(X <= 6) = 0.117, P(X <= 14) = 0.927; from scipy, as in any table). Ten have no lower end."""
    assert safe_between([float(each) for each in range(1, 101)]) == (6.0, 15.0)
    low, high = safe_between([float(each) for each in range(1, 11)])
    assert low is None
    assert high == 3.0
