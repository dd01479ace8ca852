"""How long do a million readings take, from file to chart?

Charts of 1,000,000 readings with four run rules, beside NumPy doing the bare arithmetic of the same limits (means,
ranges, comparison) in the same run; reading the CSV beside the csv module of the standard library and NumPy's loadtxt;
run lengths beside playing charts. Rows where we lose stay.
Run: python benchmarks/quality.py [--quick] [--json]
"""

from __future__ import annotations

import csv
import sys
import tempfile
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, peak_megabytes, run
from linewright.quality import runlength
from linewright.quality.charts import USUAL_RULES, mean_and_range, share_faulty, single_readings, weighted_mean
from linewright.quality.readings import read_measurements
from linewright.worktime.fitting import fit_distribution


def bare_single(x: np.ndarray) -> int:
    """The arithmetic of a chart of single readings, without rules, in NumPy."""
    moving = np.abs(np.diff(x))
    mean, sd = x.mean(), moving.mean() / 1.128
    return int(np.count_nonzero(np.abs(x - mean) > 3 * sd)) + int(np.count_nonzero(moving > 3.267 * moving.mean()))


def bare_range(x: np.ndarray) -> int:
    """The arithmetic of a chart of means and ranges, without rules, in NumPy."""
    means, ranges = x.mean(axis=1), np.ptp(x, axis=1)
    return int(np.count_nonzero(np.abs(means - means.mean()) > 0.577 * ranges.mean()))


def read_by_csv(file: Path) -> list[float]:
    """The same column by the standard library."""
    with file.open(newline="") as stream:
        rows = csv.reader(stream)
        next(rows)
        return [float(row[1]) for row in rows]


def measure(quick: bool) -> Measured:
    """All timings."""
    n, times = (100_000, 3) if quick else (1_000_000, 5)
    random = np.random.default_rng(1)
    x = random.normal(50.0, 2.0, n)
    groups = x.reshape(-1, 5)
    faulty = random.binomial(500, 0.02, n)
    charts = {
        "single_readings": median(lambda: single_readings(x), times),
        "mean_and_range": median(lambda: mean_and_range(groups), times),
        "share_faulty": median(lambda: share_faulty(faulty, 500), times),
        "weighted_mean": median(lambda: weighted_mean(x), times),
    }
    bare = {
        "single_readings": median(lambda: bare_single(x), times),
        "mean_and_range": median(lambda: bare_range(groups), times),
    }
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "readings.csv"
        file.write_text("subgroup,value [mm]\n" + "".join(f"{i // 5},{v:.3f}\n" for i, v in enumerate(x)))
        read = median(lambda: read_measurements(file), 3)
        by_csv = median(lambda: read_by_csv(file), 3)
        by_numpy = median(lambda: np.loadtxt(file, delimiter=",", skiprows=1, usecols=1), 3)
        whole = median(lambda: mean_and_range(read_measurements(file).subgroups), 3)  # type: ignore[arg-type]
    rules = list(USUAL_RULES)
    chain = median(lambda: runlength.run_length(rules), times)
    played = median(lambda: runlength.run_length_by_simulation(rules, runs=2000), 1)
    stopwatch = random.lognormal(4.0, 0.2, 200)
    return {
        "readings": n,
        **{f"{name}_seconds": seconds for name, seconds in charts.items()},
        **{f"{name}_over_bare_numpy": charts[name] / seconds for name, seconds in bare.items()},
        "read_csv_seconds": read,
        "read_csv_over_csv_module": read / by_csv,
        "read_csv_over_numpy_loadtxt": read / by_numpy,
        "file_to_chart_seconds": whole,
        "run_length_chain_seconds": chain,
        "run_length_played_over_chain": played / chain,
        "fit_200_times_seconds": median(lambda: fit_distribution(stopwatch), times),
        "peak_megabytes": peak_megabytes(),
    }


if __name__ == "__main__":
    run(measure, __doc__)
