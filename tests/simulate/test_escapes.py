"""Faults that reach the customer: counted as the plan says, with intervals that hold, beside those of the balance."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy.stats import chi2
from scipy.stats import t as student

from linewright.base.results import Interval
from linewright.flow import solve_flow
from linewright.flow.fold import fold_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder, read_plan
from linewright.simulate import Simulation, simulate
from linewright.simulate.escapes import faults_into, share_of

EXAMPLES = Path(__file__).parents[2] / "examples"


def boxes(per_load: bool) -> Network:
    """Four sides are cut in one load, and one in ten is split, or one load in ten; a box is nailed of four."""
    plan = PlanBuilder("boxes", makes="box", demand="1 each/day", release="flat out", open_pieces=4)
    plan.item("box", unit="each").item("side", unit="each").item("lid", unit="each")
    plan.shift("always", hours="00:00-24:00", days="Mon-Sun").station("saw").station("table").station("press")
    faults = {"faults": {"split": "10 %"}, **({"faults_per": "load"} if per_load else {})}
    plan.route("sides", gives="side").operation("cut", station="saw", time="4 min", load=4, **faults)  # type: ignore[arg-type]
    plan.route("lids", gives="lid").operation("form", station="press", time="1 min", faults={"bent": "5 %"})
    route = plan.route("boxes", gives="box")
    route.operation("nail", station="table", time="8 min", takes={"side": 4, "lid": 1}, faults={"loose nail": "2 %"})
    route.operation("look", station="table", time="1 min", check={"finds": {"loose nail": "50 %"}, "then": "scrap"})
    return compile_network(plan.build())


def shares(found: Simulation) -> dict[str, Interval]:
    return {e.fault: e.share for e in found.escapes}


def holds(interval: Interval, truth: float, among: int, replications: int) -> bool:
    """Whether an interval holds the truth where ``among`` of them shall hold it all together (Bonferroni)."""
    wider = float(student.ppf(1 - 0.025 / among, replications - 1) / student.ppf(0.975, replications - 1))
    return abs(interval.mean - truth) <= wider * interval.half_width


def test_parts_and_checks_leave_the_share_that_the_plan_says() -> None:
    found = shares(simulate(boxes(per_load=False), days=56, replications=10))
    assert set(found) == {"split", "bent", "loose nail", ""}
    some, bent, loose = 1 - 0.9**4, 0.05, 0.02 * 0.5 / (1 - 0.02 * 0.5)
    wanted = {"split": some, "bent": bent, "loose nail": loose, "": 1 - (1 - some) * (1 - bent) * (1 - loose)}
    for fault, truth in wanted.items():
        assert holds(found[fault], truth, 4, 10), fault


def test_a_spoilt_load_meets_in_the_same_users() -> None:
    """One load of four sides becomes one box: one box in ten, and not 1 - 0.9^4 of them. The balance says so too."""
    network = boxes(per_load=True)
    found = shares(simulate(network, days=56, replications=10))
    assert holds(found["split"], 0.1, 1, 10)
    split = network.faults.index("split")
    computed = {(network.items.ids[e.item], e.fault): e.share for e in solve_flow(network).escapes}
    assert computed["box", split] == pytest.approx(0.1)


def test_no_fault_seen_is_not_no_fault() -> None:
    """The rule of the exact upper limit: -ln(0.025) / n after none, chi-square quantiles after some (Garwood 1936)."""
    none = share_of(np.zeros(4), np.full(4, 250.0))
    assert none.mean == 0.0
    assert none.high == pytest.approx(-np.log(0.025) / 1000)
    few = share_of(np.array([1.0, 0.0, 1.0, 1.0]), np.full(4, 250.0))
    assert few.high >= chi2.ppf(0.975, 2 * (3 + 1)) / 2 / 1000 * (1 - 1e-12)
    assert share_of(np.array([3.0]), np.array([100.0])).half_width == np.inf
    assert np.isnan(share_of(np.zeros(2), np.zeros(2)).mean)


def test_intervals_hold_the_truth_as_often_as_they_say() -> None:
    """Counts of independent faults, rare and common, pieces that vary: 95 % or more of 2,000 intervals hold."""
    random = np.random.default_rng(5)
    for truth in (2e-4, 0.01, 0.3):
        held = 0
        for _ in range(2000):
            pieces = random.integers(700, 1300, 8)
            found = share_of(random.binomial(pieces, truth).astype(float), pieces.astype(float))
            held += abs(found.mean - truth) <= found.half_width
        assert held >= 0.935 * 2000


def test_only_faults_that_can_be_inside_are_told() -> None:
    network = compile_network(read_plan(EXAMPLES / "hivekit.toml"))
    panel, kit = (network.items.ids.index(name) for name in ("shallow_panel", "hive_kit [plain]"))
    inside = {network.faults[f] for f in faults_into(network, panel)}
    assert inside == {"split edge", "hole off place"}
    assert faults_into(network, panel) < faults_into(network, kit)


@pytest.mark.slow
@pytest.mark.parametrize("name", ["trailer", "cider", "reedboard", "hivekit", "boot"])
def test_examples_agree_with_the_balance(name: str) -> None:
    network = compile_network(read_plan(EXAMPLES / f"{name}.toml"))
    flow = fold_flow(network, solve_flow(network))
    computed = {(flow.items[e.item], network.faults[e.fault]): e.share for e in flow.escapes}
    found = simulate(network, days=112, replications=8, budget_seconds=300)
    told = [e for e in found.escapes if e.fault]
    assert told
    for e in told:
        truth = computed.get((e.item, e.fault), 0.0)
        assert holds(e.share, truth, len(told), 8), (e.item, e.fault, e.share, truth)
