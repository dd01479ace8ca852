"""The page's example runs and prints what it says; its gains lie within the intervals of a play of their own."""

from __future__ import annotations

import doctest
import re
from functools import cache
from pathlib import Path

import pytest
from improve_cases import example, ideas_of

from linewright.capacity import Capacity, measure_capacity
from linewright.capacity.fold import fold_capacity
from linewright.cost import cost_of_one
from linewright.cost.fold import fold_cost
from linewright.flow import solve_flow
from linewright.improve.edits import edited
from linewright.network import Network, compile_network
from linewright.simulate import Quotas, Simulation, simulate
from linewright.simulate.compare import Comparison, compare

PAGE = Path(__file__).resolve().parents[2] / "docs" / "improve.md"
TEXT = PAGE.read_text(encoding="utf-8")
GAINS = [
    (plan, what, float(base), float(gain))
    for plan, what, base, gain in re.findall(r"^\| (\w+) \| (.+?) \| ([\d.]+) \| (-?[\d.]+) \|$", TEXT, re.MULTILINE)
]
PLAYED = {"trailer": (56, 20), "hivekit": (56, 5), "reedboard": (56, 5), "boot": (112, 3)}
"""Days and replications."""


def test_the_example_of_the_page() -> None:
    found = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert found.attempted > 10
    assert found.failed == 0


@cache
def changed(plan: str, what: str) -> Network:
    ideas = ideas_of(example(plan)[0], as_it_is(plan).crew_use.mean).found
    return compile_network(edited(example(plan)[0], next(i.candidate.edits for i in ideas if i.candidate.what == what)))


@cache
def as_it_is(plan: str) -> Simulation:
    """A plan played flat out for four weeks."""
    network = compile_network(example(plan)[0])
    flow = solve_flow(network)
    return simulate(network, quotas=Quotas(flow.mix, flow.choice_mix), days=28, replications=1, release="flat out")


def worked_out(network: Network) -> tuple[Capacity, float]:
    """Bounds, and the cost of one."""
    flow = solve_flow(network)
    capacity = measure_capacity(network, flow)
    return fold_capacity(network, flow, capacity), fold_cost(network, cost_of_one(network, flow, capacity)).products[
        0
    ].total


@pytest.mark.parametrize("plan", PLAYED)
def test_gains(plan: str) -> None:
    rows = [row for row in GAINS if row[0] == plan]
    assert rows
    found = play(plan, tuple(what for _, what, _, _ in rows))
    assert found.first.rate is not None
    for (_, what, base, gain), played in zip(rows, found.networks[1:], strict=True):
        assert abs(found.first.rate.mean - base) <= found.first.rate.half_width + 0.5, what
        assert played.gain is not None
        assert abs(played.gain.mean - gain) <= played.gain.half_width + 0.05, (what, played.gain)


def play(plan: str, changes: tuple[str, ...]) -> Comparison:
    days, replications = PLAYED[plan]
    networks = [compile_network(example(plan)[0]), *(changed(plan, what) for what in changes)]
    flows = [solve_flow(network) for network in networks]
    quotas = [Quotas(flow.mix, flow.choice_mix) for flow in flows]
    open_pieces = round(as_it_is(plan).kept[as_it_is(plan).items[0]])
    return compare(
        networks, 7, quotas=quotas, release="flat out", open_pieces=open_pieces, days=days, replications=replications
    )


def test_bounds_and_costs_that_the_page_names() -> None:
    boot = worked_out(compile_network(example("boot")[0]))[1]
    assert f"{worked_out(changed('boot', 'one more welt stitcher'))[1] - boot:.2f} EUR on each pair" in TEXT
    packer = changed("boot", "one packer learns the work of welt stitcher")
    assert worked_out(packer)[1] == pytest.approx(boot, abs=0.005)
    assert "costs nothing more" in TEXT
    edger, _ = worked_out(changed("hivekit", "one more place at through-feed edger"))
    assert f"lift the rate to {edger.wanted[0].rate:.1f}" in TEXT
    mill, _ = worked_out(compile_network(example("reedboard")[0]))
    assert mill.binds is not None
    assert mill.binds.where == "mill"
    assert f"({mill.wanted[0].rate:.1f})" in TEXT
    cider, _ = worked_out(compile_network(example("cider")[0]))
    tanks, _ = worked_out(
        changed("cider", 'a load of 6250 L instead of 5000 L at "Pump must over and pitch the yeast"')
    )
    assert not cider.makes
    assert f"from {cider.wanted[0].rate:.1f} to {tanks.wanted[0].rate:.1f} cases" in TEXT.replace("\n", " ")
    one_more, _ = worked_out(changed("cider", "one more place at cooled fermenter of 5,000 L"))
    assert f"one more tank to {one_more.wanted[0].rate:.1f}" in TEXT


def test_what_explains_the_surprises() -> None:
    """The driller waits a third of attended time for a machinist; the former a quarter for a press hand busy half."""
    states = {}
    edgers = changed("hivekit", "one more place at through-feed edger")
    for plan, network in (("hivekit", edgers), ("reedboard", compile_network(example("reedboard")[0]))):
        flow = solve_flow(network)
        found = simulate(
            network, quotas=Quotas(flow.mix, flow.choice_mix), release="flat out", days=42, replications=2, threads=2
        )
        waits = found.state_share.mean[:, found.states.index("no crew")]
        there = 1 - found.state_share.mean[:, found.states.index("unmanned")]
        states[plan] = dict(zip(found.stations, (waits / there).tolist(), strict=True))
        use = dict(zip(found.crews, found.crew_use.mean.tolist(), strict=True))
    assert states["hivekit"]["driller"] == pytest.approx(1 / 3, abs=0.05)
    assert states["reedboard"]["former"] == pytest.approx(1 / 4, abs=0.05)
    assert use["press_hand"] < 0.5
