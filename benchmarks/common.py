"""What every benchmark shares: medians of repeated work, the machine and date, the two options, and printing."""

from __future__ import annotations

import argparse
import json
import os
import platform
import resource
import statistics
import time
from collections.abc import Callable, Sequence
from typing import Any

Measured = dict[str, Any]


def seconds_of(work: Callable[[], object]) -> float:
    """Wall seconds of one run."""
    begun = time.perf_counter()
    work()
    return time.perf_counter() - begun


def median(work: Callable[[], object], times: int) -> float:
    """Median wall seconds of ``times`` runs."""
    return statistics.median(seconds_of(work) for _ in range(times))


def peak_megabytes() -> float:
    """The most memory this process has held so far (Linux counts in KiB)."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def machine() -> Measured:
    """Where and when: what a number in docs must be read with."""
    return {
        "machine": f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores",
        "python": platform.python_version(),
        "date": time.strftime("%Y-%m-%d"),
    }


def run(
    measure: Callable[[bool], Measured],
    says: str | None,
    arguments: Sequence[str] | None = None,
    tell: Callable[[Measured], str] | None = None,
) -> Measured:
    """Read ``--quick`` and ``--json``, measure, and print with the machine and the date; ``tell`` words what is found.

    ``arguments`` are those of the command line where a benchmark has read options of its own.
    """
    parser = argparse.ArgumentParser(description=says, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--quick", action="store_true", help="a smaller case, for a first look")
    parser.add_argument("--json", action="store_true", help="print one JSON object")
    options = parser.parse_args(arguments)
    found = {**measure(options.quick), **machine()}
    if options.json:
        print(json.dumps(found, indent=2))
    elif tell is not None:
        print(tell(found))
    else:
        for name, value in found.items():
            print(f"{name:34} {value:.4g}" if isinstance(value, float) else f"{name:34} {value}")
    return found
