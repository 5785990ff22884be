"""Wrong room files: the tiny room, each with a small edit, and the sentences each must be answered with.

A case is (name, edits, faults): an edit is (old text, new text), first occurrence only; a fault is (key, part of the
problem, part of the remedy).
"""

from __future__ import annotations

from pathlib import Path

TINY = Path(__file__).parents[1] / "scenarios" / "tiny" / "room.toml"

Edits = list[tuple[str, str]]
Faults = list[tuple[str, str, str]]
Case = tuple[str, Edits, Faults]

SHELVES_LOWER = 'name = "lower"\ncount = 3\nslots = 4\nslot_length_cm = 60\nslot_width_cm = 40\n'

WRONG_FIGURES: list[Case] = [
    (
        "negative minutes",
        [("flood_minutes = 3", "flood_minutes = -3")],
        [("reservoirs.reservoir.flood_minutes", "is -3", "from 0 to 600 (min)")],
    ),
    (
        "zero capacity",
        [("capacity_l = 120", "capacity_l = 0")],
        [("reservoirs.reservoir.capacity_l", "is 0", "above 0 and up to 100000 (L)")],
    ),
    (
        "share as percentage",
        [("germination_fraction = 0.85", "germination_fraction = 85")],
        [("crops.cutting leaf.germination_fraction", "is 85", "85 % is written 0.85")],
    ),
    (
        "chance as percentage",
        [("[0.85, 0.85, 0.9,", "[85, 0.85, 0.9,")],
        [("crew.chance_of_coming.entry 1", "is 85", "from 0 to 1; 85 % is written 0.85")],
    ),
    (
        "text for a number",
        [("height_m = 2.5", 'height_m = "tall"')],
        [("room.height_m", 'the text "tall"', "a number above 1.5 and up to 30 (m)")],
    ),
    (
        "yes or no for a number",
        [("people_at_once = 4", "people_at_once = true")],
        [("room.people_at_once", "true, which is no number", "a whole number from 1 to 500")],
    ),
    (
        "number for yes or no",
        [("lead = true", "lead = 1")],
        [("crew.shifts.Monday.lead", "is 1", "true or false")],
    ),
    (
        "broken whole number",
        [("places = 60", "places = 60.5")],
        [("trays.seed tray.places", "is 60.5", "a whole number from 1 to 5000")],
    ),
    (
        "number for a text",
        [('name = "Tiny trial room"', "name = 7")],
        [("room.name", "is 7", "text in quotes")],
    ),
    (
        "empty name",
        [('name = "Tiny trial room"', 'name = "  "')],
        [("room.name", "is empty", "what you call the room")],
    ),
    (
        "very long name",
        [('name = "Tiny trial room"', f'name = "{"long-" * 20}"')],
        [("room.name", "100 characters long", "60 characters")],
    ),
    (
        "not a number",
        [("floor_area_m2 = 12", "floor_area_m2 = nan")],
        [("room.floor_area_m2", "is nan, which is no number", "an ordinary number")],
    ),
    (
        "infinite",
        [("power_w = 45", "power_w = inf")],
        [("reservoirs.reservoir.pump.power_w", "is inf, which is no number", "an ordinary number")],
    ),
    (
        "infinite in a list",
        [("days = [7, 4, 3, 2, 3]", "days = [7, 4, -inf, 2, 3]")],
        [("crops.cutting leaf.emergence.days.entry 3", "is -inf", "an ordinary number")],
    ),
    (
        "huge whole number",
        [("places = 60", f"places = {'9' * 40}")],
        [("trays.seed tray.places", "far too large", "ordinary size")],
    ),
    (
        "thousands of digits",
        [("places = 60", f"places = {'9' * 5000}")],
        [("", "a number that is far too long", "ordinary size")],
    ),
    (
        "large but readable",
        [("capacity_l = 120", "capacity_l = 1e12")],
        [("reservoirs.reservoir.capacity_l", "is 1000000000000.0", "up to 100000")],
    ),
    (
        "day as text that is no date",
        [("start_date = 2031-01-06", 'start_date = "next Monday"')],
        [("room.start_date", "no date of the calendar", "2031-01-06")],
    ),
    (
        "number for a date",
        [("start_date = 2031-01-06", "start_date = 2031")],
        [("room.start_date", "is 2031", "a date such as 2031-01-06")],
    ),
    (
        "date with a time",
        [("start_date = 2031-01-06", "start_date = 2031-01-06T08:00:00")],
        [("room.start_date", "2031-01-06T08:00:00", "a date such as 2031-01-06")],
    ),
    (
        "year out of reach",
        [("start_date = 2031-01-06", "start_date = 9999-12-30")],
        [("room.start_date", "is 9999-12-30", "a year from 1900 to 2900")],
    ),
    (
        "weekday in another language",
        [('weekday = "mon"', 'weekday = "lundi"')],
        [("crew.shifts.Monday.weekday", 'is "lundi"', "mon, tue, wed, thu, fri, sat or sun")],
    ),
    (
        "weekday misspelled",
        [('weekday = "mon"', 'weekday = "mno"')],
        [("crew.shifts.Monday.weekday", 'is "mno"', 'did you mean "mon"')],
    ),
    (
        "unknown task",
        [('name = "sow"', 'name = "sow seeds"'), ('name = "sow seeds"\nfixed', 'name = "soww"\nfixed')],
        [("crew.tasks.soww.name", 'is "soww"', 'did you mean "sow"')],
    ),
    (
        "eleven months",
        [("[0, 1, 5, 11, 17,", "[0, 1, 5, 11,")],
        [("room.outdoor_temperature_c", "has 11 entries", "exactly 12")],
    ),
    (
        "impossible outdoors",
        [("[0, 1, 5, 11, 17,", "[0, 1, 5, 11, 170,")],
        [("room.outdoor_temperature_c.entry 5", "is 170", "from -60 to 60 (°C)")],
    ),
    (
        "range out of order",
        [("typical_mass_g = 25", "typical_mass_g = { low = 30, likely = 25, high = 28 }")],
        [("crops.cutting leaf.typical_mass_g", "out of order", "smallest to largest")],
    ),
    (
        "range without its middle",
        [("typical_mass_g = 25", "typical_mass_g = { low = 20, high = 28 }")],
        [("crops.cutting leaf.typical_mass_g", "lacks likely", "give low, likely, high")],
    ),
    (
        "mean without a distribution",
        [("typical_mass_g = 25", "typical_mass_g = { mean = 25, sd = 3 }")],
        [("crops.cutting leaf.typical_mass_g", "no distribution", 'distribution = "lognormal"')],
    ),
    (
        "unknown distribution",
        [("typical_mass_g = 25", 'typical_mass_g = { distribution = "lognorm", mean = 25, sd = 3 }')],
        [("crops.cutting leaf.typical_mass_g.distribution", 'is "lognorm"', 'did you mean "lognormal"')],
    ),
    (
        "beta too wide",
        [("germination_fraction = 0.85", 'germination_fraction = { distribution = "beta", mean = 0.9, sd = 0.5 }')],
        [("crops.cutting leaf.germination_fraction", "which no share can have", "square root")],
    ),
    (
        "text for an uncertain figure",
        [("typical_mass_g = 25", 'typical_mass_g = "25 m"')],
        [("crops.cutting leaf.typical_mass_g", 'is "25 m", which is no figure', "give a number")],
    ),
    (
        "yes for an uncertain figure",
        [("typical_mass_g = 25", "typical_mass_g = true")],
        [("crops.cutting leaf.typical_mass_g", "is true, which is no figure", "give a number")],
    ),
    (
        "range that leaves what is possible",
        [("germination_fraction = 0.85", "germination_fraction = { low = 0.8, likely = 0.9, high = 1.2 }")],
        [("crops.cutting leaf.germination_fraction", "can reach 1.2", "from 0 to 1")],
    ),
    (
        "month thirteen",
        [("kg = 1.8", "kg = 1.8\nmonths = [12, 13]")],
        [("partners.trial pantry.orders.small head.months.entry 2", "is 13", "from 1 to 12")],
    ),
]

WRONG_KEYS: list[Case] = [
    (
        "misspelled key, once said though the right one is missing",
        [("flood_minutes = 3", "flood_minuts = 3")],
        [("reservoirs.reservoir.flood_minuts", "is not a key of this table", "did you mean `flood_minutes`")],
    ),
    (
        "misspelled key of a stage",
        [("days = 21", "dayz = 21")],
        [("crops.small head.stages.head.dayz", "is not a key", "did you mean `days`")],
    ),
    (
        "an order by the head",
        [("kg = 1.8", "heads = 16")],
        [
            (
                "partners.trial pantry.orders.small head.heads",
                "an order is in kilograms",
                "give kg = 1.7: 16 at 110 g each, less 5 % trimmed",
            )
        ],
    ),
    (
        "an order of anything by the bunch",
        [('crop = "cutting leaf"\nkg = 1\n', 'crop = "any"\nbunches = 9\n')],
        [
            (
                "partners.trial pantry.orders.any.bunches",
                "an order is in kilograms",
                "how many, times what one weighs when packed",
            )
        ],
    ),
    (
        "key nobody knows",
        [("[climate]", '[climate]\nwallpaper = "blue"')],
        [("climate.wallpaper", "is not a key", "take it out; known here: air_temperature_c")],
    ),
    (
        "misspelled table",
        [("[harvest]", "[harvets]")],
        [("harvets", "is not a key", "did you mean `harvest`")],
    ),
    (
        "key missing",
        [("floor_area_m2 = 12\n", "")],
        [("room.floor_area_m2", "is missing", "a number above 0 and up to 100000 (m²)")],
    ),
    (
        "table missing",
        [
            ("[climate]\nair_temperature_c = 22\nrelative_humidity_percent = 65\ncooling_kw = 2\n", ""),
            ('heating_kw = 1.5\nfans_w = 30\nsource = "invented"', ""),
        ],
        [("climate", "is missing", "a table with its own heading")],
    ),
    (
        "one table where a list is meant",
        [("[harvest]", "[[harvest]]")],
        [("harvest", "is a list", "a table with its own heading")],
    ),
    (
        "name missing in a list",
        [('[[lights]]\nname = "lights"', "[[lights]]")],
        [
            ("lights.entry 1.name", "is missing", "text in quotes"),
            ("racks.rack.lights", "'lights' is no light bank", "add it to the file"),
        ],
    ),
    (
        "several faults at once, one line each",
        [
            ("height_m = 2.5", "height_m = 0"),
            ("capacity_l = 120", "capacity_l = -1"),
            ('reservoir = "reservoir"', 'reservoir = "reservior"'),
        ],
        [
            ("racks.rack.reservoir", "'reservior' is no reservoir", "did you mean 'reservoir'"),
            ("room.height_m", "is 0", "above 1.5"),
            ("reservoirs.reservoir.capacity_l", "is -1", "above 0"),
        ],
    ),
]

WRONG_NAMES: list[Case] = [
    (
        "unknown reservoir",
        [('reservoir = "reservoir"', 'reservoir = "the blue one"')],
        [("racks.rack.reservoir", "'the blue one' is no reservoir", "known: reservoir")],
    ),
    (
        "unknown lights",
        [('lights = "lights"', 'lights = "light"')],
        [("racks.rack.lights", "'light' is no light bank", "did you mean 'lights'")],
    ),
    (
        "unknown tray",
        [('tray = "head tray"', 'tray = "head trey"')],
        [("crops.small head.stages.head.tray", "'head trey' is no tray", "did you mean 'head tray'")],
    ),
    (
        "unknown crop sown",
        [('crop = "cutting leaf"\ncells', 'crop = "cuting leaf"\ncells')],
        [("sowing.leaf Mondays.crop", "'cuting leaf' is no crop", "did you mean 'cutting leaf'")],
    ),
    (
        "unknown crop ordered",
        [('crop = "small head"\nkg', 'crop = "chicory"\nkg')],
        [("partners.trial pantry.orders.chicory.crop", "'chicory' is no crop", "known: ")],
    ),
    (
        "unknown stage on a shelf",
        [('stages = ["leaf", "head"]', 'stages = ["leaf", "head", "heads"]')],
        [("racks.rack.shelves.lower.stages", "'heads' is no stage of any crop", "did you mean 'head'")],
    ),
    (
        "two racks of one name",
        [("[[reservoirs]]", '[[racks]]\nname = "rack"\nreservoir = "reservoir"\nlights = "lights"\n\n[[reservoirs]]')],
        [
            ("racks.rack", "2 racks have this name", "its own name"),
            ("racks.rack.shelves", "no slots", "give it shelves"),
        ],
    ),
    (
        "two shelves of one name",
        [('name = "lower"', 'name = "top"')],
        [("racks.rack.shelves.top", "2 groups of shelves have this name", "its own name")],
    ),
    (
        "two shifts of one name",
        [('name = "Thursday"', 'name = "Monday"')],
        [("crew.shifts.Monday", "2 shifts have this name", "its own name")],
    ),
    (
        "two shifts whose names differ by capitals",
        [('name = "Thursday"', 'name = "monday"')],
        [("crew.shifts.monday", "'Monday' differs by capitals only", "another name")],
    ),
    (
        "a task twice",
        [('name = "wash"', 'name = "pack"')],
        [
            ("crew.tasks.pack", "2 tasks have this name", "its own name"),
            ("crew.tasks", "the task 'wash' is missing", "add [[crew.tasks]]"),
        ],
    ),
    (
        "two sowing lines of one name",
        [('name = "heads Mondays"', 'name = "leaf Mondays"')],
        [("sowing.leaf Mondays", "2 sowing lines have this name", "its own name")],
    ),
    (
        "a crop called any",
        [('name = "small head"', 'name = "any"'), ('crop = "small head"\ncells', 'crop = "any"\ncells')],
        [
            ("crops.any.name", "cannot be called 'any'", "orders use that word"),
            ("partners.trial pantry.orders.small head.crop", "'small head' is no crop", "known: "),
        ],
    ),
]

NOT_POSSIBLE: list[Case] = [
    (
        "closed in the year 1",
        [("[2031-05-26]", "[0001-01-01]")],
        [("room.closed_days", "has 0001-01-01", "years from 1900 to 2900")],
    ),
    (
        "closed in the year 9999",
        [("[2031-05-26]", '["9999-12-30 to 9999-12-31"]')],
        [("room.closed_days", "has 9999-12-30", "years from 1900 to 2900")],
    ),
    (
        "never open",
        [("[2031-05-26]", '["2031-01-01 to 2031-12-31"]')],
        [("room.closed_days", "closed on all 182 days from 2031-01-06 on", "leave some days open")],
    ),
    (
        "hot as an oven",
        [("other_heat_w = 80", "other_heat_w = 300000")],
        [("room.other_heat_w", "bring 300 kW on average and the heat pump takes out", "check heat, walls and leaks")],
    ),
    (
        "next to nothing",
        [("germination_spread_sd = 0.03", "germination_spread_sd = 1e-300")],
        [("crops.small head.germination_spread_sd", "is 1e-300, which is next to nothing", "give 0 or")],
    ),
    (
        "a pump that is never up",
        [('"exponential", mean = 900', '"exponential", mean = 1e-6')],
        [
            (
                "reservoirs.reservoir.pump.reliability.running_hours_to_failure",
                "is 1e-06 hours on average",
                "give 1 or more",
            )
        ],
    ),
    (
        "name on two lines",
        [('name = "Tiny trial room"', 'name = "Tiny\\ntrial room"')],
        [("room.name", "on more than one line", "write it on one line")],
    ),
    (
        "name that colors the terminal",
        [('name = "Tiny trial room"', 'name = "\\u001b[31mTiny"')],
        [("room.name", 'is "?[31mTiny", with a letter that cannot be shown', "type it again")],
    ),
    (
        "a note that is a book",
        [('note = "Invented, for trials only."', f'note = "{"word " * 20_000}"')],
        [("room.note", "is 100000 characters long", "keep it to 2000 characters")],
    ),
    (
        "a crop whose name is a book",
        [('[[crops]]\nname = "small head"', f'[[crops]]\nname = "{"n" * 100_000}"')],
        [
            (f"crops.{'n' * 57}....name", "100000 characters long", "keep it to 60"),
            ("partners.trial pantry.orders.small head.crop", "'small head' is no crop", "known: "),
            ("sowing.heads Mondays.crop", "'small head' is no crop", "known: "),
        ],
    ),
    (
        "stages in a ring",
        [
            (
                'name = "seedling"\ntray = "seed tray"\ndays = 12',
                'name = "seedling"\nafter = "leaf"\ntray = "seed tray"\ndays = 12',
            )
        ],
        [("crops.cutting leaf.stages", "do not make one line", "leave `after` out for the first stage")],
    ),
    (
        "two first stages",
        [('after = "seedling"\n', "")],
        [("crops.cutting leaf.stages", "two stages come first", "name the stage before it")],
    ),
    (
        "stage after one that is not there",
        [('after = "seedling"\ntray = "head tray"', 'after = "seedlings"\ntray = "head tray"')],
        [
            ("crops.small head.stages.head.after", "'seedlings' is no stage of this crop", "did you mean 'seedling'"),
            ("crops.small head.stages", "do not make one line", "leave `after` out"),
        ],
    ),
    (
        "a stage no shelf permits",
        [('stages = ["leaf", "head"]', 'stages = ["leaf"]')],
        [("crops.small head.stages.head", "no shelf permits this stage", "add 'head' to the stages")],
    ),
    (
        "a tray too large for every slot",
        [("places = 12\nlength_cm = 60", "places = 12\nlength_cm = 61")],
        [("crops.small head.stages.head.tray", "fits no slot that permits this stage", "a smaller tray")],
    ),
    (
        "emergence figures missing",
        [("days = [7, 4, 3, 2, 3]", "days = [7, 4, 3, 2]")],
        [("crops.cutting leaf.emergence.days", "has 4 figures for 5 temperatures", "give 5 figures")],
    ),
    (
        "temperatures that fall",
        [("temperature_c = [10, 15, 20, 25, 30]", "temperature_c = [10, 20, 15, 25, 30]")],
        [("crops.cutting leaf.emergence.temperature_c", "do not rise", "put them in order")],
    ),
    (
        "nothing ever germinates",
        [("relative_fraction = [1, 1, 1, 1, 0.12]", "relative_fraction = [0, 0, 0, 0, 0]")],
        [("crops.cutting leaf.emergence.relative_fraction", "nothing ever germinates", "give 1")],
    ),
    (
        "emergence in no time",
        [("days = [7, 4, 3, 2, 3]", "days = [7, 4, 0, 2, 3]")],
        [("crops.cutting leaf.emergence.days.entry 3", "is 0", "above 0 and up to 365")],
    ),
    (
        "moved before it is up",
        [("days = 12", "days = 2")],
        [("crops.cutting leaf.stages.seedling.days", "seeds take 2.6 days to germinate", "at least 3 days")],
    ),
    (
        "more sheets than slots",
        [("cells = 60", "cells = 600")],
        [("sowing.leaf Mondays.cells", "600 cells are 10 trays, and only 4 slots", "sow at most 240 cells")],
    ),
    (
        "sown until before from",
        [("cells = 60", "cells = 60\nfrom_date = 2031-06-01\nuntil_date = 2031-05-01")],
        [("sowing.leaf Mondays.until_date", "is before from_date", "a later date")],
    ),
    (
        "seed spread wider than a share can be",
        [("germination_spread_sd = 0.04", "germination_spread_sd = 0.4")],
        [("crops.cutting leaf.germination_spread_sd", "more than a share of 0.85 can spread", "less than 0.36")],
    ),
    (
        "reservoir that could never flood",
        [("lowest_flood_level_l = 60", "lowest_flood_level_l = 120")],
        [("reservoirs.reservoir.lowest_flood_level_l", "could never flood", "below the capacity")],
    ),
    (
        "flood longer than its pause",
        [("flood_minutes = 3", "flood_minutes = 240")],
        [("reservoirs.reservoir.flood_minutes", "the next flood begins after 240 min", "shorter floods")],
    ),
    (
        "strength limits crossed",
        [('top_up = "by hand"', 'top_up = "by hand"\nlowest_ec_ms_cm = 3\nhighest_ec_ms_cm = 2')],
        [("reservoirs.reservoir.lowest_ec_ms_cm", "not below highest_ec_ms_cm 2", "a lower figure")],
    ),
    (
        "thermostat below the air wanted",
        [("fans_w = 30", "fans_w = 30\nlights_off_above_c = 20")],
        [("climate.lights_off_above_c", "the lights would stay out", "a higher limit")],
    ),
    (
        "crop that cannot bear the room",
        [("shelf_life_days = 8", "shelf_life_days = 8\nheat_limit_c = 20")],
        [("crops.small head.heat_limit_c", "not above the air wanted, 22 °C", "a higher limit")],
    ),
    (
        "crop that is chilled in the room",
        [
            ("shelf_life_days = 8", "shelf_life_days = 8\ncold_limit_c = 20"),
            ("temperature_c = 22", "temperature_c = 19"),
        ],
        [("crops.small head.cold_limit_c", "not below the air wanted, 19 °C", "a lower limit")],
    ),
    (
        "shift past midnight",
        [("start_hour = 9\nhours = 2", "start_hour = 22.5\nhours = 2")],
        [("crew.shifts.Monday.hours", "starting at 22:30 it would run past midnight", "at most 1.5 hours")],
    ),
    (
        "a shift without anybody",
        [("people = 2", "people = 0"), ("lead = true", "lead = false")],
        [("crew.shifts.Monday.people", "is 0, and the shift has no lead, so nobody would ever come", "lead = true")],
    ),
    (
        "half a year of sign-ups",
        [("people = 2", "people = 2\npeople_by_month = [2, 2, 2, 2, 2, 2]")],
        [("crew.shifts.Monday.people_by_month", "has 6 months", "12 figures")],
    ),
    (
        "work nobody described",
        [('[[crew.tasks]]\nname = "top up"\nminutes_per_unit = 8\npriority = 2\n', "")],
        [("crew.tasks", "the task 'top up' is missing, and a reservoir is topped up by hand", "minutes_per_unit = 10")],
    ),
    (
        "a lead wanted and none there",
        [("lead = true", "lead = false"), ("lead = true", "lead = false")],
        [
            ("crew.tasks.harvest.needs_lead", "no shift has a lead", "lead = true for a shift"),
            ("crew.tasks.change solution.needs_lead", "no shift has a lead", "lead = true for a shift"),
        ],
    ),
    (
        "rack without slots",
        [("count = 1", "count = 0"), ("count = 3", "count = 0")],
        [
            ("racks.rack.shelves", "the rack has no slots", "give it shelves"),
            ("crops.cutting leaf.stages.seedling", "no shelf permits", "add 'seedling'"),
            ("crops.cutting leaf.stages.leaf", "no shelf permits", "add 'leaf'"),
            ("crops.small head.stages.seedling", "no shelf permits", "add 'seedling'"),
            ("crops.small head.stages.head", "no shelf permits", "add 'head'"),
        ],
    ),
    (
        "one crop ordered twice",
        [('crop = "small head"\nkg = 1.8', 'crop = "cutting leaf"\nkg = 1.8')],
        [("partners.trial pantry.orders.cutting leaf", "ordered twice for the same month", "its own months")],
    ),
    (
        "outage of a pump nowhere",
        [("[rehearsal]", '[[outages]]\nname = "x"\nmachine = "pump"\nstart_day = 3\nhours = 2\n\n[rehearsal]')],
        [("outages.x.where", "a pump belongs to a reservoir", "name the reservoir")],
    ),
    (
        "heat pump at a reservoir",
        [
            (
                "[rehearsal]",
                '[[outages]]\nname = "x"\nmachine = "heat pump"\nwhere = "reservoir"\nstart_day = 3\nhours = 2\n'
                "\n[rehearsal]",
            )
        ],
        [("outages.x.where", "the heat pump serves the whole room", "leave `where` out")],
    ),
    (
        "crop heavier than light allows",
        [("typical_mass_g = 110", "typical_mass_g = 4900")],
        [("crops.small head.typical_mass_g", "cannot weigh", "look at typical mass")],
    ),
]

WRONG_TOML: list[Case] = [
    ("no value", [("height_m = 2.5", "height_m =")], [("", "line 11 (`height_m =`) has no value", "give a number")]),
    (
        "decimal comma",
        [("height_m = 2.5", "height_m = 2,5")],
        [("", "line 11 (`height_m = 2,5`) goes on after its value", "decimals take a point")],
    ),
    (
        "date off the calendar",
        [("start_date = 2031-01-06", "start_date = 2031-02-30")],
        [("", "line 7 (`start_date = 2031-02-30`) holds a date that is not on the calendar", "2031-01-06")],
    ),
    (
        "text without quotes",
        [('weekday = "mon"', "weekday = mon")],
        [("", "(`weekday = mon`) has no value that can be read", '"text in quotes"')],
    ),
    ("heading not closed", [("[room]", "[room")], [("", "(`[room`) opens a heading with [", "the missing ]")]),
    (
        "table opened twice",
        [("[harvest]", "[climate]")],
        [("", "(`[climate]`) opens a table that the file has opened already", "keep one")],
    ),
    (
        "key twice",
        [("height_m = 2.5", "height_m = 2.5\nheight_m = 2.6")],
        [("", "gives the same key twice", "keep one")],
    ),
    (
        "quote not closed",
        [('name = "Tiny trial room"', 'name = "Tiny trial room')],
        [("", "holds a character that cannot be in a text on one line", "close the quote")],
    ),
]

WRONG_ROOMS: list[Case] = [*WRONG_FIGURES, *WRONG_KEYS, *WRONG_NAMES, *NOT_POSSIBLE, *WRONG_TOML]


def edited(edits: Edits) -> str:
    """The tiny room with the edits made. Raises AssertionError where an edit finds nothing to change."""
    text = TINY.read_text(encoding="utf-8")
    for old, new in edits:
        assert old in text, f"nothing to edit: {old!r}"
        text = text.replace(old, new, 1)
    return text
