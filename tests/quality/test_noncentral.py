"""The noncentral t against SciPy where SciPy answers, against drawing where it does not, and against itself."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from scipy import stats

from linewright.quality.capability import fraction_beyond
from linewright.quality.noncentral import noncentral_t_below, noncentral_t_quantile, noncentral_t_shift

GRID = list(itertools.product([-3.0, -0.5, 0.0, 0.7, 2.0, 6.0, 15.0], [1, 2, 5, 30, 500], [-2.0, 0.0, 1.0, 5.0]))


@pytest.mark.parametrize(("t", "v", "d"), GRID)
def test_it_meets_scipy(t: float, v: float, d: float) -> None:
    other = float(stats.nct.cdf(t, v, d))
    assert noncentral_t_below(t, v, d) == pytest.approx(other, abs=2e-9)


@pytest.mark.parametrize(("t", "v", "d"), [(14.0, 1, -6.0), (70.0, 1, 30.0), (60.0, 4, 45.0), (-70.0, 1, -20.0)])
def test_it_meets_draws(t: float, v: float, d: float) -> None:
    random = np.random.default_rng(1)
    n = 400_000
    drawn = (random.normal(d, 1, n) / np.sqrt(random.chisquare(v, n) / v)) <= t
    p = noncentral_t_below(t, v, d)
    assert drawn.mean() == pytest.approx(p, abs=5 * (p * (1 - p) / n) ** 0.5 + 1e-6)


@pytest.mark.parametrize("v", [1, 2, 9, 1000, 1e6])
def test_the_inverses_come_back_and_central_is_student(v: float) -> None:
    for p in (1e-6, 0.025, 0.5, 0.975, 1 - 1e-6):
        for d in (-30.0, 0.0, 4.0, 200.0):
            t = noncentral_t_quantile(p, v, d)
            assert noncentral_t_below(t, v, d) == pytest.approx(p, abs=1e-9)
            assert noncentral_t_shift(t, v, p) == pytest.approx(d, abs=1e-4 * (1 + abs(t)))
    assert noncentral_t_below(1.3, v, 0.0) == pytest.approx(float(stats.t.cdf(1.3, v)), abs=1e-9)


@pytest.mark.parametrize("n", [2, 3, 30, 3000, 300_000])
@pytest.mark.parametrize("distance", [-50.0, -5.0, 0.0, 0.5, 4.0, 10.0, 37.0, 1e3, 1e6])
@pytest.mark.parametrize("level", [0.5, 0.95, 1 - 1e-9])
def test_fractions_have_an_interval_everywhere(n: int, distance: float, level: float) -> None:
    estimate, low, high = fraction_beyond(distance, n, level)
    assert 0 <= low <= estimate * (1 + 1e-9)
    assert estimate * (1 - 1e-9) <= high <= 1
