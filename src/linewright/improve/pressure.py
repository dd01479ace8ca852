"""How hard each station, crew, tool and store is pressed, and which operations press it: what the screening goes by.

Pressure is between 0 and 1. It is taken from the plan as it is, played flat out (time in which what is there is busy,
or waits for people or tools with a piece in hand), and from the bounds (how near each comes to the least one). The
greater counts, for what is near a bound may be held up by something else in play, and the other way round.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from linewright.base.calendar import HOUR
from linewright.capacity.model import Capacity
from linewright.flow.model import Flow
from linewright.network.model import NOWHERE, Floats, Links, Network
from linewright.simulate.model import STATES, Simulation

SHARPNESS = 12
"""Pressure is use to this power: of two that are busy for 95 % and 80 % of their time the first counts 8 times."""
MOST_RELIEF = 0.1
"""Of a whole place, person or tool more no greater part is counted on: by then something else limits."""


@dataclass(frozen=True, slots=True)
class Pressure:
    """Pressure by index: ``station``, ``crew``, ``tool``, ``carrier``, ``store``; and where the hours of each go.

    ``at_station`` [n_stations, n_operations] and ``of_crew`` [n_crews, n_operations] are shares of the hours at the
    demand, adding to at most 1 over the operations. ``use_of_crew`` [n_crews] is of the hours there, when played.

    ``wait_for_crew``, ``wait_for_tool``: the share of attended time that a pressed station waits for it, times the
    pressure of that station, at most MOST_RELIEF: what more of it could give back. ``served`` [n_crews]: the pressure
    of a crew's most pressed station.
    """

    station: Floats
    crew: Floats
    tool: Floats
    store: Floats
    at_station: Floats
    of_crew: Floats
    use_of_crew: Floats
    wait_for_crew: Floats
    wait_for_tool: Floats
    served: Floats
    carrier: Floats

    def of_operation(self, o: int) -> float:
        """What a small part of the time of an operation is worth: its share of the most pressed that it uses."""
        return max(self._best(self.station, self.at_station, o), self._best(self.crew, self.of_crew, o))

    @staticmethod
    def _best(pressure: Floats, share: Floats, o: int) -> float:
        return float((pressure * share[:, o]).max(initial=0.0))

    @property
    def most(self) -> float:
        """The greatest pressure anywhere."""
        return max(float(p.max(initial=0.0)) for p in (self.station, self.crew, self.tool, self.carrier, self.store))


def pressure_of(network: Network, flow: Flow, capacity: Capacity, played: Simulation) -> Pressure:
    """Pressure on everything; ``played`` is the network flat out."""
    at_station, of_crew = hours_by_operation(network, flow, capacity)
    attended = np.maximum(1.0 - _state(played, "unmanned"), 1e-12)
    busy = np.sum([_state(played, s) for s in ("working", "standing", "setting up", "down")], axis=0) / attended
    blocked, short = _state(played, "blocked") / attended, _state(played, "short of parts") / attended
    p = network.operations
    crewless, toolless = (_state(played, s) / attended for s in ("no crew", "no tool"))
    taken = busy + crewless + toolless  # a place that waits for people or tools with a piece in it has no time to spare
    station = np.maximum(_sharp(taken), _near(network.stations.ids, capacity, "station"))
    wait_for_crew = _most_where_used(network, p.crews, len(network.crews.ids), station * crewless)
    wait_for_tool = _most_where_used(network, p.tools, len(network.tools.ids), station * toolless)
    return Pressure(
        station=station,
        crew=np.maximum(_sharp(played.crew_use.mean), _near(network.crews.ids, capacity, "crew")),
        tool=np.maximum(_sharp(played.tool_use.mean), _near(network.tools.ids, capacity, "tool")),
        carrier=np.maximum(played.carrier_use.mean[:, 3], _near(network.carriers.ids, capacity, "carrier")),
        store=_store_pressure(network, blocked, short),
        at_station=at_station,
        of_crew=of_crew,
        use_of_crew=played.crew_use.mean,
        wait_for_crew=np.minimum(wait_for_crew, MOST_RELIEF),
        wait_for_tool=np.minimum(wait_for_tool, MOST_RELIEF),
        served=_most_where_used(network, p.crews, len(network.crews.ids), station),
    )


def _most_where_used(network: Network, users: Links, n: int, of_station: Floats) -> Floats:
    """[n] the greatest value of the stations at whose operations each crew or tool is used."""
    out = np.zeros(n)
    for o in range(len(network.operations.ids)):
        stations = network.operations.stations.row(o)[0]
        if len(stations):
            index = users.row(o)[0]
            out[index] = np.maximum(out[index], of_station[stations].max())
    return out


def _state(played: Simulation, name: str) -> Floats:
    found: Floats = played.state_share.mean[:, STATES.index(name)]
    return found


def _near(ids: tuple[str, ...], capacity: Capacity, kind: str) -> Floats:
    """How near each comes to the least bound of any, to the power of SHARPNESS."""
    most = {r.id: r.most for r in capacity.resources if r.kind == kind}
    least = capacity.multiple
    near = [least / most[i] if most.get(i, np.inf) > 0 and np.isfinite(most.get(i, np.inf)) else 0.0 for i in ids]
    return _sharp(np.array(near, dtype=np.float64))


def _sharp(use: Floats) -> Floats:
    return np.asarray(np.clip(use, 0.0, 1.0) ** SHARPNESS, dtype=np.float64)


def hours_by_operation(network: Network, flow: Flow, capacity: Capacity) -> tuple[Floats, Floats]:
    """[n_stations, n_operations] and [n_crews, n_operations]: which operations the hours of each go to, as shares."""
    p = network.operations
    cycle = p.time.mean + p.each * np.where(p.continuous, 1.0, p.load_most)
    times = np.where(p.continuous, flow.runs, flow.cycles)
    hands = np.where(p.hands_all, cycle, p.hands_start + p.hands_end) / np.maximum(p.tends, 1)
    at_station = np.zeros((len(network.stations.ids), len(p.ids)))
    of_crew = np.zeros((len(network.crews.ids), len(p.ids)))
    for o in range(len(p.ids)):
        stations, shares = capacity.shares.row(o)
        at_station[stations, o] = shares * times[o] * (cycle[o] + p.stand.mean[o]) / HOUR
        crews, people = p.crews.row(o)
        of_crew[crews, o] = people * times[o] * hands[o] / HOUR
    total = {(r.kind, r.id): r.hours.total for r in capacity.resources}
    hours_at = np.array([total.get(("station", i), 0.0) for i in network.stations.ids], dtype=np.float64)
    hours_of = np.array([total.get(("crew", i), 0.0) for i in network.crews.ids], dtype=np.float64)
    return _shares(at_station, hours_at), _shares(of_crew, hours_of)


def _shares(hours: Floats, total: Floats) -> Floats:
    whole: Floats = np.maximum(total, hours.sum(axis=1))[:, None]
    shares: Floats = np.divide(hours, whole, out=np.zeros_like(hours), where=whole > 0)
    return shares


def _store_pressure(network: Network, blocked: Floats, short: Floats) -> Floats:
    """A store is pressed where those before it are blocked and those behind it are short: the geometric mean."""
    before: list[set[int]] = [set() for _ in network.stores.ids]
    behind: list[set[int]] = [set() for _ in network.stores.ids]
    p, routes = network.operations, network.routes
    for o in range(len(p.ids)):
        store, here = int(p.then_to[o]), set(p.stations.row(o)[0].tolist())
        if store >= 0:
            before[store] |= here
            if o < routes.last[p.route[o]]:
                behind[store] |= set(p.stations.row(o + 1)[0].tolist())
        for item in p.takes.row(o)[0].tolist():
            if network.item_store[item] != NOWHERE:
                behind[int(network.item_store[item])] |= here
    for route in range(len(routes.ids)):
        store = int(network.item_store[routes.item[route]])
        if store != NOWHERE:
            before[store] |= set(p.stations.row(int(routes.last[route]))[0].tolist())
    return np.array(
        [
            np.sqrt(max((blocked[s] for s in one), default=0.0) * max((short[s] for s in other), default=0.0))
            for one, other in zip(before, behind, strict=True)
        ],
        dtype=np.float64,
    )
