"""How the model works, in words: what is the same for every room. In full: growsim/room/MODEL.md."""

from __future__ import annotations

from growsim.report.words import listed
from growsim.vocabulary.machines import MACHINES

LOGIC: tuple[str, ...] = (
    "A lot is all cells of one crop sown in one go. It waits for a slot (a place for a tray) and for people. It "
    "germinates, is thinned out, transplanted stage by stage, harvested on a harvest day, packed and handed out. Every "
    "seed is accounted for.",
    "Growth follows van Henten's two-state lettuce model (1994). Each crop's pace fits the room file's typical days "
    "and mass. Warmth, light, CO2 and the strength of the solution (EC) speed or slow it.",
    "Plants drink a plug empty (Penman-Monteith; Graamans and others, 2017), and floods refill it. Without floods "
    "growth slows, then plants die along a survival curve. So they do in heat and cold.",
    f"Machines ({listed([row.many for row in MACHINES if row.table is not None])}) fail by chance. An alarm or a "
    "walk-through notices; part and person repair. Power outages come by chance, too.",
    "People come or stay away by chance. New volunteers are slower and learn. The most urgent piece of work is done "
    "first, and what is left is carried over.",
    "Partners collect on their day, by priority, then in fair shares. Greens too old are thrown away. What is left "
    "over is given away.",
    "Not in the model: pests and diseases, injuries, unsafe food. Real rooms lose crops to pests, so results here are "
    "on the bright side.",
    "Each chance decision has a random stream of its own (seed, replication, name). So rooms that are compared meet "
    "the same chances, on any computer.",
)
