"""Biology and physics: pure functions of numbers, each with its source.

Belongs here: germination, growth, water, air, stress, harvest. Does not belong here: SimPy, files, random generators,
dates. May import: scenario, units, errors.
"""
