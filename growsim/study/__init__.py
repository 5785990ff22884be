"""Questions: what to compare, how many people, what an outage costs. Only the runner below.

Belongs here: designing sets of rehearsals and reading their answers. Does not belong here:
SimPy, HTML, the room itself.
"""
