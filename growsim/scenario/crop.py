"""The crops: how they germinate, how long they stand in which tray, what they weigh when harvested."""

from __future__ import annotations

import math
from typing import Annotated, Literal

from pydantic import Field

from growsim.scenario.base import Table, figure, name_field
from growsim.scenario.uncertain import Uncertain, UncertainFactor, UncertainFraction, UncertainGrams


class Stage(Table):
    """One stage of a crop: in which tray, for how long at the room's set-points."""

    name: str = name_field("Name of the stage, as shelves name it.", "finishing")
    after: str = Field("", description="Name of the stage before it; empty for the first.")
    tray: str = name_field("Kind of tray it stands in.", "finishing tray")
    days: float = figure(
        "Days in this stage when all goes to plan.",
        "days",
        gt=0,
        le=365,
        plausible=(0.5, 150, "leafy greens stand days to weeks in a stage"),
    )
    latest_days: float = figure(
        "Days past the plan after which plants still waiting to move are thrown away.", "days", default=14, gt=0, le=365
    )
    loss_fraction: UncertainFraction = figure(
        "Share of plants lost by handling when they are moved into this stage.",
        "fraction",
        default=Uncertain(value=0.0),
    )


class Emergence(Table):
    """Days to germinate, and share that does relative to the best, against temperature. Straight lines between."""

    temperature_c: Annotated[tuple[Annotated[float, Field(ge=-5, le=60)], ...], Field(min_length=1, max_length=30)] = (
        figure("Temperatures, rising.", "°C")
    )
    days: Annotated[tuple[Annotated[float, Field(gt=0, le=365)], ...], Field(min_length=1, max_length=30)] = figure(
        "Days to germinate at each.", "days"
    )
    relative_fraction: Annotated[
        tuple[Annotated[float, Field(ge=0, le=1)], ...], Field(min_length=1, max_length=30)
    ] = figure("Share germinating at each, relative to the best (1 = as good as it gets).", "fraction")

    def at(self, temperature_c: float) -> tuple[float, float]:
        """Days and share at a temperature (°C), held level beyond the table."""
        ts = self.temperature_c
        if temperature_c <= ts[0]:
            return self.days[0], self.relative_fraction[0]
        for i in range(1, len(ts)):
            if temperature_c <= ts[i]:
                w = (temperature_c - ts[i - 1]) / (ts[i] - ts[i - 1])
                return (
                    self.days[i - 1] + w * (self.days[i] - self.days[i - 1]),
                    self.relative_fraction[i - 1] + w * (self.relative_fraction[i] - self.relative_fraction[i - 1]),
                )
        return self.days[-1], self.relative_fraction[-1]


class Crop(Table):
    """A crop or variety. 'Typical' figures are at the room's own set-points with every move on its day."""

    name: str = name_field("Name of the crop.", "butterhead")
    sown_by: Literal["seed", "pot", "tray"] = figure(
        "How it is sown. Seed: single seeds, one plant left in each cell. Pot (a clump of herbs) or tray (microgreens, "
        "in a tray of one place): seed strewn by weight or pinch, not thinned, harvested as one. Every figure of a "
        "plant is then one of a pot or tray.",
        default="seed",
    )
    seeds_per_cell: int = figure(
        "Seeds put into one cell; of a pot, the pinch. Leave out where seed goes by weight.",
        "seeds",
        default=1,
        ge=1,
        le=20,
    )
    seed_g_each: float | None = figure(
        "Seed strewn into each pot or tray, by weight.", "g", default=None, gt=0, le=5000, example=150
    )
    germination_fraction: UncertainFraction = figure(
        "Share of good seeds that germinate at the best temperature; a pot or tray weighs in proportion.",
        "fraction",
        plausible=(0.2, 1, "seed on sale germinates at 60 to 99 %"),
    )
    germination_spread_sd: float = figure(
        "Spread of that share from lot to lot (standard deviation).", "fraction", default=0.0, ge=0, le=0.4
    )
    emergence: Emergence = figure("Days to germinate against temperature.")
    stages: Annotated[tuple[Stage, ...], Field(min_length=1, max_length=8)] = figure(
        "The stages, from sowing to harvest."
    )
    typical_mass_g: UncertainGrams = figure(
        "Fresh mass of a plant when harvested on its typical day.",
        "g",
        plausible=(0.4, 2000, "a plant of leafy greens weighs 1 to 500 g, a cut tray of microgreens up to 1 kg"),
    )
    dry_matter_fraction: float = figure(
        "Dry share of the fresh mass.",
        "fraction",
        default=0.045,
        gt=0.005,
        le=0.5,
        plausible=(0.02, 0.2, "fresh greens are 4 to 10 % dry matter"),
    )
    seed_mass_mg: float = figure("Mass of one seed; the seedling starts from it.", "mg", default=1.1, gt=0.01, le=500)
    growth_rate: float | None = figure(
        "Pace of this crop on the growth model's clock; leave out and it is found from typical days and mass at the "
        "room's own set-points. A change to light, air or spacing keeps the pace found before the change.",
        "-",
        default=None,
        gt=0.01,
        le=100,
    )
    growth_pace: UncertainFactor = figure(
        "How fast it grows in this room against its typical days (1: as planned, 0.9: a tenth slower). What is not "
        "known of it is drawn once a replication.",
        "-",
        default=Uncertain(value=1.0),
    )
    days_spread_cv: float = figure(
        "Lot-to-lot spread of growing speed (sd/mean).", "fraction", default=0.04, ge=0, le=0.5
    )
    mass_spread_cv: float = figure("Plant-to-plant spread of mass (sd/mean).", "fraction", default=0.2, ge=0, le=1.5)
    harvest_from_mass_fraction: float = figure(
        "A lot is harvested once its mean mass reaches this share of the typical mass.",
        "fraction",
        default=0.85,
        gt=0.05,
        le=1.5,
    )
    smallest_mass_fraction: float = figure(
        "A plant lighter than this share of the typical mass is not handed out.", "fraction", default=0.35, ge=0, le=1
    )
    overgrown_after_days: float = figure(
        "Days of growing past ripe after which the plants are bitter or bolted and lost.",
        "days",
        gt=0,
        le=120,
        plausible=(1, 60, "ripe greens stand for days to some weeks"),
    )
    trimmed_fraction: float = figure(
        "Share of the harvested mass trimmed off before packing.",
        "fraction",
        default=0.05,
        ge=0,
        lt=1,
        plausible=(0, 0.5, "more than half trimmed off is a crop of stems"),
    )
    harvests: int = figure("How many times a plant is harvested.", "harvests", default=1, ge=1, le=12)
    regrowth_days: float = figure(
        "Days from one harvest to the next, at the room's set-points.",
        "days",
        default=14,
        gt=0,
        le=120,
        plausible=(4, 60, "cut greens grow again in one to four weeks"),
    )
    regrowth_mass_fraction: float = figure(
        "Mass of a later harvest as a share of the first.", "fraction", default=0.6, gt=0, le=1.5
    )
    shelf_life_days: float = figure(
        "Days it keeps in the cooler.",
        "days",
        gt=0,
        le=90,
        plausible=(1, 30, "cut greens keep days to two weeks in a cooler"),
    )
    heat_limit_c: float = figure(
        "Air above this harms the plants.",
        "°C",
        default=32,
        ge=15,
        le=60,
        plausible=(24, 48, "leafy greens stand up to 28 to 40 °C"),
    )
    heat_half_loss_degree_hours: float = figure(
        "Degree-hours above the limit that kill half the plants.", "°C h", default=60, gt=0, le=1e5
    )
    cold_limit_c: float = figure(
        "Air below this harms the plants.",
        "°C",
        default=0,
        ge=-30,
        le=20,
        example=10,
        plausible=(-6, 15, "leafy greens are hurt below -3 to 12 °C"),
    )
    cold_half_loss_degree_hours: float = figure(
        "Degree-hours below that limit that kill half the plants.", "°C h", default=24, gt=0, le=1e5, example=100
    )
    dry_half_loss_hours: float = figure(
        "Hours with an empty plug that kill half the plants.", "h", default=12, gt=0, le=2000
    )
    seed_price_per_1000: float = figure("Price of 1,000 seeds.", "money", default=0.0, ge=0, le=1e6)
    seed_price_per_kg: float = figure("Price of seed that goes by weight.", "money/kg", default=0.0, ge=0, le=1e6)

    @property
    def is_cut_whole(self) -> bool:
        """Whether all that was sown in a cell is harvested as one, as a pot or a tray."""
        return self.sown_by != "seed"

    @property
    def sown_unit(self) -> str:
        """What is sown as one: "cell", or "pot" or "tray" that is harvested whole."""
        return self.sown_by if self.is_cut_whole else "cell"

    @property
    def unit(self) -> str:
        """What is harvested as one: "plant", "pot" or "tray"."""
        return self.sown_by if self.is_cut_whole else "plant"

    @property
    def seeds_counted(self) -> int:
        """What a cell adds to the seeds sown: its seeds, or 1 where it is harvested whole."""
        return 1 if self.is_cut_whole else self.seeds_per_cell

    @property
    def seed_sown_g(self) -> float:
        """Seed in one cell (g)."""
        return self.seeds_per_cell * self.seed_mass_mg / 1000.0 if self.seed_g_each is None else self.seed_g_each

    @property
    def seed_price(self) -> float:
        """Price of what counts as one seed sown."""
        if self.seed_g_each is not None:
            return self.seed_g_each / 1000.0 * self.seed_price_per_kg
        each = self.seed_price_per_1000 / 1000.0
        return each * self.seeds_per_cell if self.is_cut_whole else each

    @property
    def typical_days(self) -> float:
        """Days from sowing to harvest when all goes to plan."""
        return math.fsum(stage.days for stage in self.stages)

    def stages_in_order(self) -> tuple[Stage, ...]:
        """Stages from the first on, following `after`. Raises ValueError where they make no single line."""
        by_predecessor: dict[str, Stage] = {}
        for stage in self.stages:
            if stage.after in by_predecessor:
                raise ValueError(f"two stages come after {stage.after!r}" if stage.after else "two stages come first")
            by_predecessor[stage.after] = stage
        ordered: list[Stage] = []
        here = ""
        while here in by_predecessor and len(ordered) < len(self.stages):
            ordered.append(by_predecessor[here])
            here = ordered[-1].name
        if len(ordered) != len(self.stages):
            raise ValueError("the stages do not make one line from first to last")
        return tuple(ordered)
