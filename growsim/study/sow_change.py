"""A sowing plan as the tables of a CHANGE file: the room file's own lines go, those of the plan come."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from growsim.spec.demand import Sowing
    from growsim.study.sow import SowingPlan


def change_tables(plan: SowingPlan) -> dict[str, Any]:
    """`sowing` of the CHANGE file; without anything to sow and without lines to take away, nothing."""
    gone = [{"name": line.name, "remove": True} for line in plan.room.scenario.sowing]
    lines = [*gone, *(_line(line) for line in plan.scenario.sowing)]
    return {"sowing": lines} if lines else {}


def _line(line: Sowing) -> dict[str, Any]:
    table: dict[str, Any] = {"name": line.name, "crop": line.crop, "cells": line.cells, "weekday": line.weekday}
    for key, date in (("from_date", line.from_date), ("until_date", line.until_date)):
        if date is not None:
            table[key] = date
    return table
