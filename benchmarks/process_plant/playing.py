"""A plan played for so many weeks, and its statistics after the warm-up."""

from __future__ import annotations

import time
from dataclasses import dataclass

import numpy as np

from linewright.network import Network
from linewright.simulate.simulate import Prepared
from process_plant.people import WEEK_S
from process_plant.plant import Plant


@dataclass(frozen=True)
class Played:
    """Units a day after the warm-up, mean time in plant, CPU seconds, timeouts."""

    rate: float
    in_plant: float
    seconds: float
    timeouts: int


def play_plant(network: Network, prepared: Prepared, weeks: int, warm_up: int, seed: int) -> Played:
    """Play a plan flat out for so many weeks; the rate is that after the warm-up."""
    begin = time.process_time()
    plant = Plant(network, prepared, seed)
    plant.begin()
    plant.env.run(until=warm_up * WEEK_S or 1e-9)
    before, plant.journeys.times = plant.journeys.finished, []
    plant.env.run(until=weeks * WEEK_S)
    spent = time.process_time() - begin
    days = network.days_week * (weeks - warm_up)
    rate = (plant.journeys.finished - before) / days
    return Played(rate, float(np.mean(plant.journeys.times or [0])), spent, plant.work.timeouts)
