"""Known luck taken out of a mean: which luck is known, and what becomes of the mean."""

from __future__ import annotations

import datetime as dt
import tomllib
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pytest

from growsim.chance.streams import Luck, Stream
from growsim.run import replicate as replicating
from growsim.run.controls import Controls, KnownControls
from growsim.run.intervals import skewed_interval, summarize
from growsim.run.known_luck import ATTENDANCE, COMING, figures_in_doubt, known_luck
from growsim.run.precision import HEADLINE, rehearse_until_precise
from growsim.run.prepare import prepare
from growsim.run.replicate import replicate
from growsim.scenario.load import scenario_from
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario

ROOT = Path(__file__).parents[2]
RANGE = {"low": 0.8, "likely": 0.9, "high": 1.06}
PLAN = RunPlan(days=28, warm_up_days=7)


@pytest.fixture(scope="module")
def doubtful() -> Scenario:
    """The tiny room, of which every figure that can be in doubt is; Sunday's shift ends as the week does."""
    file = ROOT / "scenarios" / "tiny" / "room.toml"
    raw: dict[str, Any] = tomllib.loads(file.read_text("utf-8"))
    for crop in raw["crops"]:
        crop["germination_fraction"] = {"distribution": "normal", "mean": 0.95, "sd": 0.05}  # cut off at 1
        crop["typical_mass_g"] = {"low": 20, "likely": 25, "high": 32}
        crop["growth_pace"] = {"distribution": "lognormal", "mean": 1.0, "sd": 0.05}
        for stage in crop["stages"]:
            stage["loss_fraction"] = {"distribution": "beta", "mean": 0.03, "sd": 0.01}
    for task in raw["crew"]["tasks"]:
        task["minutes_factor"] = RANGE
    raw["crew"]["chance_doubt_sd"] = [0.1] * 12
    raw["crew"]["chance_spread_sd"] = 0.2
    raw["crew"]["shifts"].append(
        {"name": "night", "weekday": "sun", "start_hour": 22, "hours": 2, "people": 2, "lead": False}
    )
    raw["room"]["closed_days"] = [dt.date(2031, 1, 9)]
    return scenario_from(raw, str(file))[0]


def test_the_luck_known_is_the_luck_the_room_has(doubtful: Scenario, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every stream of a figure in doubt that the room opens is known of, but for repair times; and no other."""
    opened: set[str] = set()

    class Watched(Luck):
        def stream(self, name: str) -> Stream:
            opened.add(name)
            return super().stream(name)

    monkeypatch.setattr(replicating, "Luck", Watched)
    outcome = replicate(prepare(doubtful), 3, 0, PLAN)
    in_the_room = {name for name in opened if name.startswith("parameter.") and not name.endswith(".hours_factor")}

    assert {name for name, *_ in figures_in_doubt(doubtful)} | {COMING} == in_the_room
    assert set(known_luck(doubtful, 3, PLAN, [outcome])) == set()  # one year: nothing varies


def test_known_luck_is_nought_on_average(doubtful: Scenario) -> None:
    """Over many years every kind of known luck hovers around 0, people who came (simulated) among them."""
    prepared = prepare(doubtful)
    plan = RunPlan(days=28)
    outcomes = [replicate(prepared, 3, i, plan) for i in range(400)]
    luck = known_luck(doubtful, 3, plan, outcomes)
    off = {name: np.mean(values) / (np.std(values, ddof=1) / 20) for name, values in luck.items()}

    assert len(luck) == 2 * 3 + sum(len(crop.stages) for crop in doubtful.crops) + len(doubtful.crew.tasks) + 2
    assert {name: float(z) for name, z in off.items() if abs(z) > 3.5} == {}
    assert np.std(luck[ATTENDANCE]) > 1.0


def test_attendance_is_counted_as_the_room_counts(doubtful: Scenario) -> None:
    """Where everybody always comes, everybody expected came: closed days, months and midnight are reckoned alike."""
    crew = doubtful.crew.model_copy(
        update={"chance_of_coming": (1.0,) * 12, "chance_doubt_sd": (), "chance_spread_sd": 0.0}
    )
    sure = doubtful.model_copy(update={"crew": crew})
    for days, warm_up_days in ((28, 7), (28, 0), (31, 3), (182, 56)):
        plan = RunPlan(days=days, warm_up_days=warm_up_days)
        outcome = replicate(prepare(sure), 3, 0, plan)
        one_more = {**outcome.weeks, "volunteers_came": (*outcome.weeks["volunteers_came"][:-1], 1e9)}
        other = type(outcome)(1, outcome.measures, one_more, outcome.fates, outcome.accounts)

        assert known_luck(sure, 3, plan, [outcome, other])[ATTENDANCE][0] == 0.0


def years(n: int, q: int, seed: int = 1) -> tuple[dict[str, list[float]], np.ndarray]:
    """Luck of q kinds in n years, and a figure that owes much to it."""
    dice = np.random.default_rng(seed)
    luck = dice.normal(size=(q, n))
    figure = 40 + 3 * luck.sum(axis=0) + dice.normal(size=n)
    return {str(k): list(luck[k]) for k in range(q)}, figure


@pytest.mark.parametrize(("n", "q"), [(20, 1), (60, 9), (200, 4)])
def test_it_is_the_constant_of_a_regression(n: int, q: int) -> None:
    """The mean is the constant of ordinary least squares, its error that of HC3, by numpy's linear algebra."""
    luck, figure = years(n, q)
    found = Controls(luck, n).mean_of(list(figure))
    design = np.column_stack([np.ones(n), *luck.values()])
    inverse = np.linalg.inv(design.T @ design)
    solution = inverse @ design.T @ figure
    own = 1 - np.einsum("ij,jk,ik->i", design, inverse, design)
    error = np.sqrt(np.sum((inverse[0] @ design.T * (figure - design @ solution) / own) ** 2))

    assert found.mean == pytest.approx(solution[0], rel=1e-12)
    assert found.error == pytest.approx(error, rel=1e-10)
    assert found.freedom == n - q - 1
    assert found.worth == pytest.approx(figure.var(ddof=1) / n / error**2)


def test_luck_told_twice_counts_once() -> None:
    """A control that others say already, and one that is the same in all years, change nothing."""
    luck, figure = years(60, 3)
    plain = Controls(luck, 60).mean_of(list(figure))
    twice = luck | {"sum": [a + 2 * b for a, b in zip(luck["0"], luck["1"], strict=True)], "same": [0.7] * 60}
    again = Controls(twice, 60).mean_of(list(figure))

    assert again.freedom == plain.freedom
    assert again.mean == pytest.approx(plain.mean, rel=1e-12)


def test_parts_add_up_to_the_whole() -> None:
    """Means of parts still sum to the mean of their sum: all figures are corrected by the same weights."""
    luck, figure = years(60, 5)
    part = np.random.default_rng(3).normal(size=60)
    made = Controls(luck, 60)
    means = [made.mean_of(list(values)).mean for values in (figure, part, figure + part)]

    assert means[0] + means[1] == pytest.approx(means[2], rel=1e-12)


def test_too_few_years_are_taken_as_they_are(fakes: ModuleType) -> None:
    """Five years a control, or the plain mean and range."""
    luck, figure = years(19, 4)
    outcomes = [fakes.outcome(i, kg_packed_per_week=float(value)) for i, value in enumerate(figure)]
    estimate = summarize(outcomes, luck)["kg_packed_per_week"]

    assert (estimate.mean, estimate.mean_low, estimate.mean_high) == skewed_interval(list(figure))
    assert estimate.worth == 1.0
    with pytest.raises(ValueError, match="19 years are too few for 4 controls"):
        Controls(luck, 19)


def test_percentiles_stay_those_of_the_years(fakes: ModuleType) -> None:
    """Only means and their ranges change."""
    luck, figure = years(60, 4)
    outcomes = [fakes.outcome(i, kg_packed_per_week=float(value)) for i, value in enumerate(figure)]
    plain, controlled = summarize(outcomes)["kg_packed_per_week"], summarize(outcomes, luck)["kg_packed_per_week"]

    assert (controlled.p10, controlled.p50, controlled.p90) == (plain.p10, plain.p50, plain.p90)
    assert controlled.worth > 10
    assert controlled.mean_high - controlled.mean_low < (plain.mean_high - plain.mean_low) / 3  # type: ignore[operator]


def test_a_figure_that_some_years_lack_uses_the_luck_of_the_others() -> None:
    """The years that have it, with their own luck."""
    luck, figure = years(60, 3)
    having = list(range(10, 60))
    some = KnownControls(luck, 60).of(having)
    alone = Controls({name: values[10:] for name, values in luck.items()}, 50)

    assert some is not None
    assert some.mean_of(list(figure[10:])) == alone.mean_of(list(figure[10:]))


def test_precision_is_reached_sooner(fakes: ModuleType) -> None:
    """With known luck taken out, fewer years do; the range that stops it is the range that is told."""
    luck, figure = years(5000, 4, seed=8)

    def more(numbers: range) -> list[Any]:
        return [fakes.outcome(i, **{HEADLINE: float(figure[i])}) for i in numbers]

    def of(outcomes: Any) -> dict[str, list[float]]:
        return {name: [values[outcome.replication] for outcome in outcomes] for name, values in luck.items()}

    plain, _ = rehearse_until_precise(more, 1.0)  # type: ignore[arg-type]
    outcomes, precision = rehearse_until_precise(more, 1.0, luck_of=of)  # type: ignore[arg-type]
    told = summarize(outcomes, of(outcomes))[HEADLINE]

    assert len(outcomes) < len(plain) / 4
    assert told.mean_low is not None
    assert told.mean_high is not None
    assert precision.reached_percent == pytest.approx(50 * (told.mean_high - told.mean_low) / told.mean)
