"""Stations and their places: who waits, who goes in, who leaves, and what a place does with its time."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Any

from linewright.simulate.kernel import rows as r
from process_plant.luck import draw_of
from process_plant.things import Piece, Place, Station

if TYPE_CHECKING:
    from process_plant.plant import Plant


class Places:
    """The stations, and the bench with room for everybody."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.env, self.count = plant, plant.env, 0
        self.stations = [self.station(s) for s in range(len(plant.network.stations.ids))]
        self.bench = Station(endless=True)
        self.at = [self.where(o) for o in range(plant.tables.n)]
        for first in plant.tables.first:
            for item, _ in plant.tables.takes[first]:
                plant.stock.items[item].stations.append(self.at[first])

    def station(self, s: int) -> Station:
        station, stops, luck = Station(), self.plant.network.stoppages, self.plant.luck
        mine = [k for k in range(len(stops.names)) if stops.station[k] == s]
        for _ in range(int(self.plant.network.stations.places[s])):
            clocks: list[list[Any]] = []
            for k in mine:
                between = draw_of(stops.between, k, luck)
                clocks.append([between(), between, draw_of(stops.repair, k, luck)])
            station.free.append(Place(station, clocks))
        return station

    def where(self, o: int) -> Station:
        stations = self.plant.network.operations.stations.row(o)[0]
        return self.stations[int(stations[0])] if len(stations) else self.bench

    def queue(self, piece: Piece) -> None:
        """A piece comes to wait before its visit."""
        self.count += 1
        piece.turn = self.count
        station = self.at[piece.op]
        queues = station.queues.setdefault(self.plant.tables.visit[piece.op], (deque(), deque()))
        queues[0 if piece.ahead else 1].append(piece)
        self.admit(station)

    def admit(self, station: Station) -> None:
        """Those who can go in do: a place that is filling first, else who is reworked, else who came first."""
        takes, items = self.plant.tables.takes, self.plant.stock.items
        while True:
            best: tuple[bool, int, int] | None = None
            for visit, (ahead, plain) in station.queues.items():
                queue = ahead or plain
                if not queue:
                    continue
                piece, place = queue[0], station.filling.get(visit)
                if piece.begins and not all(
                    items[i].endless or items[i].free >= a * (1 + len(place.here if place else ())) - 1e-9
                    for i, a in takes[piece.op]
                ):
                    continue
                if place is not None:
                    self.enter(place, visit, queue.popleft())
                    break
                if (station.free or station.endless) and (best is None or (not piece.ahead, piece.turn) < best[:2]):
                    best = (not piece.ahead, piece.turn, visit)
            else:
                if best is None:
                    return
                ahead, plain = station.queues[best[2]]
                place = Place(station, []) if station.endless else station.free.pop(0)
                self.enter(place, best[2], (ahead or plain).popleft())

    def enter(self, place: Place, visit: int, piece: Piece) -> None:
        """Into the place, and out of where it was."""
        leave, piece.leave, piece.ahead = piece.leave, None, False
        place.here.append(piece)
        if len(place.here) >= self.plant.tables.room[piece.op]:
            place.open = False
            place.station.filling.pop(visit, None)
        elif len(place.here) == 1 and visit not in place.station.filling:
            place.open, place.station.filling[visit] = True, place
        if place.process is None:
            place.process = self.env.process(self.plant.work.work(place, visit))
        elif place.arrival is not None:
            place.arrival.succeed()
            place.arrival = None
        if leave is not None:
            leave()

    def vacate(self, place: Place, piece: Piece) -> None:
        """The piece has gone; a place that waited only for its pieces to leave is free."""
        place.here.remove(piece)
        if not place.here and place.process is None:
            self.state(place, r.SHORT)
            if not place.station.endless:
                place.station.free.append(place)
            self.admit(place.station)

    def state(self, place: Place, state: int) -> None:
        """From now on the place is in this state."""
        place.account[place.state] += self.env.now - place.since
        place.state, place.since = state, self.env.now
