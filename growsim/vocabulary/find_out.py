"""Figures that may be in doubt in a room file, and how to find each out: a row for each kind.

How many to weigh, count or time is common practice, no source: twenty of a thing that varies by a fifth give its mean
within about a tenth (two standard errors).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, kw_only=True)
class FindOut:
    """A kind of figure that is drawn once for every rehearsed year.

    key: of the room file. what: it is called; how: to find it out, one sentence or two. Both with
    {of} (crop or machines), {plant} (what one is called: plant, tray), {stage}, {doing} (the work going on), {amounts}
    ("cells sown").
    """

    key: str
    what: str
    how: str


FIND_OUT: Final = {
    row.key: row
    for row in (
        FindOut(
            key="germination_fraction",
            what="germination of {of}",
            how="Sow 100 seeds of {of} at room temperature. Count those that germinate within two weeks.",
        ),
        FindOut(
            key="typical_mass_g",
            what="mass of a {plant} of {of}",
            how="Weigh 20 {plant}s of {of} at harvest, from several days. Take the average.",
        ),
        FindOut(
            key="growth_pace",
            what="growth pace of {of}",
            how="Write down the days from seed to harvest of five sowings of {of}. `growsim learn` works out the pace.",
        ),
        FindOut(
            key="loss_fraction",
            what="loss of {of} in moving to the stage {stage}",
            how="Count 100 plants of {of} moved to the stage {stage}, and those that die of it within a week.",
        ),
        FindOut(
            key="minutes_factor",
            what="minutes for {doing}",
            how="Time {doing} on three days: the minutes, and how many {amounts}. `growsim learn` does the rest.",
        ),
        FindOut(
            key="hours_factor",
            what="hours to failure of {of}",
            how="Ask the maker for the rated life of {of}. Write down each failure; `growsim learn` does the rest.",
        ),
        FindOut(
            key="chance_of_coming",
            what="show-up rate",
            how="Write down for eight weeks who signed up and who came. Divide the second by the first.",
        ),
    )
}
"""Key of the room file -> its row."""
