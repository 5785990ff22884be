"""The drawing: what the room is. Frozen, checked, inert.

Belongs here: tables of the room file, their limits and cross-checks, reading files, calendar arithmetic.
Does not belong here: a clock, luck, results. May import: units, errors.
"""
