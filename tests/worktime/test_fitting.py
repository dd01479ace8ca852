"""Fits: the true shape's likelihood is beaten, the best shape is found from many readings, the test holds its level."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linewright.base.distributions import Distribution, Shape
from linewright.base.problems import ProblemsError
from linewright.worktime.fitting import fit_distribution, fit_shape
from linewright.worktime.shapes import PARAMETERS, frozen, log_likelihood

ROWS = [
    Distribution(Shape.EXPONENTIAL, 5.0),
    Distribution(Shape.LOGNORMAL, 3.0, 0.4),
    Distribution(Shape.GAMMA, 4.0, 3.0),
    Distribution(Shape.WEIBULL, 3.0, 20.0),
    Distribution(Shape.NORMAL, 10.0, 6.0),
    Distribution(Shape.NORMAL, 10.0, 1.0),
    Distribution(Shape.TRIANGULAR, 5.0, 7.0, 15.0),
]


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r.shape.name}-{r.a}-{r.b}")
def test_maximum_likelihood_beats_the_truth_and_any_step_away(row: Distribution) -> None:
    values = row.quantile(np.random.default_rng(7).random(400))
    fit = fit_shape(values, row.shape)
    best = log_likelihood(fit, values)
    assert best >= log_likelihood(row, values) - 1e-9
    for field in ("a", "b", "c")[: PARAMETERS[row.shape]]:
        for step in (0.99, 1.01):
            moved = Distribution(
                fit.shape, **{f: getattr(fit, f) * (step if f == field else 1) for f in ("a", "b", "c")}
            )
            assert log_likelihood(moved, values) <= best + 1e-6


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r.shape.name}-{r.a}-{r.b}")
def test_density_and_quantile_agree_with_the_plan_s_shape(row: Distribution) -> None:
    p = np.array([0.01, 0.3, 0.5, 0.9, 0.999])
    assert np.allclose(frozen(row).cdf(row.quantile(p)), p, atol=1e-12)
    assert float(frozen(row).mean()) == pytest.approx(row.mean, rel=1e-9)
    assert float(frozen(row).std()) == pytest.approx(row.cv * row.mean, rel=1e-9)


@pytest.mark.parametrize("row", ROWS[1:5], ids=lambda r: r.shape.name)
def test_the_true_shape_wins_from_many_readings(row: Distribution) -> None:
    values = row.quantile(np.random.default_rng(5).random(5000))
    assert fit_distribution(values, samples=19).distribution.shape is row.shape


def test_weibull_agrees_with_scipy() -> None:
    values = Distribution(Shape.WEIBULL, 1.7, 40.0).quantile(np.random.default_rng(1).random(200))
    shape, _, scale = stats.weibull_min.fit(values, floc=0)
    own = fit_shape(values, Shape.WEIBULL)
    assert (own.a, own.b) == pytest.approx((shape, scale), rel=1e-3)  # the library's search stops at about 1e-4


def test_scale_of_the_unit_changes_nothing() -> None:
    values = ROWS[2].quantile(np.random.default_rng(2).random(60))
    seconds, hours = fit_distribution(values, samples=19), fit_distribution(values / 3600, samples=19)
    assert seconds.distribution.shape is hours.distribution.shape
    assert seconds.distribution.cv == pytest.approx(hours.distribution.cv, rel=1e-6)
    assert seconds.distribution.mean == pytest.approx(hours.distribution.mean * 3600, rel=1e-6)


def test_the_test_of_fit_rejects_about_one_in_twenty_where_the_shape_is_right() -> None:
    random = np.random.default_rng(11)
    only = (Shape.LOGNORMAL,)
    p = [
        fit_distribution(np.exp(random.normal(3, 0.3, 25)), samples=39, seed=i, shapes=only).p_value for i in range(200)
    ]
    rejected = sum(x <= 0.05 for x in p)
    low, high = stats.binom.ppf([0.0005, 0.9995], 200, 0.05)
    assert low <= rejected <= high


def test_a_shape_that_cannot_fit_is_said_so() -> None:
    two_heaps = np.concatenate([np.linspace(9, 11, 40), np.linspace(99, 101, 40)])
    fit = fit_distribution(two_heaps)
    assert not fit.fits
    assert "badly" in fit.to_table().note


def test_picture_and_plan_time_are_plain() -> None:
    values = ROWS[6].quantile((np.arange(200) + 0.5) / 200)
    fit = fit_distribution(values, samples=19, shapes=(Shape.TRIANGULAR,))
    assert set(fit.plan_time()) == {"least", "likely", "most"}
    picture = fit.picture()
    widths = np.diff(picture["edges"])
    assert float(np.dot(widths, picture["height"])) == pytest.approx(1.0)
    assert picture["fitted_quantile"] == pytest.approx(picture["reading"], rel=0.02)


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ([], "no readings"),
        ([3.0], "only 1 reading"),
        ([4.0] * 6, "all readings are the same"),
        ([1, 2, 3, 4, float("nan")], "not a finite number"),
        ([1, 2, 3, 4, "5 s"], "not a number"),
        ([1, 2, 3, 4, -5], "too small"),
    ],
)
def test_bad_readings_are_problems(values: list[object], word: str) -> None:
    with pytest.raises(ProblemsError, match=word):
        fit_distribution(values)  # type: ignore[arg-type]
