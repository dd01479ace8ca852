"""Counting by weight against kits weighed at random; convolution against the closed form; the part that hides."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.problems import ProblemsError
from linewright.quality.bulk import count_in_bulk, sample_for_count
from linewright.quality.counting import KitPart, Scale, weigh_apart, weigh_kit

SCREW = KitPart("screw", 24, 4.2, 0.05)
HINGE = KitPart("hinge", 4, 61.0, 0.9)
PEG = KitPart("peg", 12, 2.1, 0.25, "lognormal")
PLATE = KitPart("plate", 2, 33.0, 0.6, "uniform")


def drawn(random: np.random.Generator, parts: list[KitPart], scale: Scale, n: int) -> np.ndarray:
    total = random.normal(0, scale.repeatability, n)
    for p in parts:
        shape = (n, p.count)
        if p.shape == "lognormal":
            s = np.sqrt(np.log1p((p.sd / p.mean) ** 2))
            total += random.lognormal(np.log(p.mean) - s * s / 2, s, shape).sum(axis=1)
        elif p.shape == "uniform":
            total += random.uniform(p.mean - 3**0.5 * p.sd, p.mean + 3**0.5 * p.sd, shape).sum(axis=1)
        elif p.shape == "triangular":
            half = 6**0.5 * p.sd
            total += random.triangular(p.mean - half, p.mean, p.mean + half, shape).sum(axis=1)
        else:
            total += random.normal(p.mean, p.sd, shape).sum(axis=1)
    return np.round(total / scale.step) * scale.step


@pytest.mark.parametrize(
    "parts",
    [[SCREW, HINGE], [SCREW, PEG, PLATE], [PLATE], [KitPart("cap", 3, 5.0, 0.4, "triangular"), PEG]],
    ids=["normal", "mixed", "uniform", "triangular"],
)
def test_rates_agree_with_kits_weighed_at_random(parts: list[KitPart]) -> None:
    random = np.random.default_rng(1)
    scale, n = Scale(0.5, 0.2), 100_000
    check = weigh_kit(parts, scale, false_rejects=0.02)
    reading = drawn(random, parts, scale, n)
    eps = 1e-9
    refused = np.mean((reading < check.low - eps) | (reading > check.high + eps))
    assert refused == pytest.approx(check.false_rejects, abs=4 * (0.02 / n) ** 0.5)
    assert check.false_rejects <= 0.02 + 1e-12
    for i, part in enumerate(parts):
        fewer = [KitPart(p.name, p.count - (i == j), p.mean, p.sd, p.shape) for j, p in enumerate(parts)]
        reading = drawn(random, [p for p in fewer if p.count], scale, n)
        passed = np.mean((reading > check.low - eps) & (reading < check.high + eps))
        found = next(f.passes for f in check.faults if f.part == part.name and f.fault == "one missing")
        assert passed == pytest.approx(found, abs=0.0065)


def test_convolution_meets_the_closed_form() -> None:
    """A lognormal of very small spread is nearly normal, so both ways must agree."""
    normal = [KitPart("a", 30, 5.0, 0.05), KitPart("b", 3, 40.0, 0.3)]
    nearly = [KitPart("a", 30, 5.0, 0.05, "lognormal"), KitPart("b", 3, 40.0, 0.3, "lognormal")]
    a, b = weigh_kit(normal, Scale(0.1, 0.1)), weigh_kit(nearly, Scale(0.1, 0.1))
    assert a.normal_error == 0
    assert b.normal_error < 2e-3
    assert b.false_rejects == pytest.approx(a.false_rejects, abs=2e-4)
    for x, y in zip(a.faults, b.faults, strict=True):
        assert x.passes == pytest.approx(y.passes, abs=2e-3)


def test_the_stated_error_of_the_normal_law_is_real() -> None:
    check = weigh_kit([KitPart("lump", 2, 10.0, 4.0, "lognormal")], Scale(0.5, 0.1), false_rejects=0.02)
    assert check.normal_error > 0.01
    assert check.method == "exact by convolution"


def test_the_narrowest_window() -> None:
    scale = Scale(0.5, 0.2)
    check = weigh_kit([SCREW, HINGE], scale, false_rejects=0.01)
    for low, high in ((check.low + 0.5, check.high), (check.low, check.high - 0.5)):
        tighter = weigh_kit([SCREW, HINGE], scale, window=(low, high))
        assert tighter.false_rejects > check.false_rejects
        assert tighter.false_rejects > 0.005


def test_the_screw_hides_behind_the_hinges_until_they_are_weighed_apart() -> None:
    scale = Scale(0.5, 0.2)
    check = weigh_kit([SCREW, HINGE], scale)
    assert check.hidden == ("screw",)
    assert check.spread_from[0][0] == "hinge"
    apart = weigh_apart([SCREW, HINGE, KitPart("plate", 2, 33.0, 0.1)], scale)
    # Either way the screws no longer hide behind the hinges
    assert {name for name, worst in apart.choices if worst < 0.001} == {"hinge", "screw"}
    assert apart.now > 0.5
    assert check.to_table().rows[0][0] == "screw"


@settings(max_examples=25, deadline=None)
@given(factor=st.floats(0.01, 1000), sd=st.floats(0.01, 2.0), count=st.integers(1, 30))
def test_the_unit_of_mass_changes_nothing(factor: float, sd: float, count: int) -> None:
    a = weigh_kit([KitPart("x", count, 5.0, sd)], Scale(0.5, 0.2))
    b = weigh_kit([KitPart("x", count, 5.0 * factor, sd * factor)], Scale(0.5 * factor, 0.2 * factor))
    assert b.worst == pytest.approx(a.worst, abs=1e-6)
    assert b.false_rejects == pytest.approx(a.false_rejects, abs=1e-6)


def test_more_spread_never_makes_a_fault_plainer() -> None:
    worst = [weigh_kit([SCREW, KitPart("hinge", 4, 61.0, sd)], Scale(0.01, 0.01)).worst for sd in (0.1, 0.3, 0.9, 2.0)]
    assert worst == sorted(worst)


def test_parts_without_spread_are_told_exactly() -> None:
    check = weigh_kit([KitPart("cube", 5, 10.0, 0.0)], Scale(1.0, 0.0))
    assert check.false_rejects == 0
    assert check.worst == 0
    blunt = weigh_kit([KitPart("cube", 5, 0.2, 0.0)], Scale(1.0, 0.0))
    assert blunt.worst == 1.0


def test_bulk_counts_agree_with_counts_at_random() -> None:
    random = np.random.default_rng(2)
    scale = Scale(0.02, 0.05)
    n, m, w, cv = 500, 20, 2.0, 0.01
    sample = random.normal(w, cv * w, (20_000, m)).sum(axis=1)
    total = n * w + random.normal(0, cv * w * n**0.5, 20_000)
    show = lambda x: np.round((x + random.normal(0, 0.05, x.size)) / 0.02) * 0.02  # noqa: E731
    found = show(total) / (show(sample) / m)
    own = count_in_bulk(n, m, cv, mean=w, scale=scale)
    assert np.std(found) == pytest.approx(own.sd, rel=0.03)
    assert np.mean(np.round(found) == n) == pytest.approx(own.exactly_right, abs=0.015)


def test_the_sample_needed_is_enough_and_no_more() -> None:
    m = sample_for_count(200, 0.005)
    assert m is not None
    assert count_in_bulk(200, m, 0.005).exactly_right >= 0.95
    assert count_in_bulk(200, m - 1, 0.005).exactly_right < 0.95
    assert sample_for_count(2000, 0.01) is None
    assert sample_for_count(2000, 0.0) == 1


@pytest.mark.parametrize(
    ("call", "word"),
    [
        (lambda: weigh_kit([], Scale(1.0, 0.0)), "the kit is empty"),
        (lambda: weigh_kit([KitPart("a", 0, 1.0, 0.1)], Scale(1.0, 0.0)), "too small"),
        (lambda: weigh_kit([KitPart("a", -2, 1.0, 0.1)], Scale(1.0, 0.0)), "too small"),
        (lambda: weigh_kit([KitPart("a", 2, 1.0, float("nan"))], Scale(1.0, 0.0)), "not a finite number"),
        (lambda: weigh_kit([KitPart("a", 2, 1.0, 50.0)], Scale(1.0, 0.0)), "another unit"),
        (lambda: weigh_kit([SCREW, SCREW], Scale(1.0, 0.0)), "given twice"),
        (lambda: weigh_kit([SCREW], Scale(0.0, 0.0)), "scale.step"),
        (lambda: weigh_kit([SCREW], Scale(1.0, 0.0), window=(5.0, 4.0)), "reversed"),
        (lambda: weigh_kit([KitPart("a", 2, 1.0, 0.1, "gamma")], Scale(1.0, 0.0)), "unknown shape"),  # type: ignore[arg-type]
        (lambda: weigh_apart([SCREW], Scale(1.0, 0.0)), "one kind of part"),
        (lambda: count_in_bulk(0, 10, 0.1), "too small"),
    ],
)
def test_bad_kits_are_problems(call: object, word: str) -> None:
    with pytest.raises(ProblemsError, match=word):
        call()  # type: ignore[operator]
