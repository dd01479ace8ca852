"""Carriers make a line a closed queueing network: theory of these against the simulation.

Exact mean value analysis: Reiser and Lavenberg, "Mean-value analysis of closed multichain queuing networks", J. ACM 27
(1980) 313-322; the recursion is written out here from its equations. Closed lines with a fixed number of jobs, best
case and practical worst case: Hopp and Spearman, Factory Physics (3rd ed. 2008), ch. 7 (their "penny fab": four
stations of two hours, and its unbalanced variant with 1, 2, 6, 2 machines), laws and printed figures from memory. A
carrier that goes with a piece from the first operation to the last, with work always at hand, is such a network.
"""

from __future__ import annotations

from collections.abc import Sequence

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
