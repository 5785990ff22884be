"""The work: SimPy processes of one rehearsal. The only importer of simpy.

Belongs here: lots, shelves, reservoirs, lights, air, machines, crew, partners. Does not belong here: files, reports,
statistics.
May import: growth, chance, ledger, scenario, units, errors.
"""
