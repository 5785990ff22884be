"""The report of `growsim crew`: its page, its summary, its tables and figures, written in one go."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.ledger.catalogue import CATALOGUE
from growsim.report.crew import words as crew_words
from growsim.report.crew.page import CHANGE_FILE, compose
from growsim.report.frame import Answer, measures_of
from growsim.report.provenance import Provenance
from growsim.run.writing import write_text
from growsim.scenario.change import change_text
from growsim.study.crew.question import DOUBT
from growsim.study.rota import people_of, people_today

if TYPE_CHECKING:
    from growsim.study.crew.answer import CrewStudy, SeasonAnswer
    from growsim.study.tried import Held


def write_crew(
    study: CrewStudy, out: Path, *, provenance: Provenance, replace: bool = False, held: Held | None = None
) -> dict[str, Any]:
    """Write report.html, summary.json, crew.toml, CSV tables and figures into `out`, all or nothing; give the summary.

    held: what holds the room back, where people are not what is short. Raises OutputError where `out` exists (unless
    `replace`) or cannot be written.
    """
    answer = Answer(
        provenance, study.scenario, study.seed, len(study.outcomes), study.plan.days, study.plan.lead_in_days,
        front=crew_words.front(study, held),
    )  # fmt: skip

    def files(folder: Path) -> None:
        write_text(folder / CHANGE_FILE, sign_up_change(study))
        _write_tables(study, folder)

    summary = answer.summary(measures_of(study.estimates, answer.days), **_own(study))
    return answer.write(out, summary, lambda folder: compose(study, answer, folder, held), files, replace=replace)


def sign_up_change(study: CrewStudy) -> str:
    """The sign-up as a CHANGE file: people by month for every shift."""
    found = [(shift, list(study.people(number))) for number, shift in enumerate(study.scenario.crew.shifts)]
    shifts = [
        {"name": shift.name, "people": people_of(shift, people), "people_by_month": people} for shift, people in found
    ]
    return change_text(
        {"crew": {"shifts": shifts}},
        {"name": "the sign-up that growsim crew found"},
        (f"Made by `growsim crew`: the sign-up it found. `growsim compare ROOM {CHANGE_FILE}` says what it changes.",),
    )


def _own(study: CrewStudy) -> dict[str, Any]:
    """What only this answer has in its summary."""
    return {
        "measures_today": measures_of(study.today, study.plan.days),
        "people_by_month": {
            shift.name: {"today": list(people_today(shift)), "needed": list(study.people(number))}
            for number, shift in enumerate(study.scenario.crew.shifts)
        },
        "seasons": [_season_entry(each) for each in study.seasons],
        "one_less": {
            less.shift: {
                key: {
                    "label": CATALOGUE[key].label,
                    "unit": CATALOGUE[key].unit,
                    "mean": found.mean,
                    "low": found.low,
                    "high": found.high,
                    "n": found.n,
                }
                for key, found in less.differences.items()
            }
            for less in study.one_less
        },
        "crews": [{"crew": name, **asdict(rung), "places": list(rung.places)} for name, rung in study.named_rungs()],
        "late_first": asdict(study.late_first),
        "goals": {
            key: {**asdict(target), "asked": target.asked, "out_of_reach": target.out_of_reach}
            for key, target in study.targets.items()
        },
        "ended": study.end,
        "set_aside": None if study.set_aside is None else asdict(study.set_aside),
        "confidence": 1.0 - DOUBT,
        "aim": study.aim,
        "margin": study.margin,
        "at_least": study.at_least,
        "years_rehearsed": study.years,
        "years_searched": study.years_searched,
        "start": study.plan.start,
    }


def _season_entry(each: SeasonAnswer) -> dict[str, Any]:
    return {
        "months": [month + 1 for month in each.season.months],
        "weeks_counted": len(each.season.weeks),
        "chance_of_coming": each.chance,
        "recruiting_effort": each.hard,
        "sign_up": list(each.sign_up),
        "people": sum(each.sign_up),
        "people_low": each.low,
        "people_high": each.high,
        "orders_at_least": each.floor,
        "found": {key: dict(zip(("mean", "low", "high"), found, strict=True)) for key, found in each.values.items()},
        "last_people": each.last,
        "last_tasks": [
            {"task": task, "late": late, "late_without": without} for task, late, without in each.last_tasks
        ],
    }


def _write_tables(study: CrewStudy, folder: Path) -> None:
    """crew.csv, seasons.csv, one_less.csv, crews.csv, late_tasks.csv, measures.csv, weeks.csv."""
    from growsim.run import results
    from growsim.study.crew import answer

    results.write_frame(folder / "crew.csv", study.to_frame())
    results.write_frame(folder / "seasons.csv", answer.seasons_frame(study))
    results.write_frame(folder / "one_less.csv", answer.one_less_frame(study))
    results.write_frame(folder / "crews.csv", answer.crews_frame(study).round(6))
    results.write_frame(folder / "late_tasks.csv", answer.late_frame(study).round(6))
    results.write_frame(folder / "measures.csv", results.measures_frame(study.estimates, study.plan.days))
    results.write_frame(folder / "weeks.csv", results.week_summary_frame(study.outcomes).round(6))
