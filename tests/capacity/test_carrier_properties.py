"""Generated plans with carriers, shifts, losses and ways back: the bound holds, and one without luck meets it."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.capacity import Capacity, measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import StuckError, simulate
from linewright.simulate.recurring import recurring_rate

HOURS = ("06:00-14:00", "08:00-12:00", "20:00-04:00")
Draw = st.DrawFn


@st.composite
def carried_lines(draw: Draw) -> PlanBuilder:
    """A line of one to four steps: some by hand in a shift, some that stand, a check at the end, carriers along it."""
    plan = PlanBuilder("Harrow Fen Works, carried", makes="thing", demand="40 each/day", release="flat out",
                       open_pieces=30)  # fmt: skip
    plan.item("thing", unit="each")
    by_hand = draw(st.booleans())
    if by_hand:
        breaks = draw(st.sampled_from([[], ["10:00-10:30"]]))
        hours = draw(st.sampled_from(HOURS if not breaks else HOURS[:2]))
        plan.shift("some", hours=hours, days=draw(st.sampled_from(["Mon-Fri", "Mon-Sun"])), breaks=breaks)
        plan.crew("hand", people=draw(st.integers(1, 3)), shift="some", allowance=draw(st.sampled_from(["0 %", "9 %"])))
    route = plan.route("r", gives="thing")
    steps = draw(st.integers(1, 4))
    first, last = sorted(draw(st.tuples(st.integers(0, steps - 1), st.integers(0, steps - 1))))
    station = ""
    for k in range(steps):
        if not station or draw(st.integers(0, 2)) > 0:  # else it goes on in the place where it is
            station = f"at{k}"
            plan.station(station, places=draw(st.integers(1, 3)))
        minutes = draw(st.integers(2, 40))
        spread = draw(st.sampled_from([0.0, 0.0, 0.6]))
        fields: dict[str, Any] = {"station": station, "time": {"mean": f"{minutes} min", "cv": spread}}
        if by_hand and draw(st.booleans()):
            fields["crew"] = "hand"
        if draw(st.integers(0, 3)) == 0:
            fields["stand"] = f"{draw(st.integers(5, 400))} min"
        if k == 0 and draw(st.booleans()):
            fields["faults"] = {"crack": 0.15}
            plan.document["faulty"] = True
        if k > 0 and draw(st.integers(0, 3)) == 0:
            least, after = draw(st.integers(1, 300)), f"s{draw(st.integers(0, k - 1))}"
            fields["wait"] = {"after": after, "least": f"{least} min"}
            if draw(st.booleans()):
                fields["wait"] |= {"most": f"{least + 3000} min", "else": "scrap"}
        if k == steps - 1 and plan.document.pop("faulty", False):
            back_to = f"s{draw(st.integers(0, steps - 1))}"
            then = draw(st.sampled_from(["scrap", {"rework": back_to, "at_most": 1, "else": "scrap"}]))
            fields["check"] = {"finds": {"crack": 0.9}, "then": then}
        route.operation(f"s{k}", **fields)
    more: dict[str, Any] = {}
    if draw(st.booleans()):
        more = {"between_losses": f"{draw(st.integers(1, 12))} h", "repair": f"{draw(st.integers(10, 600))} min"}
    back = draw(st.sampled_from(["0 min", "7 min", "6 h"]))
    plan.carrier("last", count=draw(st.integers(1, 5)), holds=draw(st.sampled_from([1, 1, 2])), from_=f"s{first}",
                 to=f"s{last}", way_back=back, **more)  # fmt: skip
    return plan


def measured(plan: PlanBuilder) -> tuple[Network, Capacity]:
    network = compile_network(plan.build())
    return network, measure_capacity(network, solve_flow(network))


@settings(max_examples=60)
@given(carried_lines(), st.integers(0, 2**31))
def test_the_bound_holds_whatever_the_shifts_losses_and_ways_back(plan: PlanBuilder, seed: int) -> None:
    """Three half-widths of four replications: an honest interval misses by so much once in two thousand.

    Besides, two pieces may be just in or just out of the weeks looked at. No standstill without a warning.
    """
    network, capacity = measured(plan)
    try:
        played = simulate(network, days=16 * 7, replications=4, seed=seed, threads=1)
    except StuckError:
        warned = any("may lock each other" in p.what for p in network.problems)
        assert warned, f"a standstill without a warning: {plan.document}"
        return
    edge = 2 / (network.days_week * (played.weeks - played.warm_up_weeks))
    assert played.rate.mean - 3 * played.rate.half_width - edge <= capacity.multiple * 40 * (1 + 1e-9)


@settings(max_examples=60)
@given(
    st.lists(st.tuples(st.integers(1, 3000), st.sampled_from([0, 0, 40, 5000])), min_size=1, max_size=4),
    st.sampled_from([0, 30, 7200]),
    st.integers(1, 4),
    st.data(),
)
def test_one_carrier_with_constant_times_makes_exactly_what_the_bound_allows(
    steps: list[tuple[int, int]], back: int, holds: int, data: st.DataObject
) -> None:
    """A use lasts the sum of the times and the way back; what is not done on the carrier may be slower than that."""
    plan = PlanBuilder("Harrow Fen Works, one carrier", makes="thing", demand="40 each/day", release="flat out",
                       open_pieces=12)  # fmt: skip
    plan.item("thing", unit="each")
    route = plan.route("r", gives="thing")
    ends = st.integers(0, len(steps) - 1)
    first, last = sorted(data.draw(st.tuples(ends, ends)))
    for k, (time, stand) in enumerate(steps):
        load = {"load": holds} if first <= k <= last else {}
        plan.station(f"s{k}")
        route.operation(f"s{k}", station=f"s{k}", time=f"{time} s", **({"stand": f"{stand} s"} if stand else {}),
                        **load)  # fmt: skip
    plan.carrier("last", count=1, holds=holds, from_=f"s{first}", to=f"s{last}", way_back=f"{back} s")
    network, capacity = measured(plan)
    round_trip = sum(time + stand for time, stand in steps[first : last + 1]) + back
    slowest = max((time + stand) / (holds if first <= k <= last else 1) for k, (time, stand) in enumerate(steps))
    truth = 86400 / max(round_trip / holds, slowest)
    assert capacity.honesty.status == "exact"
    assert capacity.multiple * 40 == pytest.approx(truth, rel=1e-9)
    found = recurring_rate(network)
    assert found is not None
    assert found.rate == pytest.approx(truth, rel=1e-9)
