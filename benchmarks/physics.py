"""How fast are many fermentations, and a million points of drying and cooling, against SciPy on the same work?

Fermentation: 10,000 musts of 30 days each, all at once, against SciPy's LSODA one must after the other (timed on a
sample and multiplied). Cooling: a million slabs of their own Biot and Fourier numbers; the same series written plainly
with SciPy's root search is timed on a sample. Drying: a million moistures.
Run: python benchmarks/physics.py [--quick] [--json]
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, peak_megabytes, run


def plain_slab(fourier: np.ndarray, biot: np.ndarray, terms: int = 6) -> np.ndarray:
    """The series at the middle of a slab, root by root with SciPy's brentq."""
    from scipy.optimize import brentq

    out = np.zeros(fourier.size)
    for i, (fo, bi) in enumerate(zip(fourier, biot, strict=True)):
        for k in range(terms):
            z = brentq(lambda z, bi=bi: z * np.sin(z) - bi * np.cos(z), k * np.pi, (k + 0.5) * np.pi)
            out[i] += 4 * np.sin(z) / (2 * z + np.sin(2 * z)) * np.exp(-(z**2) * fo)
    return out


def measure(quick: bool) -> Measured:
    """All timings."""
    from linewright.physics.dry import drying_time, moisture_after
    from linewright.physics.ferment_curves import ferment_many, ferment_one
    from linewright.physics.forecast import forecast
    from linewright.physics.slab import slab_ratio

    draw = np.random.default_rng(1)
    musts, points, times = (1000, 100_000, 1) if quick else (10_000, 1_000_000, 3)
    sugar, nitrogen = draw.uniform(100, 290, musts), draw.uniform(70, 350, musts)
    yeast, warm = draw.uniform(0.1, 0.5, musts), draw.uniform(11, 35, musts)
    hours = np.linspace(0, 720, 121)
    many = median(lambda: ferment_many(sugar, nitrogen, yeast, warm, hours), times)
    sample = 50

    def one_by_one() -> None:
        for i in range(sample):
            ferment_one(sugar[i], nitrogen[i], yeast[i], warm[i], hours=hours)

    one = median(one_by_one, times) * musts / sample
    fourier, biot = draw.uniform(0.05, 3, points), draw.uniform(0.1, 10, points)
    slab = median(lambda: slab_ratio(0.0, fourier, biot), times)
    few = 300
    plain = median(lambda: plain_slab(fourier[:few], biot[:few]), times) * points / few
    worst = float(np.max(np.abs(plain_slab(fourier[:few], biot[:few]) - slab_ratio(0.0, fourier[:few], biot[:few]))))
    span, start = draw.uniform(0, 3000, points), draw.uniform(0.2, 1.0, points)
    log = (np.arange(0, 192, 24.0), np.array([195, 194, 189, 182, 172, 161, 149, 137.0]), np.full(8, 16.0))
    return {
        "musts": musts,
        "ferment_seconds": many,
        "ferment_scipy_one_by_one_seconds": one,
        "ferment_ratio": one / many,
        "points": points,
        "cooling_seconds": slab,
        "cooling_plain_seconds": plain,
        "cooling_ratio": plain / slab,
        "cooling_largest_difference": worst,
        "moisture_seconds": median(lambda: moisture_after(span, start, 0.25, 0.01, 4e-4), times),
        "drying_time_seconds": median(lambda: drying_time(start, 0.02, 0.25, 0.01, 4e-4), times),
        "forecast_seconds": median(lambda: forecast(*log), times),
        "peak_megabytes": peak_megabytes(),
    }


if __name__ == "__main__":
    run(measure, __doc__)
