"""Cross-checks of crops sown and harvested by the pot or tray: their trays, and how their seed is measured."""

from __future__ import annotations

from collections.abc import Iterator

from growsim.scenario import on_paper
from growsim.scenario.crop import Crop
from growsim.scenario.scenario import Scenario
from growsim.scenario.wording import Finding


def trays_stay_whole(scenario: Scenario) -> Iterator[Finding]:
    """What is sown by the tray stands in trays of one place, the same from seed to harvest."""
    trays = on_paper.trays_by_name(scenario)
    for crop in scenario.crops:
        if crop.sown_by != "tray":
            continue
        key = f"crops.{crop.name}.stages"
        names = list(dict.fromkeys(stage.tray for stage in crop.stages))
        if len(names) > 1:
            yield (
                key,
                f"is sown by the tray, and its stages name several kinds of tray ({', '.join(names)})",
                "name the same tray in every stage: it is carried from one to the next as it is",
            )
        for name in names:
            if name in trays and trays[name].places != 1:
                yield (
                    key,
                    f"is sown by the tray, and a {name} has {trays[name].places} places",
                    'name a tray with places = 1, or write sown_by = "pot" if each place is harvested by itself',
                )


def seed_is_measured_once(scenario: Scenario) -> Iterator[Finding]:
    """Seed is counted or weighed, and priced the same way."""
    for crop in scenario.crops:
        for name, problem, remedy in _seed_faults(crop):
            yield f"crops.{crop.name}.{name}", problem, remedy


def _seed_faults(crop: Crop) -> Iterator[Finding]:
    if crop.seed_g_each is None:
        if crop.sown_by == "tray":
            yield "seed_g_each", "is missing, and the crop is sown by the tray", "give the grams of seed on one tray"
        if crop.seed_price_per_kg:
            yield (
                "seed_price_per_kg",
                "is given, and no weight of seed",
                "give seed_g_each too, or the price of 1,000 seeds (seed_price_per_1000)",
            )
        return
    if not crop.is_cut_whole:
        yield (
            "seed_g_each",
            "is given, and the crop is sown seed by seed",
            'write sown_by = "pot" or "tray", or give seeds_per_cell instead',
        )
    if crop.seeds_per_cell > 1:
        yield "seeds_per_cell", "is given beside a weight of seed (seed_g_each)", "leave one of the two out"
    if crop.seed_price_per_1000:
        yield (
            "seed_price_per_1000",
            "is given, and seed goes by weight (seed_g_each)",
            "give the price of a kilogram (seed_price_per_kg) instead",
        )
