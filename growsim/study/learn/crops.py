"""What the table of trays teaches about each crop: seeds that germinate, losses in handling, growth and mass."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import Any

import numpy as np

from growsim.growth.crops import Curves
from growsim.growth.germination import relative_emergence
from growsim.scenario.crop import Crop
from growsim.scenario.record.record import PlantingRow, Row
from growsim.scenario.scenario import Scenario
from growsim.study.learn.curve import PlanCurve, curves_by_mass
from growsim.study.learn.grid import Posterior
from growsim.study.learn.growth import PACE_LOG_SD, ROUGHNESS, SPREAD_LOG_SD, Ripening, learn_growth, ripening_of
from growsim.study.learn.learned import Drift, Known, Learned, Lesson, Odd
from growsim.study.learn.odd import Seen, drift_of, odd_rows
from growsim.study.learn.pasts import Around, Pasts
from growsim.study.learn.prior import Prior, figure_table, known_from, lognormal_known, prior_of, wider
from growsim.study.learn.shares import Hits, learn_share
from growsim.vocabulary.losses import TRANSPLANTING

BARE_GERMINATION_SD, BARE_MASS_CV, BARE_LOSS_SD = 0.05, 0.10, 0.01
# Log sd of pace and of mass: late moves, warm days, dry reservoirs and unlike shelves that the trays do not tell of.
PACE_DOUBT, MASS_DOUBT = 0.007, 0.006
NOT_YET_CUT = 1.25  # sowings younger than so many times their typical days may not all be harvested
_SEEDS = "beta-binomial with overdispersion (Johnson, Kemp & Kotz 2005; Gelman et al. 2013)"
_GROWTH = "interval-censored ripening and mass on the room's growth curve (van Henten 1994; Klein & Moeschberger 2003)"


def lesson_of_crop(
    crop: Crop, scenario: Scenario, curves: Curves, trays: Sequence[PlantingRow], around: Around, said: str
) -> Lesson:
    """Everything the trays of a crop teach. said: which record it is, for the sources in the CHANGE file."""
    rows = [row for row in trays if row.crop == crop.name]
    seeds = None if crop.is_cut_whole else _seeds(crop, scenario, rows, said)  # who counts the seed strewn in a tray?
    losses = _losses(crop, rows, said)
    growth = _growth(crop, scenario, curves, rows, around, said)
    parts = [part for part in (seeds, losses, growth) if part is not None]
    merged: dict[str, Any] = {"name": crop.name}
    for part in parts:
        for piece in part.change:
            merged.update(piece)
    return Lesson(
        figures=tuple(figure for part in parts for figure in part.figures),
        change=({"crops": [merged]},) if len(merged) > 1 else (),
        odd=tuple(odd for part in parts for odd in part.odd),
        drift=tuple(drift for part in parts for drift in part.drift),
        notes=tuple(note for part in parts for note in part.notes),
    )


def _seeds(crop: Crop, scenario: Scenario, rows: Sequence[PlantingRow], said: str) -> Lesson:
    """Share of seed that germinates, and its spread from sowing to sowing."""
    temperature, table = scenario.climate.air_temperature_c, crop.emergence
    relative = max(0.02, relative_emergence(temperature, table.temperature_c, table.relative_fraction))
    counted = [row for row in rows if row.cells and row.emerged is not None]
    seen = [
        Seen(row, (row.emerged or 0) / (row.cells or 1), math.sqrt(0.1 / (row.cells or 1)) + 0.02) for row in counted
    ]
    odd, out = odd_rows(
        seen,
        lambda each, middle: (
            f"{_of(each.row, 'emerged')} of {_of(each.row, 'cells')} cells germinated; "
            f"{round(100 * middle)}% is usual here"
        ),
    )
    kept = [row for row in counted if row not in out]
    p = crop.germination_fraction.expected()
    cells = float(np.median([row.cells or 1 for row in kept])) if kept else 72.0
    record_sd = math.sqrt(crop.germination_spread_sd**2 + p * (1 - p) / cells)
    prior = prior_of(crop.germination_fraction, record_sd, BARE_GERMINATION_SD)
    share = learn_share(
        [Hits(row.cells or 0, row.emerged or 0, row.seeds_per_cell or crop.seeds_per_cell) for row in kept],
        prior,
        crop.germination_spread_sd,
        relative=relative,
    )
    n, key = len(kept), f"crops.{crop.name}"
    spread_before = lognormal_known(math.log(max(crop.germination_spread_sd, 0.0025)), SPREAD_LOG_SD)
    figures = (
        _learned(f"{key}.germination_fraction", "seeds", crop, "seeds that germinate", "fraction", p, share.before,
                 share.mean, n, prior.weight, _SEEDS),
        _learned(f"{key}.germination_spread_sd", "spreads", crop, "spread of that from sowing to sowing", "fraction",
                 crop.germination_spread_sd, spread_before, share.spread, n, 4.0, _SEEDS),
    )  # fmt: skip
    change: list[dict[str, Any]] = []
    if n:
        source = _source(n, prior.weight, said, share.mean, "{:.1%}")
        change.append({
            "germination_fraction": figure_table("beta", share.mean.mean, share.mean.sd, source),
            "germination_spread_sd": float(f"{min(0.4, share.spread.mean):.3g}"),
        })  # fmt: skip
    kept_seen = [each for each in seen if each.row not in out]
    return Lesson(
        figures, tuple(change), tuple(odd), tuple(drift_of(kept_seen, f"{crop.name}: cells that germinate", "fraction"))
    )


def _losses(crop: Crop, rows: Sequence[PlantingRow], said: str) -> Lesson | None:
    """Share of plants lost in handling over all moves, shared out over the moves as the room file has it."""
    moves = crop.stages_in_order()[1:]
    if not moves:
        return None
    counted: list[tuple[PlantingRow, int]] = []
    unsaid = 0
    for row in rows:
        if not row.emerged or row.lost is None or row.harvested is None or row.harvest_number != 1:
            continue
        if row.lost_to is None:
            unsaid += 1
            continue
        counted.append((row, dict(row.lost_to).get(TRANSPLANTING.record_word, 0)))
    expected = [stage.loss_fraction.expected() for stage in moves]
    total = min(0.9, math.fsum(expected))
    variances = [prior_of(stage.loss_fraction, 1e9, max(BARE_LOSS_SD, stage.loss_fraction.expected())).sd ** 2
                 if stage.loss_fraction.is_fixed else prior_of(stage.loss_fraction, 0.0, 0.0).sd ** 2
                 for stage in moves]  # fmt: skip
    plants = float(np.median([row.emerged or 1 for row, _ in counted])) if counted else 60.0
    center = max(total, 0.005)
    record_sd = math.sqrt(center * (1 - center) / plants)
    sd = max(math.sqrt(math.fsum(variances)), record_sd / 3)
    prior = Prior(center, sd, (record_sd / sd) ** 2)
    share = learn_share([Hits(row.emerged or 0, lost) for row, lost in counted], prior, 0.0)
    n = len(counted)
    figure = _learned(
        f"crops.{crop.name}.handling_loss", "losses", crop, "plants lost in moving, all moves together", "fraction",
        total, share.before, share.mean, n, prior.weight, _SEEDS,
    )  # fmt: skip
    notes = (f"{crop.name}: {unsaid} rows say how many plants were lost but not why; they teach nothing about "
             "handling.",) if unsaid else ()  # fmt: skip
    if not n:
        return Lesson((figure,), notes=notes)
    shares = (
        [part / math.fsum(expected) for part in expected] if math.fsum(expected) > 0 else [1 / len(moves)] * len(moves)
    )
    squares = math.sqrt(math.fsum(part**2 for part in shares))
    stages = [
        {
            "name": stage.name,
            "loss_fraction": figure_table(
                "beta",
                max(1e-4, share.mean.mean * part),
                max(1e-5, share.mean.sd * part / squares),
                _source(n, prior.weight, said, share.mean, "{:.2%} over all moves"),
            ),
        }
        for stage, part in zip(moves, shares, strict=True)
        if part > 0
    ]
    return Lesson((figure,), ({"stages": stages},), notes=notes)


def _growth(
    crop: Crop, scenario: Scenario, curves: Curves, rows: Sequence[PlantingRow], around: Around, said: str
) -> Lesson:
    """Pace, its spread from sowing to sowing, and mass."""
    curve = PlanCurve(scenario, crop, curves.growth_rate[crop.name], curves.environments)
    by_mass = curves_by_mass(scenario, crop, curves.environments)
    pasts = Pasts(scenario, curve, around)
    cut = _old_enough(crop, _first_goes(rows))
    odd, out_days, days_drift = _odd_days(crop, cut)
    in_time = [row for row in cut if row not in out_days]
    odd_mass, out_mass, mass_drift = _odd_masses(crop, in_time)
    ripenings: list[Ripening] = []
    for row in in_time:
        made = ripening_of(by_mass, row, pasts)
        if made is not None:
            ripenings.append(made if row not in out_mass else made.unweighed())
    pace = prior_of(crop.growth_pace, math.hypot(crop.days_spread_cv, 0.03), PACE_LOG_SD)
    weighed = sum(each.is_weighed for each in ripenings)
    mass = prior_of(
        crop.typical_mass_g,
        math.hypot(3 * crop.days_spread_cv, ROUGHNESS),  # mass goes about as the cube of speed
        BARE_MASS_CV,
        center=crop.typical_mass_g.expected(),
    )
    after, before = learn_growth(ripenings, pace, crop.days_spread_cv, mass)
    figures = _growth_figures(crop, curve, before, after, len(ripenings), weighed, pace, mass)
    change: dict[str, Any] = {}
    if ripenings:
        found = known_from(np.exp(after.axes[0]), after.marginal(0))
        found = wider(found, PACE_DOUBT * found.middle)
        change["growth_pace"] = figure_table(
            "lognormal",
            found.mean,
            found.sd,
            _source(len(ripenings), pace.weight, said, figures[0].after, "{:.1f} days"),
        )
        change["days_spread_cv"] = float(f"{min(0.5, figures[1].after.mean):.3g}")
    if weighed:
        known = figures[2].after
        change["typical_mass_g"] = figure_table(
            "lognormal", known.mean, known.sd, _source(weighed, mass.weight, said, known, "{:.1f} g")
        )
    return Lesson(
        figures, (change,) if change else (), (*odd, *odd_mass), (*days_drift, *mass_drift),
        notes=_unsaid_moves(crop, [each.row for each in ripenings]),
    )  # fmt: skip


def _unsaid_moves(crop: Crop, rows: Sequence[PlantingRow]) -> tuple[str, ...]:
    """What to write down next time, where a second move is missing."""
    unsaid = sum(row.transplanted_again is None for row in rows)
    if len(crop.stages) < 3 or not unsaid:
        return ()
    return (
        f"{crop.name}: {unsaid} of {len(rows)} sowings do not say when they were moved the second time. So every "
        "likely day counts and the ranges are wider; a date under transplanted_again makes them narrower.",
    )


def _growth_figures(
    crop: Crop, curve: PlanCurve, before: Posterior, after: Posterior, cut: int, weighed: int, pace: Prior, mass: Prior
) -> tuple[Learned, Learned, Learned]:
    grows = crop.typical_days - curve.days_up

    def days(found: Posterior, n: int) -> Known:
        known = known_from(curve.days_up + grows / np.exp(found.axes[0]), found.marginal(0))
        return wider(known, PACE_DOUBT * grows) if n else known

    def grams(found: Posterior, n: int) -> Known:
        known = known_from(crop.typical_mass_g.expected() * np.exp(found.axes[2]), found.marginal(2))
        return wider(known, MASS_DOUBT * known.middle) if n else known

    key = f"crops.{crop.name}"
    spreads = [known_from(np.exp(found.axes[1]), found.marginal(1)) for found in (before, after)]
    return (
        _learned(f"{key}.days_to_typical_mass", "days", crop, "days from sowing to harvest weight", "days",
                 curve.days_up + grows / pace.mean, days(before, 0), days(after, cut), cut, pace.weight, _GROWTH),
        _learned(f"{key}.days_spread_cv", "spreads", crop, "spread of growing speed between sowings", "fraction",
                 crop.days_spread_cv, spreads[0], spreads[1], cut, 4.0, _GROWTH),
        _learned(f"{key}.typical_mass_g", "mass", crop, "harvest weight of a plant", "g",
                 crop.typical_mass_g.expected(), grams(before, 0), grams(after, weighed), weighed, mass.weight,
                 _GROWTH),
    )  # fmt: skip


def _first_goes(rows: Sequence[PlantingRow]) -> list[PlantingRow]:
    """First harvests; of a sowing harvested in several goes only the row that tells of its cells: the others waited
    for hands.
    """
    told = {row.sown for row in rows if row.cells}
    return [
        row
        for row in rows
        if row.harvested is not None and row.harvest_number == 1 and (row.cells or row.sown not in told)
    ]


def _old_enough(crop: Crop, cut: Sequence[PlantingRow]) -> list[PlantingRow]:
    """Sowings so old that even slow ones have been harvested by now; all of them where the record is too short for
    that.
    """
    if not cut:
        return []
    last = max(row.date for row in cut) - dt.timedelta(days=round(NOT_YET_CUT * crop.typical_days) + 7)
    old = [row for row in cut if row.sown <= last]
    return old if 2 * len(old) >= len(cut) else list(cut)


def _odd_days(crop: Crop, cut: Sequence[PlantingRow]) -> tuple[list[Odd], list[Row], list[Drift]]:
    seen = [Seen(row, float((row.date - row.sown).days), 2.5) for row in cut]
    odd, out = odd_rows(
        seen, lambda each, middle: f"{each.value:.0f} days from sowing to harvest; {middle:.0f} are usual here"
    )
    return (
        odd,
        out,
        drift_of([each for each in seen if each.row not in out], f"{crop.name}: days from sowing to harvest", "days"),
    )


def _odd_masses(crop: Crop, cut: Sequence[PlantingRow]) -> tuple[list[Odd], list[Row], list[Drift]]:
    seen = [
        Seen(row, math.log(row.grams / row.plants), 0.08) for row in cut if row.grams and row.plants and row.plants > 0
    ]
    odd, out = odd_rows(seen, lambda each, middle: f"{_grams(each.value)} a plant; {_grams(middle)} are usual here")
    kept = [each for each in seen if each.row not in out]
    return odd, out, drift_of(kept, f"{crop.name}: grams a plant when harvested", "g", math.exp)


def _grams(log_grams: float) -> str:
    grams = math.exp(log_grams)
    return f"{grams:,.0f} g" if grams >= 100 else f"{grams:.3g} g"


def _of(row: Row, name: str) -> object:
    return getattr(row, name)


def _learned(
    key: str, group: str, crop: Crop, label: str, unit: str, stated: float, before: Known, after: Known, n: int,
    weight: float, method: str,
) -> Learned:  # fmt: skip
    return Learned(key, group, crop.name, label, unit, stated, before, after, n, "sowings", weight, method)


def _source(n: int, weight: float, said: str, known: Known, shown: str) -> str:
    """What stands beside a learned figure in the CHANGE file."""
    low, high = shown.format(known.low).split(" over")[0], shown.format(known.high)
    return (
        f"learned from {n} sowing{'s' if n != 1 else ''} ({said}); 8 in 10: {low} to {high}; "
        f"the room file counted as {weight:.1f}"
    )
