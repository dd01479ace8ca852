"""Work measurement against printed figures."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from scipy import stats

from linewright.worktime.fitting import mean_interval
from linewright.worktime.learning import total_time, unit_time
from linewright.worktime.outliers import deviate_steps
from linewright.worktime.sampling import looks_needed
from linewright.worktime.stoppages import lifetimes, mean_between
from linewright.worktime.timestudy import cycles_by_sums, standard_time


def test_number_of_readings_of_the_ilo_handbook() -> None:
    """ILO, Introduction to Work Study, statistical method; the formula from memory, the answer recomputed."""
    assert cycles_by_sums([7, 6, 7, 7, 6]) == pytest.approx(8.815, abs=0.01)


@pytest.mark.parametrize(("n", "t"), [(5, 2.7764), (10, 2.2622), (15, 2.1448), (25, 2.0639)])
def test_student_t_as_in_any_table(n: int, t: float) -> None:
    """t(0.975, n - 1) as printed in every statistics text, read back from the interval of n readings."""
    values = [1.0, 3.0] * (n // 2) + [2.0] * (n % 2)
    s = stats.tstd(values)
    assert mean_interval(values)[1] * n**0.5 / s == pytest.approx(t, abs=1e-4)


def test_the_two_conventions_of_an_allowance() -> None:
    """Both conventions are in use (common practice); the figures are arithmetic."""
    assert standard_time(4.0, 0.15, "work") == pytest.approx(4.60, abs=1e-4)
    assert standard_time(4.0, 0.15, "shift") == pytest.approx(4.7059, abs=1e-4)


@pytest.mark.parametrize(
    ("p", "e", "z", "n"),
    [
        (0.25, 0.05, 2.0, 300.0),
        (0.25, 0.10, 1.959964, 72.03),
        (0.8, 0.02, 1.959964, 1536.58),
        (0.1, 0.02, 2.0, 900.0),
        (0.3, 0.05, 1.959964, 322.68),
    ],
)
def test_work_sampling_size(p: float, e: float, z: float, n: float) -> None:
    """n = z^2 p (1 - p)/e^2 of the work-study handbooks (from memory). Those with z = 1.96 rounded print 1536.64 and
    322.69; ours uses the exact quantile 1.959964."""
    confidence = 2 * stats.norm.cdf(z) - 1
    assert looks_needed(p, e, confidence) == pytest.approx(n, abs=0.01)


UNIT = [(2, 0.8000), (4, 0.6400), (5, 0.5956), (10, 0.4765), (20, 0.3812), (50, 0.2838), (100, 0.2271)]
TOTAL = [(10, 6.3154), (20, 10.4849), (50, 20.1217), (100, 32.6508)]
SOURCES = {"": "learning-curve tables, unit form (from memory)"}
CHECKS: list[tuple[str, float, float, Callable[[], float]]] = [
    *[(f"80 % curve, unit {n}", v, 5e-5, lambda n=n: unit_time(1.0, 0.8, n)) for n, v in UNIT],
    *[(f"80 % curve, total of {n}", v, 5e-5, lambda n=n: total_time(1.0, 0.8, n)) for n, v in TOTAL],
]


@pytest.mark.parametrize(("what", "published", "tolerance", "computed"), CHECKS, ids=[c[0] for c in CHECKS])
def test_value(what: str, published: float, tolerance: float, computed: Callable[[], float]) -> None:
    """Printed learning-curve tables, unit form (Crawford); attribution from memory, values recomputed."""
    assert computed() == pytest.approx(published, abs=tolerance)


def test_the_average_form_is_another_curve() -> None:
    """Wright's law is of the cumulative average: at 80 % ten units average .4765 and take 4.7651 in all, where the
    unit form takes 6.3154 (the distinction is drawn in public course notes)."""
    assert total_time(1.0, 0.8, 10, "average") / 10 == pytest.approx(0.4765, abs=1e-4)
    assert total_time(1.0, 0.8, 10, "average") == pytest.approx(4.7651, abs=1e-4)


ROSNER = [
    -0.25, 0.68, 0.94, 1.15, 1.20, 1.26, 1.26, 1.34, 1.38, 1.43, 1.49, 1.49, 1.55, 1.56, 1.58, 1.65, 1.69, 1.70,
    1.76, 1.77, 1.81, 1.91, 1.94, 1.96, 1.99, 2.06, 2.09, 2.10, 2.14, 2.15, 2.23, 2.24, 2.26, 2.35, 2.37, 2.40,
    2.47, 2.54, 2.62, 2.64, 2.90, 2.92, 2.92, 2.93, 3.21, 3.26, 3.30, 3.59, 3.68, 4.30, 4.64, 5.34, 5.42, 6.01,
]  # fmt: skip


def test_outliers_of_rosner() -> None:
    """Rosner (1983) data as in NIST/SEMATECH e-Handbook 1.3.5.17.3: three outliers; statistics and critical values
    from memory of that page."""
    steps = deviate_steps(ROSNER, 10)
    printed = [(3.118, 3.158), (2.942, 3.151), (3.179, 3.143), (2.810, 3.136), (2.815, 3.128)]
    for step, (deviate, critical) in zip(steps, printed, strict=False):
        assert step.deviate == pytest.approx(deviate, abs=2e-3)
        assert step.critical == pytest.approx(critical, abs=2e-3)
    assert max(i + 1 for i, s in enumerate(steps) if s.deviate > s.critical) == 3


def test_mean_time_between_failures_of_the_handbook() -> None:
    """NIST/SEMATECH e-Handbook 8.4.5.1: 1600 h, two failures, 80 % interval 300.6 to 3008.6 h (from memory; the
    factors .3758 and 3.7607 follow from chi-square)."""
    mean, low, high = mean_between(1600.0, 2, 0.8)
    assert (mean, low, high) == pytest.approx((800.0, 300.6, 3008.6), abs=0.1)


def test_kaplan_meier_of_freireich() -> None:
    """Freireich et al. (1963), remission under 6-MP, 21 patients, as in survival texts; data and curve from memory."""
    ended = [6, 6, 6, 7, 10, 13, 16, 22, 23]
    still = [6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35]
    study = lifetimes(ended + still, [1] * 9 + [0] * 12)
    curve = dict(zip(study.at, study.surviving, strict=True))
    for week, share in {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}.items():
        assert curve[week] == pytest.approx(share, abs=5e-4)
    assert study.total == 359
    assert study.mean == pytest.approx(359 / 9)
