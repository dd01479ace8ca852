"""How fast does a slab follow the air around it? The exact series for conduction with convection, both faces alike.

Temperatures are ratios (T - T_air) / (T_start - T_air), places are shares of the half thickness from the middle, time
is the Fourier number. Early times use the solution for a thick body, where the series would need hundreds of terms. The
same series describes moisture leaving a panel by diffusion.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special
from scipy.optimize.elementwise import find_root

from linewright.physics.inputs import Floats, Inputs

EARLY = 0.01
"""Fourier number below which the thick-body solution is exact to 1e-12 and the series is left alone."""
TERMS = 20
_NOTHING = 39.0
_MOST = 50
"""Terms of the series: at Fo = 0.01 the next one is below 1e-17."""


def slab_roots(biot: ArrayLike, terms: int = TERMS) -> Floats:
    """The first positive roots z of z tan z = Bi, along a new last axis.

    Equation: z - k pi = atan(Bi / z), by Newton, which has no poles.
    Takes:
        biot [1]: h L / k of the half thickness L, above 0.
        terms [1]: how many roots.
    Gives: the roots [rad]. Raises ProblemsError.
    Range: any Biot number.
    Source: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, section 5.5 and table 5.1.

    >>> slab_roots(1.0, 2).round(4).tolist()
    [0.8603, 3.4256]
    """
    inputs = Inputs()
    bi = inputs.size("biot", biot, "")
    inputs.done()
    return np.stack([_root(bi, k) for k in range(terms)], axis=-1)


def _root(bi: Floats, k: int) -> Floats:
    """The root in (k pi, (k + 1/2) pi) by Newton on z - k pi - atan(Bi / z), which has no poles there."""
    bottom = k * np.pi
    z = np.pi / 2 / np.sqrt(1 + 2.24 / bi**1.02) if k == 0 else bottom + np.arctan(bi / (bottom + 0.5))
    for _ in range(_MOST):
        value = z - bottom - np.arctan2(bi, z)
        step = value / (1 + bi / (z**2 + bi**2))
        z = z - step
        if np.all(np.abs(step) <= 1e-9 * z):  # quadratic: the next step would be below rounding
            break
    return z


def slab_ratio(place: ArrayLike, fourier: ArrayLike, biot: ArrayLike) -> Floats:
    """The temperature ratio at a place and time: 1 at the start, 0 when the air's temperature is reached.

    Equation: theta = sum C_n exp(-z_n^2 Fo) cos(z_n x), C_n = 4 sin z_n / (2 z_n + sin 2 z_n), z_n tan z_n = Bi.
    Takes:
        place [1]: x, from 0 (middle) to 1 (face).
        fourier [1]: Fo = a t / L^2, 0 or more.
        biot [1]: Bi = h L / k, above 0.
    Gives: theta [1], of the shape the three broadcast to. Raises ProblemsError.
    Range: any; constant properties, both faces alike.
    Source: Incropera and DeWitt, eq. 5.42 (5.39 in older printings); early times Carslaw and Jaeger, Conduction of Heat
        in Solids, section 2.7.

    >>> round(float(slab_ratio(0.0, 1.0, 1.0)), 5)
    0.53386
    """
    inputs = Inputs()
    x = inputs.number("place", place, low=0.0, high=1.0, what="a place lies between middle (0) and face (1)")
    fo = inputs.amount("fourier", fourier, "")
    bi = inputs.size("biot", biot, "")
    inputs.done()
    return _assemble(fo, bi, x, _early, lambda z, p: np.cos(z * p))


def slab_mean_ratio(fourier: ArrayLike, biot: ArrayLike) -> Floats:
    """The mean temperature ratio of the whole slab: the share of its heat still to be given.

    Equation: theta_mean = sum C_n exp(-z_n^2 Fo) sin z_n / z_n.
    Takes:
        fourier [1]: Fo = a t / L^2, 0 or more.
        biot [1]: Bi = h L / k, above 0.
    Gives: theta_mean [1]. Raises ProblemsError.
    Range: as slab_ratio.
    Source: Incropera and DeWitt, eq. 5.49.

    >>> round(float(slab_mean_ratio(0.0, 1.0)), 9)
    1.0
    """
    inputs = Inputs()
    fo = inputs.amount("fourier", fourier, "")
    bi = inputs.size("biot", biot, "")
    inputs.done()

    def early(_: Floats, f: Floats, b: Floats) -> Floats:
        root = np.sqrt(f)
        spent = special.erfcx(b * root) - 1 + 2 * b * np.sqrt(f / np.pi)
        s = b * root  # for small s the bracket cancels: its own series instead
        series = b * f * (1 - 4 * s / (3 * np.sqrt(np.pi)) + s**2 / 2 - 8 * s**3 / (15 * np.sqrt(np.pi)))
        return np.asarray(1 - np.where(s < 1e-3, series, spent / b))

    return _assemble(fo, bi, np.zeros(()), early, lambda z, _: np.sin(z) / z)


def _early(x: Floats, fo: Floats, bi: Floats) -> Floats:
    """Both faces as thick bodies; where they meet the error is below erfc(10)."""
    root = np.sqrt(np.maximum(fo, 1e-300))

    def drop(depth: Floats) -> Floats:
        s = depth / (2 * root)
        return np.asarray(special.erfc(s) - np.exp(-(s**2)) * special.erfcx(s + bi * root))

    return np.asarray(1 - drop(1 - x) - drop(1 + x))


def _assemble(
    fo: Floats,
    bi: Floats,
    x: Floats,
    early: Callable[[Floats, Floats, Floats], Floats],
    shape: Callable[[Floats, Floats], Floats],
) -> Floats:
    """Early times from the thick body, the rest from the series with as many terms as each time needs."""
    whole = np.broadcast_shapes(fo.shape, bi.shape, x.shape)
    f, b, p = (a.ravel() if a.size == 1 else np.broadcast_to(a, whole).ravel() for a in (fo, bi, x))
    out = np.zeros(int(np.prod(whole)))
    f = np.broadcast_to(f, out.shape)
    young = f < EARLY
    if young.any():
        out[young] = early(_at(p, young), f[young], _at(b, young))
    for k in range(TERMS):
        # A term is left out where exp(-z^2 Fo) is below 1e-17; z lies above k pi.
        live = ~young if k == 0 else ~young & ((k * np.pi) ** 2 * f < _NOTHING)
        if not live.any():
            break
        z = _root(_at(b, live), k)
        c = 4 * np.sin(z) / (2 * z + np.sin(2 * z))
        out[live] += c * np.exp(-(z**2) * f[live]) * shape(z, _at(p, live))
    return out.reshape(whole)


def _at(values: Floats, where: NDArray[np.bool_]) -> Floats:
    """The values at some places; a single value stands for all."""
    return values if values.size == 1 else values[where]


def slab_fourier(ratio: ArrayLike, biot: ArrayLike, place: float | str = "mean") -> Floats:
    """The Fourier number at which a ratio is reached: slab_ratio (or slab_mean_ratio) read backwards.

    Equation: ln theta(Fo) = ln ratio, bracketed.
    Takes:
        ratio [1]: above 0, to 1; 1 gives 0.
        biot [1]: Bi = h L / k, above 0.
        place [1, or "mean"]: x from 0 to 1, or the mean of the slab.
    Gives: Fo [1]. Raises ProblemsError.
    Range: as slab_ratio.
    Source: as slab_ratio.

    >>> round(float(slab_fourier(slab_ratio(0.0, 0.7, 2.0), 2.0, 0.0)), 9)
    0.7
    """
    inputs = Inputs()
    theta = inputs.number("ratio", ratio, above=0.0, high=1.0)
    bi = inputs.size("biot", biot, "")
    inputs.done()
    theta, bi = np.broadcast_arrays(theta, bi)

    def of(fo: Floats) -> Floats:
        return slab_mean_ratio(fo, bi) if isinstance(place, str) else slab_ratio(place, fo, bi)

    decay = _root(np.asarray(bi, dtype=np.float64), 0) ** 2
    latest = (np.log(1.5) - np.log(theta)) / decay  # C_1 is below 4 / pi, so the ratio is passed by then
    bracket: tuple[Any, Any] = (np.zeros(theta.shape), np.asarray(latest))
    found = find_root(
        lambda f, *of: np.log(_of(f, of[1], place)) - np.log(of[0]),
        bracket,
        args=(theta, bi),
        tolerances={"xrtol": 1e-14, "xatol": 0.0, "fatol": 1e-15},
    )
    return np.where(theta >= 1.0, 0.0, found.x)


def _of(fo: Floats, bi: Floats, place: float | str) -> Floats:
    return slab_mean_ratio(fo, bi) if isinstance(place, str) else slab_ratio(place, fo, bi)
