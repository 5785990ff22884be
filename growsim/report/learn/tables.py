"""Tables of what was learned, ready to be shown, and the same as rows of CSV files."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from growsim import units
from growsim.report.learn.lead import (
    GROUPS,
    change_of,
    first_effects,
    is_next_to_nothing,
    names_of,
    range_of,
    range_text,
    share_of,
    value_text,
    where,
)
from growsim.report.tables import Table
from growsim.report.words import number, percent, short_date, upper_first
from growsim.run.writing import Cell
from growsim.study.learn.effects import effects_of

if TYPE_CHECKING:
    from growsim.study.learn.learned import Learned, Scored
    from growsim.study.learn.question import Learning

MOST_SHOWN = 40
MEASURES_HEAD = (
    "key", "what", "label", "unit", "room_file", "before_p10", "before_p50", "before_p90", "mean", "mean_low",
    "mean_high", "p10", "p50", "p90", "records", "records_are", "room_file_counts_as", "stays_near_room_file", "method",
)  # fmt: skip
EFFECTS_HEAD = ("keys", "unit", "a_week", "p10", "p90", "share_of_room", "clear_of_room_file")
WEEKS_HEAD = (
    "series", "unit", "week", "week_from", "came", "forecast_p10", "forecast_p50", "forecast_p90", "last_four_lowest",
    "last_four_mean", "last_four_highest",
)  # fmt: skip


def measures(learning: Learning) -> Iterator[list[Cell]]:
    """One row a figure: before and after."""
    for f in learning.figures:
        yield [
            f.key, f.what, f.label, f.unit, _r(f.stated), _r(f.before.low), _r(f.before.middle), _r(f.before.high),
            _r(f.after.mean), _r(f.after.q025), _r(f.after.q975), _r(f.after.low), _r(f.after.middle),
            _r(f.after.high), f.records, f.of, round(f.weight, 3), str(f.is_little).lower(), f.method,
        ]  # fmt: skip


def _r(value: float) -> float:
    return float(f"{value:.6g}")


def figures_table(learning: Learning, group: str) -> Table:
    """The figures of one group."""
    rows = tuple(_row(figure) for figure in learning.figures if figure.group == group)
    of = next((figure.of for figure in learning.figures if figure.group == group), "records")
    return Table(
        GROUPS[group],
        ("", "room file", "learned", "8 in 10 lie within", of, "room file counts as", "told by"),
        rows,
    )


def _row(figure: Learned) -> tuple[str, ...]:
    told = "room file" if figure.records == 0 else "mostly room file" if figure.is_little else "your record"
    label = figure.what if figure.group != "spreads" else f"{figure.what}: {figure.label}"
    if figure.group in ("minutes", "mending", "machines"):
        label = f"{figure.what}, {figure.label}"
    return (
        label,
        value_text(figure, figure.stated),
        value_text(figure, figure.after.middle),
        range_text(figure, figure.after.low, figure.after.high),
        number(figure.records),
        number(figure.weight, 1),
        told,
    )


def effects_table(learning: Learning) -> Table:
    """What each figure means a week, the largest first; what is clear of the room file before what is not."""
    rows = tuple(
        (
            names_of(effect),
            f"{change_of(effect)}{where(effect)}",
            "" if is_next_to_nothing(effect) else range_of(effect),
            share_of(effect),
            "yes" if effect.is_clear else "no",
        )
        for effect in first_effects(learning)
    )
    return Table(
        "What the learned figures mean a week",
        ("figure", "about", "8 in 10 lie within", "that is about", "clear of room file"),
        rows,
        "Each alone, on paper, against what the room file says. Together they bring a little more or less than their "
        "sum.",
    )


def effects_rows(learning: Learning) -> Iterator[list[Cell]]:
    """The effects for effects.csv."""
    for effect in effects_of(learning.figures, learning.before):
        yield [
            " ".join(figure.key for figure in effect.figures), f"{effect.kind}/week", _r(effect.change), _r(effect.low),
            _r(effect.high), _r(effect.share), str(effect.is_clear).lower(),
        ]  # fmt: skip


def read_table(learning: Learning) -> Table:
    """Table by table: rows read, used, set aside."""
    rows = tuple(
        (
            read.file,
            read.table,
            number(read.rows),
            number(read.used),
            number(read.set_aside),
            ", ".join(read.not_read) or "–",
        )
        for read in learning.records.tables
    )
    return Table("What was read", ("file", "table", "rows", "used", "set aside", "columns not read"), rows)


def aside_table(learning: Learning) -> Table:
    """Rows set aside, with their reason."""
    aside = learning.records.set_aside
    rows = tuple((f"{row.file} line {row.line}", row.reason) for row in aside[:MOST_SHOWN])
    note = f"{len(aside) - MOST_SHOWN} more are in set_aside.csv." if len(aside) > MOST_SHOWN else ""
    return Table("Rows set aside", ("row", "why"), rows, note)


def odd_table(learning: Learning) -> Table:
    """Rows that stand out."""
    ordered = sorted(learning.odd, key=lambda odd: odd.used)
    rows = tuple((f"{odd.file} line {odd.line}", odd.says, "yes" if odd.used else "no") for odd in ordered[:MOST_SHOWN])
    note = f"{len(ordered) - MOST_SHOWN} more are in odd_rows.csv." if len(ordered) > MOST_SHOWN else ""
    return Table("Rows that stand out", ("row", "what it says", "used for its figure"), rows, note)


def drift_table(learning: Learning) -> Table:
    """Figures that were other early than late."""

    def shown(value: float, unit: str) -> str:
        return percent(value, 1) if unit == "fraction" else f"{units.amount(value, unit):.3g} {units.unit(unit)}"

    rows = tuple(
        (each.what, shown(each.early, each.unit), short_date(each.since), shown(each.late, each.unit), each.lines)
        for each in learning.drift
    )
    return Table("Early and late", ("figure", "before", "until", "since", "rows"), rows)


def weeks_table(series: Scored) -> Table:
    """Week by week: what came, what was forecast, what the last four weeks would have said."""

    def shown(*values: float) -> str:
        return " to ".join(number(units.amount(value, series.unit), 1) for value in values)

    rows = tuple(
        (
            short_date(week.begins),
            shown(week.came),
            shown(week.forecast[0], week.forecast[2]),
            shown(week.forecast[1]),
            "yes" if week.forecast[0] <= week.came <= week.forecast[2] else "no",
            shown(week.naive[0], week.naive[2]),
        )
        for week in series.weeks
    )

    def loss(value: float) -> str:
        return f"{units.difference(value, series.unit):.3g} {units.unit(series.unit)}"

    note = (
        f"Pinball loss {loss(series.loss)}, against {loss(series.naive_loss)} for 'the same as the last four weeks'; "
        "less is better."
    )
    head = ("week from", "came", "forecast, 8 in 10", "middle", "inside", "last four weeks")
    return Table(f"{upper_first(series.label)}, {units.unit(series.unit)}, weeks held back", head, rows, note)


def weeks_rows(learning: Learning) -> Iterator[list[Cell]]:
    """The forecast-check weeks for weeks.csv."""
    if learning.forecast_check is None:
        return
    for series in learning.forecast_check.series:
        for number_, week in enumerate(series.weeks, start=1):
            yield [
                series.key, series.unit, number_, week.begins.isoformat(), _r(week.came),
                *(_r(value) for value in week.forecast), *(_r(value) for value in week.naive),
            ]  # fmt: skip
