"""The event engine against closed forms of queueing theory, and exact results for lines with little room.

Sources: M/M/1, M/M/c (Erlang C) and M/G/1 (Pollaczek and Khinchine, 1930/32) as in any queueing text, for example
Gross and Harris, "Fundamentals of Queueing Theory"; the balanced exponential line of Hillier and Boling, "Finite queues
in series with exponential or Erlang service times", Operations Research 15 (1967), values here from the exact Markov
chain, the printed table not seen; the machine repair model of Palm (1947), closed form; the continuous two-machine
line with failures in Gershwin, "Manufacturing Systems Engineering" (1994), after Buzacott: formula from memory,
confirmed at its limits. The engine's intervals hold their truth at 99.9 % here, so a right engine fails one test in a
thousand; seeds are fixed.
"""

from __future__ import annotations

from math import comb, factorial
from typing import Any

import numpy as np
import pytest
from scipy.stats import t

from linewright.base.results import Interval
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate


def holds(interval: Interval, truth: float, replications: int, bias: float = 0.0) -> None:
    """Whether the truth lies in the interval stretched from 95 % to 99.9 %, and the interval says something."""
    stretch = t.ppf(0.9995, replications - 1) / t.ppf(0.975, replications - 1)
    assert abs(interval.mean - truth) <= interval.half_width * stretch + bias, (interval, truth)
    assert interval.half_width < 0.1 * truth


def exponential(seconds: float) -> dict[str, Any]:
    return {"mean": f"{seconds!r} s", "cv": 1, "shape": "exponential"}


QUEUE_RUNS = 40


def queue(service: dict[str, Any] | str, between: float, places: int = 1, weeks: int = 3) -> Simulation:
    """A source that never starves lets pieces through at random; they queue in a store for the station."""
    plan = PlanBuilder("queue", makes="job", demand="1 each/day", release="flat out", open_pieces=3000)
    plan.item("job", unit="each").station("door").station("clerk", places=places).store("hall", room=100_000)
    route = plan.route("r", gives="job")
    route.operation("arrive", station="door", time=exponential(between), then_to="hall")
    route.operation("serve", station="clerk", time=service)
    return simulate(compile_network(plan.build()), days=7 * weeks, replications=QUEUE_RUNS, seed=11)


def erlang_c(c: int, a: float) -> float:
    top = a**c / factorial(c) * c / (c - a)
    return top / (sum(a**k / factorial(k) for k in range(c)) + top)


def test_m_m_1() -> None:
    """rho 0.8: Lq = 3.2."""
    result = queue(exponential(60), 75)
    holds(result.store_level.interval(0), 3.2, QUEUE_RUNS)
    holds(result.state_share.interval(1, 0), 0.8, QUEUE_RUNS)
    holds(result.rate, 86400 / 75, QUEUE_RUNS)


@pytest.mark.parametrize(("c", "a"), [(2, 1.6), (5, 4.0)])
def test_m_m_c(c: int, a: float) -> None:
    """Lq = C(c, a) a / (c - a); for (5, 4) it is 2.216450."""
    truth = erlang_c(c, a) * a / (c - a)
    if c == 5:
        assert truth == pytest.approx(2.216450, abs=1e-6)
    holds(queue(exponential(60), 60 / a, c).store_level.interval(0), truth, QUEUE_RUNS)


@pytest.mark.parametrize(
    ("service", "rho", "scv"),
    [
        ("60 s", 0.8, 0.0),
        ({"mean": "60 s", "cv": 0.5}, 0.9, 0.25),
        ({"mean": "60 s", "cv": 0.7071067811865476, "shape": "gamma"}, 0.7, 0.5),
    ],
)
def test_m_g_1(service: Any, rho: float, scv: float) -> None:
    """Lq = rho^2 (1 + scv) / (2 (1 - rho)): 1.6 for M/D/1 at 0.8, 5.0625 and 1.225 for the others."""
    truth = rho**2 * (1 + scv) / (2 * (1 - rho))
    holds(queue(service, 60 / rho, weeks=4).store_level.interval(0), truth, QUEUE_RUNS)


@pytest.mark.parametrize(
    ("stations", "room", "truth"),
    [(2, 0, 2 / 3), (2, 1, 0.75), (3, 0, 22 / 39), (3, 1, 0.670466), (3, 4, 0.807486), (4, 2, 0.700713)],
)
def test_balanced_exponential_lines(stations: int, room: int, truth: float) -> None:
    """Throughput per unit of mean service time; first never starved, last never blocked, blocking after service."""
    holds(line(stations, room).rate, truth * 1440, 12)


def line(stations: int, room: int) -> Simulation:
    """Exponential stations of a mean minute with room between."""
    plan = PlanBuilder("line", makes="job", demand="1 each/day", release="flat out", open_pieces=200)
    plan.item("job", unit="each")
    route = plan.route("r", gives="job")
    for k in range(stations):
        plan.station(f"s{k}")
        onward: dict[str, Any] = {}
        if k < stations - 1:
            plan.store(f"b{k}", room=max(room, 1))
            onward = {"then_to": f"b{k}" if room else "next"}
        route.operation(f"o{k}", station=f"s{k}", time=exponential(60), **onward)
    return simulate(compile_network(plan.build()), days=21, replications=12, seed=5)


@pytest.mark.parametrize(("machines", "rho"), [(4, 0.25), (6, 0.1)])
def test_machine_repair(machines: int, rho: float) -> None:
    """Machines run for an exponential time and wait for one repairer: he works 1 - P0 of the time, Palm (1947)."""
    p0 = 1 / sum(comb(machines, n) * factorial(n) * rho**n for n in range(machines + 1))
    holds(repairs(machines, rho).rate, (1 - p0) * 1440, 12)


def repairs(machines: int, rho: float) -> Simulation:
    """As many open pieces as machines: each runs at a bench and is mended at the repairer."""
    plan = PlanBuilder("repair", makes="job", demand="1 each/day", release="flat out", open_pieces=machines)
    plan.item("job", unit="each").station("repairer")
    route = plan.route("r", gives="job")
    route.operation("run", time=exponential(60 / rho)).operation("repair", station="repairer", time=exponential(60))
    return simulate(compile_network(plan.build()), days=21, replications=12, seed=5)


@pytest.mark.slow
@pytest.mark.parametrize(("p", "r", "room", "truth"), [(0.01, 0.1, 10, 0.858727), (0.05, 0.2, 5, 0.712336)])
def test_two_unreliable_machines_in_small_pieces(p: float, r: float, room: float, truth: float) -> None:
    """Two equal machines at speed 1, down at rate p while running, mended at rate r; played in pieces of 1/20.

    Pieces in the machines add about three to the store's room, which is allowed for by 1.5 / 20 of room: the
    continuous formula changes by less than 0.001 for that, which is the bias allowed.
    """
    fine = 20
    plan = PlanBuilder("two machines", makes="job", demand="1 each/day", release="flat out", open_pieces=400 * fine)
    plan.item("job", unit="each").store("middle", room=round(room * fine))
    stops = [{"name": "stop", "between": f"{60 / p} s", "repair": exponential(60 / r)}]
    plan.station("a", stoppages=stops).station("b", stoppages=stops)
    route = plan.route("x", gives="job")
    route.operation("first", station="a", time=f"{60 / fine} s", then_to="middle")
    route.operation("second", station="b", time=f"{60 / fine} s")
    result = simulate(compile_network(plan.build()), days=21, replications=12, seed=7)
    holds(result.rate, truth * 1440 * fine, 12, bias=0.001 * 1440 * fine)


def exact_rate_of_two(mu: float, p: float, r: float, room: int) -> float:
    """Two equal machines, exponential work (mu), stoppages while working (p) and repairs (r), pieces one by one.

    The Markov chain of Gershwin and Berman, "Analysis of transfer lines consisting of two unreliable machines with
    random processing times and finite storage buffers", AIIE Transactions 13 (1981), with blocking after service; the
    states are written out here from the model. State: (pieces past the first machine, first up, second up); with
    room + 2 pieces the last of them still stands in the first machine, which is blocked and does not stop.
    """
    states = [(j, a, b) for j in range(room + 3) for a in (0, 1) for b in (0, 1)]
    at = {state: k for k, state in enumerate(states)}
    q = np.zeros((len(states), len(states)))
    for (j, a, b), k in at.items():
        moves = []
        if j < room + 2:
            moves += [((j + 1, a, b), mu), ((j, 0, b), p)] if a else [((j, 1, b), r)]
        elif not a:
            moves += [((j, 1, b), r)]  # never reached: who is blocked does not stop
        if j > 0:
            moves += [((j - 1, a, b), mu), ((j, a, 0), p)] if b else [((j, a, 1), r)]
        elif not b:
            moves += [((j, a, 1), r)]
        for to, rate in moves:
            q[k, at[to]] += rate
            q[k, k] -= rate
    share = np.linalg.lstsq(np.vstack([q.T, np.ones(len(states))]), [0.0] * len(states) + [1.0], rcond=None)[0]
    return mu * float(sum(share[at[j, a, 1]] for j in range(1, room + 3) for a in (0, 1)))


def test_the_chain_of_two_machines_at_its_limits() -> None:
    """Without stoppages the lines of Hillier and Boling (2/3, 3/4); with room without end a machine by itself.

    That is r / (r + p); for two equal machines the gap to it falls like 1 / room.
    """
    assert exact_rate_of_two(1, 0, 1, 0) == pytest.approx(2 / 3)
    assert exact_rate_of_two(1, 0, 1, 1) == pytest.approx(0.75)
    near, nearer = (0.1 / 0.11 - exact_rate_of_two(1, 0.01, 0.1, room) for room in (60, 120))
    assert 0 < nearer < near < 0.04
    assert near / nearer == pytest.approx(2, rel=0.15)


@pytest.mark.parametrize(("p", "r", "room"), [(0.02, 0.1, 1), (0.05, 0.2, 5), (0.01, 0.1, 20)])
def test_two_unreliable_machines_piece_by_piece(p: float, r: float, room: int) -> None:
    """The discrete line against its exact chain: rates a minute, no approximation on either side."""
    plan = PlanBuilder("two machines", makes="job", demand="1 each/day", release="flat out", open_pieces=room + 60)
    plan.item("job", unit="each").store("middle", room=room)
    stops = [{"name": "stop", "between": exponential(60 / p), "repair": exponential(60 / r)}]
    plan.station("a", stoppages=stops).station("b", stoppages=stops)
    route = plan.route("x", gives="job")
    route.operation("first", station="a", time=exponential(60), then_to="middle")
    route.operation("second", station="b", time=exponential(60))
    result = simulate(compile_network(plan.build()), days=28, replications=12, seed=9)
    holds(result.rate, exact_rate_of_two(1, p, r, room) * 1440, 12)
