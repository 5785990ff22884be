"""Rehearsals: replications, batches, intervals, precision, warm-up. The only caller of the room.

Import nothing heavy here: worker processes import this package.
"""
