"""How fast is the event engine, against SimPy, a general-purpose process-simulation library, on the same lines?

Two lines are played by both for the same simulated time, with the same statistics kept (pieces, time in plant, and the
states of every station), CPU seconds on one thread, medians over alternating runs: a line of 10 stations with stores,
and one of 145 operations with 30 people in 6 crews. Then the five examples whole, flat out, by both: events a second,
and how many times faster than SimPy where process_plant can play the plan; where it cannot it says what the plan holds.
That both give the same figures is tested in tests/simulate/test_against_library.py. Then threads, and the first and the
later start of the compiled kernel. Wanted: at least 50 times; 2 threads 1.7 times one.
Run: python benchmarks/simulate.py [--quick] [--json] [--record]
``--record`` writes the numbers to benchmarks/results and the table to docs/simulate.md.
"""

from __future__ import annotations

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, peak_megabytes, run
from linewright.base.calendar import NS
from linewright.network import compile_network
from linewright.plan import read_plan
from linewright.simulate import simulate
from linewright.simulate.engine import Engine
from linewright.simulate.kernel.compiled import machine_code
from linewright.simulate.simulate import Prepared, prepare
from process_library import Line, Step, as_network, play
from process_plant import cannot_play, play_plant

WEEKS = {"trailer": (8, 2), "cider": (20, 11), "reedboard": (4, 1), "hivekit": (4, 1), "boot": (2, 1)}
"""Weeks that are played of each example, and for a first look: some seconds of SimPy, but the cider until bottles are
filled, which comes after nine weeks in the tanks.
"""
LINES = {"ten_stations": "10 stations, stores of five", "145_operations": "145 operations, 30 people"}
DAY = 86_400.0
ROOT = Path(__file__).resolve().parent.parent
RECORD = ROOT / "benchmarks/results/simulate.json"
PAGE = ROOT / "docs/simulate.md"
BEGIN, END = "<!-- generated: benchmarks/simulate.py -->", "<!-- end -->"


def short_line() -> Line:
    """Ten stations with a store of five behind each."""
    return Line([Step(60, 1.0, room=5) for _ in range(10)], open_pieces=60)


def long_line() -> Line:
    """145 operations of about a minute, 30 people in six crews, small stores."""
    crews = {f"crew{k}": 5 for k in range(6)}
    steps = [Step(50 + 7 * (k % 5), 0.3, crew=f"crew{k % 6}", room=4) for k in range(145)]
    return Line(steps, crews, open_pieces=200)


def cpu(work: Callable[[], object]) -> float:
    """CPU seconds of this process for one run."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def advance(prepared: Prepared, seconds: float, replication: int) -> Engine:
    """One replication for so many simulated seconds."""
    engine = Engine(prepared.template, seed=1, replication=replication)
    while not engine.advance(int(seconds * NS)):
        pass
    engine.settle()
    return engine


def against_library(name: str, line: Line, days: float, times: int) -> Measured:
    """Both engines in turn on one line."""
    prepared = prepare(as_network(line))
    advance(prepared, DAY / 10, 0)
    ours, theirs, events, timeouts = [], [], 0, 0
    for k in range(times):
        ours.append(cpu(lambda k=k: advance(prepared, days * DAY, k)))  # type: ignore[misc]
        events = advance(prepared, days * DAY, k).events
        found = play(line, days * DAY, 0.0, k)
        theirs.append(found.seconds)
        timeouts = found.timeouts
    own, other = statistics.median(ours), statistics.median(theirs)
    return {
        f"{name}_events": events,
        f"{name}_library_timeouts": timeouts,
        f"{name}_cpu_s": own,
        f"{name}_library_cpu_s": other,
        f"{name}_events_per_s": events / own,
        f"{name}_times_faster": other / own,
    }


def examples(quick: bool, times: int) -> Measured:
    """Events a second on every example, flat out, one thread; and how many times faster than the library.

    Both are made ready before the clock runs, and keep the states of places, people at work and open pieces.
    """
    found: Measured = {}
    for name, lengths in WEEKS.items():
        weeks = lengths[1 if quick else 0]
        network = compile_network(read_plan(ROOT / "examples" / f"{name}.toml"))
        prepared = prepare(network, release="flat out")
        advance(prepared, DAY, 0)
        missing = cannot_play(network)
        ours, theirs, events, timeouts = [], [], 0, 0
        for k in range(times):
            ours.append(cpu(lambda k=k, p=prepared, w=weeks: advance(p, w * 7 * DAY, k)))  # type: ignore[misc]
            events = advance(prepared, weeks * 7 * DAY, k).events
            if not missing:
                run_of_library = play_plant(network, prepared, weeks, 0, k)
                theirs.append(run_of_library.seconds)
                timeouts = run_of_library.timeouts
        own = statistics.median(ours)
        found |= {f"{name}_events": events, f"{name}_cpu_s": own, f"{name}_events_per_s": events / own}
        if missing:
            found[f"{name}_without_yardstick"] = "SimPy model lacks " + ", ".join(missing)
        else:
            other = statistics.median(theirs)
            found |= {
                f"{name}_library_timeouts": timeouts,
                f"{name}_library_cpu_s": other,
                f"{name}_times_faster": other / own,
            }
    return found


def boot_with_lasts(times: int) -> Measured:
    """Seconds from the file to a half-width of 1 %: 145 operations, 24 sizes and sides, 180 lasts. Wanted: < 10 s."""
    path = Path(__file__).parents[1] / "examples" / "boot.toml"
    walls, cpus = [], []
    for _ in range(times):
        begun, clock = time.perf_counter(), time.process_time()
        network = compile_network(read_plan(path))
        found = simulate(network, half_width=0.01)
        walls.append(time.perf_counter() - begun)
        cpus.append(time.process_time() - clock)
    return {
        "boot_lasts": int(network.carriers.count.sum()),
        "boot_kinds_of_lasts": len(network.carriers.ids),
        "boot_half_width": found.rate.half_width / found.rate.mean,
        "boot_one_percent_s": statistics.median(walls),
        "boot_one_percent_cpu_s": statistics.median(cpus),
    }


def threads() -> Measured:
    """Wall seconds of the same replications on one thread and on two."""
    network = compile_network(read_plan(Path(__file__).parents[1] / "examples" / "boot.toml"))
    found = {}
    for workers in (1, 2):
        begun = time.perf_counter()
        result = simulate(network, days=56, replications=8, threads=workers, budget_seconds=600)
        found[workers] = (time.perf_counter() - begun, result.rate.mean)
    return {"two_threads_times_faster": found[1][0] / found[2][0], "threads_same_bits": found[1][1] == found[2][1]}


def starts() -> Measured:
    """CPU seconds to have the kernel ready in a new process: never compiled before, and from disk."""
    code = (
        "import os; used = lambda: sum(os.times()[:4]); b = used();"  # with that of the process that compiles
        "from linewright.simulate.kernel.compiled import machine_code; machine_code(); print(used() - b)"
    )
    with tempfile.TemporaryDirectory() as folder:
        place = {**os.environ, "NUMBA_CACHE_DIR": folder}
        first, later = (
            float(subprocess.run([sys.executable, "-c", code], env=place, capture_output=True, check=True).stdout)
            for _ in range(2)
        )
    return {"first_start_cpu_s": first, "later_start_cpu_s": later}


def page(found: Measured) -> str:
    """The measured table, as docs/simulate.md has it."""
    lines = [
        f"{found['machine']}, Python {found['python']}, {found['date']}; the machine was shared with other work. CPU "
        "seconds on one thread, medians.",
        "",
        "| plan | our events | CPU s | events a second | SimPy: timeouts | CPU s | times faster |",
        "|---|---|---|---|---|---|---|",
    ]
    for name, told in (LINES | {name: f"{name}, {weeks} weeks" for name, (weeks, _) in WEEKS.items()}).items():
        ours = f"| {told} | {found[f'{name}_events']:,} | {found[f'{name}_cpu_s']:.3f} "
        ours += f"| {found[f'{name}_events_per_s'] / 1e6:.1f} million "
        if f"{name}_times_faster" in found:
            theirs = f"| {found[f'{name}_library_timeouts']:,} | {found[f'{name}_library_cpu_s']:.2f} "
            lines.append(f"{ours}{theirs}| {found[f'{name}_times_faster']:.0f} |")
        else:
            lines.append(
                f"{ours}| not played: {found[f'{name}_without_yardstick'].removeprefix('SimPy model lacks ')} | | |"
            )
    lines += [
        "",
        f"Two threads give {'the same' if found['threads_same_bits'] else 'other'} bits as one. The kernel is ready in "
        f"{found['first_start_cpu_s']:.1f} s of CPU the first time ever, later in {found['later_start_cpu_s']:.2f} s. "
        f"The boot to a half-width of 1 %, from its file: {found['boot_one_percent_s']:.1f} s. Most memory held: "
        f"{found['peak_megabytes']:.0f} MB, SimPy's own included.",
    ]
    return "\n".join(lines)


def record(found: Measured) -> None:
    """Write the numbers to benchmarks/results and the table to docs/simulate.md."""
    RECORD.write_text(json.dumps(found, indent=1) + "\n")
    text = PAGE.read_text()
    begin = text.index(BEGIN) + len(BEGIN)
    PAGE.write_text(text[:begin] + f"\n{page(found)}\n" + text[text.index(END, begin) :])


def main() -> None:
    parser = argparse.ArgumentParser(add_help=False)
    parser.add_argument("--record", action="store_true", help="write the numbers and the page")
    own, others = parser.parse_known_args()
    found = run(measure, __doc__, others)
    if own.record:
        record(found)


def measure(quick: bool) -> Measured:
    """Everything."""
    machine_code()
    times = 3 if quick else 7
    return {
        **against_library("ten_stations", short_line(), 2 if quick else 6, times),
        **against_library("145_operations", long_line(), 1 if quick else 3, times),
        **examples(quick, 2 if quick else 3),
        **boot_with_lasts(1 if quick else 3),
        **threads(),
        **starts(),
        "peak_megabytes": peak_megabytes(),
    }


if __name__ == "__main__":
    main()
