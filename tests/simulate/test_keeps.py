"""What goes off on hand: the oldest first, scrap at the very moment, mixed again; by hand and on random plans."""

from __future__ import annotations

import random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.calendar import MINUTE
from linewright.base.problems import ProblemsError
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate


def glued(
    keeps: str | None = "45 min", demand: str = "96 each/day", load: str = "10 kg", **plan: object
) -> PlanBuilder:
    """Two components are mixed, ten kilograms at a time; a piece takes 400 g every quarter of an hour: 25 to a mix."""
    builder = PlanBuilder("Glued", money="EUR", makes="thing", demand=demand, **plan)
    builder.item("thing", unit="each").item("resin", unit="kg", buy="8 EUR/kg")
    builder.item("glue", unit="kg", **({"keeps": keeps} if keeps else {}))
    builder.station("mixer").station("bench")
    builder.route("mix", gives="glue").operation(
        "mix", station="mixer", time="5 min", load=load, takes={"resin": "1 kg"}
    )
    builder.route("things", gives="thing").operation("lay", station="bench", time="2 min", takes={"glue": "0.4 kg"})
    return builder


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def run(builder: PlanBuilder, days: int = 28) -> Simulation:
    return simulate(network(builder), days=days, replications=1, trace=True)


def item(result: Simulation, name: str) -> int:
    return result.all_items.index(name)


def test_what_is_left_of_a_mix_goes_off() -> None:
    """Mixed in 5 minutes and good for 45, a mix does for 50 minutes: 3 1/3 pieces of 400 g; the rest is scrap."""
    result = run(glued())
    spoiled = float(result.spoiled.mean[item(result, "glue")])
    used = 96 * 0.4
    mixes = (spoiled + used) / 10
    assert result.rate.mean == pytest.approx(96, rel=1e-3)
    assert 96 / mixes == pytest.approx(10 / 3, rel=1e-2), "pieces that a mix does for"
    assert result.runs.mean[0] == pytest.approx(10 * mixes, rel=2e-2)


def test_it_spoils_at_the_very_moment_and_is_mixed_again() -> None:
    """Mixed at five minutes past; at 50 past what is left goes, and the next mix begins at once."""
    result = run(glued(demand="0.1 each/day"), days=7)
    assert result.trace is not None
    begins = [r.time / MINUTE for r in result.trace.records if r.event == "starts" and r.operation == "mix"]
    assert begins[:3] == [0, 50, 100]


def test_what_keeps_long_enough_never_goes_off() -> None:
    assert run(glued(keeps="100 h")).spoiled.mean.tolist() == [0, 0, 0]
    assert run(glued(keeps=None)).spoiled.mean.tolist() == [0, 0, 0]


def test_the_longer_it_keeps_the_less_is_lost() -> None:
    lost = [float(run(glued(keeps=f"{minutes} min")).spoiled.mean.sum()) for minutes in (20, 45, 90, 200)]
    assert lost == sorted(lost, reverse=True)
    assert lost[0] > 4 * lost[-1]


def test_a_smaller_mix_loses_less() -> None:
    assert run(glued(load="2 kg")).spoiled.mean.sum() < 0.3 * run(glued()).spoiled.mean.sum()


def test_the_balance_says_that_it_counts_none() -> None:
    said = network(glued()).assumptions
    assert any("uses all glue before it goes off; what spoils is counted by the simulation" in one for one in said)
    plan = glued(keeps=None)
    plan.document["items"]["resin"]["keeps"] = "3 day"
    assert any("so that none goes off: resin" in one for one in network(plan).assumptions)


def test_parts_that_go_off_free_the_carriers_they_lie_on() -> None:
    """Counted parts on trays: what is too old is scrap, and its tray goes back."""
    plan = PlanBuilder("Trays", makes="thing", demand="20 each/day").item("thing", unit="each")
    plan.item("part", unit="each", keeps="30 min").station("one").station("two")
    plan.carrier("tray", count=2, from_="make", to="use")
    plan.route("p", gives="part").operation("make", station="one", time="1 min")
    plan.route("r", gives="thing").operation("use", station="two", time="1 min", takes={"part": 1})
    result = run(plan)
    assert result.spoiled.mean.sum() > 0
    assert result.rate.mean == pytest.approx(20, rel=1e-2)


def test_the_same_bits_without_the_compiler(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LINEWRIGHT_NO_JIT", raising=False)
    first = simulate(network(glued()), days=7, replications=1)
    monkeypatch.setenv("LINEWRIGHT_NO_JIT", "1")
    second = simulate(network(glued()), days=7, replications=1)
    assert np.array_equal(first.spoiled.mean, second.spoiled.mean)
    assert np.array_equal(first.state_share.mean, second.state_share.mean)


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10**6))
def test_units_are_used_left_or_spoiled(seed: int) -> None:
    """The books of every week hold: what was on hand and made is used, spoiled or there."""
    luck = random.Random(seed)
    plan = glued(keeps=f"{luck.randint(10, 300)} min", load=f"{luck.randint(1, 12)} kg")
    plan.document["plan"]["demand"] = f"{luck.randint(10, 400)} each/day"
    lay = plan.document["routes"]["things"]["operations"][0]
    lay["time"] = {"mean": "2 min", "cv": 0.7}
    lay["faults"], lay["check"] = {"gap": 0.1}, {"finds": {"gap": 0.9}, "then": {"rework": "lay", "at_most": 1}}
    plan.document["items"]["glue"]["unit"] = luck.choice(["kg", "kg"])
    try:
        result = simulate(network(plan), days=14, replications=1, seed=seed)
    except ProblemsError as wrong:
        said = wrong.problems[0].what
    else:
        said = ""
        assert (result.spoiled.mean >= 0).all()
    assert not said or "standstill" in said
