"""How much cooling do all tanks that ferment at once want, and how much carbon dioxide do they give off?

Tanks are started evenly: as many a day as the demand needs, or as the bounds allow where that is less. Each runs
through the model's own curve of heat and gas; the curves of tanks at different ages are added.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import DAY
from linewright.base.cautions import Caution
from linewright.base.problems import ProblemsError
from linewright.base.results import Table
from linewright.capacity.model import Capacity
from linewright.flow.model import Flow
from linewright.network.model import Floats, Network
from linewright.physics.outcome import Timed
from linewright.plan.model import Operation

PHASES = 240
"""Moments between two starts at which the sum is looked at."""


@dataclass(frozen=True, slots=True)
class Tanks:
    """Tanks of one operation that ferment.

    ``at_once`` is how many ferment on average, ``places`` how many there are (0: without limit). Cooling in kW:
    ``mean``, ``peak`` where starts are spread evenly, ``most`` were every tank at its peak together; ``cooling`` is
    what the station has for all its places (None: not written). Gas in L/h in the same three ways.
    """

    operation: str
    name: str
    station: str
    at_once: float
    places: int
    mean: float
    peak: float
    most: float
    cooling: float | None
    gas_mean: float
    gas_peak: float
    gas_most: float
    cautions: tuple[Caution, ...]

    def to_table(self) -> Table:
        """Cooling wanted and there, and gas given off."""
        rows: list[tuple[str, float, str]] = [
            ("tanks that ferment at once", self.at_once, ""), ("cooling wanted, mean", self.mean, "kW"),
            ("cooling wanted, peak with even starts", self.peak, "kW"),
            ("cooling wanted, all at their peak together", self.most, "kW"),
        ]  # fmt: skip
        if self.cooling is not None:
            rows.append(("cooling that there is", self.cooling, "kW"))
        rows += [("carbon dioxide, mean", self.gas_mean, "L/h"), ("carbon dioxide, peak", self.gas_peak, "L/h"),
                 ("carbon dioxide, all at their peak together", self.gas_most, "L/h")]  # fmt: skip
        return Table(f"Cooling and gas: {self.name}", ("what", "value", "unit"),
                     tuple(rows), self.said)  # fmt: skip

    @property
    def said(self) -> str:
        """Whether the cooling meets what is wanted, as far as it is known."""
        if self.cooling is None:
            return "The plan does not say what cooling there is: write `cooling` on the station."
        if self.mean > self.cooling:
            return "The cooling is short even on average: the tanks get warmer than written."
        if self.peak > self.cooling:
            return "The cooling is short at the peak: the tanks get warmer than written."
        if self.most > self.cooling:
            return "The cooling meets even starts; were all tanks at their peak together it would be short."
        return "The cooling meets what the model wants."


def tanks_of(network: Network, flow: Flow, capacity: Capacity) -> tuple[Tanks, ...]:
    """Every operation that stands by the model of fermentation, with its cooling and gas."""
    return tuple(_all(network, flow, capacity))


def _all(network: Network, flow: Flow, capacity: Capacity) -> Iterator[Tanks]:
    made = min(1.0, min((bound.multiple for bound in capacity.bounds), default=1.0))
    every = (operation for route in network.plan.routes.values() for operation in route.operations)
    for at, operation in enumerate(every):
        for written in (operation.time, operation.stand):
            if written is not None and written.physics == "ferment" and flow.cycles[at] > 0:
                from linewright.physics.models import evaluate_model

                try:
                    timed = evaluate_model("ferment", written.conditions).timed
                except ProblemsError:
                    continue  # the network has named them
                yield _tanks(network, operation, timed, float(flow.cycles[at]) * made * network.days_week / 7)


def _tanks(network: Network, operation: Operation, timed: Timed, starts: float) -> Tanks:
    """``starts`` tanks a calendar day, each through the curve of the model."""
    stations = [network.plan.stations[name] for name in operation.station if name in network.plan.stations]
    places = sum(station.places for station in stations)
    cooling = [station.cooling.value for station in stations if station.cooling is not None]
    power = np.maximum(np.array(timed.curve.values("cooling")), 0.0)
    gas = np.array(timed.curve.values("carbon dioxide"))
    times = np.array(timed.curve.times)
    at_once = starts * timed.seconds * 1e9 / DAY
    mean, peak, most = _added(times, power, starts, places or math.ceil(at_once))
    gas_mean, gas_peak, gas_most = _added(times, gas, starts, places or math.ceil(at_once))
    return Tanks(operation.id, operation.name or operation.id, stations[0].id if stations else "", at_once, places,
                 mean, peak, most, sum(cooling) if cooling else None, gas_mean, gas_peak, gas_most,
                 timed.cautions)  # fmt: skip


def _added(times: Floats, values: Floats, starts: float, tanks: int) -> tuple[float, float, float]:
    """Mean and peak of a curve that begins ``starts`` times a day, evenly, and of ``tanks`` at the curve's peak."""
    between = 86400 / starts
    mean = float(np.trapezoid(values, times)) / between
    ages = (
        np.arange(0, times[-1] + between, between)[None, :] + np.linspace(0, between, PHASES, endpoint=False)[:, None]
    )
    added = np.interp(ages, times, values, right=0.0).sum(axis=1)
    return mean, float(added.max()), tanks * float(values.max())
