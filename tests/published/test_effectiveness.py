"""Effectiveness of a press shift: a widely copied worked example (420 min planned, 47 min lost, 19,271 made).

The figures are from memory and the ratios recomputed; ISO 22400-2's own example was not at hand.
"""

from __future__ import annotations

import pytest

from linewright.capacity.effectiveness import (
    availability,
    effectiveness,
    oee_index,
    quality_ratio,
    rolled_throughput_yield,
)


def test_press_shift() -> None:
    a = availability(373, 420)
    p = effectiveness(1 / 60, 19271, 373)
    q = quality_ratio(18848, 19271)
    assert (a, p, q) == pytest.approx((0.88810, 0.86108, 0.97805), abs=1e-5)
    assert oee_index(a, p, q) == pytest.approx(0.74794, abs=1e-5)


def test_oee_is_good_pieces_at_planned_pace_over_planned_time() -> None:
    """The product cancels to good x planned time each / planned busy time."""
    a, p, q = availability(373, 420), effectiveness(1 / 60, 19271, 373), quality_ratio(18848, 19271)
    assert oee_index(a, p, q) == pytest.approx(18848 / 60 / 420, rel=1e-12)


def test_rolled_throughput_yield() -> None:
    assert rolled_throughput_yield(0.98, 0.95, 0.97, 0.99) == pytest.approx(0.894039, abs=1e-6)
