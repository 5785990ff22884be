"""How the model works, in words: the part of the description that is the same for every room."""

from __future__ import annotations

from growsim.report.words import listed
from growsim.vocabulary.losses import LOSSES
from growsim.vocabulary.machines import MACHINES
from growsim.vocabulary.tasks import TASKS

LOGIC: tuple[str, ...] = (
    "Lot. All cells of one crop sown in one go. It is sown by the crew once a slot and people are free, germinates, "
    "has its "
    "extra seedlings thinned out, is moved into wider trays stage by stage, is harvested on a harvest day once ripe, "
    "packed, kept "
    "cold and handed out. Counts are whole seeds and plants; seeds sown equal the sum of every fate and of what still "
    "grows, exactly, in every replication.",
    "Germination. Each lot draws its own chance of a seed germination; days to germinate and the share that does "
    "follow the "
    "air temperature by the crop's table. A cell is filled if any of its seeds germinates; the others are pulled by "
    "hand. Microgreens and clumped herbs sown by the tray or pot are not thinned: the tray or pot counts as one, and "
    "weighs more or less as more or less of its seed germinates.",
    "Growth. One plant's dry mass follows a curve from van Henten's two-state lettuce model, computed for the light, "
    "air and spacing of its shelf. Each crop's pace is found from its typical days and mass at the room's set-points "
    "and in the CO2 that its plan leaves, so the planner's own figures are met when all goes to plan. Warmth, light, "
    "CO2 and the strength of the solution speed or slow the clock; a plant moved late keeps growing on the crowded "
    "curve.",
    "Water. A plug holds a known volume and plants empty it by transpiration. A flood refills it if power, pump, timer "
    "and reservoir level allow. A pump that runs all the time needs no timer, and its plugs begin to dry the minute it "
    "stops. Missed floods slow growth, then kill by a survival curve. A reservoir falls by what "
    "plants drink, "
    "its strength drifts, and it is topped up and renewed by the crew or a float valve.",
    "Air. One well-mixed node: lights, other heat, heat pump, walls and leaking air. When cooling or power is gone the "
    "temperature drifts; degree-hours above a crop's limit of heat, or below its limit of cold, kill by a survival "
    "curve. CO2 is what supply, leaking air and the plants standing leave: they take 44 parts for each 30 of dry "
    "mass, and all grow slower where they leave less. Lights and heat pump may be off "
    "while the room is closed. An open door, where one is made to happen, lets in 1,000 m³ of outside air an hour, "
    "whatever the weather (common practice, no source).",
    f"Machines ({listed([row.many for row in MACHINES if row.table is not None])}) fail after running hours drawn "
    "afresh, are noticed by an alarm or at the next walk-through, and are repaired when part and person are there. "
    "Power outages come by chance and take lights, pumps and climate together, apart from what a battery carries.",
    "Crew. Shifts on the calendar; each person signed up comes or not; beginners are slower and learn. Work goes on a "
    "board with a priority and a due time; free people take the most urgent piece they may do; what is left at the end "
    "of a shift is carried over. Late work has its natural consequence and no penalty is made up. What is lost, "
    "skipped or late for waiting tells what it waited for.",
    "Hand-over. Partners collect on their day, but for days and months in which they are closed themselves;"
    " what is in the cooler goes to them by priority, then in fair "
    "shares; "
    "greens too old are thrown away; the surplus goes to open distribution.",
)

DIAGRAM = (
    "A lot's way through the room, crop by crop. Between two boxes it may wait for a slot, for people or for the day; "
    "at "
    "every box plants may be lost. Floods, light and air act all along the way."
)

ORDER_OF_THE_DAY = (
    "What shares a minute happens in a fixed order: power and machines, air, floods, finished work, plants, calendar, "
    "cooler, arrivals, choice of work, meters. Within a kind, first planned first served."
)

ALGORITHMS: tuple[str, ...] = (
    "Filled cells: 1 - (1 - p)^n for n seeds a cell; a lot's p is drawn from a beta distribution, its count from a "
    "binomial.",
    "Dry mass: van Henten 1994, Agricultural Systems 45(1):55-72, by fourth-order Runge-Kutta steps; parameters on "
    "which "
    "later reproductions disagree are named.",
    "Transpiration: Penman-Monteith for closed rooms, Graamans et al. 2017, Agricultural Systems 153:138-147; vapour "
    "pressures: FAO Irrigation and Drainage Paper 56.",
    "Air temperature: Newton's law of cooling in closed form. CO2: steady state of a well-mixed volume.",
    "Plants of a lot differ: lognormal mass; those below the crop's smallest mass are not handed out.",
    "Harm: a Weibull survival curve through one half at the crop's own half-loss dose; its shape is an assumption "
    "with no published "
    "source, so absolute losses by drought and heat are to be read as comparisons.",
    "Floods cost no event while nothing is wrong; a second mode makes every flood an event and gives the same log "
    "book.",
)

ENTITIES = (
    "Lots and the parts of them that stand together (crop, age on the growth curve, plants, plug water, rack and "
    "stage); "
    "batches of greens in the cooler (lot, time of harvest, mass); tasks on the board (kind, units, due time)."
)
ACTIVITIES = f"Work by the crew: {', '.join(TASKS)}. Growth, flooding, lighting and repair take time of their own."
RESOURCES = (
    "Tray slots on shelves (each permits certain stages; a tray fills a whole slot, also while it is washed), people "
    "present in a shift (with a limit on how many work in the room at once), and machines, which are up or down."
)
QUEUES = (
    "Trays waiting for a slot: first come first served for each stage. Tasks waiting for people: lowest priority "
    "number, "
    "then earliest due, then first posted. Partners at a pick-up: by priority, then fair shares."
)
ENTRY_EXIT = (
    "Seeds enter by the sowing plan. Plants leave as greens handed out, as greens too old, or as a loss: "
    f"{listed([loss.title.lower() for loss in LOSSES])}."
)

ASSUMPTIONS: tuple[str, ...] = (
    "Plants of one lot share a growing speed; they differ in mass only.",
    "No pests or diseases: in a closed, clean room they are rare (common practice of the trade, no source).",
    "The growth curve is that of lettuce; other leafy crops are fitted to it by their typical days and mass.",
    "Air is the same everywhere in the room; the outside temperature is the month's mean.",
    "Nobody is injured, no food is unsafe, no law changes: the model knows nothing of these, the reader must.",
)

RANDOM_SAMPLING = (
    "Every decision that needs luck has a stream of its own, named for what it decides (for instance, one lot's "
    "germination). Its uniforms are hashes (BLAKE2b, counting on) of seed, replication and name, so no other decision, "
    "number of workers or order of work can shift it. Alternatives that are compared share their luck. Most values are "
    "drawn by inversion."
)
