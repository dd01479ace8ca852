"""How long does an answer without simulation take: the boot of 145 operations, and a plan of 5,000?

"Answer" is check + network + flow + capacity + cost from the file on disk, after import. For the generated plan
(plan_reading.py: 5,000 operations, 4,000 items) each stage is timed too, and tomlkit, the general-purpose library that
keeps comments, parses the same text in the same run. Wanted: boot < 1 s; the large plan < 3 s and < 500 MB.
Run: python benchmarks/whole_answer.py [--quick] [--json]
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, peak_megabytes, run, seconds_of
from linewright.capacity import measure_capacity
from linewright.cost import cost_of_one
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import read_plan
from plan_reading import large_plan

BOOT = Path(__file__).parents[1] / "examples" / "boot.toml"


def answered(path: Path) -> None:
    """All stages but the simulation."""
    network = compile_network(read_plan(path))
    flow = solve_flow(network)
    cost_of_one(network, flow, measure_capacity(network, flow))


def stages(path: Path) -> Measured:
    """Seconds of each stage in one run."""
    found: Measured = {}
    kept: Measured = {}

    def stage(name: str, work: object) -> None:
        found[f"{name}_s"] = seconds_of(lambda: kept.__setitem__(name, work()))  # type: ignore[operator]

    stage("check", lambda: read_plan(path))
    stage("network", lambda: compile_network(kept["check"]))
    stage("flow", lambda: solve_flow(kept["network"]))
    stage("capacity", lambda: measure_capacity(kept["network"], kept["flow"]))
    stage("cost", lambda: cost_of_one(kept["network"], kept["flow"], kept["capacity"]))
    return found


def measure(quick: bool) -> Measured:
    """All timings."""
    import tomlkit

    operations, items, times = (500, 400, 3) if quick else (5000, 4000, 5)
    text = large_plan(operations, items)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "large.toml"
        path.write_text(text)
        answered(BOOT)  # imports and caches
        found: Measured = {
            "operations": operations,
            "items": items,
            "boot_answer_s": median(lambda: answered(BOOT), times),
            "large_answer_s": median(lambda: answered(path), times),
            **stages(path),
            "peak_megabytes": peak_megabytes(),
        }
    found["tomlkit_parse_alone_s"] = seconds_of(lambda: tomlkit.parse(text))
    found["tomlkit_over_answer"] = found["tomlkit_parse_alone_s"] / found["large_answer_s"]
    return found


if __name__ == "__main__":
    run(measure, __doc__)
