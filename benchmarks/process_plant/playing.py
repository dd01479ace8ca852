"""A plan played for so many weeks, and its statistics after the warm-up."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any

import numpy as np

from linewright.network import Network
from linewright.simulate.simulate import Prepared
from process_plant.people import WEEK_S
from process_plant.plant import Plant
from process_plant.tables import Tables


@dataclass(frozen=True)
class Played:
    """What is kept of a run, after the warm-up.

    ``rate`` units a working day, ``in_plant`` mean time in plant in s, ``inside`` mean pieces open on all routes,
    ``states`` [n_stations, n_states] shares of time of each station's places, ``crews`` people at work of each crew,
    ``stocks`` mean units on hand of each item; CPU ``seconds`` and ``timeouts``.
    """

    rate: float
    in_plant: float
    inside: float
    states: Any
    crews: Any
    stocks: Any
    seconds: float
    timeouts: int


def play_plant(network: Network, prepared: Prepared, weeks: int, warm_up: int, seed: int) -> Played:
    """Play a plan flat out for so many weeks; the statistics are those after the warm-up."""
    tables = Tables(network)  # made ready before the clock runs, as ours is
    begin = time.process_time()
    plant = Plant(network, prepared, tables, seed)
    plant.begin()
    plant.env.run(until=warm_up * WEEK_S or 1e-9)
    finished, plant.journeys.times, before = plant.journeys.finished, [], _accounts(plant)
    plant.env.run(until=weeks * WEEK_S)
    states, crews, inside, stocks = (
        (after - earlier) / plant.env.now * weeks / (weeks - warm_up)
        for after, earlier in zip(_accounts(plant), before, strict=True)
    )
    spent = time.process_time() - begin
    days = network.days_week * (weeks - warm_up)
    return Played(
        rate=(plant.journeys.finished - finished) / days,
        in_plant=float(np.mean(plant.journeys.times or [0])),
        inside=float(inside),
        states=states / network.stations.places[:, None],
        crews=crews,
        stocks=stocks,
        seconds=spent,
        timeouts=plant.work.timeouts,
    )


def _accounts(plant: Plant) -> tuple[Any, Any, Any, Any]:
    """Place-seconds by station and state, person-seconds at work by crew, piece-seconds, unit-seconds by item."""
    plant.flows.book()
    for station in plant.places.stations:
        for place in station.places:
            plant.places.state(place, place.state)
    states = [np.sum([place.account for place in station.places], axis=0) for station in plant.places.stations]
    n = len(plant.people.crews)
    pools = [*plant.people.crews, plant.stock.inside, *plant.stock.items]
    for pool in pools:
        pool.change(0.0, plant.env.now)
    areas = np.array([pool.area for pool in pools])
    return np.array(states), areas[:n], areas[n], areas[n + 1 :]
