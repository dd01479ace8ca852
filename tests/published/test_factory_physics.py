"""Worked examples of W. J. Hopp and M. L. Spearman, Factory Physics (chapters 7 and 8).

The numbers are recomputed; what the book prints is from memory, except the arrival rate and availability of the two
machines, which public lecture slides give.
"""

from __future__ import annotations

import pytest

from linewright.capacity.variation import (
    Effective,
    best_case,
    departures,
    practical_worst_case,
    wait_estimate,
    with_setups,
    with_stoppages,
)

BASE = Effective(15.0, 0.05 * 15.0**2)


@pytest.mark.parametrize(("repair", "ce2", "wait"), [(248.0, 6.25, 1667.5), (38.0, 1.0, 460.0)])
def test_two_machines_of_one_availability(repair: float, ce2: float, wait: float) -> None:
    """Chapter 8, two machines both 75 % available, with long or with short repairs; 2.875 jobs an hour."""
    effective = with_stoppages(BASE, between=3 * repair, repair=repair, repair_scv=1.0)
    assert effective.mean == pytest.approx(20.0, abs=1e-9)
    assert effective.scv == pytest.approx(ce2, abs=1e-9)
    use = 2.875 / 60 * effective.mean
    assert use == pytest.approx(0.958333, abs=1e-6)
    assert wait_estimate(use, effective.mean, 1.0, effective.scv) == pytest.approx(wait, abs=0.1)


def test_a_setup_every_ten() -> None:
    """Chapter 8: one hour of work, two hours of setup after about ten pieces; the book prints 0.31 (from memory)."""
    effective = with_setups(Effective(1.0, 0.0625), every=10, setup=2.0, setup_variance=0.25)
    assert effective.mean == pytest.approx(1.2, abs=1e-4)
    assert effective.variance == pytest.approx(0.4475, abs=1e-4)
    assert effective.scv == pytest.approx(0.31076, abs=1e-4)


@pytest.mark.parametrize(("in_process", "rate", "stay"), [(4, 0.285714, 14.0), (10, 0.384615, 26.0)])
def test_penny_works_practical_worst_case(in_process: float, rate: float, stay: float) -> None:
    """Chapter 7: four stations of two hours, bottleneck half a piece an hour, raw time eight hours."""
    line = practical_worst_case(0.5, 8.0, in_process)
    assert line.rate == pytest.approx(rate, abs=1e-6)
    assert line.stay == pytest.approx(stay, abs=1e-6)


def test_penny_works_best_case() -> None:
    assert best_case(0.5, 8.0, 2.0).rate == pytest.approx(0.25)
    assert best_case(0.5, 8.0, 4.0).rate == pytest.approx(0.5)
    assert best_case(0.5, 8.0, 10.0).stay == pytest.approx(20.0)


def test_work_in_process_for_95_percent() -> None:
    """Two sets of public slides disagree (27 and 57); w / (w + 3) = 0.95 gives 57, and 27 gives 90 %."""
    rates = {w: practical_worst_case(0.5, 8.0, w).rate / 0.5 for w in range(1, 80)}
    assert min(w for w, share in rates.items() if share >= 0.95 - 1e-12) == 57
    assert rates[27] == pytest.approx(0.90)


def test_exponential_stations_pass_on_what_comes() -> None:
    """Burke 1956: departures of M/M/c are again Poisson."""
    for places in (1, 2, 5):
        assert departures(0.8, 1.0, 1.0, places) == pytest.approx(1.0)


def test_the_wait_is_exact_for_one_exponential_place() -> None:
    from linewright.capacity.queues import mg1, mmc

    assert wait_estimate(0.8, 1.0, 1.0, 0.5) == pytest.approx(mg1(0.8, 1.0, 0.5).wait, rel=1e-12)
    assert wait_estimate(0.8, 1.0, 1.0, 1.0, 5) == pytest.approx(mmc(4.0, 1.0, 5).wait, rel=1e-12)
