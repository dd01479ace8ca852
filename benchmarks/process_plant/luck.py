"""Random times with the shapes of a plan, by Python's own library."""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import Any

from linewright.base.calendar import NS
from linewright.base.distributions import Distribution, Shape

Draw = Callable[[], float]


def draw_of(durations: Any, k: int, luck: random.Random) -> Draw:
    """A random time in s: row ``k`` of the network's durations."""
    shape, (a, b, c) = int(durations.shape[k]), durations.parameters[k].tolist()
    if shape == Shape.FIXED:
        fixed = a / NS
        return lambda: fixed
    if shape == Shape.EXPONENTIAL:
        mean, expovariate = a / NS, luck.expovariate
        return lambda: expovariate(1.0) * mean
    if shape == Shape.LOGNORMAL:
        lognormvariate = luck.lognormvariate
        return lambda: lognormvariate(a, b) / NS
    kept, uniform = Distribution(Shape(shape), a, b, c), luck.random
    return lambda: float(kept.quantile(uniform())) / NS


def draws_of(durations: Any, luck: random.Random) -> list[Draw]:
    """All rows of the network's durations."""
    return [draw_of(durations, k, luck) for k in range(len(durations.shape))]
