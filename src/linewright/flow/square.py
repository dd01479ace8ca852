"""The balance where nothing is left to choose: as many unknowns as equations, solved by sparse elimination."""

from __future__ import annotations

import warnings

import numpy as np

from linewright.flow.columns import System
from linewright.network.model import Floats

_SINGULAR = 1e-9


def solve_square(system: System) -> Floats | None:
    """The solution, or None where the equations are singular or an amount would be negative."""
    from scipy.sparse.linalg import MatrixRankWarning, spsolve

    if system.matrix.shape[0] == 0:
        return np.zeros(0)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", MatrixRankWarning)
        x = np.atleast_1d(spsolve(system.matrix, system.right))
    if not np.isfinite(x).all():
        return None
    size = float(np.abs(x).max(initial=0.0))
    wrong = np.abs(system.matrix @ x - system.right).max(initial=0.0)
    scale = max(float(np.abs(system.right).max(initial=0.0)), 1e-300)
    if wrong > _SINGULAR * scale or x.min(initial=0.0) < -1e-9 * size:
        return None
    return np.where(x < 0, 0.0, x)
