"""Queues against the textbooks: Erlang 1917, Pollaczek 1930, Hillier and Lieberman, Gross and Harris.

Values are recomputed from the closed formulas; page numbers of the printed sources were not checked (from memory).
"""

from __future__ import annotations

import math

import pytest

from linewright.capacity.queues import erlang_b, erlang_c, mg1, mm1, mm1b, mmc

LOADS = [(2, 1.6), (2, 1.5), (3, 2.0), (3, 2.4), (5, 4.0), (10, 8.0), (10, 9.0), (20, 18.0)]
WAIT = [0.711111, 0.642857, 0.444444, 0.647191, 0.554113, 0.409180, 0.668732, 0.550769]
LOSS = [0.329897, 0.310345, 0.210526, 0.268406, 0.199067, 0.121661, 0.167963, 0.109213]


@pytest.mark.parametrize(("load", "expected"), list(zip(LOADS, WAIT, strict=True)))
def test_erlang_c(load: tuple[int, float], expected: float) -> None:
    assert erlang_c(*load) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("load", "expected"), list(zip(LOADS, LOSS, strict=True)))
def test_erlang_b(load: tuple[int, float], expected: float) -> None:
    assert erlang_b(*load) == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(("load", "expected"), [((5, 4.0), 2.216450), ((10, 9.0), 6.018584), ((20, 18.0), 4.956921)])
def test_queue_length_of_several_places(load: tuple[int, float], expected: float) -> None:
    places, offered = load
    assert mmc(offered, 1.0, places).waiting == pytest.approx(expected, abs=1e-6)


def test_one_place() -> None:
    """M/M/1 at use 0.8 and rate 1: any text on queues."""
    found = mm1(0.8, 1.0)
    assert (found.waiting, found.present, found.wait, found.stay) == pytest.approx((3.2, 4.0, 4.0, 5.0), abs=1e-9)
    assert found.idle == pytest.approx(0.2, abs=1e-9)


def test_county_hospital() -> None:
    """Hillier and Lieberman, Introduction to Operations Research, county hospital: 2 patients an hour, 3 served."""
    one, two = mmc(2.0, 3.0, 1), mmc(2.0, 3.0, 2)
    assert (one.waiting, one.stay) == pytest.approx((4 / 3, 1.0), abs=1e-9)
    assert (two.idle, two.waiting, two.present, two.wait) == pytest.approx((0.5, 1 / 12, 0.75, 1 / 24), abs=1e-9)


@pytest.mark.parametrize(
    ("use", "scv", "expected"), [(0.8, 1, 3.2), (0.8, 0, 1.6), (0.9, 0.25, 5.0625), (0.7, 0.5, 1.225)]
)
def test_pollaczek_khinchine(use: float, scv: float, expected: float) -> None:
    """Pollaczek 1930, Khinchine 1932; the second row is M/D/1."""
    assert mg1(use, 1.0, scv).waiting == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize(
    ("use", "most", "blocked", "rate"),
    [(0.9, 5, 0.126023, 0.873977), (0.8, 10, 0.023493, 0.976507), (0.5, 3, 0.066667, 0.933333)],
)
def test_limited_room(use: float, most: int, blocked: float, rate: float) -> None:
    """M/M/1/b, b the most in the system: closed form."""
    found = mm1b(use, 1.0, most)
    assert found.blocked == pytest.approx(blocked, abs=1e-6)
    assert found.rate / use == pytest.approx(rate, abs=1e-6)


@pytest.mark.parametrize("use", [0.3, 1 - 1e-9, 1.0, 1 + 1e-9, 4.0])
def test_limited_room_by_balance_of_the_states(use: float) -> None:
    """Own oracle: probabilities proportional to use^k, summed exactly; also at and above use 1."""
    from fractions import Fraction

    u, b = Fraction(use), 7
    weights = [u**k for k in range(b + 1)]
    found = mm1b(use, 1.0, b)
    assert found.blocked == pytest.approx(float(weights[b] / sum(weights)), rel=1e-9)
    assert found.present == pytest.approx(float(sum(k * w for k, w in enumerate(weights)) / sum(weights)), rel=1e-9)


def test_many_places_do_not_overflow() -> None:
    found = mmc(950.0, 1.0, 1000)
    assert math.isfinite(found.wait)
    assert found.idle == pytest.approx(0.0, abs=1e-100)
    assert 0 < erlang_c(1000, 950.0) < 0.2
