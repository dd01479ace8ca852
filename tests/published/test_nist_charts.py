"""Worked charts of the NIST/SEMATECH e-Handbook, chapter 6.3 (data and printed figures from memory).

Single readings and moving range (6.3.2.2), cumulative sum (6.3.2.3), weighted mean (6.3.2.4), faults on wafers
(6.3.3.1) and share faulty (6.3.3.2). The figures follow from the data to every printed digit, which bears both out.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.quality.charts import (
    Known,
    cumulative_sum,
    faults,
    share_faulty,
    single_readings,
    weighted_mean,
)

BATCHES = [49.6, 47.6, 49.9, 51.3, 47.8, 51.2, 52.6, 52.4, 53.6, 52.1]
MEANS = [324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150,
         328.325, 327.250, 327.825, 328.500, 326.675, 327.775, 326.875, 328.350]  # fmt: skip
WEIGHTED = [52.0, 47.0, 53.0, 49.3, 50.1, 47.0, 51.0, 50.1, 51.2, 50.5, *BATCHES]
WAFERS = [16, 14, 28, 16, 12, 20, 10, 12, 10, 17, 19, 17, 14, 16, 15, 13, 14, 16, 11, 20, 11, 19, 16, 31, 13]
CHIPS = [12, 15, 8, 10, 4, 7, 16, 9, 14, 10, 5, 6, 17, 12, 22, 8, 10, 5, 13, 11, 20, 18, 24, 15, 9, 12, 7, 13, 9, 6]

single = single_readings(BATCHES).tracks
wafers = faults(WAFERS).tracks[0]
chips = share_faulty(CHIPS, 50).tracks[0]
weighted = weighted_mean(WEIGHTED, weight=0.3, width=3.0, known=Known(50.0, 2.0539)).tracks[0]
up, down = cumulative_sum(MEANS, slack=0.3175, decision=4.1959, known=Known(325.0, 1.0)).tracks

SOURCES = {"": "NIST/SEMATECH e-Handbook 6.3 (from memory)"}
CHECKS: list[tuple[str, float, float, Callable[[], float]]] = [
    ("flow rate, centre", 50.81, 5e-3, lambda: float(single[0].centre[0])),
    ("flow rate, mean moving range", 1.8778, 5e-5, lambda: float(single[1].centre[0])),
    ("flow rate, upper limit", 55.8041, 2e-3, lambda: float(single[0].upper[0])),
    ("flow rate, lower limit", 45.8159, 2e-3, lambda: float(single[0].lower[0])),
    ("faults on wafers, centre", 16.0, 1e-9, lambda: float(wafers.centre[0])),
    ("faults on wafers, upper limit", 28.0, 1e-9, lambda: float(wafers.upper[0])),
    ("faults on wafers, lower limit", 4.0, 1e-9, lambda: float(wafers.lower[0])),
    ("share faulty, centre", 0.2313, 5e-5, lambda: float(chips.centre[0])),
    ("share faulty, upper limit", 0.4102, 1e-4, lambda: float(chips.upper[0])),
    ("share faulty, lower limit", 0.0524, 1e-4, lambda: float(chips.lower[0])),
    ("weighted mean, long-run upper limit", 52.5884, 2e-3, lambda: float(weighted.upper[-1])),
    ("weighted mean, long-run lower limit", 47.4115, 2e-3, lambda: float(weighted.lower[-1])),
]


@pytest.mark.parametrize(("what", "published", "tolerance", "computed"), CHECKS, ids=[c[0] for c in CHECKS])
def test_value(what: str, published: float, tolerance: float, computed: Callable[[], float]) -> None:
    """Limits of single readings are printed with 1.128 for d2 and 3 x .4201 for the weighted mean: hence 2e-3."""
    assert computed() == pytest.approx(published, abs=tolerance)


def test_weighted_means_point_by_point() -> None:
    printed = [50.60, 49.52, 50.56, 50.18, 50.16, 49.21, 49.75, 49.85, 50.26, 50.33, 50.11, 49.36, 49.52, 50.05, 49.38,
               49.92, 50.73, 51.23, 51.94, 51.99]  # fmt: skip
    assert weighted.values.tolist() == pytest.approx(printed, abs=0.011)
    assert weighted.out.size == 0


def test_cumulative_sums_point_by_point() -> None:
    """The upward sum from the thirteenth group on, where the shift begins; it signals at the fourteenth."""
    printed = [3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04]
    assert up.values[12:].tolist() == pytest.approx(printed, abs=0.006)
    assert int(up.out[0]) == 13
    assert down.out.size == 0


def test_points_outside() -> None:
    """One wafer of 31 is above 28 (the one of 28 lies on the limit); two samples of chips are above .4102."""
    assert wafers.out.tolist() == [23]
    assert chips.out.tolist() == [14, 22]
