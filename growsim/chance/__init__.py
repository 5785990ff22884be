"""Luck: named streams and how a figure is drawn from one.

Belongs here: streams, distributions, the stand-in with luck switched off. Does not belong here: what the luck is for.
May import: scenario, units, errors.
"""
