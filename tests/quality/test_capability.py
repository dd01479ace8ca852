"""Capability: intervals cover, tails agree with the law, and what speaks against the normal law is said."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linewright.base.problems import ProblemsError
from linewright.quality.capability import (
    capability,
    cp_interval,
    cpk_interval,
    fraction_beyond,
)
from linewright.quality.normality import normality
from linewright.quality.percentiles import Law, capability_by_percentiles

ROUNDS = 2000


def test_intervals_cover() -> None:
    random = np.random.default_rng(1)
    x = random.normal(0.4, 1.0, (ROUNDS, 40))
    mean, s = x.mean(axis=1), x.std(axis=1, ddof=1)
    inside = np.zeros(2)
    for m, d in zip(mean, s, strict=True):
        low, high = cp_interval(6 / (6 * d), 39)
        inside[0] += low <= 1.0 <= high
        low, high = cpk_interval((3 - m) / (3 * d), 40)
        inside[1] += low <= 2.6 / 3 <= high
    # 0.95 within 3.3 standard errors; Bissell's is an approximation, so it is given one point more
    assert inside / ROUNDS == pytest.approx([0.95, 0.95], abs=0.017)
    p = stats.norm.sf(2.6)
    ends = [fraction_beyond((3 - m) / d, 40)[1:] for m, d in zip(mean[:400], s[:400], strict=True)]
    assert sum(low <= p <= high for low, high in ends) / 400 == pytest.approx(0.95, abs=0.036)


def test_the_interval_of_cp_covers_whatever_the_spread_within_is_taken_from() -> None:
    random = np.random.default_rng(12)
    inside = np.zeros(3)
    for _ in range(800):
        for i, shape in enumerate([(40,), (20, 2), (12, 5)]):
            found = capability(random.normal(0, 1, shape), lower=-4.0, upper=4.0).index("Cp")
            assert found is not None
            inside[i] += found.low <= 4 / 3 <= found.high
    assert inside / 800 == pytest.approx([0.95] * 3, abs=0.026)


def test_the_interval_of_two_tails_is_conservative() -> None:
    random = np.random.default_rng(2)
    true = stats.norm.cdf(-2) + stats.norm.sf(2.5)
    inside = 0
    for _ in range(200):
        found = capability(random.normal(0, 1, 30), lower=-2.0, upper=2.5).outside
        inside += found.low <= true <= found.high
    assert inside / 200 >= 0.9


def test_within_and_overall_differ_where_the_process_drifts() -> None:
    random = np.random.default_rng(3)
    rows = random.normal(0, 1, (30, 5)) + random.normal(0, 2, (30, 1))
    found = capability(rows, lower=-9.0, upper=9.0)
    cp, pp = found.index("Cp"), found.index("Pp")
    assert cp is not None
    assert pp is not None
    assert cp.value > 1.5 * pp.value
    assert any("drifts" in n for n in found.notes)
    assert found.within == pytest.approx(1.0, rel=0.15)


def test_one_limit_gives_one_sided_indices_only() -> None:
    found = capability(np.random.default_rng(1).normal(10, 1, 50), upper=13.0)
    assert [i.name for i in found.indices] == ["Cpk", "Ppk"]
    assert found.outside.below is None
    assert found.outside.above == found.outside.total
    assert found.to_table().rows[-1][0] == "outside [ppm]"


def test_unordered_readings_have_no_within() -> None:
    found = capability(np.random.default_rng(1).normal(10, 1, 50), lower=7.0, upper=13.0, ordered=False)
    assert [i.name for i in found.indices] == ["Pp", "Ppk"]
    assert found.within is None


def test_target_lowers_cpm() -> None:
    x = np.random.default_rng(1).normal(10, 1, 200)
    on = capability(x, lower=6.0, upper=14.0, target=float(x.mean())).index("Cpm")
    off = capability(x, lower=6.0, upper=14.0, target=8.0).index("Cpm")
    pp = capability(x, lower=6.0, upper=14.0).index("Pp")
    assert on is not None
    assert off is not None
    assert pp is not None
    assert on.value == pytest.approx(pp.value)
    assert off.value == pytest.approx(pp.value / 5**0.5, rel=0.1)


def lognormal(x: np.ndarray) -> Law:
    return stats.lognorm(np.log(x).std(), scale=np.exp(np.log(x).mean()))


def test_the_percentile_method_on_a_leaning_process() -> None:
    law = stats.lognorm(0.5, scale=10)
    random = np.random.default_rng(5)
    true = law.sf(40)
    inside = 0
    for seed in range(60):
        x = law.rvs(100, random_state=random)
        found = capability_by_percentiles(x, lognormal, upper=40.0, samples=100, seed=seed)
        inside += found.outside.low <= true <= found.outside.high
    assert inside / 60 >= 0.85
    normal = capability(x, upper=40.0)
    assert any("speak against the normal law" in n for n in normal.notes)
    assert normal.outside.total < true / 3  # what the normal law would have promised


def test_the_percentile_method_is_the_usual_one_for_a_normal_law() -> None:
    x = np.random.default_rng(6).normal(5, 1, 100)
    found = capability_by_percentiles(x, lambda r: stats.norm(r.mean(), r.std(ddof=1)), lower=1.0, upper=8.0)
    usual = capability(x, lower=1.0, upper=8.0, ordered=False)
    for own, other in zip(found.indices, usual.indices, strict=True):
        assert own.name == other.name
        assert own.value == pytest.approx(other.value, rel=1e-4)
        assert own.low == pytest.approx(other.low, rel=0.05)


def test_large_samples_and_far_limits_keep_an_interval() -> None:
    random = np.random.default_rng(7)
    found = capability(random.normal(0, 1, 200_000), lower=-6.0, upper=6.0, ordered=False)
    assert 0 < found.outside.low < found.outside.total < found.outside.high < 1e-7
    far = capability([1.0, 1.1, 0.9, 1.05, 0.95], upper=100.0)
    assert far.outside.total == 0.0
    assert far.outside.high < 1


def test_normality_agrees_with_statsmodels_and_holds_its_level() -> None:
    diagnostic = pytest.importorskip("statsmodels.stats.diagnostic")
    random = np.random.default_rng(8)
    for x in (random.normal(size=40), random.exponential(size=40), random.uniform(size=25)):
        assert normality(x).p_value == pytest.approx(diagnostic.normal_ad(x)[1], rel=1e-9, abs=1e-15)
    rejected = sum(not normality(random.normal(size=20)).near for _ in range(2000))
    assert 66 <= rejected <= 134


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: capability([1.0, 2, 3, 4, 5], lower=5.0, upper=1.0), "limits are reversed"),
        (lambda: capability([1.0, 2, 3, 4, 5], lower=5.0, upper=5.0), "limits are the same"),
        (lambda: capability([1.0, 2, 3, 4, 5]), "no limit is given"),
        (lambda: capability([3.0] * 9, upper=5.0), "all readings are the same"),
        (lambda: capability([[3.0, 3.0], [3.0, 3.0]], upper=5.0), "all readings are the same"),
        (lambda: capability([1.0], upper=5.0), "only 1 reading"),
        (lambda: capability([], upper=5.0), "no readings"),
        (lambda: capability([1, 2, 3, 4, "5 mm"], upper=5.0), "not a number"),
        (lambda: capability([1, 2, 3, 4, 5], upper=9.0, target=4.0), "needs both limits"),
        (lambda: capability([1, 2, 3, 4, 5], upper=float("nan")), "not a finite number"),
        (
            lambda: capability_by_percentiles([1.0, 2.0] * 10, lambda _: stats.bernoulli(0.5), upper=3.0),
            "finite and rising",
        ),
        (lambda: normality([1.0, 2.0]), "only 2 readings"),
    ],
)
def test_bad_input_is_a_problem(call: object, word: str) -> None:
    with pytest.raises(ProblemsError, match=word):
        call()  # type: ignore[operator]
