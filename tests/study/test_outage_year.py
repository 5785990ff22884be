"""The year's risk and the worth of protections; one given outage; the whole study."""

from __future__ import annotations

from dataclasses import FrozenInstanceError, astuple
from statistics import fmean
from typing import Any

import pytest
from outage_rooms import PLAN, TINY, frail, tiny

from growsim.errors import InputError
from growsim.ledger.aftermath import killed
from growsim.ledger.measures import WEEKS_A_YEAR
from growsim.ledger.outcome import Outage
from growsim.run.intervals import mean_interval
from growsim.scenario.equipment import PlannedOutage
from growsim.scenario.machines import undisturbed
from growsim.scenario.plan import RunPlan
from growsim.scenario.scenario import Scenario
from growsim.study.notebook import outage_event
from growsim.study.outage import year as the_year
from growsim.study.outage.event import OutageEvent, effect_of, study_event
from growsim.study.outage.question import Outages, study_outages
from growsim.study.outage.trials import Trials
from growsim.study.outage.year import joint_level, runs_at_most, weeks_shown

SEED = 21
SMALL = Trials(hours=(4.0, 48.0), start_hours=(0.0, 12.0), plant_replications=2, kg_replications=2)


@pytest.fixture(scope="module")
def studied() -> Outages:
    """The frail room, studied in little."""
    told: list[tuple[int, int]] = []
    found = study_outages(
        frail(),
        seed=SEED,
        replications=5,
        plan=PLAN,
        trials=SMALL,
        progress=lambda done, total: told.append((done, total)),
    )
    assert told[-1][0] == told[-1][1]  # what was promised has been done
    return found


def event(room: Scenario, machine: str, **more: object) -> OutageEvent:
    """One outage of the undisturbed tiny room."""
    given = {"name": "given", "machine": machine, "start_day": 21, "hours": 30.0, **more}
    return study_event(room, PlannedOutage.model_validate(given), seed=SEED, replications=4, plan=RunPlan(70, 56))


def test_all_that_can_fail_is_weighed(studied: Outages) -> None:
    """Every machine that can fail, every protection, and pairs of the best that can be added."""
    year = studied.year

    assert {risk.machine for risk in year.machines} == {"pump", "timer", "lights", "heat pump", "power"}
    assert all(risk.failures.mean > 0 for risk in year.machines)
    years = len(year.outcomes) * PLAN.days / 7.0 / WEEKS_A_YEAR
    for risk in year.machines:  # those of the warm-up are none of the year's
        spells = [
            spell
            for each in year.outcomes
            for spell in each.outages
            if spell.machine == risk.machine and spell.down_minute >= 0
        ]
        hours = [(each.repaired_minute - each.down_minute) / 60 for each in spells if each.repaired_minute is not None]
        assert risk.failures.mean == pytest.approx(len(spells) / years)
        assert risk.hours_down == pytest.approx(fmean(hours))
    assert [each.protection.is_added for each in year.protections] == sorted(
        (each.protection.is_added for each in year.protections), reverse=True
    )
    best = [each.protection.name for each in year.protections if each.protection.is_added and each.worth.kg.mean > 0]
    assert {name for pair in year.pairs for name in (pair.first.name, pair.second.name)} <= set(best[:3])


def test_a_machine_that_cannot_fail_saves_what_its_failures_kill(studied: Outages) -> None:
    """Droughts by the pump and the timer kill; so the year without them loses fewer plants, and not more than all."""
    lost = {risk.machine: risk.lost for risk in studied.year.machines}
    a_year = WEEKS_A_YEAR / (PLAN.days / 7)
    all_killed = a_year * fmean(killed(outcome) for outcome in studied.year.outcomes)

    assert 0 < lost["timer"].plants.mean <= all_killed
    assert lost["lights"].plants.mean <= 0.05 * all_killed


def test_two_roads_lead_to_the_same_losses(studied: Outages) -> None:
    """Plants killed a year, counted in the years and by single outages looked up: within a factor of two, both large.

    Coarse on purpose: two hours, the longer of which has all plants dry, and two starts are tried; five short years.
    """
    for risk in studied.year.machines:
        counted, looked_up = risk.lost.plants.mean, studied.plants_by_single_outages.get(risk.machine, 0.0)
        if counted > 100:
            assert counted / 2 < looked_up < 2 * counted, risk.machine


def test_years_in_which_nothing_fails_are_not_lived_twice(studied: Outages) -> None:
    """Fewer rehearsals than the most there could be; the count is in every worth."""
    for risk in studied.year.machines:
        assert risk.years_with == risk.lost.years - risk.lost.years_alike
    assert runs_at_most(frail(), 5) == 5 * (1 + 5 + 14 + 3)


def test_money_is_kilograms_at_what_they_cost_and_dearer_years(studied: Outages) -> None:
    """What a kilogram costs: all money of the year over all greens handed out."""
    money = sum(outcome.measures["cost_per_week"] * PLAN.days / 7 for outcome in studied.year.outcomes)
    greens = sum(outcome.accounts["kg:handed out"] for outcome in studied.year.outcomes)

    assert studied.year.value_per_kg == pytest.approx(money / greens)


def test_a_range_is_wide_enough_for_all_lines_at_once() -> None:
    """Bonferroni: five lines of three figures at 95 % together are 15 ranges at 99.67 %.

    Source: NIST/SEMATECH e-Handbook, section 7.4.7.3.
    """
    assert joint_level(5) == pytest.approx(1 - 0.05 / 15)
    one, many = (mean_interval([1.0, 2.0, 4.0], joint_level(lines), fewest=2) for lines in (1, 5))
    assert (many[2] or 0.0) > (one[2] or 0.0)


def test_an_outage_shows_from_its_week_until_its_plants_are_gone() -> None:
    """Weeks are those of the counted time; an outage of the warm-up may still show in the first of them."""
    week = 10080

    assert list(weeks_shown(Outage("pump", "reservoir", 2 * week + 5, None, 3 * week), 2, 10)) == [2, 3, 4, 5]
    assert list(weeks_shown(Outage("pump", "reservoir", -3 * week, None, -2 * week), 4, 10)) == [0, 1, 2]
    assert list(weeks_shown(Outage("pump", "reservoir", 8 * week, None, None), 4, 10)) == [8, 9]


def test_answers_are_frozen_and_come_as_tables(studied: Outages) -> None:
    """One row a protection and pair, machine, trial, line of the clock."""
    with pytest.raises(FrozenInstanceError):
        studied.seed = 1  # type: ignore[misc]

    assert len(studied.to_frame()) == len(studied.year.protections) + len(studied.year.pairs)
    assert len(studied.machines_frame()) == 5
    assert len(studied.hours_frame()) == len(studied.by_hours.losses) + len(studied.by_hours.kilograms)
    assert len(studied.clock_frame()) == len(studied.clock)
    assert set(studied.to_frame().columns) >= {"protection", "kg", "kg_low", "kg_high", "net", "years_alike"}


def test_any_number_of_workers_gives_the_same_answer() -> None:
    """One given outage by one worker and by two, to the last bit."""
    room = undisturbed(tiny())
    given = PlannedOutage(name="given", machine="pump", where="reservoir", start_day=10, hours=30.0)
    one, two = (
        study_event(room, given, seed=SEED, replications=3, plan=RunPlan(28, 28), workers=workers) for workers in (1, 2)
    )

    assert one == two


def test_a_dead_pump_kills_in_its_week_and_greens_go_missing_later() -> None:
    """Plants in the week it strikes, greens in the weeks in which they would have been harvested; parts add up."""
    found = event(undisturbed(tiny()), "pump", where="reservoir")
    struck = found.outage.start_day // 7

    assert [week.plants_lost.mean.mean for week in found.weeks[:struck]] == [0.0] * struck
    assert found.weeks[struck].plants_lost.mean.mean > 30
    assert found.killed.mean.mean == pytest.approx(sum(found.killed_by_stage.values()))
    assert found.kg_lost.mean.mean > 1.0
    so_far = found.weeks[-1].kg_missing_so_far.mean.mean
    assert so_far == pytest.approx(found.kg_lost.mean.mean, abs=1e-9)
    worst = max(week.kg_missing_so_far.mean.mean for week in found.weeks)
    assert found.kg_late == pytest.approx(worst - so_far)
    assert 6 <= found.floods_missed <= 8
    assert found.money.mean.mean > 0


def test_the_dark_makes_greens_late() -> None:
    """Five dark days: no plant dies of it, greens go missing for a while."""
    found = event(undisturbed(tiny()), "lights", hours=120.0)

    assert found.killed.mean.mean == 0.0
    assert max(week.kg_missing_so_far.mean.mean for week in found.weeks) > 1.0


def test_what_does_not_matter_costs_exactly_nothing() -> None:
    """CO2 at the outdoor set-point: every difference of every week is zero."""
    found = event(undisturbed(tiny()), "co2")
    nothing = effect_of([0.0, 0.0, 0.0, 0.0])

    assert {week.plants_lost for week in found.weeks} | {week.kg_missing for week in found.weeks} == {nothing}
    assert found.money == nothing


def test_an_outage_that_cannot_be_is_refused() -> None:
    """What is wrong and what would be right, in a sentence."""
    room = tiny()

    with pytest.raises(InputError, match="a pump belongs to a reservoir; name the reservoir: reservoir"):
        event(room, "pump", where="nowhere")
    with pytest.raises(InputError, match="serves the whole room"):
        event(room, "power", where="reservoir")
    with pytest.raises(InputError, match="ends with day 69"):
        event(room, "power", start_day=70)
    with pytest.raises(InputError, match="replications"):
        study_outages(room, seed=1, replications=1, plan=PLAN)
    with pytest.raises(InputError, match="days"):
        study_outages(room, seed=1, replications=2, plan=RunPlan(6, 0))
    with pytest.raises(InputError, match="machine"):
        outage_event(TINY, machine="toaster", day=3)


def test_pairs_are_worth_the_same_however_many_years_are_lived_again(
    studied: Outages, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every pair of this room to the last bit, against all years with both lived through.

    Source: no figure from outside; the long way is the measure of the short one.
    """
    acts, truly = [], the_year.may_act
    with monkeypatch.context() as patch:
        patch.setattr(the_year, "may_act", lambda *given: acts.append(truly(*given)) or acts[-1])
        short = _all_pairs(patch)
    assert False in acts  # some years were taken as they are: else nothing is tested here
    with monkeypatch.context() as patch:
        patch.setattr(the_year, "may_act", lambda protection, outcome: True)
        assert _all_pairs(patch) == short
    with monkeypatch.context() as patch:  # and were a year taken for the same that is not, this would show it
        patch.setattr(the_year, "may_act", lambda protection, outcome: False)
        assert _all_pairs(patch) != short


def test_a_second_year_is_lived_no_further_than_it_is_compared(
    studied: Outages, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same worth of everything, to the last bit but where a sum ends, as of years lived to their end; and fewer
    days. Source: no figure from outside; the long way is the measure of the short one.
    """
    truly, ends = the_year._Year._touched, []

    def to_the_end(self: Any, *given: Any) -> dict[int, int]:
        found = truly(self, *given)
        ends.extend(found.values())
        return {number: PLAN.days // 7 if weeks else 0 for number, weeks in found.items()}

    monkeypatch.setattr(the_year._Year, "_touched", to_the_end)
    long = study_outages(frail(), seed=SEED, replications=5, plan=PLAN, trials=SMALL).year

    assert min(ends) < PLAN.days // 7
    both = [
        ([risk.lost for risk in year.machines] + [each.worth for each in year.protections])
        for year in (studied.year, long)
    ]
    for short, full in zip(*both, strict=True):
        for name in ("kg", "plants", "money"):
            assert astuple(getattr(short, name)) == pytest.approx(astuple(getattr(full, name)))


def _all_pairs(patch: pytest.MonkeyPatch) -> tuple[object, ...]:
    """Worth of every pair among the best four protections, of two short years."""
    patch.setattr(the_year, "BEST_FEW", 4)
    found = study_outages(frail(), seed=SEED, replications=2, plan=PLAN, trials=SMALL)
    return tuple((pair.first.name, pair.second.name, pair.worth, pair.net) for pair in found.year.pairs)
