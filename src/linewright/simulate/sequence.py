"""In which order are models let in on a line that makes several? A level schedule: nothing runs ahead of its share.

The rule is goal chasing (Monden, Toyota Production System, 1983): of all models take the one after which what has been
used so far lies nearest to an even use. With nothing but the models themselves to level it takes the model furthest
behind its share, which is what the simulation does with variants.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np


def smoothed(demand: Sequence[int], uses: Sequence[Sequence[float]] | None = None) -> list[int]:
    """The sequence of ``sum(demand)`` models, each a number from 0, by goal chasing.

    Step k takes the model j with the least sum over parts p of (k r_p - x_p - b_pj)^2; ``uses[j][p]`` is b, parts of
    one model (without them every model is a part of its own), r_p parts a step on average, x_p parts used so far. Of
    equal ones the first is taken. A model whose demand is met is not taken again.

    >>> smoothed([3, 2, 1])
    [0, 1, 0, 2, 1, 0]
    """
    counts = np.array(demand, dtype=np.int64)
    parts = np.eye(len(counts)) if uses is None else np.array(uses, dtype=np.float64)
    rate = counts @ parts / counts.sum()
    used = np.zeros(parts.shape[1])
    left, found = counts.copy(), []
    for k in range(1, int(counts.sum()) + 1):
        gaps = ((k * rate - used - parts) ** 2).sum(axis=1)
        gaps[left == 0] = np.inf
        chosen = int(np.argmin(np.round(gaps, 12)))
        found.append(chosen)
        left[chosen] -= 1
        used += parts[chosen]
    return found


def unevenness(sequence: Sequence[int], uses: Sequence[Sequence[float]]) -> float:
    """How far a sequence is from level: J = sum over steps k and parts p of (k r_p - x_pk)^2, in parts squared.

    ``uses[j][p]`` parts of one model. The output rate variation problem seeks the sequence with the least
    (Bautista, Companys and Corominas 1996).

    >>> unevenness([0, 1], [[1, 0], [0, 1]])
    0.5
    """
    parts = np.array(uses, dtype=np.float64)[list(sequence)]
    steps = np.arange(1, len(parts) + 1)[:, None]
    return float(((steps * parts.mean(axis=0) - parts.cumsum(axis=0)) ** 2).sum())
