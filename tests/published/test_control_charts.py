"""Control charts against printed tables: factors, average run lengths, rates of false alarm.

Factors: ISO 7870-2:2013 and ASTM MNL 7, as printed in every text (attribution from memory, values computed here).
Run rules: Champ and Woodall, Technometrics 29 (1987) 393-399, table 1 (from memory; met to every printed digit).
Weighted mean: Lucas and Saccucci, Technometrics 32 (1990) 1-12. Cumulative sum: table in Montgomery, Introduction to
Statistical Quality Control, chapter on cumulative sums. False alarms: Nelson, J. Quality Technology 16 (1984) 237-239.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.quality import constants as k
from linewright.quality.charts import rules as r
from linewright.quality.runlength import (
    run_length,
    run_length_by_simulation,
    run_length_cumulative_sum,
    run_length_weighted_mean,
)

FACTORS = {
    "d2": [(2, 1.128), (3, 1.693), (4, 2.059), (5, 2.326), (10, 3.078)],
    "d3": [(2, 0.853), (3, 0.888), (4, 0.880), (5, 0.864), (10, 0.797)],
    "c4": [(2, 0.7979), (3, 0.8862), (4, 0.9213), (5, 0.9400), (10, 0.9727), (25, 0.9896)],
    "A2": [(2, 1.880), (3, 1.023), (4, 0.729), (5, 0.577), (10, 0.308)],
    "A3": [(2, 2.659), (3, 1.954), (4, 1.628), (5, 1.427), (10, 0.975)],
    "B3": [(5, 0.0), (6, 0.030), (10, 0.284)],
    "B4": [(5, 2.089), (6, 1.970), (10, 1.716)],
    "D3": [(5, 0.0), (7, 0.076), (10, 0.223)],
    "D4": [(2, 3.267), (5, 2.114), (7, 1.924), (10, 1.777)],
    "E2": [(3, 1.772)],
}
BEYOND, TWO, FOUR, SIDE = r.USUAL_RULES
SETS: list[tuple[str, list[r.Rule], float]] = [
    ("beyond the limits", [BEYOND], 370.40),
    ("with two of three", [BEYOND, TWO], 225.44),
    ("with four of five", [BEYOND, FOUR], 166.05),
    ("with eight on one side", [BEYOND, SIDE], 152.73),
    ("with two of three and four of five", [BEYOND, TWO, FOUR], 132.89),
    ("with two of three and eight on one side", [BEYOND, TWO, SIDE], 122.05),
    ("with four of five and eight on one side", [BEYOND, FOUR, SIDE], 105.78),
    ("with all three", [BEYOND, TWO, FOUR, SIDE], 91.75),
]
CUSUM = [
    (0.0, 168.0, 0.5),
    (0.25, 74.2, 0.05),
    (0.5, 26.6, 0.05),
    (1.0, 8.38, 5e-3),
    (2.0, 3.34, 5e-3),
    (3.0, 2.19, 5e-3),
]
Check = tuple[str, float, float, Callable[[], float]]

SOURCES = {  # by how the name of a check begins; the first that fits
    "run length, weighted": "Lucas and Saccucci 1990",
    "run length, cumulative": "Montgomery, cumulative sums (from memory)",
    "run length, beyond the limits, shift": "normal theory",
    "run length": "Champ and Woodall 1987, table 1 (from memory)",
    "false alarm": "Nelson 1984; window probabilities",
    "": "ISO 7870-2, ASTM MNL 7 (from memory)",
}
CHECKS: list[Check] = [
    *[
        (f"{name}, n = {n}", v, 6e-4, lambda name=name, n=n: getattr(k, name)(n))
        for name, cells in FACTORS.items()
        for n, v in cells
    ],
    *[(f"run length, {what}", v, 0.006, lambda s=s: run_length(s)) for what, s, v in SETS],
    *[
        (f"run length, beyond the limits, shift {s:g}", v, 1e-3, lambda s=s: run_length([BEYOND], s))
        for s, v in [(0.5, 155.224), (1.0, 43.895), (1.5, 14.968), (2.0, 6.303), (3.0, 2.000)]
    ],
    *[
        (f"run length, weighted mean, w = {w}, L = {d}", 500.0, 1.0, lambda w=w, d=d: run_length_weighted_mean(w, d))
        for w, d in [(0.4, 3.054), (0.25, 2.998), (0.2, 2.962), (0.1, 2.814), (0.05, 2.615)]
    ],
    *[
        (f"run length, cumulative sum, h = 4, shift {s:g}", v, t, lambda s=s: run_length_cumulative_sum(0.5, 4, s))
        for s, v, t in CUSUM
    ],
    (
        "run length, cumulative sum, one side, k = 0.5, h = 4",
        335.4,
        0.05,
        lambda: run_length_cumulative_sum(0.5, 4, sides=1),
    ),
    ("run length, cumulative sum, k = 0.5, h = 4.77", 370.0, 3.7, lambda: run_length_cumulative_sum(0.5, 4.77)),
    ("run length, cumulative sum, k = 0.25, h = 8.01", 370.0, 3.7, lambda: run_length_cumulative_sum(0.25, 8.01)),
    *[
        (f"false alarm, {rule.sees}", v, 1e-6, lambda rule=rule: r.false_alarm(rule))
        for rule, v in [
            (BEYOND, 0.0026998),
            (r.LONG_ONE_SIDE, 0.00390625),
            (SIDE, 0.0078125),
            (TWO, 0.003058),
            (FOUR, 0.005532),
            (r.NEAR, 0.003261),
            (r.FAR, 0.000103),
            (r.TREND, 0.002778),
        ]
    ],
]


@pytest.mark.parametrize(("what", "published", "tolerance", "computed"), CHECKS, ids=[c[0] for c in CHECKS])
def test_value(what: str, published: float, tolerance: float, computed: Callable[[], float]) -> None:
    assert computed() == pytest.approx(published, abs=tolerance)


def test_the_printed_tables_are_rounded_differently() -> None:
    """D4 for five readings is 2.1145: some tables print 2.114 and some 2.115. E2 for two is 2.6587: tables print
    2.660, which is 3/1.128, a rounded factor divided."""
    assert k.E2(2) == pytest.approx(2.6587, abs=5e-5)
    assert 3 / round(k.d2(2), 3) == pytest.approx(2.660, abs=5e-4)
    assert k.D4(5) == pytest.approx(2.1145, abs=5e-5)


@pytest.mark.parametrize("shift", [0.0, 1.0])
def test_the_chain_agrees_with_charts_played(shift: float) -> None:
    """An oracle of our own: the same rules on random points."""
    played = run_length_by_simulation(list(r.USUAL_RULES), shift, runs=4000, seed=3)
    assert abs(run_length(list(r.USUAL_RULES), shift) - played.mean) < 1.7 * played.half_width  # 3.3 standard errors
