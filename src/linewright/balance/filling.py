"""Good balances at once, by many weights: what a task is worth when stations are filled one after another.

``hoffmann`` fills a line by one weight; here are the weights that are tried, and the random ones after them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from linewright.balance.clock import Clock
from linewright.balance.hoffmann import fill_line
from linewright.balance.loads import Case, Ints, make_space
from linewright.balance.prepare import Ready

SHAKE = 0.03  # by how much a task's weight is changed at random
MIXTURES = (  # power of the price, work behind, tasks behind
    (1.0, 0.0, 0.0),
    (1.0, 0.25, 0.0),
    (1.0, 0.0, 0.05),
    (2.0, 0.5, 0.0),
    (1.0, 2.5, 0.0),
    (2.0, 0.0, 0.0),
    (1.0, 1.0, 0.02),
    (1.0, 10.0, 0.0),
    (1.0, 0.0, 0.2),
    (2.0, 2.0, 0.0),
    (1.0, 0.5, 0.1),
    (1.0, 25.0, 0.0),
)
EFFORTS = ((1, 1, 200), (4, 1000, 20_000), (12, 5000, 200_000))  # weights tried, loads and steps per station


def try_to_fill(ready: Ready, effort: int, clock: Clock) -> Ints | None:
    """The heuristic at one of three efforts, both directions; stations (from 0), or None where it finds no way."""
    tries, most_loads, most_steps = EFFORTS[effort]
    for turned, case in ((False, ready.front), (True, ready.back)):
        filler = Filler(case, ready.sums)
        for mixture in MIXTURES[:tries]:
            station = filler.fill(weigh(case, *mixture), most_loads, most_steps)
            if station is not None:
                return station.max() - station if turned else station
            if clock.over:
                return None
    return None


class Filler:
    """The heuristic for one case, with its room to work in."""

    def __init__(self, case: Case, sums: bool) -> None:
        n = len(case.times)
        self.case, self.sums = case, sums
        self.space = make_space(n, case.room, sums)
        self.done, self.best = np.zeros((2, (n + 63) // 64), np.uint64)

    def fill(self, weight: NDArray[np.float64], most_loads: int, most_steps: int) -> Ints | None:
        """Stations (from 0) of a line filled by ``weight``, or None where it does not fit."""
        station = np.zeros(len(weight), np.int64)
        args = self.case, weight, self.sums, most_loads, most_steps, self.space, self.done, self.best, station
        return station if fill_line(*args) >= 0 else None


def weigh(case: Case, power: float, behind: float, follow: float) -> NDArray[np.float64]:
    """What a task weighs in the heuristic: its price, and more the more work or tasks hang on it."""
    share = case.price**power
    work = case.tail / (case.room * case.stations)
    tasks = np.diff(case.after_start).astype(np.float64)
    weight: NDArray[np.float64] = share + behind * work + follow * share.mean() * tasks
    return weight


def shake(ready: Ready, tries: int, seed: int, clock: Clock) -> Ints | None:
    """The heuristic at most ``tries`` times with weights drawn at random, both directions in turn."""
    random = np.random.default_rng(seed)
    fillers = [Filler(case, ready.sums) for case in (ready.front, ready.back)]
    for attempt in range(tries):
        if clock.over:
            break
        turned = attempt % 2 == 1
        filler = fillers[turned]
        power, behind = random.uniform(1.0, 3.0), 10 ** random.uniform(-1.5, 0.7)
        weight = weigh(filler.case, power, behind, 0.0)
        weight *= random.uniform(1.0 - SHAKE, 1.0 + SHAKE, len(weight))
        station = filler.fill(weight, 1000, 20_000)
        if station is not None:
            return station.max() - station if turned else station
    return None
