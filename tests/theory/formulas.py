"""Textbook queueing formulas, written out apart from growsim, for its processes to be held against.

Erlang C and B, Pollaczek-Khinchine, the machine-repair (finite source) model, a saturated line with blocking after
service. Any textbook has them (e.g. Cooper 1981, *Introduction to Queueing Theory*; Hillier & Lieberman); the line is
solved as a Markov chain. `test_formulas.py` holds them to printed values.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Queue:
    """Steady state of a queue. Times in the unit of 1/rate: waiting (wq), in the system (w); numbers: lq, l."""

    p0: float
    lq: float
    l: float  # noqa: E741  # the letter every textbook uses
    wq: float
    w: float
    chance_of_waiting: float


def mmc(arrival_rate: float, service_rate: float, servers: int) -> Queue:
    """M/M/c (Erlang C). Raises ValueError for a queue that grows for ever."""
    load = arrival_rate / service_rate
    if load >= servers:
        raise ValueError("arrivals outrun the servers")
    rho = load / servers
    below = sum(load**n / math.factorial(n) for n in range(servers))
    last = load**servers / math.factorial(servers) / (1.0 - rho)
    p0 = 1.0 / (below + last)
    waiting = last * p0
    lq = waiting * rho / (1.0 - rho)
    wq = lq / arrival_rate
    return Queue(p0, lq, lq + load, wq, wq + 1.0 / service_rate, waiting)


def mg1(arrival_rate: float, mean: float, sd: float) -> Queue:
    """M/G/1 by Pollaczek-Khinchine: E(Wq) = rho tau (1 + var/tau^2) / (2 (1 - rho))."""
    rho = arrival_rate * mean
    wq = rho * mean * (1.0 + (sd / mean) ** 2) / (2.0 * (1.0 - rho))
    return Queue(1.0 - rho, arrival_rate * wq, arrival_rate * wq + rho, wq, wq + mean, rho)


def erlang_b(load: float, servers: int) -> float:
    """Share of arrivals that find all servers busy and go away."""
    blocked = 1.0
    for n in range(1, servers + 1):
        blocked = load * blocked / (n + load * blocked)
    return blocked


def load_at_blocking(blocked: float, servers: int) -> float:
    """Load (erlangs) at which that share is blocked: what Erlang B tables list."""
    low, high = 0.0, 100.0 * servers
    for _ in range(200):
        middle = (low + high) / 2.0
        low, high = (middle, high) if erlang_b(middle, servers) < blocked else (low, middle)
    return low


@dataclass(frozen=True)
class Repair:
    """Steady state of machines and repairers. l: machines down; lq: down and waiting; availability: share up."""

    p0: float
    lq: float
    l: float  # noqa: E741
    wq: float
    w: float
    availability: float


def machine_repair(machines: int, mean_up: float, mean_repair: float, repairers: int) -> Repair:
    """M/M/c with a finite source: machines that run, break down and wait for one of a few repairers."""
    up_rate, repair_rate = 1.0 / mean_up, 1.0 / mean_repair
    weight = [1.0]
    for down in range(1, machines + 1):
        weight.append(weight[-1] * (machines - down + 1) * up_rate / (min(down, repairers) * repair_rate))
    total = sum(weight)
    chance = [w / total for w in weight]
    down = sum(n * p for n, p in enumerate(chance))
    waiting = sum(max(0, n - repairers) * p for n, p in enumerate(chance))
    failures = up_rate * (machines - down)
    return Repair(chance[0], waiting, down, waiting / failures, down / failures, 1.0 - down / machines)


def saturated_line(stations: int) -> float:
    """Throughput (units of the service rate) of a line that never lacks work: exponential stations in a row, no
    room between them, each holding its piece until the next is free (blocking after service)."""
    working, blocked, starved = 0, 1, 2
    states = [
        state
        for state in itertools.product((working, blocked, starved), repeat=stations)
        if state[0] != starved  # there is always work for the first
        and state[-1] != blocked  # nothing stops the last
        and all(not (a == blocked and b == starved) for a, b in itertools.pairwise(state))
    ]
    number = {state: i for i, state in enumerate(states)}
    flow = np.zeros((len(states), len(states)))
    for state, i in number.items():
        for station in range(stations):
            if state[station] == working:
                flow[i, number[_after(state, station)]] += 1.0
    flow -= np.diag(flow.sum(axis=1))
    chances = np.linalg.lstsq(
        np.vstack([flow.T, np.ones(len(states))]), np.append(np.zeros(len(states)), 1.0), rcond=None
    )[0]
    return float(sum(chance for state, chance in zip(states, chances, strict=True) if state[-1] == working))


def _after(state: tuple[int, ...], station: int) -> tuple[int, ...]:
    """The line after that station has finished its piece."""
    line = list(state)
    if station + 1 < len(line) and line[station + 1] != 2:
        line[station] = 1  # the next is taken: hold on to the piece
        return tuple(line)
    if station + 1 < len(line):
        line[station + 1] = 0
    while station > 0 and line[station - 1] == 1:  # a piece held back moves up, and so on up the line
        line[station] = 0
        station -= 1
    line[station] = 0 if station == 0 else 2
    return tuple(line)


def availability(mean_up: float, mean_down: float) -> float:
    """Share of the time that something is up: MTBF / (MTBF + MTTR)."""
    return mean_up / (mean_up + mean_down)
