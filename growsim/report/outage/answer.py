"""The report of `growsim outage`: its page, the chart for the wall, the sheets of what to do first, tables, summary."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

from growsim.report.frame import FIGURES, Answer, measures_of
from growsim.report.outage import lead, words
from growsim.report.outage import page as outage_page
from growsim.report.outage import sheets as outage_first
from growsim.report.outage.wall import by_urgency
from growsim.report.provenance import Provenance
from growsim.report.words import of_the_room
from growsim.run.writing import write_text
from growsim.vocabulary.questions import BY_NAME

if TYPE_CHECKING:
    from growsim.study.outage.question import Outages
    from growsim.study.outage.year import Worth
    from growsim.study.pay_back import Range

_, WALL_PAGE, FIRST_PAGES = (file for file, _ in BY_NAME["outage"].leaves)


def write_outages(outages: Outages, out: Path, *, provenance: Provenance, replace: bool = False) -> dict[str, Any]:
    """Write report.html, wall.html, what-to-do-first.html, summary.json, CSV tables and figures, all or nothing; give
    the summary. Raises OutputError where `out` exists (unless `replace`) or cannot be written."""
    answer = Answer(
        provenance, outages.scenario, outages.seed, outages.replications, outages.plan.days, outages.plan.lead_in_days,
        front=lead.front(outages),
    )  # fmt: skip

    def files(folder: Path) -> None:
        wall, first = outage_first.wall_page(outages, folder / FIGURES), outage_first.first_pages(outages)
        write_text(folder / WALL_PAGE, of_the_room(wall, outages.scenario))
        write_text(folder / FIRST_PAGES, of_the_room(first, outages.scenario))
        _write_tables(outages, folder)

    summary = answer.summary(measures_of(outages.estimates, answer.days), **_own(outages))
    return answer.write(
        out, summary, lambda folder: outage_page.compose(outages, answer, folder), files, replace=replace
    )


def _own(outages: Outages) -> dict[str, Any]:
    """What only this study has in its summary."""
    return {
        "value_per_kg": outages.year.value_per_kg,
        "time_left": [asdict(each) for each in by_urgency(outages)],
        "machines": {
            risk.machine: {
                "failures_per_year": _range(risk.failures),
                "hours_down": risk.hours_down,
                "years_with": risk.years_with,
                "lost_per_year": _worth(risk.lost),
                "plants_by_single_outages": outages.plants_by_single_outages.get(risk.machine),
            }
            for risk in outages.year.machines
        },
        "protections": [
            {
                "name": each.protection.name,
                "is_there": not each.protection.is_added,
                "setting": each.protection.setting,
                "was": each.protection.was,
                "price_per_year": each.protection.cost_per_year,
                "worth_per_year": _worth(each.worth),
                "left_per_year": None if each.net is None else _range(each.net),
                "verdict": words.verdict(each),
            }
            for each in outages.year.protections
        ],
        "pairs": [
            {
                "names": [pair.first.name, pair.second.name],
                "worth_per_year": _worth(pair.worth),
                "left_per_year": None if pair.net is None else _range(pair.net),
                "kg_alone": pair.kg_alone,
            }
            for pair in outages.year.pairs
        ],
        "measures_of": lead.AS_IT_IS,
        "start": outages.plan.start,
    }


def _range(found: Range) -> dict[str, float | None]:
    return {"mean": found.mean, "mean_low": found.low, "mean_high": found.high}


def _worth(worth: Worth) -> dict[str, Any]:
    return {
        "kg": _range(worth.kg),
        "plants": _range(worth.plants),
        "money": _range(worth.money),
        "years_alike": worth.years_alike,
        "years": worth.years,
    }


def _write_tables(outages: Outages, folder: Path) -> None:
    """machines.csv, protections.csv, single_outages.csv, time_left.csv, measures.csv, weeks.csv."""
    from growsim.run import results

    results.write_frame(folder / "machines.csv", outages.machines_frame())
    results.write_frame(folder / "protections.csv", outages.to_frame())
    results.write_frame(folder / "single_outages.csv", outages.hours_frame())
    results.write_frame(folder / "time_left.csv", outages.clock_frame())
    results.write_frame(folder / "measures.csv", results.measures_frame(outages.estimates, outages.plan.days))
    results.write_frame(folder / "weeks.csv", results.week_summary_frame(outages.year.outcomes).round(6))
