"""Where a room may stand: its units, money, holidays and order of dates, and the published limits that a caution may
cite there, or none.

A limit is cited only where it holds. One whose text was not at hand when it was written here says so beside it; a
region without one sends the reader to its own authority.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, get_args

RegionName = Literal["US", "UK", "EU", "Norway", "Canada", "Australia and New Zealand", "elsewhere"]
REGION_NAMES: Final[tuple[RegionName, ...]] = get_args(RegionName)


@dataclass(frozen=True)
class ColdChain:
    """How cold perishable greens are kept, at most (°C), by whom, and of what.

    warm_hours: how long they may be warmer before they are thrown away, by warm_source; None where nobody says.
    """

    at_most_c: float
    of: str
    source: str
    warm_hours: float | None = None
    warm_source: str = ""


@dataclass(frozen=True)
class AirLimit:
    """CO2 in the air of a workplace: ppm, over how long (or what it is), by whom."""

    ppm: int
    over: str
    source: str


@dataclass(frozen=True, kw_only=True)
class Region:
    """One region. month_first: "March 13, 2031", not "13 March 2031". currency: "" where there is no one. holidays:
    (month, day) of those that are the same each year, to begin from. electricity_per_kwh: what households pay, in its
    currency. weather: the city to begin from. All three from memory. languages: of a browser that
    is most likely there. guarded: what an outlet beside water is called.

    rules: of growing greens for others, of which the local authority says whether they hold; '' for none named here.
    """

    name: RegionName
    month_first: bool = False
    units: Literal["metric", "us"] = "metric"
    currency: str = ""
    electricity_per_kwh: float = 0.25
    weather: str = "New York"
    languages: tuple[str, ...] = ()
    holidays: tuple[tuple[int, int], ...] = ((12, 25),)
    guarded: str = "outlets guarded against earth faults"
    cold: ColdChain | None = None
    carbon_dioxide: tuple[AirLimit, ...] = ()
    rules: str = ""


_EIGHT_HOURS: Final = "over eight hours"

REGIONS: Final[tuple[Region, ...]] = (
    Region(
        name="US",
        month_first=True,
        units="us",
        currency="USD",
        electricity_per_kwh=0.17,
        languages=("en-us",),
        holidays=((7, 4), (12, 25)),
        guarded="ground-fault protected (GFCI) outlets",
        # Cut leafy greens are time/temperature-controlled food since the Food Code of 2009 (FDA program information
        # manual, 7 July 2010); whole heads are not.
        cold=ColdChain(5.0, "cut leafy greens", "FDA Food Code 3-501.16", 4.0, "FDA Food Code 3-501.19"),
        # NIOSH documentation for IDLH concentrations, May 1994.
        carbon_dioxide=(AirLimit(5_000, _EIGHT_HOURS, "OSHA"), AirLimit(40_000, "is immediately dangerous", "NIOSH")),
        rules="the Produce Safety Rule (21 CFR 112)",
    ),
    Region(
        name="UK",
        currency="GBP",
        electricity_per_kwh=0.27,
        languages=("en-gb",),
        weather="London",
        holidays=((12, 25), (12, 26)),
        guarded="outlets behind a 30 mA RCD",
        cold=ColdChain(
            8.0, "food that harmful germs can grow in", "Food Standards Agency, May 2016; Scotland names no figure"
        ),
        carbon_dioxide=(
            AirLimit(5_000, _EIGHT_HOURS, "HSE, EH40/2005"),
            AirLimit(15_000, "over 15 minutes", "HSE, EH40/2005"),
        ),
    ),
    Region(
        name="EU",
        currency="EUR",
        electricity_per_kwh=0.28,
        languages=(
            "bg",
            "cs",
            "da",
            "de",
            "el",
            "en-ie",
            "es-es",
            "et",
            "fi",
            "fr-fr",
            "hr",
            "hu",
            "it",
            "lt",
            "lv",
            "nl",
            "pl",
            "pt-pt",
            "ro",
            "sk",
            "sl",
            "sv",
        ),
        weather="Berlin",
        guarded="outlets behind a 30 mA RCD",
        # Regulation (EC) 852/2004, annex II, chapter IX (from memory), has no figure; member states have their own.
        # 5,000 ppm is printed in a compilation of guidelines (IVHHN 2013); the number of the directive is from memory.
        carbon_dioxide=(AirLimit(5_000, _EIGHT_HOURS, "Directive 2006/15/EC"),),
        rules="Regulation (EC) 852/2004",
    ),
    Region(
        name="Norway",
        currency="NOK",
        electricity_per_kwh=1.5,
        languages=("nb", "nn", "no"),
        weather="Oslo",
        holidays=((5, 17), (12, 25)),
        guarded="outlets behind a 30 mA RCD",
        cold=ColdChain(4.0, "perishable food", "Mattilsynet, 2020"),
        # From memory: forskrift om tiltaks- og grenseverdier.
        carbon_dioxide=(AirLimit(5_000, _EIGHT_HOURS, "Arbeidstilsynet"),),
    ),
    Region(
        name="Canada",
        month_first=True,
        currency="CAD",
        electricity_per_kwh=0.17,
        languages=("en-ca", "fr-ca"),
        weather="Toronto",
        holidays=((7, 1), (12, 25)),
        guarded="ground-fault protected (GFCI) outlets",
        # CFIA generic HACCP model for ready-to-eat vegetables; limits of CO2 are the provinces' own.
        cold=ColdChain(4.0, "ready-to-eat cut vegetables", "CFIA"),
    ),
    Region(
        name="Australia and New Zealand",
        currency="AUD",
        electricity_per_kwh=0.33,
        languages=("en-au", "en-nz"),
        weather="Sydney",
        holidays=((12, 25), (12, 26)),
        guarded="outlets behind a 30 mA RCD",
        # From memory, both: Standard 3.2.2 (which binds Australia only), and the limit in air.
        cold=ColdChain(5.0, "potentially hazardous food", "Food Standards Code 3.2.2, Australia"),
        carbon_dioxide=(AirLimit(5_000, _EIGHT_HOURS, "Safe Work Australia"),),
    ),
    Region(name="elsewhere"),
)
BY_NAME: Final[dict[str, Region]] = {region.name: region for region in REGIONS}


def region_of(languages: str) -> str:
    """The region of the first language that a browser says it prefers (RFC 9110, 12.5.4: "en-GB,en;q=0.9"); "elsewhere"
    where it is of none."""
    first = languages.partition(",")[0].partition(";")[0].strip().lower()
    found = (row.name for row in REGIONS if first in row.languages or first.partition("-")[0] in row.languages)
    return next(found, "elsewhere")
