"""Carriers make a line a closed queueing network: theory of these against the simulation.

Exact mean value analysis: Reiser and Lavenberg, "Mean-value analysis of closed multichain queuing networks", J. ACM 27
(1980) 313-322; the recursion is written out here from its equations. Closed lines with a fixed number of jobs, best
case and practical worst case: Hopp and Spearman, Factory Physics (3rd ed. 2008), ch. 7 (their "penny fab": four
stations of two hours, and its unbalanced variant with 1, 2, 6, 2 machines), laws and printed figures from memory. A
carrier that goes with a piece from the first operation to the last, with work always at hand, is such a network.
Machines that run and wait for a repairer are its oldest case: Palm, "The assignment of workers in servicing automatic
machines", J. Industrial Engineering 9 (1958) 28-42, first in Swedish in 1947 (title and pages from memory); the closed
form is the Erlang loss formula. Several kinds of carriers at the same stations have a product form: Baskett, Chandy,
Muntz and Palacios, "Open, closed, and mixed networks of queues with different classes of customers", J. ACM 22 (1975)
248-260 (first come, first served with one exponential time for all classes; delays of any shape and class).
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import comb, factorial, prod

import pytest

from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate
from linewright.simulate.recurring import recurring_rate


def closed(
    times: Sequence[object], count: int, places: Sequence[int] | None = None, way_back: object = None
) -> Network:
    """Stations in a row (times in hours), carriers from the first to the last."""
    plan = PlanBuilder("closed", makes="job", demand="1 each/day", release="flat out", open_pieces=count + 40)
    plan.item("job", unit="each")
    plan.carrier("pallet", count=count, from_="s0", to=f"s{len(times) - 1}", way_back=way_back)
    route = plan.route("r", gives="job")
    for k, time in enumerate(times):
        plan.station(f"s{k}", places=places[k] if places else 1)
        route.operation(f"s{k}", station=f"s{k}", time=time)
    return compile_network(plan.build())


def exponential(hours: float) -> dict[str, object]:
    return {"mean": f"{hours} h", "cv": 1, "shape": "exponential"}


def mean_value_analysis(service: Sequence[float], jobs: int, think: float = 0.0) -> float:
    """Throughput of a closed network of single-server exponential stations and a delay of ``think``.

    Reiser and Lavenberg (1980): W_k(n) = s_k (1 + L_k(n - 1)); X(n) = n / (think + sum W_k(n)); L_k(n) = X(n) W_k(n).
    """
    lengths = [0.0] * len(service)
    rate = 0.0
    for n in range(1, jobs + 1):
        waits = [s * (1 + length) for s, length in zip(service, lengths, strict=True)]
        rate = n / (think + sum(waits))
        lengths = [rate * wait for wait in waits]
    return rate


def test_the_recursion_gives_the_closed_form_of_a_balanced_network() -> None:
    """Equal stations: X(n) = n / (s (n + m - 1)), the practical worst case of Hopp and Spearman (7.3)."""
    for m in (2, 4, 6):
        for n in (1, 3, 9):
            assert mean_value_analysis([2.0] * m, n) == pytest.approx(n / (2.0 * (n + m - 1)))


def test_the_recursion_gives_the_printed_figures_of_the_practical_worst_case() -> None:
    """Penny fab one with 1 to 10 jobs, pennies an hour as the book prints them (three figures, from memory)."""
    printed = [0.125, 0.200, 0.250, 0.286, 0.313, 0.333, 0.350, 0.364, 0.375, 0.385]
    found = [mean_value_analysis([2.0] * 4, n) for n in range(1, 11)]
    assert found == pytest.approx(printed, abs=5.1e-4)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 6, 9])
def test_best_case_law_exactly(count: int) -> None:
    """Penny fab one: rate = min(w / T0, rb), T0 = 8 h, rb = 0.5 an hour; capacity says the same, as exact."""
    network = closed(["2 h"] * 4, count)
    truth = 24 * min(count / 8, 0.5)
    found = recurring_rate(network)
    assert found is not None
    assert found.rate == pytest.approx(truth, rel=1e-9)
    capacity = measure_capacity(network, solve_flow(network))
    assert capacity.honesty.status == "exact"
    assert capacity.multiple == pytest.approx(truth, rel=1e-9)


@pytest.mark.parametrize("count", [1, 4, 8, 10])
def test_best_case_law_of_an_unbalanced_line(count: int) -> None:
    """Penny fab two: times 2, 5, 10, 3 h at 1, 2, 6, 2 machines: T0 = 20 h, rb = 0.4 an hour, critical at 8 jobs."""
    network = closed(["2 h", "5 h", "10 h", "3 h"], count, places=[1, 2, 6, 2])
    found = recurring_rate(network)
    assert found is not None
    assert found.rate == pytest.approx(24 * min(count / 20, 0.4), rel=1e-9)
    assert measure_capacity(network, solve_flow(network)).multiple == pytest.approx(24 * min(count / 20, 0.4), rel=1e-9)


@pytest.mark.parametrize("count", [1, 3, 8])
def test_practical_worst_case_within_the_interval(count: int) -> None:
    """Exponential times at four equal stations: rate = w / (W0 + w - 1) rb with W0 = 4."""
    truth = 24 * count / (4 + count - 1) * 0.5
    played = simulate(closed([exponential(2.0)] * 4, count), days=7 * 200, replications=12, seed=5)
    assert played.rate.low <= truth <= played.rate.high
    assert played.rate.half_width < 0.02 * truth


@pytest.mark.parametrize(
    ("service", "think", "count"),
    [((0.5, 1.0, 0.25), 0.0, 5), ((1.0, 1.0, 2.0), 3.0, 4), ((0.2, 0.9), 6.0, 8)],
)
def test_mean_value_analysis_within_the_interval(service: tuple[float, ...], think: float, count: int) -> None:
    """Unequal stations; the way back is a delay with no queue, of any shape (fixed here): the rate is insensitive."""
    truth = 24 * mean_value_analysis(service, count, think)
    network = closed([exponential(s) for s in service], count, way_back=f"{think} h" if think else None)
    played = simulate(network, days=7 * 160, replications=12, seed=11)
    assert played.rate.low <= truth <= played.rate.high
    assert played.rate.half_width < 0.02 * truth
    assert played.rate.low <= measure_capacity(network, solve_flow(network)).multiple


def test_the_time_round_follows_littles_law() -> None:
    """Carriers in use and on the way back are rate x time, and together all of them where work never lacks."""
    played = simulate(closed([exponential(1.0)] * 3, 4, way_back="2 h"), days=7 * 100, replications=4, seed=2)
    in_use, back, _, wanted = played.carrier_use.mean[0].tolist()
    assert back == pytest.approx(played.rate.mean / 24 * 2, rel=5e-3)
    assert in_use + back <= 4
    assert wanted > 0


@pytest.mark.parametrize(("machines", "rho"), [(3, 0.5), (6, 0.1), (8, 0.2)])
def test_machines_that_wait_for_a_repairer(machines: int, rho: float) -> None:
    """The machines are carriers: mended for an hour, then away running. The repairer works 1 - P0 of the time.

    P0 is the chance that all run, the Erlang loss formula of ``machines`` lines offered 1 / rho; the recursion agrees.
    """
    p0 = 1 / sum(comb(machines, n) * factorial(n) * rho**n for n in range(machines + 1))
    offered = 1 / rho
    lost = offered**machines / factorial(machines) / sum(offered**n / factorial(n) for n in range(machines + 1))
    assert p0 == pytest.approx(lost, rel=1e-12)
    assert mean_value_analysis([1.0], machines, think=offered) == pytest.approx(1 - p0, rel=1e-12)
    network = closed([exponential(1.0)], machines, way_back=exponential(offered))
    played = simulate(network, days=7 * 160, replications=12, seed=3)
    assert played.rate.low <= 24 * (1 - p0) <= played.rate.high
    assert played.rate.half_width < 0.01 * played.rate.mean


def product_form(service: Sequence[float], delays: Sequence[float], counts: Sequence[int]) -> list[float]:
    """Throughput of each class: G(N - one of the class) / G(N), with G summed over every state.

    Baskett et al. (1975): a state weighs, at a single server, (sum of n)! / prod n! x s^(sum of n), and at a delay
    prod z^n / n!. Every class visits every station once a round.
    """

    def constant(population: Sequence[int]) -> float:
        where = [list(_splits(n, len(service) + 1)) for n in population]
        total = 0.0
        for state in product(*where):  # state[class][station], the last is the delay
            weight = prod(z ** s[-1] / factorial(s[-1]) for z, s in zip(delays, state, strict=True))
            for k, time in enumerate(service):
                at = [s[k] for s in state]
                weight *= factorial(sum(at)) / prod(map(factorial, at)) * time ** sum(at)
            total += weight
        return total

    whole = constant(counts)
    return [constant([n - (k == c) for k, n in enumerate(counts)]) / whole for c in range(len(counts))]


def _splits(n: int, parts: int) -> list[tuple[int, ...]]:
    """Every way to put ``n`` carriers into so many places."""
    if parts == 1:
        return [(n,)]
    return [(k, *rest) for k in range(n + 1) for rest in _splits(n - k, parts - 1)]


def mean_value_of_classes(service: Sequence[float], delays: Sequence[float], counts: Sequence[int]) -> list[float]:
    """The recursion with classes (Reiser and Lavenberg 1980): W_ck(n) = s_k (1 + sum over classes of L_k(n - e_c))."""
    lengths: dict[tuple[int, ...], list[float]] = {}
    rates = [0.0] * len(counts)
    for n in product(*(range(count + 1) for count in counts)):  # each after all with fewer
        at = [0.0] * len(service)
        rates = [0.0] * len(counts)
        for c, count in enumerate(n):
            if count == 0:
                continue
            before = lengths[tuple(m - (k == c) for k, m in enumerate(n))]
            waits = [s * (1 + length) for s, length in zip(service, before, strict=True)]
            rates[c] = count / (delays[c] + sum(waits))
            at = [length + rates[c] * wait for length, wait in zip(at, waits, strict=True)]
        lengths[n] = at
    return rates


@pytest.mark.parametrize(
    ("service", "delays", "counts"),
    [((1.0, 0.5), (2.0, 4.0), (2, 3)), ((0.5, 0.8), (0.0, 0.0), (3, 2)), ((1.0,), (0.5, 6.0), (1, 6))],
)
def test_two_sizes_of_lasts_at_the_same_stations(
    service: tuple[float, ...], delays: tuple[float, ...], counts: tuple[int, ...]
) -> None:
    """Each size has its own lasts, number and way back; both wait in the same queues.

    A boot is put on its last at a bench, in a second. Boots that waited for lasts at the first station itself would
    come in order of their own asking, not in that in which lasts come: another rule, and another rate of each size.
    """
    waits = [delay + 1 / 3600 for delay in delays]
    truth = product_form(service, waits, counts)
    assert mean_value_of_classes(service, waits, counts) == pytest.approx(truth, rel=1e-12)
    plan = PlanBuilder("two sizes", release="flat out", open_pieces=40)
    plan.document["demand"] = [{"item": f"boot_{c}", "rate": "1 each/day"} for c in range(len(counts))]
    for k in range(len(service)):
        plan.station(f"s{k}")
    for c, (count, delay) in enumerate(zip(counts, delays, strict=True)):
        steps = [f"size{c}_{k}" for k in range(len(service))]
        plan.item(f"boot_{c}", unit="each")
        plan.carrier(f"last_{c}", count=count, from_=f"fit_{c}", to=steps[-1], way_back=f"{delay} h")
        route = plan.route(f"r{c}", gives=f"boot_{c}").operation(f"fit_{c}", time="1 s")
        for k, time in enumerate(service):
            route.operation(steps[k], station=f"s{k}", time=exponential(time))
    played = simulate(compile_network(plan.build()), days=7 * 160, replications=12, seed=7)
    for rate, true in zip(played.rates, truth, strict=True):
        assert rate.low <= 24 * true <= rate.high
        assert rate.half_width < 0.02 * rate.mean
