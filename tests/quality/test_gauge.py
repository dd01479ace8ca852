"""Gauge studies: the parts add up, intervals cover, inspectors are told apart; odd tables are refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.quality.gauge import (
    agreement_of_many,
    agreement_of_two,
    bias,
    combined_uncertainty,
    gauge_by_ranges,
    gauge_study,
    inspectors_against_truth,
    linearity,
    read_gauge_table,
)


def study(random: np.random.Generator, sd: tuple[float, float, float, float], p: int = 10, o: int = 4, r: int = 3):  # type: ignore[no-untyped-def]
    """Readings of p parts by o inspectors r times; sd of part, inspector, interaction, repeat."""
    y = (
        random.normal(0, sd[0], (p, 1, 1))
        + random.normal(0, sd[1], (1, o, 1))
        + random.normal(0, sd[2], (p, o, 1))
        + random.normal(0, sd[3], (p, o, r))
    )
    part, who, _ = np.indices(y.shape)
    return part.ravel().tolist(), who.ravel().tolist(), y.ravel()


def test_intervals_cover() -> None:
    random = np.random.default_rng(1)
    true = {"repeatability": 0.5, "reproducibility": (0.4**2 + 0.3**2) ** 0.5, "part-to-part": 2.0}
    true["gauge"] = (0.25 + true["reproducibility"] ** 2) ** 0.5
    inside = dict.fromkeys(true, 0)
    rounds = 500
    for _ in range(rounds):
        found = gauge_study(*study(random, (2.0, 0.4, 0.3, 0.5)), samples=1000, pool_above=1.0)
        for name, value in true.items():
            part = found.part(name)
            assert part.low is not None
            assert part.high is not None
            inside[name] += part.low <= value <= part.high
    for name, count in inside.items():
        assert count / rounds >= 0.92, name  # generalized intervals are near 95 %, a little conservative


def test_the_order_of_rows_and_the_unit_change_nothing_that_matters() -> None:
    random = np.random.default_rng(2)
    part, who, y = study(random, (2.0, 0.4, 0.3, 0.5))
    first = gauge_study(part, who, y)
    mixed = random.permutation(len(part))
    again = gauge_study([part[i] for i in mixed], [who[i] for i in mixed], 25.4 * y[mixed])
    for a, b in zip(first.parts, again.parts, strict=True):
        assert b.sd == pytest.approx(25.4 * a.sd)
        assert b.share_of_total == pytest.approx(a.share_of_total)
    assert first.categories == again.categories


def test_the_sums_of_squares_add_up_and_agree_with_statsmodels() -> None:
    formula = pytest.importorskip("statsmodels.formula.api")
    anova = pytest.importorskip("statsmodels.stats.anova")
    import pandas as pd

    part, who, y = study(np.random.default_rng(3), (1.0, 0.3, 0.5, 0.4), p=6, o=3, r=2)
    found = gauge_study(part, who, y, pool_above=1.0)
    ss = [s.sum_of_squares for s in found.anova]
    assert sum(ss[:4]) == pytest.approx(ss[4])
    frame = pd.DataFrame({"p": part, "o": who, "y": y})
    table = anova.anova_lm(formula.ols("y ~ C(p) * C(o)", frame).fit())
    assert ss[:4] == pytest.approx(table["sum_sq"].to_numpy()[[0, 1, 2, 3]])
    assert found.anova[2].p_value == pytest.approx(float(table["PR(>F)"].iloc[2]))


def test_ranges_agree_roughly_with_the_analysis_of_variance() -> None:
    part, who, y = study(np.random.default_rng(4), (2.0, 0.6, 0.0, 0.5), p=20, o=6, r=3)
    a, b = gauge_study(part, who, y, tolerance=20.0), gauge_by_ranges(part, who, y, tolerance=20.0)
    for name in ("repeatability", "reproducibility", "gauge", "part-to-part"):
        assert a.part(name).sd == pytest.approx(b.part(name).sd, rel=0.2)
    assert a.share_of_tolerance == pytest.approx(6 * a.part("gauge").sd / 20.0)
    assert b.part("gauge").low is None
    assert len(a.anova_table().rows) == 5


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda p, w, y: (p[:-1], w, y), "one part and one inspector for each reading"),
        (lambda p, w, y: (p[:-1], w[:-1], y[:-1]), "read part .* 2 times"),
        (lambda p, w, y: (["x"] * len(p), w, y), "at least 2 of each"),
        (lambda p, w, y: (p, w, [1.0] * len(y)), "all readings are the same"),
        (lambda p, w, _: (p, w, [float(x) for x in p]), "every repeat is the same"),
        (lambda p, w, y: (p, w, [*y[:-1], float("nan")]), "not a finite number"),
    ],
)
def test_odd_tables_are_problems(change: object, word: str) -> None:
    args = study(np.random.default_rng(5), (1.0, 0.3, 0.5, 0.4), p=4, o=2, r=3)
    with pytest.raises(ProblemsError, match=word):
        gauge_study(*change(*args))  # type: ignore[operator]


def test_reading_a_table(tmp_path: Path) -> None:
    file = tmp_path / "gauge.csv"
    file.write_text("part,operator,value\n1,A,0.29\n1,B,none\n", encoding="utf-8")
    with pytest.raises(ProblemsError, match="not a number"):
        read_gauge_table(file)


def test_kappa_agrees_with_statsmodels() -> None:
    rater = pytest.importorskip("statsmodels.stats.inter_rater")
    random = np.random.default_rng(6)
    for _ in range(5):
        counts = random.integers(1, 30, (3, 3)) + np.diag(random.integers(10, 40, 3))
        other = rater.cohens_kappa(counts)
        own = agreement_of_two(counts)
        assert own.kappa == pytest.approx(other.kappa)
        assert (own.low, own.high) == pytest.approx((other.kappa_low, other.kappa_upp))
        many = np.array([random.multinomial(6, random.dirichlet([0.5, 0.5, 0.5])) for _ in range(20)])
        assert agreement_of_many(many).kappa == pytest.approx(rater.fleiss_kappa(many))


def test_kappa_covers() -> None:
    random = np.random.default_rng(7)
    p = np.array([[0.35, 0.1], [0.05, 0.5]])
    true = (0.85 - (0.45 * 0.4 + 0.55 * 0.6)) / (1 - (0.45 * 0.4 + 0.55 * 0.6))
    inside = 0
    for _ in range(1000):
        found = agreement_of_two(random.multinomial(150, p.ravel()).reshape(2, 2))
        inside += found.low <= true <= found.high
    assert inside / 1000 == pytest.approx(0.95, abs=0.025)


def test_the_interval_of_many_covers() -> None:
    """Pieces with their own chance of being called faulty, Beta(a, b): kappa is then 1/(a + b + 1)."""
    random = np.random.default_rng(8)
    inside = 0
    for _ in range(400):
        k = random.binomial(5, random.beta(0.6, 1.0, 60))
        found = agreement_of_many(np.column_stack([k, 5 - k]))
        inside += found.low <= 1 / 2.6 <= found.high
    assert inside / 400 >= 0.91


def test_inspectors_are_told_apart() -> None:
    random = np.random.default_rng(9)
    truth = random.random(400) < 0.4
    sharp = np.where(truth[:, None], random.random((400, 2)) < 0.97, random.random((400, 2)) < 0.01)
    blunt = np.where(truth[:, None], random.random((400, 2)) < 0.80, random.random((400, 2)) < 0.10)
    found = inspectors_against_truth(truth.tolist(), {"Ann": sharp, "Ben": blunt})
    ann, ben = found.inspectors
    assert ann.finds[1] <= 0.97 <= ann.finds[2]
    assert ben.false_alarms[1] <= 0.10 <= ben.false_alarms[2]
    assert ann.right[0] > ben.right[0]
    assert found.all_right[0] <= ben.right[0]
    assert len(found.to_table().rows) == 2


def test_bias_and_linearity_cover() -> None:
    random = np.random.default_rng(10)
    x = np.repeat([2.0, 4.0, 6.0, 8.0, 10.0], 6)
    inside = np.zeros(3)
    for _ in range(800):
        found = linearity(x, x + 0.3 - 0.05 * x + random.normal(0, 0.2, 30))
        inside += [
            found.slope.low <= -0.05 <= found.slope.high,
            found.intercept.low <= 0.3 <= found.intercept.high,
            found.bands[2][0] <= 0.0 <= found.bands[2][1],
        ]
    assert inside / 800 == pytest.approx([0.95] * 3, abs=0.026)
    off, p = bias(6 + random.normal(0.5, 0.1, 12), 6.0)
    assert off.low > 0.3
    assert p < 0.001


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: agreement_of_two([[5, 0], [0, 0]]), "all pieces are in one class"),
        (lambda: agreement_of_two([[5, 1, 2], [0, 2, 2]]), "not square"),
        (lambda: agreement_of_two([[5, -1], [0, 2]]), "not a count"),
        (lambda: agreement_of_two([[0, 0], [0, 0]]), "all counts are 0"),
        (lambda: agreement_of_many([[3, 0]] * 6), "all judgements are in one class"),
        (lambda: agreement_of_many([[3, 0], [2, 2], [3, 0], [0, 3], [1, 2]]), "4 judgements"),
        (lambda: inspectors_against_truth([True, True], {"Ann": [1, 1]}), "all pieces are of one kind"),
        (lambda: inspectors_against_truth([True, False], {"Ann": [1, 2]}), "not a table of judgements"),
        (lambda: bias([5.0, 5.0, 5.0], 5.0), "all readings are the same"),
        (lambda: linearity([2, 2, 4, 4], [2.0, 2.1, 4.0, 4.1]), "2 different references"),
        (lambda: linearity([2, 4, 6, 8], [2.5, 4.5, 6.5, 8.5]), "the bias never varies"),
        (lambda: combined_uncertainty([1.0, 2.0], [5]), "one for each"),
        (lambda: combined_uncertainty([0.0], [5]), "all are 0"),
    ],
)
def test_bad_input_is_a_problem(call: object, word: str) -> None:
    with pytest.raises(ProblemsError, match=word):
        call()  # type: ignore[operator]


def test_known_contributions_have_the_normal_factor() -> None:
    assert combined_uncertainty([3.0, 4.0], [float("inf")] * 2).factor == pytest.approx(1.959964, abs=1e-6)
