"""Vessels by size: the places of a station that hold loads for days, and which legs of the routes use them."""

from __future__ import annotations

from dataclasses import dataclass

from linewright.network.model import Network
from linewright.season.legs import Leg


@dataclass(frozen=True, slots=True)
class Vessel:
    """``count`` places of one size: ``station`` names them; ``loads[k]`` pieces started of leg ``legs[k]`` fill one.

    ``stations`` are the indices of the alternatives, ``size`` as written (empty where a station has one size).
    ``holds`` is the size in its base unit, or the pieces of a load.
    """

    station: str
    stations: tuple[int, ...]
    size: str
    count: int
    legs: tuple[int, ...]
    loads: tuple[float, ...]
    holds: float = 0.0

    @property
    def name(self) -> str:
        """The station, with the size of the vessel."""
        return f"{self.station}, {self.size}" if self.size else self.station


@dataclass(frozen=True, slots=True)
class Pool:
    """Vessels of sizes that are as good as each other by the litre: ``parts[j]`` of vessel ``vessels[j]`` in the first.

    Where the loads of all legs grow alike from size to size, whatever is stood in them can be shared out over the sizes
    by what they hold, so that one balance of all of them is exact. ``loads`` are those of the first vessel.
    """

    name: str
    vessels: tuple[int, ...]
    parts: tuple[float, ...]
    legs: tuple[int, ...]
    loads: tuple[float, ...]

    def holds(self, counts: tuple[float, ...]) -> float:
        """What so many of each vessel (of all pools) hold, counted in vessels of the first size."""
        return sum(part * counts[v] for v, part in zip(self.vessels, self.parts, strict=True))


_ALIKE = 1e-9


def pools_of(vessels: list[Vessel]) -> list[Pool]:
    """The vessels by pools, in the order of their first sizes."""
    groups: dict[tuple[object, ...], list[int]] = {}
    for v, vessel in enumerate(vessels):
        shape = tuple(round(load / vessel.loads[0] / _ALIKE) for load in vessel.loads)
        groups.setdefault((vessel.stations, shape), []).append(v)
    found = []
    for members in groups.values():
        first = vessels[members[0]]
        parts = tuple(vessels[v].loads[0] / first.loads[0] for v in members)
        name = first.station if len(members) > 1 else first.name
        found.append(Pool(name, tuple(members), parts, first.legs, first.loads))
    return found


def vessels_of(network: Network, legs: list[Leg]) -> list[Vessel]:
    """Every kind of vessel that a leg uses. Stations that share loads are one kind."""
    groups: dict[tuple[int, ...], list[int]] = {}
    for k, leg in enumerate(legs):
        if leg.is_vessel and leg.stations:
            groups.setdefault(leg.stations, []).append(k)
    found = []
    for stations, users in groups.items():
        name = ", ".join(network.stations.ids[s] for s in stations)
        sizes: dict[float, tuple[str, int]] = {}
        for s in stations:
            for (size, count), text in zip(network.stations.sizes[s], network.stations.size_names[s], strict=True):
                before = sizes.get(size, (text, 0))
                sizes[size] = (before[0], before[1] + count)
        if not sizes:
            count = int(network.stations.places[list(stations)].sum())
            found.append(
                Vessel(
                    name,
                    stations,
                    "",
                    count,
                    tuple(users),
                    tuple(legs[k].load for k in users),
                    max(legs[k].load for k in users),
                )
            )
        for size, (text, count) in sizes.items():
            loads = tuple(min(legs[k].per_size * size, legs[k].most) for k in users)
            found.append(Vessel(name, stations, text, count, tuple(users), loads, size))
    return found
