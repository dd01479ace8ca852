"""The balance where there is a choice: linear programs one after the other, each within the best of the last.

Order: no surplus made on purpose; declared preferences; least direct cost. What is still tied is split as equally as it
can be (the least sum of squares is unique), so that names and their order change nothing. SciPy's HiGHS solves the
programs; the last step solves the equations themselves, so that the balance closes to rounding.
"""

from __future__ import annotations

from collections.abc import Sequence
from enum import Enum

import numpy as np

from linewright.flow.columns import System
from linewright.network.model import Bools, Floats

_TIED = 1e-9  # reduced costs below this share of the largest count as nought


class Failure(Enum):
    """Why a program has no answer."""

    INFEASIBLE = "infeasible"
    UNBOUNDED = "unbounded"


def solve_program(system: System, goals: Sequence[Floats], weights: Floats) -> tuple[Floats | None, Failure | None]:
    """The solution by goals in order of rank [n_columns each], or why there is none.

    ``weights`` [n_columns] turn a column into what is shared out equally: units made of a contested item, and little
    for columns that only follow.
    """
    from scipy.optimize import linprog

    n = system.matrix.shape[1]
    allowed = np.ones(n, dtype=np.bool_)
    scale = float(np.abs(system.right).max(initial=0.0)) or 1.0
    x = np.zeros(n)
    ranked = [goal for goal in goals if np.any(goal != 0)] or [np.zeros(n)]
    for goal in ranked:
        size = float(np.abs(goal).max()) or 1.0
        bounds = [(0.0, None if ok else 0.0) for ok in allowed.tolist()]
        found = linprog(
            goal / size,
            A_eq=system.matrix,
            b_eq=system.right / scale,
            bounds=bounds,
            method="highs",
            options={"dual_feasibility_tolerance": 1e-10, "primal_feasibility_tolerance": 1e-10},
        )
        if found.status == 3:
            return None, Failure.UNBOUNDED
        if found.status != 0:
            return None, Failure.INFEASIBLE
        x = np.asarray(found.x, dtype=np.float64) * scale
        allowed &= found.lower.marginals <= _TIED
    return split_equally(system, allowed, x, weights), None


def split_equally(system: System, allowed: Bools, x: Floats, weights: Floats) -> Floats:
    """Among all x >= 0 that solve the equations with only the allowed columns, the one with the least weighted squares.

    Columns that would turn negative are taken out, those that should return are put back (an active-set method).
    ``x`` is a solution to fall back on.
    """
    free = allowed.copy()
    for _ in range(min(200, int(allowed.sum()) + 2)):
        solution, prices = _least_squares(system, free, weights)
        if solution is None:
            return x
        size = float(np.abs(solution).max(initial=0.0))
        negative = solution < -1e-11 * size
        if negative.any():
            free &= ~negative
            continue
        pull = system.matrix.T @ prices  # a column at zero wants in where its price is positive
        wanted = allowed & ~free & (pull > 1e-9 * float(np.abs(pull).max(initial=1.0)))
        if not wanted.any():
            return np.where(solution < 1e-13 * size, 0.0, solution)  # dust of rounding
        free[int(np.argmax(np.where(wanted, pull, -np.inf)))] = True
    return x


def _least_squares(system: System, free: Bools, weights: Floats) -> tuple[Floats | None, Floats]:
    """Minimum of sum (w x)^2 subject to the equations on free columns: w^2 x = A' p, A x = b; p are the prices."""
    from scipy.sparse import block_array, diags_array
    from scipy.sparse.linalg import splu

    columns = np.flatnonzero(free)
    part = system.matrix[:, columns]
    m = part.shape[0]
    kept = np.flatnonzero(np.diff(part.tocsr().indptr) > 0)
    if np.any(system.right[np.setdiff1d(np.arange(m), kept)] != 0):
        return None, np.zeros(m)
    part = part.tocsr()[kept]
    size = columns.size
    soft = 1e-13 * float(np.abs(part.data).max(initial=1.0))  # rows that repeat each other stay solvable
    exact = block_array([[diags_array(weights[columns] ** 2), part.T], [part, None]]).tocsc()
    softness = diags_array(np.concatenate([np.zeros(size), np.full(kept.size, soft)]))
    right = np.concatenate([np.zeros(size), system.right[kept]])
    try:
        factor = splu((exact - softness).tocsc())
    except RuntimeError:
        return None, np.zeros(m)
    both = factor.solve(right)
    for _ in range(3):  # against the exact equations, which takes the softness out again
        both += factor.solve(right - exact @ both)
    solution = np.zeros(system.matrix.shape[1])
    solution[columns] = both[:size]
    wrong = np.abs(system.matrix @ solution - system.right).max(initial=0.0)
    if not np.isfinite(both).all() or wrong > 1e-9 * float(np.abs(system.right).max(initial=1e-300)):
        return None, np.zeros(m)
    prices = np.zeros(m)
    prices[kept] = -both[size:]
    return solution, prices
