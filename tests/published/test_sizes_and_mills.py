"""Sizes, partition curves and closed circuits against worked examples and textbook identities.

The sieve analysis is A. Doll, Fitting Rosin-Rammler parameters to a sieve analysis (calculation sheet, 2012 and 2017),
read as printed. The two-product formula and the probable error are Wills, Mineral Processing Technology, from memory.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats

from linewright.physics.screen import Mill, mill_circuit, mill_matrix, screen, to_oversize
from linewright.physics.sizes import fit_sizes, grid, rosin_rammler, sizes_by_law

SIEVES = np.array([600.0, 425.0, 300.0, 212.0, 150.0, 106.0, 75.0, 53.0, 45.0, 38.0]) / 1000  # mm
READ = np.array([0.1, 0.7, 3.0, 8.1, 12.3, 21.7, 30.5, 44.6, 50.5, 54.2]) / 100  # held, share
FITTED = np.array([0.1, 0.7, 2.6, 6.6, 13.4, 22.5, 33.1, 44.1, 49.1, 54.1]) / 100
SLOPE, MIDDLE = 0.8645408, 1 / 14.965  # n, and d' in mm: the sheet has 0.014965 for each micrometre


def test_printed_fit_of_a_sieve_analysis() -> None:
    """Held on each sieve by the law with the printed constants, to the printed tenth of a per cent."""
    held = 1 - rosin_rammler(SIEVES, MIDDLE, SLOPE)
    assert np.max(np.abs(held - FITTED)) < 5.5e-4


def test_own_fit_of_the_sieve_analysis() -> None:
    """The sheet draws a line on paper, we take least squares on the shares: ours lies nearer the readings."""
    found = fit_sizes(SIEVES, 1 - READ)
    ours = rosin_rammler(SIEVES, found.value("middle"), found.value("spread"))
    assert np.sum((1 - ours - READ) ** 2) <= np.sum((FITTED - READ) ** 2)
    assert found.value("middle") == pytest.approx(MIDDLE, rel=0.05)
    assert found.value("spread") == pytest.approx(SLOPE, rel=0.10)


def test_worked_example_of_150_micrometres() -> None:
    """A teaching note: size modulus 150 um, exponent 1.2. 35.3 % is finer than 75 um, 80 % finer than 223 um."""
    assert float(rosin_rammler(0.075, 0.150, 1.2)) == pytest.approx(0.353, abs=5e-4)
    assert float(rosin_rammler(0.223, 0.150, 1.2)) == pytest.approx(0.80, abs=1e-3)


def test_partition_curve_is_a_weibull_distribution() -> None:
    """The curve of Reid and Plitt is SciPy's Weibull with its median at the cut size."""
    d, m, cut = np.linspace(0, 6, 40), 5.0, 0.9 * 2.0
    weibull = stats.weibull_min(m, scale=cut / np.log(2) ** (1 / m))
    assert to_oversize(d, 2.0, m) == pytest.approx(weibull.cdf(d), abs=1e-12)


@pytest.mark.parametrize("sharpness", [2.0, 4.0, 8.0])
def test_probable_error_of_tromp(sharpness: float) -> None:
    """Imperfection (d75 - d25) / (2 d50): read off the curve as from a drawing, and by its closed form."""
    sizes = np.linspace(0.01, 6.0, 600_001)
    chance = to_oversize(sizes, 2.0, sharpness)
    d25, d50, d75 = np.interp([0.25, 0.5, 0.75], chance, sizes)
    exact = (np.log(4) ** (1 / sharpness) - np.log(4 / 3) ** (1 / sharpness)) / (2 * np.log(2) ** (1 / sharpness))
    assert (d75 - d25) / (2 * d50) == pytest.approx(exact, abs=1e-5)
    assert d50 == pytest.approx(1.8, abs=1e-5)


@pytest.mark.parametrize("size", [0.3, 0.8, 1.5, 2.5])
@pytest.mark.parametrize("chance", [0.3, 0.7])
def test_circulating_load_by_the_two_product_formula(size: float, chance: float) -> None:
    """Oversize over undersize is (u - f) / (f - o): shares finer than a size in undersize, feed and oversize."""
    feed, aperture = sizes_by_law(4.0, 1.5), 2.0
    circuit = mill_circuit(feed, Mill(chance), {"oversize": aperture, "rest": 1e-6}, "nothing")
    parted = screen(circuit.mill_sizes, {"over": aperture}, "under")
    f, o, u = (float(s.passing(size)) for s in (circuit.mill_sizes, parted.sizes["over"], parted.sizes["under"]))
    assert (u - f) / (f - o) == pytest.approx(circuit.round, rel=1e-9)


def test_the_circuit_as_an_absorbing_chain() -> None:
    """A grain's passes through the mill by Kemeny and Snell, Finite Markov Chains: the mean is N 1, N = (I - Q)^-1."""
    feed = sizes_by_law(4.0, 1.5)
    stays = (to_oversize(feed.middles, 2.0)[:, None] * mill_matrix(feed.edges, Mill())).T  # by class, held and ground
    passes = np.linalg.inv(np.eye(len(feed.shares)) - stays).sum(axis=1)
    found = mill_circuit(feed, Mill(), {"oversize": 2.0, "core": 0.8})
    assert found.mill_load == pytest.approx(float(np.array(feed.shares) @ passes), rel=1e-12)


def test_the_circuit_by_following_grains() -> None:
    """Monte Carlo of NumPy: 20,000 grains of equal mass, each broken, sieved and sent back until it leaves."""
    edges = grid(0.05, 40.0, 30)
    feed = sizes_by_law(4.0, 1.5, edges)
    over, product = to_oversize(feed.middles, 2.0), mill_matrix(edges, Mill())
    reach = np.cumsum(product, axis=0)
    rng = np.random.default_rng(7)
    at = rng.choice(len(feed.shares), 20_000, p=feed.shares)
    passes = 0
    while at.size:
        passes += at.size
        at = (rng.random(at.size) > reach[:, at]).sum(axis=0).clip(max=len(feed.shares) - 1)
        at = at[rng.random(at.size) < over[at]]
    found = mill_circuit(feed, Mill(), {"oversize": 2.0, "core": 0.8})
    assert found.mill_load == pytest.approx(passes / 20_000, rel=0.025)
