"""The report of a comparison: sentences first, every number with its range, the contract of summary.json."""

from __future__ import annotations

import csv
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

from growsim.report.compare import tables as comparison_tables
from growsim.report.compare import why as reasons
from growsim.report.compare import words
from growsim.report.compare.answer import write_comparison
from growsim.report.provenance import Provenance
from growsim.run.intervals import Difference
from growsim.study.pay_back import PayBack, Range
from growsim.study.room_air import DANGER
from growsim.study.verdicts import HEADLINES, judge

ORIGIN = Provenance("compare", "growsim compare scenarios/tiny rack.toml --seed 7", "ab" * 32)
KG, ORDERS, HOURS, COST = HEADLINES
FIGURES = ("gains", "other-headlines", "through-the-year", "limits")


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
    assert set(rack["limits"]) == {"people", "slots"}
    assert {each["verdict"] for each in summary["changes"]["nothing"]["differences"].values()} == {"none"}
    assert summary["answer"][0].startswith("Of 3 changes, over 10 rehearsals of 70 days of shared luck")


def test_the_page_opens_with_the_sentences_and_shows_every_figure(folder: Path) -> None:
    """Answer, then pictures with a caption; nothing is fetched; the same figures lie beside it as files."""
    page = (folder / "report.html").read_text(encoding="utf-8")
    first = json.loads((folder / "summary.json").read_text(encoding="utf-8"))["answer"][0]

    assert page.index(first.split(":")[0]) < page.index("What each change brings")
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

    assert "CO2" not in dict(words.answer(comparison))
    assert dict(words.answer(replace(comparison, changes=(feeding,))))["CO2"] == DANGER


def test_tables_have_one_row_an_observation(folder: Path, comparison: Any) -> None:
    """differences, measures, weeks, replications and limits, each with its room or change named."""

    def rows(name: str) -> list[dict[str, str]]:
        with (folder / name).open(encoding="utf-8", newline="") as file:
            return list(csv.DictReader(file))

    differences = rows("differences.csv")
    assert len(differences) == sum(len(changed.verdicts) for changed in comparison.changes)
    assert {row["room"] for row in rows("measures.csv")} == {"today", "rack", "dim", "nothing"}
    assert {row["room"] for row in rows("weeks.csv")} == {"today", "rack", "dim", "nothing"}
    assert len(rows("replications.csv")) == 40
    assert len(rows("limits.csv")) == 6


def test_the_same_comparison_gives_the_same_bytes(comparison: Any, folder: Path, tmp_path: Path) -> None:
    """Report, tables and figures."""
    again = tmp_path / "again"
    write_comparison(comparison, again, provenance=ORIGIN)
    names = sorted(path.relative_to(folder) for path in folder.rglob("*") if path.is_file())

    assert names == sorted(path.relative_to(again) for path in again.rglob("*") if path.is_file())
    assert [name for name in names if (folder / name).read_bytes() != (again / name).read_bytes()] == []


def verdict_of(comparison: Any, low: float, high: float, better: float = 0.9, key: str = KG) -> str:
    """What is said of a difference with this range, in greens."""
    found = judge(Difference(key, (low + high) / 2, low, high, better, 20), margin=0.1)
    return words.greens(found, comparison)


@pytest.mark.parametrize(
    ("low", "high", "opening"),
    [
        (
            1.0,
            3.0,
            "Yes, it brings more greens: 2.0 kg more a week on average (range 1.0 to 3.0 kg)",
        ),
        (-3.0, -1.0, "No, it brings fewer greens: 2.0 kg less a week on average (range 1.0 to 3.0 kg"),
        (0.02, 0.08, "It brings a little more, too little to matter: 0.05 kg"),
        (-0.08, -0.02, "It brings a little less, too little to matter: 0.05 kg"),
        (-0.05, 0.05, "It makes no difference to the greens that matters: between 0.05 kg less and 0.05 kg"),
        (-1.0, 3.0, "Whether it brings more greens is not decided after 20 rehearsals of 70 days: between 1.0 kg"),
        (0.0, 0.0, "It makes no difference to the greens at all"),
    ],
)
def test_each_verdict_is_said_plainly(comparison: Any, low: float, high: float, opening: str) -> None:
    """The verdict, its size, its range."""
    assert verdict_of(comparison, low, high).startswith(opening)


def test_fewer_greens_that_fill_more_orders_are_no_plain_no(comparison: Any) -> None:
    """A plan sown for the orders gives less to spare; the sentence begins with what it was made for."""
    fewer = judge(Difference(KG, -2.0, -3.0, -1.0, 0.0, 20), margin=0.1)
    fuller = judge(Difference(words.ORDERS, 0.17, 0.12, 0.21, 1.0, 20), margin=0.014)
    planned = replace(comparison.changes[0], verdicts={KG: fewer, words.ORDERS: fuller})
    only = replace(comparison, changes=(planned,))

    assert words.verdict(planned, only).startswith(
        "It fills more of the orders, with fewer greens in all: 2.0 kg less a week on average"
    )
    assert words.in_short(only).endswith(f"; more of the orders is filled all the same with {planned.title}.")

    emptier = judge(Difference(words.ORDERS, -0.17, -0.21, -0.12, 0.0, 20), margin=0.014)
    worse = replace(planned, verdicts={KG: fewer, words.ORDERS: emptier})
    assert words.verdict(worse, only).startswith("No, it brings fewer greens: ")
    assert "all the same" not in words.in_short(replace(comparison, changes=(worse,)))


def test_the_hours_of_work_stay_as_they_are(comparison: Any) -> None:
    """One figure, yet more than one hour."""
    fuller = judge(Difference(words.ORDERS, 0.17, 0.12, 0.21, 1.0, 20), margin=0.014)
    as_now = judge(Difference(HOURS, 0.0, -0.01, 0.01, 0.5, 20), margin=0.1)
    only = replace(comparison.changes[0], verdicts={words.ORDERS: fuller, HOURS: as_now})

    assert words.verdict(only, comparison).endswith(" The hours of work stay as they are now.")


def test_how_often_it_was_the_better_room(comparison: Any) -> None:
    """In years, not as a probability."""
    assert verdict_of(comparison, 1.0, 3.0, 0.95).endswith("and more in 19 of 20 rehearsals of 70 days")
    assert verdict_of(comparison, -3.0, -1.0, 0.0).endswith("and more in none of 20 rehearsals of 70 days")


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
    assert "100.0 kg more a year: USD 9.00 of price for each kilogram more a year" in said
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


def test_why_names_what_eats_the_gain(comparison: Any) -> None:
    """The share that a limit eats, what it would be without, and what holds back afterwards."""
    rack = comparison.changes[0]
    eaten = replace(
        rack.reliefs[0], part="eats", today=Range(3, 2, 4), without=Range(4, 3, 5), eaten=Range(1, 0.5, 1.5)
    )
    eased = replace(rack.reliefs[1], part="helps", without=Range(1, 0.5, 1.5))
    said = reasons.why(replace(rack, reliefs=(eaten, eased)), comparison)
    worse = replace(eaten, today=Range(-3, -4, -2), without=Range(1, 0.5, 1.5))

    assert said.startswith(
        "A lack of people eats 25% of the gain: with twice the people in every shift it would be 4.0 kg a week "
        "instead of 3.0 kg."
    )
    assert "It works by easing a lack of slots: if slots never ran out it would bring 1.0 kg" in said
    assert "ost is lost because" in said or "nothing is lost for waiting" in said
    assert "It is a lack of people that makes it so" in reasons.why(replace(rack, reliefs=(worse,)), comparison)
    still = replace(worse, without=Range(-2, -3, -1))
    told = reasons.why(replace(rack, reliefs=(still,)), comparison)
    assert "A lack of people is part of it: with twice the people in every shift the same change" in told
    assert "would bring 2.0 kg" in told


def test_shelves_on_which_nothing_more_is_sown_are_said_to_be_so(comparison: Any) -> None:
    """A second rack of twelve slots beside sixteen, no seed more, no greens more: why it brings nothing. With more seed
    sown, or more greens brought, there is nothing to say."""
    same = judge(Difference(KG, 0.0, -0.05, 0.05, 0.5, 20), margin=0.1)
    more = judge(Difference(KG, 2.0, 1.0, 3.0, 1.0, 20), margin=0.1)
    as_many = judge(Difference("seeds_sown", 0.0, 0.0, 0.0, 0.5, 20), margin=10.0)
    sown = judge(Difference("seeds_sown", 900.0, 800.0, 990.0, 1.0, 20), margin=10.0)
    rack = comparison.changes[0]
    told = "It adds 12 slots and sows nothing more on them, and today "

    def why(greens: Any, seeds: Any) -> str:
        return reasons.why(replace(rack, verdicts={KG: greens, "seeds_sown": seeds}), comparison)

    assert told in why(same, as_many)
    assert "of the 16 slots are in use on average: more shelves bring more greens where trays wait" in why(
        same, as_many
    )
    assert told not in why(same, sown)
    assert told not in why(more, as_many)


def test_what_is_not_decided_is_said_with_what_would_decide_it(comparison: Any) -> None:
    """How many headlines, and about how many rehearsals more."""
    open_one = judge(Difference(KG, 0.3, -0.5, 1.1, 0.6, 10), margin=0.1)
    rack = comparison.changes[0]
    closed = {key: judge(Difference(key, 1.0, 0.9, 1.1, 1.0, 10), margin=0.1) for key in HEADLINES}
    undecided = replace(rack, verdicts={**closed, KG: open_one})
    alone = words.not_decided(replace(comparison, changes=(undecided,)))
    several = words.not_decided(replace(comparison, changes=(undecided, replace(rack, verdicts=closed))))

    # (0.8 / 0.3)^2 x 10 = 71.1, to two figures upwards: 72
    assert alone == (
        "After 10 rehearsals of 70 days luck still hides what becomes of greens handed out; about 72 rehearsals would "
        "settle them (--replications 72)."
    )
    assert "1 of 8 headline differences (marked ? in the table)" in several
    assert words.not_decided(replace(comparison, changes=(replace(rack, verdicts=closed),))) == ""


def test_one_change_alone_is_answered_directly(comparison: Any) -> None:
    """The change by its name, why and pay-back; nothing 'in short' of a single change."""
    heads = [head for head, _ in words.answer(replace(comparison, changes=comparison.changes[:1]))]

    assert heads[:3] == [comparison.changes[0].title, "Why", "Pay-back"]


def test_fewer_years_than_a_rehearsal_are_told_of_where_the_figures_stand(folder: Path, comparison: Any) -> None:
    """Ten spells here, twenty in a rehearsal: said in the answer and under the table; nothing of as many."""
    said = dict(words.answer(comparison))["The room as it is now"]
    as_many = replace(comparison, outcomes=comparison.outcomes * 2)

    assert "told from 10 rehearsals of 70 days here" in said
    assert "`growsim rehearse` says more exactly, from 20 rehearsals." in said
    assert said in comparison_tables.side_by_side(comparison).note
    assert "says more exactly, from 20 rehearsals." in (folder / "report.html").read_text(encoding="utf-8")
    assert "The room as it is now" not in dict(words.answer(as_many))
    assert "rehearse" not in comparison_tables.side_by_side(as_many).note


def test_what_changes_for_certain_has_its_unit(comparison: Any) -> None:
    """Dim light: less electricity, with kilowatt-hours said."""
    said = "; ".join(reasons.behind(comparison.changes[1], comparison))

    assert re.search(r"electricity a week -\d+ kWh", said)
