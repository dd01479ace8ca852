"""Gauge studies against AIAG, Measurement Systems Analysis, 4th ed., and JCGM 100 (GUM).

The crossed study's data are read from the benchmark data (the manual's ten parts, three inspectors, three trials; one
public copy of them is corrupted). Printed results: quoted in several public sources; sums of squares recomputed.
Linearity data from memory: the manual's own line comes out of them, which bears them out.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path

import pytest

from linewright.quality.gauge import (
    GaugeStudy,
    Linearity,
    Uncertainty,
    agreement_of_many,
    agreement_of_two,
    combined_uncertainty,
    gauge_by_ranges,
    gauge_study,
    linearity,
    read_gauge_table,
)

DATA = Path(os.environ.get("LINEWRIGHT_DATA", Path(__file__).resolve().parents[2].parent / "shared" / "data"))
FILE = DATA / "gauge" / "aiag_gaugerr.csv"
needs_data = pytest.mark.skipif(not FILE.is_file(), reason=f"needs {FILE.name} of the benchmark data: LINEWRIGHT_DATA")


@lru_cache(maxsize=4)
def crossed(pool_above: float = 0.25) -> GaugeStudy:
    return gauge_study(*read_gauge_table(FILE), pool_above=pool_above)


@needs_data
def test_analysis_of_variance() -> None:
    study = crossed()
    printed = [88.36193, 3.16726, 0.35898, 2.75893, 94.64711]
    assert [s.sum_of_squares for s in study.anova] == pytest.approx(printed, abs=1e-4)
    assert study.anova[2].f == pytest.approx(0.43372, abs=1e-4)
    assert study.anova[2].p_value == pytest.approx(0.9741, abs=1e-4)
    assert study.pooled


@needs_data
@pytest.mark.parametrize(
    ("name", "sd"),
    [
        ("repeatability", 0.199933),
        ("reproducibility", 0.226838),
        ("gauge", 0.302373),
        ("part-to-part", 1.042327),
        ("total", 1.0853),
    ],
)
def test_parts_of_the_spread(name: str, sd: float) -> None:
    assert crossed().part(name).sd == pytest.approx(sd, abs=2e-6)


@needs_data
def test_share_and_categories() -> None:
    study = crossed()
    assert study.part("gauge").share_of_total == pytest.approx(0.27861, abs=1e-4)
    assert study.categories_exact == pytest.approx(4.875, abs=1e-3)  # the manual prints 1.41 x, 4.861
    assert study.categories == 4


@needs_data
def test_without_pooling() -> None:
    """A pooling limit of 1 never pools (p never exceeds it): the error is then that of the repeats alone."""
    assert crossed(1.0).part("repeatability").sd == pytest.approx(0.214435, abs=1e-6)


@needs_data
@pytest.mark.parametrize(
    ("name", "sd"),
    [
        ("repeatability", 0.20186),
        ("reproducibility", 0.22967),
        ("gauge", 0.30577),
        ("part-to-part", 1.10460),
        ("total", 1.14613),
    ],
)
def test_means_and_ranges(name: str, sd: float) -> None:
    """With the printed factors .5908, .5231, .3146. The manual prints .20188 .22963 .30575 1.10456 1.14610 (from
    memory), rounding on the way; we compute the factors, hence the tolerance of their fourth digit."""
    assert gauge_by_ranges(*read_gauge_table(FILE)).part(name).sd == pytest.approx(sd, abs=2e-4)


LINEARITY = {
    2.0: [2.7, 2.5, 2.4, 2.5, 2.7, 2.3, 2.5, 2.5, 2.4, 2.4, 2.6, 2.4],
    4.0: [5.1, 3.9, 4.2, 5.0, 3.8, 3.9, 3.9, 3.9, 3.9, 4.0, 4.1, 3.8],
    6.0: [5.8, 5.7, 5.9, 5.9, 6.0, 6.1, 6.0, 6.1, 6.4, 6.3, 6.0, 6.1],
    8.0: [7.6, 7.7, 7.8, 7.7, 7.8, 7.8, 7.8, 7.7, 7.8, 7.5, 7.6, 7.7],
    10.0: [9.1, 9.3, 9.5, 9.3, 9.4, 9.5, 9.5, 9.5, 9.6, 9.2, 9.3, 9.4],
}


ROWS = [[0, 0, 0, 0, 14], [0, 2, 6, 4, 2], [0, 0, 3, 5, 6], [0, 3, 9, 2, 0], [2, 2, 8, 1, 1], [7, 7, 0, 0, 0],
        [3, 2, 6, 3, 0], [2, 5, 3, 2, 2], [6, 5, 2, 1, 0], [0, 2, 2, 3, 7]]  # fmt: skip


def line() -> Linearity:
    return linearity([r for r, v in LINEARITY.items() for _ in v], [y for v in LINEARITY.values() for y in v])


def end_gauge() -> Uncertainty:
    """JCGM 100:2008, H.1: contributions in nm and their degrees of freedom."""
    return combined_uncertainty([25, 5.8, 3.9, 6.7, 2.9, 16.6], [18, 24, 5, 8, 50, 2])


SOURCES = {
    "linearity": "AIAG, Measurement Systems Analysis, 4th ed. (data from memory)",
    "Cohen": "textbook example",
    "Fleiss": "common worked table (from memory)",
    "end gauge": "JCGM 100:2008, H.1",
}
CHECKS: list[tuple[str, float, float, Callable[[], float]]] = [
    ("linearity of the manual's data, slope", -0.13167, 1e-5, lambda: line().slope.mean),
    ("linearity of the manual's data, intercept", 0.73667, 1e-5, lambda: line().intercept.mean),
    ("linearity of the manual's data, r squared", 0.714, 1e-3, lambda: line().r_squared),
    ("Cohen's kappa of 20, 5, 10, 15", 0.4, 1e-9, lambda: agreement_of_two([[20, 5], [10, 15]]).kappa),
    ("Fleiss' kappa of the common worked table", 0.210, 5e-4, lambda: agreement_of_many(ROWS).kappa),
    ("end gauge, combined uncertainty [nm]", 32.0, 0.5, lambda: end_gauge().combined),
    ("end gauge, coverage factor at 95 %", 2.12, 5e-3, lambda: end_gauge().factor),
]


@pytest.mark.parametrize(("what", "published", "tolerance", "computed"), CHECKS, ids=[c[0] for c in CHECKS])
def test_value(what: str, published: float, tolerance: float, computed: Callable[[], float]) -> None:
    """Fleiss: rows from memory. The printed 32 nm is 31.7 rounded up; 16 degrees of freedom are used."""
    assert computed() == pytest.approx(published, abs=tolerance)
    assert int(end_gauge().freedom) == 16
    assert not line().linear
