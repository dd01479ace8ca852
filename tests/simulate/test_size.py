"""Large plans and long runs: a thousand operations, and memory that stays small."""

from __future__ import annotations

import subprocess
import sys

import pytest

from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate


def test_a_plan_of_a_thousand_operations_runs() -> None:
    plan = PlanBuilder("long", makes="kit", demand="200 each/day", money="EUR")
    plan.shift("day", hours="06:00-14:00", days="Mon-Fri")
    takes = {}
    for k in range(50):
        plan.item(f"part{k}", unit="each").crew(f"crew{k}", people=3, shift="day")
        takes[f"part{k}"] = 1
        route = plan.route(f"r{k}", gives=f"part{k}")
        for j in range(20):
            plan.station(f"s{k}_{j}")
            route.operation(
                f"o{k}_{j}", station=f"s{k}_{j}", crew={f"crew{k}": 1}, time={"mean": f"{15 + j % 5} s", "cv": 0.3}
            )
    plan.item("kit", unit="each")
    plan.route("kit", gives="kit").operation("join", time="1 min", takes=takes)
    result = simulate(compile_network(plan.build()), days=21, replications=2)
    assert result.rate.mean == pytest.approx(200, rel=0.02)
    assert result.events > 100_000


@pytest.mark.slow
def test_memory_stays_below_300_megabytes() -> None:
    """The whole process, numba and SciPy included, after the boot of 145 operations."""
    code = """
from linewright.network import compile_network
from linewright.plan import read_plan
from linewright.simulate import simulate
simulate(compile_network(read_plan("examples/boot.toml")), half_width=0.01)
print(next(line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM")))
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert int(done.stdout) / 1024 < 300
