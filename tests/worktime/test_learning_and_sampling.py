"""Learning curves against sums done the long way; work sampling against another library."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.base.problems import ProblemsError
from linewright.worktime.learning import fit_learning, ramp_up, total_time, unit_reaching, unit_time
from linewright.worktime.sampling import looks_needed, sampled_share


@pytest.mark.parametrize("form", ["unit", "average"])
@pytest.mark.parametrize("rate", [0.6, 0.8, 0.95, 1.0])
def test_total_is_the_sum_of_the_units(form: str, rate: float) -> None:
    units = [unit_time(10.0, rate, n, form) for n in range(1, 201)]  # type: ignore[arg-type]
    assert total_time(10.0, rate, 200, form) == pytest.approx(sum(units), rel=1e-12)  # type: ignore[arg-type]


@pytest.mark.parametrize("rate", [0.3, 0.5, 0.8, 0.99])
def test_long_totals_meet_the_sum(rate: float) -> None:
    n = 1_000_000
    exact = float(np.sum(np.arange(1, n + 1, dtype=float) ** np.log2(rate)))
    assert total_time(1.0, rate, n) == pytest.approx(exact, rel=1e-12)


@given(
    first=st.floats(1, 1e4),
    rate=st.floats(0.6, 0.97),
    part=st.floats(0.3, 0.99),
    form=st.sampled_from(["unit", "average"]),
)
def test_unit_reaching_is_the_first_that_meets_the_standard(first: float, rate: float, part: float, form: str) -> None:
    standard = first * part
    try:
        n = unit_reaching(first, rate, standard, form)  # type: ignore[arg-type]
    except ProblemsError as refused:
        assert "1e15" in str(refused)  # noqa: PT017
        return
    assert unit_time(first, rate, n, form) <= standard * (1 + 1e-11)  # type: ignore[arg-type]
    assert n == 1 or unit_time(first, rate, n - 1, form) > standard * (1 - 1e-9)  # type: ignore[arg-type]


def test_a_fit_covers_the_true_rate() -> None:
    random = np.random.default_rng(3)
    units = np.arange(1, 31)
    inside = 0
    for _ in range(1000):
        times = 100 * units ** np.log2(0.85) * np.exp(random.normal(0, 0.1, 30))
        fit = fit_learning(units, times)
        inside += fit.rate_low <= 0.85 <= fit.rate_high
    assert 925 <= inside <= 972  # binomial 95 % of 1000, 3.3 standard deviations either way


def test_ramp_up_plays_the_units_one_by_one() -> None:
    ramp = ramp_up(600.0, 0.85, 200, 37.5, 4)
    clock, made = 0.0, 0
    marks = []
    first = 600.0 / unit_time(1.0, 0.85, 200)
    while len(marks) < 4:
        step = max(600.0, unit_time(first, 0.85, made + 1))
        while len(marks) < 4 and clock + step > 37.5 * 3600 * (len(marks) + 1):
            marks.append(made)
        clock, made = clock + step, made + 1
    assert [int(t + 1e-9) for t in ramp.total] == marks
    assert ramp.unit_time[-1] == 600.0
    assert list(ramp.made) == sorted(ramp.made)


def test_bad_learning_is_a_problem() -> None:
    with pytest.raises(ProblemsError, match="too large"):
        unit_time(10.0, 1.2, 3)
    with pytest.raises(ProblemsError, match="unknown form"):
        unit_time(10.0, 0.8, 3, "wright")  # type: ignore[arg-type]
    with pytest.raises(ProblemsError, match="not reached"):
        unit_reaching(10.0, 1.0, 3.0)
    with pytest.raises(ProblemsError, match="one time for each unit"):
        fit_learning([1, 2, 3], [1.0, 2.0, 3.0, 4.0])


@pytest.mark.parametrize(("seen", "looks"), [(0, 20), (3, 40), (30, 120), (50, 50)])
def test_interval_agrees_with_statsmodels(seen: int, looks: int) -> None:
    proportion = pytest.importorskip("statsmodels.stats.proportion")
    low, high = proportion.proportion_confint(seen, looks, method="wilson")
    own = sampled_share(seen, looks)
    assert (own.low, own.high) == pytest.approx((low, high), abs=1e-12)


def test_bad_sampling_is_a_problem() -> None:
    with pytest.raises(ProblemsError, match="too large"):
        looks_needed(0.3, 5)
    with pytest.raises(ProblemsError, match="too large"):
        sampled_share(21, 20)
    with pytest.raises(ProblemsError, match="too small"):
        sampled_share(-1, 20)
