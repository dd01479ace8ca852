"""How long does an answer take: the boot with all its variants, with and without simulation, and a plan of 5,000?

The whole `linewright answer examples/boot.toml`, simulated to a half-width of 1 % (reached by takt) and written as a
page, runs in new processes: the first ever (no machine code on disk yet) and later ones; seconds of wall and processor,
and the most memory held by one process.
Without simulation "answer" is check + network + flow + capacity + cost from the file on disk,
after import; for the generated plan (plan_reading.py: 5,000 operations, 4,000 items) each stage is timed too, and
tomlkit, the general-purpose library that keeps comments, parses the same text in the same run. Wanted: first run ever
< 12 s, later < 6 s, < 300 MB; without simulation boot < 1 s, the large plan < 3 s and < 500 MB. Each is said to be met
or not; seconds of wall count only where the machine does nothing else, so those of the processor stand beside them.
Run: python benchmarks/whole_answer.py [--quick] [--json]
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time
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


WANTED = {
    "boot_first_run_ever_s": 12.0, "boot_later_run_s": 6.0, "boot_first_megabytes": 300.0,
    "boot_later_megabytes": 300.0, "boot_answer_s": 1.0, "large_answer_s": 3.0, "peak_megabytes": 500.0,
}  # fmt: skip
"""What is to be stayed below: s and MB; that of the large plan with 5,000 operations."""
ASK = "import sys; from linewright.cli.main import main; sys.exit(main())"


def commanded(folder: Path, page: str = "") -> tuple[float, float, float]:
    """Wall and CPU seconds, and most megabytes, of the command in a new process that keeps machine code in a folder.

    ``page`` "-" writes no page: the engine that draws pictures is a browser's and as large as all the rest.
    """
    place = {**os.environ, "LINEWRIGHT_CACHE_DIR": str(folder), "NUMBA_CACHE_DIR": str(folder)}
    place.pop("PYTHONDONTWRITEBYTECODE", None)  # as for any user: modules are not compiled anew in every run
    asked = ["answer", str(BOOT), "--half-width", "0.01", "--report", page or str(folder / "boot.html")]
    begun = time.perf_counter()
    child = subprocess.Popen([sys.executable, "-c", ASK, *asked], env=place, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(child.pid, 0)
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode not in (0, 3):
        raise RuntimeError(f"the command ended with {child.returncode}")
    return time.perf_counter() - begun, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def whole_command(times: int) -> Measured:
    """The first run ever, and the median of later ones."""
    with tempfile.TemporaryDirectory() as folder:
        first, *later = (commanded(Path(folder)) for _ in range(1 + times))
        bare = commanded(Path(folder), page="-")
    wall, cpu, megabytes = (statistics.median(column) for column in zip(*later, strict=True))
    return {
        "boot_first_run_ever_s": first[0], "boot_first_run_ever_cpu_s": first[1], "boot_first_megabytes": first[2],
        "boot_later_run_s": wall, "boot_later_run_cpu_s": cpu, "boot_later_megabytes": megabytes,
        "boot_without_page_s": bare[0], "boot_without_page_cpu_s": bare[1], "boot_without_page_megabytes": bare[2],
    }  # fmt: skip


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
            **whole_command(1 if quick else 3),
            "boot_operation_rows": len(compile_network(read_plan(BOOT)).operations.ids),
            "operations": operations,
            "items": items,
            "boot_answer_s": median(lambda: answered(BOOT), times),
            "large_answer_s": median(lambda: answered(path), times),
            **stages(path),
            "peak_megabytes": peak_megabytes(),
        }
    found["tomlkit_parse_alone_s"] = seconds_of(lambda: tomlkit.parse(text))
    found["tomlkit_over_answer"] = found["tomlkit_parse_alone_s"] / found["large_answer_s"]
    found["missed"] = [name for name, most in WANTED.items() if not found[name] < most]
    return found


def told(found: Measured) -> str:
    """One line a figure, with what was wanted of it."""
    lines = []
    for name, value in found.items():
        said = f"{value:.3g}" if isinstance(value, float) else str(value)
        wanted = (
            f"  wanted < {WANTED[name]:g}: {'met' if value < WANTED[name] else 'NOT met'}" if name in WANTED else ""
        )
        lines.append(f"{name:32} {said}{wanted}")
    return "\n".join(lines)


if __name__ == "__main__":
    run(measure, __doc__, tell=told)
