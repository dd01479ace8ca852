"""Levels that flows change: straight lines between two events."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import simpy

from process_plant.things import Pool


class Moving(Pool):
    """Units on hand that run in or out at a rate; ``touched`` is called where somebody else changes them."""

    __slots__ = ("base", "env", "rate", "touched")

    base: float

    def __init__(self, env: simpy.Environment, free: float, item: int) -> None:
        self.env, self.rate = env, 0.0
        self.touched: Callable[[], None] = lambda: None
        super().__init__(free, item=item)

    @property
    def free(self) -> float:
        return self.base + self.rate * (self.env.now - self.since)

    @free.setter
    def free(self, units: float) -> None:
        self.base = units

    def change(self, by: float, now: float) -> None:
        """Units more or fewer; the account of stock over time is a trapezoid."""
        free = self.base + self.rate * (now - self.since)
        self.area += 0.5 * (self.base + free) * (now - self.since)
        self.since, self.base = now, free + by
        if by:
            self.touched()

    def run(self, rate: float, now: float) -> None:
        """From now on it runs at this rate."""
        self.change(0.0, now)
        self.rate = rate


@dataclass(eq=False, slots=True)
class Buffer:
    """Pieces between two operations of a route, one of which flows; ``lot``: what is put together (0: none)."""

    o: int
    lot: float
    level: float = 0.0
    rate: float = 0.0
