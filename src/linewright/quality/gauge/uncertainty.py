"""How uncertain is a measured value? Contributions joined, with the degrees of freedom that remain.

Independent contributions add as squares; the effective degrees of freedom say which multiple covers a stated share.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scipy import special

from linewright.base.arrays import numbers, share
from linewright.base.problems import Problems
from linewright.base.results import Shown, Table


@dataclass(frozen=True)
class Uncertainty(Shown):
    """Combined standard uncertainty and expanded uncertainty (unit of the contributions), freedom and factor."""

    combined: float
    freedom: float
    factor: float
    expanded: float
    level: float

    def to_table(self) -> Table:
        """One row."""
        columns = ("combined", "effective degrees of freedom", "coverage factor", "expanded")
        row = (self.combined, self.freedom, self.factor, self.expanded)
        return Table("Uncertainty", columns, (row,), f"{self.level:.0%} coverage")


def combined_uncertainty(contributions: Sequence[float], freedom: Sequence[float], level: float = 0.95) -> Uncertainty:
    """Combined and expanded uncertainty of independent contributions.

    Equation: u = sqrt(sum u_i^2); v = u^4 / sum(u_i^4/v_i), rounded down for the factor t((1 + level)/2, v).
    Takes:
        contributions [any one unit]: standard uncertainties times their sensitivities, 0 or more, at least one above 0.
        freedom [1]: degrees of freedom of each, above 0; infinite where known.
        level [1]: coverage, between 0 and 1.
    Gives: an Uncertainty.
    Range: independent contributions, none overwhelming in a strange shape.
    Source: JCGM 100:2008 (GUM), 5.1.2 and G.4.

    >>> found = combined_uncertainty([25, 9.7, 3.9], [18, 25, 5])
    >>> round(found.combined, 1), round(found.factor, 2)
    (27.1, 2.06)
    """
    problems = Problems()
    u = numbers(list(contributions), "contributions", problems, low=0.0)
    share(level, "level", problems)
    if len(freedom) != u.size:
        problems.error("freedom", f"{len(freedom)} for {u.size} contributions", expected="one for each")
    for i, v in enumerate(freedom):
        if not v > 0:
            problems.error(f"freedom[{i}]", "not degrees of freedom", value=v, expected="above 0")
    if u.size and not u.any():
        problems.error("contributions", "all are 0")
    problems.raise_errors()
    combined = math.sqrt(float((u * u).sum()))
    lost = sum(float(x) ** 4 / v for x, v in zip(u, freedom, strict=True))
    effective = combined**4 / lost if lost > 0 else math.inf
    whole = math.floor(effective + 1e-9) if math.isfinite(effective) else math.inf
    upper = 0.5 + level / 2
    factor = float(special.stdtrit(max(1, whole), upper)) if math.isfinite(whole) else float(special.ndtri(upper))
    return Uncertainty(combined, effective, factor, factor * combined, level)
