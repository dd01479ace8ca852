"""Stations and their places: who waits, who goes in, who leaves, and what a place does with its time."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from linewright.simulate.kernel import rows as r
from process_plant.luck import draw_of
from process_plant.people import Times, week_by_week
from process_plant.things import Piece, Place, Station

if TYPE_CHECKING:
    from process_plant.plant import Plant

WAITS = {r.BLOCKED, r.SHORT, r.NO_CREW, r.NO_TOOL}
"""States that are unmanned where nobody who works at the station is there."""


class Places:
    """The stations, and the bench with room for everybody."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.env, self.count = plant, plant.env, 0
        self.stations = [self.station(s) for s in range(len(plant.network.stations.ids))]
        self.bench = Station(endless=True)
        self.at = [self.where(o) for o in range(plant.tables.n)]
        self.parts: list[list[tuple[Any, float]]] = [[] for _ in range(plant.tables.n)]
        """[n_operations] what is made here and a new piece waits for outside, units a piece."""
        self.openers()
        self.attend()

    def station(self, s: int) -> Station:
        station, stops, luck = Station(), self.plant.network.stoppages, self.plant.luck
        mine = [k for k in range(len(stops.names)) if stops.station[k] == s]
        for _ in range(int(self.plant.network.stations.places[s])):
            clocks: list[list[Any]] = []
            for k in mine:
                between = draw_of(stops.between, k, luck)
                clocks.append([between(), between, draw_of(stops.repair, k, luck)])
            station.free.append(Place(station, clocks, number=len(station.free)))
        station.places = list(station.free)
        calendar = int(self.plant.network.stations.calendar[s])
        if calendar >= 0:
            station.hours = self.plant.people.crew(calendar, float(len(station.places)))
        return station

    def where(self, o: int) -> Station:
        stations = self.plant.network.operations.stations.row(o)[0]
        return self.stations[int(stations[0])] if len(stations) else self.bench

    def openers(self) -> None:
        """Which stations look again when parts or carriers come: those where something begins with them."""
        tables, stock, carriers = self.plant.tables, self.plant.stock, self.plant.carriers
        for first in tables.first:
            self.parts[first] = [(stock.items[i], a) for i, a in tables.takes[first] if not stock.items[i].endless]
            for item, _ in self.parts[first]:
                if self.at[first] not in item.stations:
                    item.stations.append(self.at[first])
        for first in self.plant.network.visits.first.tolist():
            for c in carriers.joins[first]:
                if self.at[first] not in carriers.pools[c].stations:
                    carriers.pools[c].stations.append(self.at[first])

    def attend(self) -> None:
        """When anybody who works at a station is there, within its own hours."""
        people, crews = self.plant.people.crews, self.plant.tables.crews
        at: dict[int, set[int]] = {}
        for o, station in enumerate(self.at):
            at.setdefault(id(station), set()).update(c for c, _ in crews[o])
        alike: dict[tuple[tuple[float, float], ...], list[Station]] = {}
        for station in self.stations:
            who = sorted(at.get(id(station), ()))
            steps = _anybody([people[c].steps for c in who]) if who else [(0.0, 1.0)]
            if station.hours is not None:
                steps = _both(steps, station.hours.steps)
            alike.setdefault(tuple(steps), []).append(station)
        for there, stations in alike.items():
            self.turn(stations, there[0][1])
            turn = lambda level, stations=stations: self.turn(stations, level)  # noqa: E731
            self.env.process(week_by_week(self.env, list(there), turn))

    def turn(self, stations: list[Station], level: float) -> None:
        for station in stations:
            for place in station.places:
                self.state(place, place.state)
            station.attended = level > 0

    def queue(self, piece: Piece) -> None:
        """A piece comes to wait before its visit; where it flows on it is no piece any more."""
        if self.plant.tables.flowing[piece.op]:
            self.plant.flows.pour(piece)
            return
        self.count += 1
        piece.turn = self.count
        station = self.at[piece.op]
        queues = station.queues.setdefault(self.plant.tables.queue[piece.op], (deque(), deque()))
        queues[0 if piece.ahead else 1].append(piece)
        self.admit(station)

    def admit(self, station: Station) -> None:
        """Those who can go in do: a place that is filling first, else who is reworked, else who came first.

        Who has begun a visit with parts or a carrier takes them before the next is looked at.
        """
        filling, joins, are_there = station.filling, self.plant.carriers.joins, self.plant.carriers.are_there
        while not station.looks and (station.free or station.endless or filling):
            best: tuple[bool, int, int] | None = None
            lacks_carrier = False
            for number, (ahead, plain) in station.queues.items():
                queue = ahead or plain
                if not queue:
                    continue
                piece, place = queue[0], filling.get(number)
                here = place.here if place else []
                if piece.begins and self.parts[piece.op] and not self.parts_are_there(piece, here):
                    continue
                if joins[piece.op] and not are_there(piece, here):
                    lacks_carrier = True
                    continue
                if place is not None:
                    self.enter(place, number, queue.popleft())
                    break
                if (station.free or station.endless) and (best is None or (not piece.ahead, piece.turn) < best[:2]):
                    best = (not piece.ahead, piece.turn, number)
            else:
                if best is None:
                    if lacks_carrier and station.free:
                        self.state(station.free[0], r.NO_TOOL)
                    return
                ahead, plain = station.queues[best[2]]
                piece = (ahead or plain).popleft()
                new = piece.begins and bool(self.parts[piece.op])
                place = Place(station, []) if station.endless else station.free.pop(0)
                self.enter(place, best[2], piece)
                if new or joins[piece.op]:
                    self.look_again(station)

    def look_again(self, station: Station) -> None:
        """At this instant, after those have begun who have just come in."""
        station.looks = True
        event = self.env.event()
        event.callbacks.append(lambda _: self.look(station))
        event.succeed()

    def look(self, station: Station) -> None:
        station.looks = False
        self.admit(station)

    def parts_are_there(self, piece: Piece, here: list[Piece]) -> bool:
        """Whether a new piece finds what it begins with, for those too who wait for theirs in the place that fills."""
        beside = sum(other.begins for other in here)
        return all(item.free >= units * (1 + beside) - 1e-9 for item, units in self.parts[piece.op])

    def enter(self, place: Place, number: int, piece: Piece) -> None:
        """Into the place, and out of where it was."""
        leave, piece.leave, piece.ahead = piece.leave, None, False
        place.here.append(piece)
        filling = place.station.filling
        if len(place.here) >= self.plant.tables.room[piece.op]:
            place.open = False
            if filling.get(number) is place:
                del filling[number]
        elif len(place.here) == 1 and number not in filling:
            place.open, filling[number], place.opened = True, place, self.env.now
        if place.process is None:
            place.process = self.env.process(self.plant.work.work(place, number))
        elif place.arrival is not None:
            place.arrival.succeed()
            place.arrival = None
        if leave is not None:
            leave()

    def vacate(self, place: Place, piece: Piece) -> None:
        """The piece has gone; a place that waited only for its pieces to leave is free."""
        place.here.remove(piece)
        if not place.here and place.process is None and place.dirty >= 0:
            place.process = self.env.process(self.plant.work.clean(place))
        elif not place.here and place.process is None:
            self.state(place, r.SHORT)
            if not place.station.endless:
                self.give_back(place)
            self.admit(place.station)

    def give_back(self, place: Place) -> None:
        """A place is free: flows see to it that who waits outside for a level is told when it is there."""
        place.station.give_back(place)
        if self.plant.stock.flowed:
            self.plant.flows.touch()

    def state(self, place: Place, state: int) -> None:
        """From now on the place is in this state; waiting of any kind is unmanned where nobody is there."""
        before, now = place.state, self.env.now
        if not place.station.attended and before in WAITS:
            before = r.UNMANNED
        place.account[before] += now - place.since
        place.state, place.since = state, now


def _anybody(calendars: list[Times]) -> Times:
    """1 while anyone of several crews is there."""
    return _joined(calendars, any)


def _both(one: Times, other: Times) -> Times:
    """1 while both are there."""
    return _joined([one, other], all)


def _joined(calendars: list[Times], how: Callable[[list[bool]], bool]) -> Times:
    found: Times = []
    for at in sorted({at for steps in calendars for at, _ in steps}):
        level = float(how([[n for since, n in steps if since <= at][-1] > 0 for steps in calendars]))
        if not found or found[-1][1] != level:
            found.append((at, level))
    return found
