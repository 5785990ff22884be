"""CHANGE files that are refused: name, text, and the one sentence each is answered with (key, problem, remedy)."""

from __future__ import annotations

NEW_SHELF = """[[racks]]
name = "rack"
[[racks.shelves]]
name = "extra"
"""

WRONG_CHANGES: list[tuple[str, str, str, str, str]] = [
    ("empty", "", "", "is empty", "start from the room"),
    ("only a remark", "# to be written\n", "", "changes nothing", "name at least one key that differs"),
    ("only about itself", '[change]\nname = "dreams"\n', "", "changes nothing", "name at least one key that differs"),
    ("not TOML", "[climate\nair_temperature_c = 20\n", "", "line 1 (`[climate`)", "]"),
    (
        "unknown table",
        "[climat]\nair_temperature_c = 20\n",
        "climat",
        "is not a key of this table",
        "did you mean `climate`",
    ),
    (
        "unknown key",
        "[climate]\nair_temperature = 20\n",
        "climate.air_temperature",
        "is not a key of this table",
        "did you mean `air_temperature_c`",
    ),
    (
        "not possible",
        "[climate]\nair_temperature_c = 70\n",
        "climate.air_temperature_c",
        "is 70, which is not possible",
        "from 5 to 40",
    ),
    (
        "misspelled rack",
        '[[racks]]\nname = "rak"\n',
        "racks.rak",
        "is new to the room, and a new one needs reservoir, lights too",
        "did you mean 'rack'",
    ),
    (
        "half a shelf",
        NEW_SHELF,
        "racks.rack.shelves.extra",
        "is new to the room, and a new one needs count, slots, slot_length_cm, slot_width_cm too",
        "give them",
    ),
    (
        "unknown reservoir",
        '[[racks]]\nname = "rack"\nreservoir = "bucket"\n',
        "racks.rack.reservoir",
        "bucket",
        "reservoir",
    ),
    (
        "takes away what is not there",
        '[[crops]]\nname = "kale"\nremove = true\n',
        "crops.kale",
        "is to be removed, and the room has no 'kale'",
        "cutting leaf",
    ),
    (
        "takes away what is needed",
        '[[trays]]\nname = "head tray"\nremove = true\n',
        "crops.small head.stages.head.tray",
        "'head tray' is no tray",
        "seed tray",
    ),
    (
        "changed twice",
        '[[reservoirs]]\nname = "reservoir"\ncapacity_l = 130\n[[reservoirs]]\nname = "reservoir"\ncapacity_l = 140\n',
        "reservoirs.reservoir",
        "is changed twice in this file",
        "put the two together",
    ),
    (
        "negative price",
        "[change]\nprice = -5\n[climate]\nair_temperature_c = 21\n",
        "change.price",
        "is -5, which is not possible",
        "from 0 to 1000000000",
    ),
    (
        "price in words",
        '[change]\nprice = "a lot"\n[climate]\nair_temperature_c = 21\n',
        "change.price",
        'the text "a lot"',
        "a number from 0 to 1000000000",
    ),
    (
        "misspelled price",
        "[change]\nprize = 5\n[climate]\nair_temperature_c = 21\n",
        "change.prize",
        "is not a key of this table",
        "did you mean `price`",
    ),
    (
        "change is no table",
        'change = "colder"\n[climate]\nair_temperature_c = 21\n',
        "change",
        'is "colder"',
        "write it as one table, [change]",
    ),
    (
        "another start",
        "[room]\nstart_date = 2032-01-01\n",
        "room.start_date",
        "cannot differ between rooms that are compared",
        "both rooms are rehearsed over the same dates",
    ),
    (
        "another rehearsal",
        "[rehearsal]\ndays = 10\n",
        "rehearsal",
        "cannot differ between rooms that are compared",
        "say on the command line",
    ),
    (
        "another currency",
        '[prices]\ncurrency = "EUR"\n',
        "prices.currency",
        "cannot differ between rooms that are compared",
        "costs in two currencies cannot be compared",
    ),
    (
        "cannot grow",
        '[[crops]]\nname = "small head"\ntypical_mass_g = 4000\n',
        "crops.small head.typical_mass_g",
        "cannot weigh 4e+03 g after 35 days",
        "look at typical mass, days, spacing and light",
    ),
]
