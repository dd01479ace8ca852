"""Process capability: worked examples of Montgomery, Introduction to Statistical Quality Control (values from memory).

Cp with 95 % interval from 20 readings; Cpk 1.33 of 20 readings by Bissell's approximation, printed as 0.88 to 1.78;
and 3.4 per million at six sigma with a shift of 1.5, the quality movement's convention.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from scipy import stats

from linewright.quality.capability import cp_interval, cpk_interval

SOURCES = {"Cpk": "Montgomery; Bissell 1990 (from memory)", "": "Montgomery, process capability (from memory)"}
CHECKS: list[tuple[str, float, float, Callable[[], float]]] = [
    ("Cp 2.2857 of 20 readings, low", 1.5649, 1e-3, lambda: cp_interval(2.2857, 19)[0]),
    ("Cp 2.2857 of 20 readings, high", 3.0056, 1e-3, lambda: cp_interval(2.2857, 19)[1]),
    ("Cpk 1.33 of 20 readings, low", 0.8826, 1e-3, lambda: cpk_interval(1.33, 20)[0]),
    ("Cpk 1.33 of 20 readings, high", 1.7774, 1e-3, lambda: cpk_interval(1.33, 20)[1]),
]


@pytest.mark.parametrize(("what", "published", "tolerance", "computed"), CHECKS, ids=[c[0] for c in CHECKS])
def test_value(what: str, published: float, tolerance: float, computed: Callable[[], float]) -> None:
    assert computed() == pytest.approx(published, abs=tolerance)


def test_the_convention_of_six_sigma() -> None:
    assert stats.norm.isf(3.4e-6) + 1.5 == pytest.approx(6.0, abs=1e-3)
