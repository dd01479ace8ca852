"""Sizes, screens and the mill's loop: mass kept, limits, the fixpoint by another way."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.base.problems import ProblemsError
from linewright.physics.milling import mill_time
from linewright.physics.screen import Mill, mill_circuit, mill_matrix, screen, to_oversize
from linewright.physics.screening import screen_time
from linewright.physics.sizes import Sizes, fit_sizes, grid, rosin_rammler, sizes_by_law, sizes_from_sieves

DECKS = {"oversize": 2.0, "core": 0.8, "face": 0.2}


@given(st.floats(0.3, 6.0), st.floats(0.7, 3.0), st.floats(2.0, 20.0))
def test_a_screen_keeps_mass_class_by_class(middle: float, spread: float, sharpness: float) -> None:
    feed = sizes_by_law(middle, spread)
    found = screen(feed, DECKS, sharpness=sharpness)
    assert sum(found.shares.values()) == pytest.approx(1.0, abs=1e-12)
    together = sum(share * np.array(found.sizes[name].shares) for name, share in found.shares.items())
    assert together == pytest.approx(np.array(feed.shares), abs=1e-12)


def test_a_perfect_screen_cuts_at_its_aperture() -> None:
    feed = sizes_by_law(1.4, 1.5, grid(0.02, 20.0, 2000))
    found = screen(feed, DECKS, sharpness=1e9, fit=1.0)
    cuts = rosin_rammler([2.0, 0.8, 0.2], 1.4, 1.5)
    assert found.shares["oversize"] == pytest.approx(1 - cuts[0], abs=2e-3)
    assert found.shares["core"] == pytest.approx(cuts[0] - cuts[1], abs=2e-3)
    assert found.shares["dust"] == pytest.approx(cuts[2], abs=2e-3)


def test_efficiency_rises_from_none_to_all_through_a_half() -> None:
    d = np.linspace(0, 10, 200)
    e = to_oversize(d, 2.0)
    assert e[0] == 0.0
    assert e[-1] == pytest.approx(1.0)
    assert np.all(np.diff(e) >= 0)


def test_a_mill_keeps_mass_and_makes_nothing_coarser() -> None:
    p = mill_matrix(grid(), Mill())
    assert p.sum(axis=0) == pytest.approx(np.ones(p.shape[0]), abs=1e-12)
    assert np.all(p >= 0)
    assert np.all(np.tril(p, -1) == 0)


def test_the_loop_is_the_fixpoint_of_going_round() -> None:
    """Solved at once, and by sending the oversize back until nothing changes."""
    feed = sizes_by_law(4.0, 1.5)
    mill = Mill(chance=0.5)
    found = mill_circuit(feed, mill, DECKS)
    over, product = to_oversize(feed.middles, 2.0, 6.0, 0.9), mill_matrix(feed.edges, mill)
    load = fresh = np.array(feed.shares)
    for _ in range(3000):
        load = fresh + over * (product @ load)
    assert found.mill_load == pytest.approx(load.sum(), rel=1e-12)
    assert found.mill_load - 1 == pytest.approx(found.round, rel=1e-12)
    assert sum(found.streams.shares.values()) == pytest.approx(1.0, abs=1e-12)


def test_a_third_sent_back_loads_the_mill_by_half_more() -> None:
    """With nothing broken and a third of the only class held back, the load is the series 1 / (1 - 1/3)."""
    feed = Sizes((0.0, 1.0, 2.0, 4.0), (0.0, 1.0, 0.0))
    found = mill_circuit(feed, Mill(chance=0.0), {"oversize": 1e9, "rest": 1e-9}, sharpness=1.0)
    assert found.mill_load == pytest.approx(1.0, abs=1e-6)
    aperture = np.sqrt(2.0) * np.log(2) / -np.log(2 / 3)
    found = mill_circuit(feed, Mill(chance=0.0), {"oversize": aperture, "rest": 1e-9}, sharpness=1.0, fit=1.0)
    assert found.mill_load == pytest.approx(1 / (1 - 1 / 3), rel=1e-9)


def test_a_mill_that_does_not_break_is_refused() -> None:
    with pytest.raises(ProblemsError, match="go round for ever"):
        mill_circuit(sizes_by_law(9.0, 4.0), Mill(chance=0.0), {"oversize": 0.5, "core": 0.1}, sharpness=50.0)


def test_finer_milling_sends_less_back() -> None:
    feed = sizes_by_law(4.0, 1.5)
    assert mill_circuit(feed, Mill(0.8), DECKS).round < mill_circuit(feed, Mill(0.4), DECKS).round


def test_the_time_of_a_mill_is_that_of_its_whole_load() -> None:
    feed = sizes_by_law(4.0, 1.5)
    circuit = mill_circuit(feed, Mill(), DECKS)
    found = mill_time(100.0, 0.5, 4.0, 1.5, 2.0, core_aperture=0.8, face_aperture=0.2)
    assert found.seconds == pytest.approx(100 * circuit.mill_load / 0.5, rel=1e-12)
    assert found.outcome("sent back") == pytest.approx(100 * circuit.round, rel=1e-12)
    for name, share in circuit.streams.shares.items():
        assert found.outcome(name) == pytest.approx(100 * share, rel=1e-12)
        assert found.curve.values(name)[-1] == pytest.approx(100 * share, rel=1e-12)
    one = mill_time(100.0, 0.5, 4.0, 1.5, 2.0)
    assert one.outcome("under") == pytest.approx(100.0, rel=1e-12)
    assert one.seconds == pytest.approx(found.seconds, rel=1e-12)


def test_the_load_settles_as_classes_get_finer() -> None:
    """Halved classes halve the step: first order. The 60 classes of grid lie about 4 % below the limit."""
    loads = [mill_circuit(sizes_by_law(4.0, 1.5, grid(classes=n)), Mill(), DECKS).mill_load for n in (60, 120, 240)]
    assert (loads[1] - loads[0]) / (loads[2] - loads[1]) == pytest.approx(2.0, abs=0.15)
    limit = 2 * loads[2] - loads[1]
    assert loads[0] / limit == pytest.approx(0.955, abs=0.01)


def test_a_mill_with_an_open_screen_sends_nothing_back() -> None:
    assert mill_time(100.0, 0.5, 1.0, 2.0, 1000.0).seconds == pytest.approx(200.0, rel=1e-9)
    assert mill_time(100.0, 0.5, 40.0, 1.5, 2.0).seconds > mill_time(100.0, 0.5, 4.0, 1.5, 2.0).seconds


def test_sieves_and_their_law() -> None:
    a = np.array([0.25, 0.5, 1.0, 2.0, 4.0])
    found = fit_sizes(a, rosin_rammler(a, 1.8, 1.4))
    assert found.value("middle") == pytest.approx(1.8, rel=1e-6)
    assert found.value("spread") == pytest.approx(1.4, rel=1e-6)
    sieved = sizes_from_sieves(a, [5, 10, 20, 40, 20, 5])
    assert sum(sieved.shares) == pytest.approx(1.0)
    assert sieved.passing(1.0) == pytest.approx(0.35)
    assert sieved.size_at(0.35) == pytest.approx(1.0)
    finer = sizes_from_sieves(a, [5, 10, 20, 40, 20, 5], grid(0.05, 8.0, 40))
    assert finer.passing(1.0) == pytest.approx(0.35, abs=0.02)


def test_common_practice_of_board_particles() -> None:
    """Common practice, no source: particles of 0.2 to 5 mm."""
    sizes = sizes_by_law(1.4, 1.5)
    assert sizes.passing(5.0) - sizes.passing(0.2) > 0.93


def test_refusals_by_name() -> None:
    with pytest.raises(ProblemsError, match="coarse to fine"):
        screen(sizes_by_law(1.0, 1.0), {"a": 1.0, "b": 2.0})
    with pytest.raises(ProblemsError, match="above zero"):
        to_oversize(1.0, -2.0)
    with pytest.raises(ProblemsError, match="one mass for the pan"):
        sizes_from_sieves([1.0, 2.0], [1.0, 2.0])
    with pytest.raises(ProblemsError, match="above zero"):
        screen_time(0.0, 1.0, 1.0, 1.0, 1.0, 1.0)
    with pytest.raises(ProblemsError) as wrong:
        mill_time(0.0, -1.0, 4.0, 1.5, 2.0)
    assert {p.path for p in wrong.value.problems} == {"amount", "takes"}
    with pytest.raises(ProblemsError, match="go round for ever"):
        mill_time(1.0, 1.0, 9.0, 4.0, 0.5, 50.0, chance=0.0)
