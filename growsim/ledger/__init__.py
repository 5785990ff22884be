"""The log book: what happened, and how it adds up.

Belongs here: records of happenings, levels, windows, measures. Does not belong here: SimPy, decisions, luck.
May import: scenario, units, errors.
"""
