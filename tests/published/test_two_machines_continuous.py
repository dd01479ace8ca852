"""Two unreliable machines of equal speed with a store between them, continuous flow, stoppages by running time.

Buzacott (1967) and Gershwin, Manufacturing Systems Engineering (1994), ch. 3: exponential running times (rate p) and
repairs (rate r), both at speed 1. From memory; the closed form was derived anew from the balance of the interior and
the boundaries:

    1 / E = 1 + I (2 + x) / (1 + x),  I = p / r,  x = (p + r) N / 2

N = 0 gives 1 / (1 + 2 I), N without end 1 / (1 + I): Buzacott's limits. The discrete chain of the same model tends to
it (own derivation). A machine that is slowed by its neighbour stops as often as at full speed; at equal
speeds that never differs.
"""

from __future__ import annotations

import pytest

from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate


def efficiency(p: float, r: float, room: float) -> float:
    x = (p + r) * room / 2
    return 1 / (1 + p / r * (2 + x) / (1 + x))


def line(p: float, r: float, room: float, replications: int = 80) -> Simulation:
    """Speed 1 kg a minute, p and r a minute, room in kg; no room is direct hand-over."""
    plan = PlanBuilder("two machines", makes="meal", demand="1 kg/day", release="flat out", open_pieces=10_000)
    plan.item("meal", unit="kg")
    stops = [
        {
            "name": "stop",
            "between": f"{60 / p} s",
            "repair": {"mean": f"{60 / r} s", "cv": 1, "shape": "exponential"},
        }
    ]
    plan.station("a", stoppages=stops).station("b", stoppages=stops)
    if room:
        plan.store("middle", room=f"{room} kg")
    plan.route("x", gives="meal").operation(
        "first", station="a", time={"rate": "60 kg/h"}, then_to="middle" if room else "next"
    ).operation("second", station="b", time={"rate": "60 kg/h"})
    return simulate(compile_network(plan.build()), days=28, replications=replications, seed=11)


@pytest.mark.parametrize(
    ("p", "r", "room"), [(0.01, 0.1, 10), (0.05, 0.2, 5), (0.01, 0.1, 0), (0.02, 0.05, 30), (0.01, 0.1, 100)]
)
def test_rate_of_two_machines(p: float, r: float, room: float) -> None:
    """Within one and a half half-widths of 95 %: a right engine misses once in some 300 seeds."""
    result = line(p, r, room)
    truth = efficiency(p, r, room) * 1440
    assert abs(result.rate.mean - truth) <= 1.5 * result.rate.half_width
    assert result.rate.half_width < 0.005 * truth


def test_published_values() -> None:
    """The check values of the closed form: limits by Buzacott, two finite stores."""
    assert efficiency(0.01, 0.1, 0) == pytest.approx(0.833333, abs=1e-6)
    assert efficiency(0.01, 0.1, 1e9) == pytest.approx(0.909091, abs=1e-6)
    assert efficiency(0.01, 0.1, 10) == pytest.approx(0.858727, abs=1e-5)
    assert efficiency(0.05, 0.2, 5) == pytest.approx(0.712336, abs=1e-5)


def test_the_store_is_half_full_by_symmetry() -> None:
    """Equal machines see the store from both sides alike: it is as often full as empty, and half full in the mean."""
    result = line(0.05, 0.2, 5)
    level = result.store_level.interval(0)
    assert abs(level.mean - 2.5) <= 2 * level.half_width
    blocked = float(result.state_share.mean[0, 3])
    short = float(result.state_share.mean[1, 4])
    assert blocked == pytest.approx(short, rel=0.05)
