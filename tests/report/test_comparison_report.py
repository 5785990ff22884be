"""The report of a comparison: sentences first, every number with its range, the contract of summary.json."""

from __future__ import annotations

import csv
import html
import importlib
import json
import re
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from one_system import foreign
from plain_words import of_answer

from growsim.report.compare import why as reasons
from growsim.report.compare import words
from growsim.report.compare.answer import write_comparison
from growsim.report.front import MOST_NUMBERS, MOST_WORDS
from growsim.report.provenance import Provenance
from growsim.run.intervals import Difference
from growsim.study.causes import Moved
from growsim.study.compare.answer import COST_A_WEEK
from growsim.study.pay_back import PayBack, Range
from growsim.study.room_air import DANGER
from growsim.study.to_try import Trial
from growsim.study.tried import Held, Tried
from growsim.study.verdicts import HEADLINES, judge

ORIGIN = Provenance("compare", "growsim compare scenarios/tiny rack.toml --seed 7", "ab" * 32)
KG, ORDERS, HOURS, COST = HEADLINES
FIGURES = ("differences",)


@pytest.fixture(scope="module")
def compared() -> Iterator[ModuleType]:
    """The small comparison that the tests of studies use."""
    folder = str(Path(__file__).parents[1] / "study")
    sys.path.insert(0, folder)
    yield importlib.import_module("compared")
    sys.path.remove(folder)


@pytest.fixture(scope="module")
def comparison(compared: ModuleType) -> Any:
    """A rack, dim light, and nothing."""
    return compared.comparison()


@pytest.fixture(scope="module")
def folder(comparison: Any, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Its report, written once."""
    out = tmp_path_factory.mktemp("reports") / "tiny-compare"
    write_comparison(comparison, out, provenance=ORIGIN)
    return out


def test_summary_keeps_the_contract(folder: Path, comparison: Any) -> None:
    """What every command states, and every difference of every change with its range."""
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    common = {"growsim", "command", "room", "room_sha256", "seed", "replications", "days", "warm_up_days"}

    assert common | {"repeat_with", "answer", "measures", "changes", "decided"} <= set(summary)
    assert (summary["command"], summary["replications"], summary["seed"]) == ("compare", 10, 7)
    assert list(summary["changes"]) == ["rack", "dim", "nothing"]
    rack = summary["changes"]["rack"]
    assert set(rack["differences"]) == set(comparison.changes[0].verdicts)
    assert rack["differences"][KG]["low"] <= rack["differences"][KG]["mean"] <= rack["differences"][KG]["high"]
    assert rack["pay_back"]["price"] == 900.0
    assert [each["held_up"] for each in rack["moved"]] == [each.held_up for each in comparison.changes[0].moved]
    assert summary["holds_back"]["was_tried"]
    assert {each["verdict"] for each in summary["changes"]["nothing"]["differences"].values()} == {"none"}
    assert summary["measures_of"] == words.TODAY
    assert summary["answer"][0] == words.headline(comparison)
    assert summary["table"] == words.table(comparison).entry()


def test_the_page_opens_with_the_sentences_and_shows_every_figure(folder: Path) -> None:
    """Answer, then pictures with a caption; nothing is fetched; the same figures lie beside it as files."""
    page = (folder / "report.html").read_text(encoding="utf-8")
    first = json.loads((folder / "summary.json").read_text(encoding="utf-8"))["answer"][0]

    assert page.index(html.escape(first)) < page.index("How sure this is")
    assert foreign(page) == []
    assert not re.search(r"(src|href)=\"(https?:)?//", page)
    for name in FIGURES:
        assert f'<figure id="{name}">' in page
        assert (folder / "figures" / f"{name}.svg").stat().st_size > 1000
        assert (folder / "figures" / f"{name}.png").stat().st_size > 5000
    assert "Electricity beside water" in page  # beside the change that adds a rack
    assert ORIGIN.repeat_with in page


def test_the_danger_of_co2_is_told_where_a_change_feeds_more_of_it(comparison: Any) -> None:
    """In the answer itself; nowhere else."""
    rack, *_ = comparison.changes
    fed = rack.scenario.model_copy(update={"co2": rack.scenario.co2.model_copy(update={"supply_kg_per_day": 1.0})})
    feeding = replace(
        rack, alternative=replace(rack.alternative, prepared=replace(rack.alternative.prepared, scenario=fed))
    )

    assert DANGER not in words.advice(comparison)
    assert words.advice(replace(comparison, changes=(feeding,)))[1] == DANGER


def test_tables_have_one_row_an_observation(folder: Path, comparison: Any) -> None:
    """Differences, measures, weeks, replications, each with its room named; what was tried as CHANGE files."""

    def rows(name: str) -> list[dict[str, str]]:
        with (folder / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    differences = rows("differences.csv")
    assert len(differences) == sum(len(changed.verdicts) for changed in comparison.changes)
    assert {row["room"] for row in rows("measures.csv")} == {"today", "rack", "dim", "nothing"}
    assert {row["room"] for row in rows("weeks.csv")} == {"today", "rack", "dim", "nothing"}
    assert len(rows("replications.csv")) == 40
    best = [tried for tried in comparison.held.best if tried.tables is not None]
    assert len(list((folder / "tried").iterdir())) == len(best) > 0


def test_the_same_comparison_gives_the_same_bytes(comparison: Any, folder: Path, tmp_path: Path) -> None:
    """Report, tables and figures."""
    again = tmp_path / "again"
    write_comparison(comparison, again, provenance=ORIGIN)
    names = sorted(path.relative_to(folder) for path in folder.rglob("*") if path.is_file())

    assert names == sorted(path.relative_to(again) for path in again.rglob("*") if path.is_file())
    assert [name for name in names if (folder / name).read_bytes() != (again / name).read_bytes()] == []


def made_up(comparison: Any, **found: tuple[float, float]) -> Any:
    """One change of which the ranges of orders (points), kg, hours, money a week and a kilogram are made up."""
    keys = {"orders": ORDERS, "kg": KG, "hours": HOURS, "week": COST_A_WEEK, "cost": COST}
    verdicts = {}
    for name, (low, high) in found.items():
        scale = 0.01 if name == "orders" else 1.0
        ends = scale * low, scale * high
        margin = {"orders": 0.014, "week": 2.0}.get(name, 0.1)
        verdicts[keys[name]] = judge(Difference(keys[name], sum(ends) / 2, *ends, 0.9, 20), margin)
    changed = replace(comparison.changes[0], verdicts=verdicts, moved=(), pay_back=None)
    today = {key: replace(comparison.estimates[key], mean=mean) for key, mean in ((ORDERS, 0.81), (KG, 10.0))}
    return replace(comparison, changes=(changed,), estimates={**comparison.estimates, **today}, held=None)


@pytest.mark.parametrize(
    ("kg", "said"),
    [
        ((1.0, 3.0), "2.0 kg more greens a week are handed out (1.0 to 3.0)"),
        ((-3.0, -1.0), "2.0 kg fewer greens a week are handed out (1.0 to 3.0)"),
        ((0.02, 0.08), "about as many greens are handed out as today (10.0 kg a week)"),
        ((-0.05, 0.05), "about as many greens are handed out as today (10.0 kg a week)"),
        ((-1.0, 3.0), "what becomes of greens may be chance (1.0 kg less to 3.0 kg more a week)"),
        ((0.0, 0.0), "about as many greens are handed out as today (10.0 kg a week)"),
    ],
)
def test_each_verdict_is_said_plainly(comparison: Any, kg: tuple[float, float], said: str) -> None:
    """What it does, its size, its range."""
    assert words.headline(made_up(comparison, kg=kg)) == f"A second rack: {said}."


def test_orders_come_first(comparison: Any) -> None:
    """After the change instead of today, in points; what pulls the other way is joined by a "but"."""
    both = made_up(comparison, orders=(6.0, 8.0), kg=(1.0, 3.0))
    against = made_up(comparison, orders=(6.0, 8.0), kg=(-3.0, -1.0))

    first = "A second rack: 88% of orders are filled instead of 81% (6 to 8 of 100 more), "
    assert words.headline(both) == f"{first}and 2.0 kg more greens a week are handed out (1.0 to 3.0)."
    assert words.headline(against) == f"{first}but 2.0 kg fewer greens a week are handed out (1.0 to 3.0)."


@pytest.mark.parametrize(
    ("found", "judged", "advised"),
    [
        ({"orders": (6, 8), "kg": (1, 3)}, "make it", "Make it."),
        ({"orders": (6, 8), "kg": (-1, 3)}, "make it", "Make it."),
        ({"orders": (6, 8), "kg": (-3, -1)}, "weigh it", "Weigh it: more orders are filled, with fewer greens in all."),
        (
            {"orders": (-8, -6), "kg": (1, 3)},
            "weigh it",
            "Leave it as it is, unless greens that nobody ordered help you.",
        ),
        ({"orders": (-8, -6), "kg": (-1, 3)}, "leave it", "Leave it: those who get the greens get less."),
        (
            {"orders": (-1, 4), "kg": (0, 0)},
            "too close to call",
            "Too close to call: chance still hides what it brings.",
        ),
        ({"orders": (0, 0), "kg": (0, 0)}, "leave it", "Leave it: it brings nothing that matters."),
        (
            {"orders": (0, 0), "kg": (0, 0), "hours": (-3, -2)},
            "make it",
            "Make it for what it saves: as much food comes as today.",
        ),
        ({"kg": (0, 0), "hours": (2, 3)}, "leave it", "Leave it: it brings nothing that matters."),
    ],
)
def test_make_it_or_leave_it(comparison: Any, found: Any, judged: str, advised: str) -> None:
    """By orders and greens; only where neither moves by what it saves."""
    only = made_up(comparison, **found)

    assert only.changes[0].judged == judged
    assert words.advice(only) == [advised]


def test_the_table_names_each_figure_today_and_changed(comparison: Any) -> None:
    """Orders first; cells hold the numbers behind their text; each column says of which room it is."""
    only = made_up(comparison, orders=(6, 8), kg=(-0.04, 0.05), hours=(-1, 4), cost=(0.5, 0.7))
    made = words.table(only)
    rows = {row.label: row.cells for row in made.rows}

    assert [column.label for column in made.columns] == ["today", "with the change", "difference"]
    assert [column.of for column in made.columns] == [
        "the room as it is today",
        "the room with the change: a second rack",
        "the room with the change: a second rack, less the room as it is today, in the same years",
    ]
    assert list(rows) == [
        "Orders filled", "Greens handed out a week, kg", "Hours of work due a week", "Cost per kilogram handed out, USD"
    ]  # fmt: skip
    assert rows["Orders filled"][0].text.startswith("81% (")
    assert rows["Orders filled"][2].text == "+7.0 of 100 (+6.0 to +8.0)"
    assert rows["Greens handed out a week, kg"][2].text.endswith(" (-0.04 to +0.05) ≈")
    assert rows["Hours of work due a week"][2].text == "+1.5 (-1.0 to +4.0) ?"
    assert rows["Cost per kilogram handed out, USD"][2].text == "+0.60 (+0.50 to +0.70)"
    before, after, by = (cell.mean for cell in rows["Orders filled"])
    assert (before, by) == (0.81, pytest.approx(0.07)) and after == pytest.approx(0.88)
    assert rows["Orders filled"][2].low == 0.06
    assert made.note.startswith("≈ too small to matter. ? may be chance.")


def test_several_changes_have_a_line_each(comparison: Any) -> None:
    """What is worth making first; what each comes to; those left over stand below."""
    best = made_up(comparison, orders=(6, 8), kg=(1, 3)).changes[0]
    worst = replace(
        made_up(comparison, orders=(-8, -6), kg=(1, 3)).changes[0], alternative=comparison.changes[1].alternative
    )
    idle = replace(
        made_up(comparison, orders=(0, 0), kg=(0, 0)).changes[0], alternative=comparison.changes[2].alternative
    )
    several = replace(made_up(comparison, kg=(0, 0)), changes=(idle, worst, best))
    made = words.table(several)

    assert [column.label for column in made.columns] == [
        "Orders filled", "Greens handed out a week, kg", "Hours of work due a week",
        "Cost per kilogram handed out, USD", "so",
    ]  # fmt: skip
    assert [row.label for row in made.rows] == ["today", "a second rack", "dim light", "nothing new"]
    assert [row.cells[-1].text for row in made.rows] == ["", "make it", "weigh it", "leave it"]
    bare = made_up(comparison, orders=(-1, 4), kg=(0, 0)).changes[0]
    paid = replace(best, pay_back=comparison.changes[0].pay_back)
    priced = words.table(replace(several, changes=(paid, bare)))
    assert [column.label for column in priced.columns][-2:] == ["Price", "so"]
    assert [row.cells[-1].text for row in priced.rows] == ["", "make it", "too close to call: orders"]
    assert priced.rows[1].cells[-2].text.startswith("USD 900, ") and priced.rows[2].cells[-2].text == "–"
    assert made.rows[1].cells[0].text == "+7.0 (+6.0 to +8.0)"
    assert made.rows[1].cells[2].text == "–"
    assert words.headline(several).startswith("Best of 3 changes, a second rack: 88% of orders are filled instead of")
    assert words.advice(several) == [
        "Worth making: a second rack. To be weighed: dim light (it fills fewer orders). To be left: nothing new."
    ]
    weighed = words.headline(replace(several, changes=(idle, worst)))
    assert weighed.startswith("No change is better all round. Dim light: ") and ", but " in weighed
    many = replace(several, changes=(idle, worst, best) * 3)
    assert len(words.table(many).rows) == words.MOST_CHANGES + 1
    assert words.table(many).note.startswith("3 more changes below.")
    assert len(words.every_change(many).rows) == 10
    nothing = replace(several, changes=(idle, idle))
    assert words.headline(nothing) == "None of the 2 changes is sure to bring more to those who get the greens."


def test_the_page_is_short(comparison: Any) -> None:
    """At most so many words and numbers before the table, of one change and of several."""
    for each in (comparison, replace(comparison, changes=comparison.changes[:1])):
        spent = words.front(each).spent()
        assert spent[0] <= MOST_WORDS and spent[1] <= MOST_NUMBERS


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (None, ""),
        (PayBack(0.0, Range(0, -9, 9), Range(0, -5, 5), 4.0, Range(0, -9, 9)), "Making it costs nothing."),
        (
            PayBack(200.0, Range(100, 90, 110), Range(0, -5, 5), 4.0, Range(100, 70, 130)),
            "Making it costs USD 200, paid back by lower running costs after 2.0 years.",
        ),
        (
            PayBack(900.0, Range(-52.0, -60.0, -44.0), Range(100.0, 80.0, 120.0), 4.0, Range(348, 268, 428)),
            "Making it costs USD 900, paid back after 2.6 years (2.1 to 3.4 years) if more greens are worth what "
            "greens cost today.",
        ),
        (
            PayBack(200.0, Range(-90, -99, -80), Range(10, 5, 15), 4.0, Range(-50, -80, -20)),
            "Making it costs USD 200, which greens at today's cost never pay back.",
        ),
        (
            PayBack(200.0, Range(0, -5, 5), Range(0, -5, 5), 4.0, Range(0, -9, 9)),
            "Making it costs USD 200, which nothing is sure to pay back.",
        ),
    ],
    ids=["no price", "free", "saves", "by greens", "never", "unsure"],
)
def test_pay_back_in_short(comparison: Any, found: PayBack | None, said: str) -> None:
    """One sentence beside the advice."""
    assert reasons.paid_in_short(replace(comparison.changes[0], pay_back=found), comparison) == said


def pay_back_of(comparison: Any, found: PayBack) -> str:
    """What is said of a pay-back."""
    return reasons.pay_back(replace(comparison.changes[0], pay_back=found), comparison)


def test_pay_back_keeps_money_and_kilograms_apart(comparison: Any) -> None:
    """Price, running costs, price of a kilogram more a year, and what is counted; no figure invented."""
    said = pay_back_of(
        comparison, PayBack(900.0, Range(-52.0, -60.0, -44.0), Range(100.0, 80.0, 120.0), 4.0, Range(348, 268, 428))
    )

    assert said.startswith(
        "Making the change costs USD 900; running costs rise by USD 52.00 a year (range USD 44.00 to"
    )
    assert "so money alone never pays it back" in said
    assert "100.0 kg more a year. Each kilogram more costs USD 9.00 of price" in said
    assert "it is paid back after 2.6 years (range 2.1 to 3.4 years)" in said
    assert said.endswith("Volunteer hours, interest and wear are not counted.")


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (
            PayBack(200.0, Range(100, 90, 110), Range(0, -5, 5), 4.0, Range(100, 70, 130)),
            "so by money alone it is paid back after 2.0 years",
        ),
        (
            PayBack(200.0, Range(0, -5, 5), Range(0, -5, 5), 4.0, Range(0, -9, 9)),
            "running costs may fall by up to USD 5.00 or rise by up to USD 5.00 a year, so money alone pays it back by",
        ),
        (
            PayBack(200.0, Range(-90, -99, -80), Range(10, 5, 15), 4.0, Range(-50, -80, -20)),
            "it is never paid back: it adds more to the running costs",
        ),
        (
            PayBack(0.0, Range(100, 90, 110), Range(0, -5, 5), 4.0, Range(100, 70, 130)),
            "Making the change costs nothing; it saves USD 100 of running costs a year (range USD 90.00 to 110).",
        ),
        (
            PayBack(200.0, Range(0, 0, 0), Range(0, 0, 0), 4.0, Range(0, 0, 0)),
            "running costs stay the same, so money alone never pays it back. That it brings more greens is not",
        ),
        (
            PayBack(200.0, Range(0, None, None), Range(0, None, None), 4.0, Range(0, None, None)),
            "what becomes of running costs cannot be said yet",
        ),
        (
            PayBack(0.0, Range(0, -9, 9), Range(0, -5, 5), 4.0, Range(0, -9, 9)),
            "may fall by up to USD 9.00 or rise by up to USD 9.00 a year. Volunteer hours, interest and wear are not",
        ),
    ],
    ids=["saves", "unsure", "never", "free", "nothing", "one year", "free, unsure"],
)
def test_every_kind_of_pay_back(comparison: Any, found: PayBack, said: str) -> None:
    """Certain savings, none, a change that costs nothing; one space between sentences, whichever are left out."""
    assert said in pay_back_of(comparison, found)
    assert "  " not in pay_back_of(comparison, found)


def tried(name: str, kg: Range) -> Tried:
    """Something tried, alone, that brings so many kilograms."""
    return Tried((Trial(name, "", {}),), kg, Range(0, 0, 0), None, 10)


def test_why_tells_what_moves_and_what_was_tried_then(comparison: Any) -> None:
    """What it loses and saves by what was waited for; after a change worth making what brings more on top of it, in
    today's room where none is; that nothing does; nothing where nothing was tried."""
    rack = replace(made_up(comparison, orders=(6, 8)).changes[0], moved=(
        Moved("no slot + people busy", 12.3, 9, 15), Moved("no harvest day", -4.0, -5, -3)))  # fmt: skip
    brings = Held((), was_tried=True, best=(tried("one more shelf", Range(1.0, 0.5, 1.5)),))
    nothing = Held((), was_tried=True, best=(tried("one more shelf", Range(0.2, -0.5, 0.9)),))
    made = replace(comparison, changes=(rack,), held=brings, held_with=rack)

    slots = (
        "With it 12 kg more in 70 days is lost because no place on the shelves is free and trays there wait for people."
    )
    days = "With it 4.0 kg less in 70 days is lost because no harvest day comes in time."
    then = "With a second rack, one more shelf: +1.0 kg a week (+0.5 to +1.5), tried in the same years."
    assert reasons.why(rack, made).startswith(f"{slots} {days} ")
    assert reasons.why(rack, made).endswith(then)
    assert words.why(made) == words.front(made).why == slots
    assert words.why(replace(made, changes=(rack, rack))) == f"A second rack: w{slots[1:]}"
    assert [words.advice(replace(made, changes=each))[-1] for each in ((rack,), (rack, rack))] == [then, then]
    assert words.front(made).advice[-1] == then
    assert words.advice(replace(made, held_with=None))[-1] == then.replace("With a second rack", "As the room is")
    none = "With a second rack, nothing we tried brings more for certain."
    assert words.advice(replace(made, held=nothing))[-1] == none
    assert len(words.advice(replace(made, held=None))) == 1
    assert words.why(replace(made, held=None)) == slots


@pytest.mark.parametrize(("kg", "is_why"), [(-2.4, False), (-2.6, True), (2.6, False)])
def test_why_is_no_cause_of_less_than_a_quarter_nor_one_that_goes_against_it(
    comparison: Any, kg: float, is_why: bool
) -> None:
    """A kilogram a week more in 70 days: 10 kg, of which 2.5 are a quarter."""
    more = judge(Difference(KG, 1.0, 0.9, 1.1, 1.0, 10), margin=0.1)
    opened = replace(comparison.changes[0], verdicts={KG: more}, moved=(Moved("closed", kg, kg - 1, kg + 1),))
    made = replace(comparison, changes=(opened,), held=None)

    assert bool(words.why(made)) is is_why
    assert ("because the room is closed" in reasons.why(opened, made)) is (abs(kg) > 2.5)


def test_shelves_on_which_nothing_more_is_sown_are_said_to_be_so(comparison: Any) -> None:
    """A second rack of twelve slots beside sixteen, no seed more, no greens more: why it brings nothing. With more seed
    sown, or more greens brought, there is nothing to say."""
    same = judge(Difference(KG, 0.0, -0.05, 0.05, 0.5, 20), margin=0.1)
    more = judge(Difference(KG, 2.0, 1.0, 3.0, 1.0, 20), margin=0.1)
    as_many = judge(Difference("seeds_sown", 0.0, 0.0, 0.0, 0.5, 20), margin=10.0)
    sown = judge(Difference("seeds_sown", 900.0, 800.0, 990.0, 1.0, 20), margin=10.0)
    rack = comparison.changes[0]
    told = "It adds 12 slots and sows nothing more on them. Today "

    def why(greens: Any, seeds: Any) -> str:
        return reasons.why(replace(rack, verdicts={KG: greens, "seeds_sown": seeds}), comparison)

    assert told in why(same, as_many)
    assert "of the 16 slots are in use." in why(same, as_many)
    assert told not in why(same, sown)
    assert told not in why(more, as_many)


def test_what_is_not_decided_is_said_with_what_would_decide_it(comparison: Any) -> None:
    """How many headlines, and about how many rehearsals more."""
    open_one = judge(Difference(KG, 0.3, -0.5, 1.1, 0.6, 10), margin=0.1)
    rack = comparison.changes[0]
    closed = {key: judge(Difference(key, 1.0, 0.9, 1.1, 1.0, 10), margin=0.1) for key in HEADLINES}
    undecided = replace(rack, verdicts={**closed, KG: open_one})
    alone = words.how_sure(replace(comparison, changes=(undecided,)))
    several = words.how_sure(replace(comparison, changes=(undecided, replace(rack, verdicts=closed))))

    # (0.8 / 0.3)^2 x 10 = 71.1, to two figures upwards: 72
    assert alone == (
        "From 10 rehearsals of 70 days, the same with and without. What becomes of the weight handed out may be "
        "chance; about 72 rehearsals would tell."
    )
    assert "1 of 8 differences may be chance" in several
    decided = replace(comparison, changes=(replace(rack, verdicts=closed),), planned_rounds=(10,))
    assert words.how_sure(decided) == (
        "From 10 rehearsals of 70 days, the same with and without; the ranges hold all at once, with 95% confidence."
    )
    sooner = words.how_sure(replace(decided, planned_rounds=(10, 12)))
    assert sooner.startswith("From 10 rehearsals of 70 days (of at most 12, for they decide it), the same")


def test_what_changes_for_certain_has_its_unit(comparison: Any) -> None:
    """Dim light: smaller plants, with grams said. Electricity explains no greens."""
    said = "; ".join(reasons.behind(comparison.changes[1], comparison))

    assert re.search(r"packed mass of a plant -\d+ g", said)
    assert "electricity" not in said


def test_orders_that_were_fewer_in_nine_years_of_ten_are_weighed_though_not_sure(comparison: Any) -> None:
    """More greens, and orders -7 to +1 of 100: what it loses by is why; it is no change to make."""
    one = made_up(comparison, orders=(-7, 1), kg=(1, 3))
    lost = Moved("no slot", 30.0, 20, 40)

    def judged(chance: float) -> Any:
        orders = judge(Difference(ORDERS, -0.03, -0.07, 0.01, chance, 20), 0.014)
        return replace(one.changes[0], verdicts={**one.changes[0].verdicts, ORDERS: orders}, moved=(lost,))

    assert (judged(0.1).judged, judged(0.2).judged) == ("weigh it", "make it")
    assert words.why(replace(one, changes=(judged(0.1),))).startswith("With it 30 kg more in 70 days is lost")
    best = replace(made_up(comparison, orders=(6, 8)).changes[0], moved=(replace(lost, kg=-9.0),))
    assert words.why(replace(one, changes=(judged(0.1), best))) == (
        "A second rack: with it 9.0 kg less in 70 days is lost because no place on the shelves is free. "
        "A second rack: with it 30 kg more in 70 days is lost because no place on the shelves is free."
    )


def test_every_sentence_is_plain(folder: Path) -> None:
    """At most 25 words, no forbidden word, no jargon on the first page."""
    assert of_answer(folder) == []


def test_nothing_is_called_certain_beside_what_may_be_chance(folder: Path) -> None:
    """One verdict a change; marks and cells say better, worse or chance, and shares are of 100, not points."""
    page = (folder / "report.html").read_text(encoding="utf-8")
    words_shown = re.sub(r"<style.*?</style>|<path[^>]*>|d=\"[^\"]*\"", "", page, flags=re.S)
    for word in ("not decided", ", for certain", " points"):
        assert word not in words_shown, word
