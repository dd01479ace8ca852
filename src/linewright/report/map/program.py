"""A sparse linear program in the one form that the map needs, solved by HiGHS through SciPy."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(slots=True)
class Program:
    """Minimise ``cost`` times x, where every row of terms is at most its limit and x at least ``least``."""

    cost: list[float]
    least: list[float]
    terms: list[tuple[int, int, float]] = field(default_factory=list)
    limits: list[float] = field(default_factory=list)

    def at_most(self, limit: float, *terms: tuple[int, float]) -> None:
        """Add a row: the sum of factor times variable over (variable, factor) is at most ``limit``."""
        self.terms.extend((len(self.limits), variable, factor) for variable, factor in terms)
        self.limits.append(limit)

    def solve(self) -> list[float]:
        """The best values at a corner of the program. Raises ArithmeticError where there is none."""
        if not self.limits:
            return list(self.least)
        from scipy.optimize import linprog
        from scipy.sparse import coo_array

        row, column, factor = zip(*self.terms, strict=True)
        matrix: Any = coo_array((factor, (row, column)), shape=(len(self.limits), len(self.cost))).tocsr()
        bounds: Any = [(least, None) for least in self.least]
        solved = linprog(self.cost, A_ub=matrix, b_ub=self.limits, bounds=bounds, method="highs-ds")
        if solved.x is None:
            raise ArithmeticError(f"the map has no layout: {solved.message}")
        return [float(x) for x in solved.x]
