"""Whether a blend can keep all its limits at once, before the balance is asked: else it is said which blend cannot."""

from __future__ import annotations

import numpy as np

from linewright.base.problems import Problems
from linewright.network.model import Network


def blends_that_cannot_be(network: Network, problems: Problems) -> None:
    """A problem for every blend whose limits contradict each other."""
    limited = [choice for choice in network.choices if choice.limits]
    if not limited:
        return
    from scipy.optimize import linprog

    for choice in limited:
        rows, right = [], []
        for limit in choice.limits:
            weight = np.array(choice.units) * np.array(limit.weight)
            for end, sign in ((limit.most, 1.0), (limit.least, -1.0)):
                if np.isfinite(end):
                    rows.append(sign * weight * (np.array(limit.value) - end))
                    right.append(0.0)
        n = len(choice.items)
        if rows and linprog(np.zeros(n), A_ub=np.array(rows), b_ub=right, A_eq=np.ones((1, n)), b_eq=[1.0]).status != 0:
            names = ", ".join(limit.name for limit in choice.limits)
            problems.error(
                f"{network.operations.paths[choice.operation]}.takes.{choice.label}.limits",
                f"no blend of these keeps all its limits at once: {names}",
                hint="wider limits, or another item in the blend",
            )
