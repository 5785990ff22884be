"""The pages to print: the chart for the wall on one sheet, and a sheet of what to do first for each machine."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from growsim.report import cautions
from growsim.report.outage_sheets import sheets
from growsim.report.page import environment

if TYPE_CHECKING:
    from growsim.study.outage import Outages

FOOT = (
    "Worked out by growsim from the room's own description: a guide, not a promise, and no safety limit. Follow the "
    "local code; wiring and the heat pump are for licensed people."
)


def wall_page(outages: Outages, figure_folder: Path) -> str:
    """The chart for the wall as a page of its own. `figure_folder` holds wall.svg."""
    svg = (figure_folder / "wall.svg").read_text(encoding="utf-8")
    return (
        environment()
        .get_template("wall.html")
        .render(
            room=outages.scenario.room.name,
            note=outages.scenario.room.note,
            svg=svg[svg.index("<svg") :],
            caution=cautions.WATER_AND_POWER,
            foot=FOOT,
        )
    )


def first_pages(outages: Outages) -> str:
    """A sheet for each machine, in the order of time left."""
    return (
        environment()
        .get_template("first.html")
        .render(
            room=outages.scenario.room.name,
            note=outages.scenario.room.note,
            sheets=sheets(outages),
            foot=FOOT,
        )
    )
