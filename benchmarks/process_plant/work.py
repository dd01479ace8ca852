"""A place at work: load by load through the operations of its visit, with setups, people, stoppages and standing."""

from __future__ import annotations

from typing import TYPE_CHECKING

import simpy

from linewright.network.model import Setups, Stops
from linewright.simulate.kernel import rows as r
from process_plant.luck import draws_of
from process_plant.things import Claim, Piece, Place, Pool, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant


class Work:
    """The processes of the places."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.env, self.tables = plant, plant.env, plant.tables
        self.count, self.timeouts = 0, 0
        p = plant.network.operations
        self.times, self.stands, self.setups = (draws_of(d, plant.luck) for d in (p.time, p.stand, p.setup))

    def work(self, place: Place, visit: int) -> Steps:
        """One visit: what is furthest back is worked on first, in loads."""
        plant, tables = self.plant, self.tables
        filling, places = place.station.filling, plant.places
        while True:
            todo = [piece for piece in place.here if piece.leave is None]
            if not todo:
                break
            o = min(piece.op for piece in todo)
            most = tables.most[o]
            group = [piece for piece in todo if piece.op == o][: int(most)]
            if place.open and len(group) < most:
                places.state(place, r.SHORT)
                place.arrival = self.env.event()
                yield place.arrival
                continue
            if place.open and most == tables.room[o]:
                place.open = False
                filling.pop(visit, None)
            yield from self.set_up(place, o)
            yield from self.operate(place, o, group)
            drawn = [plant.luck.random() < share for _, share in tables.faults[o]]
            for piece in group:
                plant.journeys.conclude(place, piece, o, drawn if tables.faults_per_load[o] else None)
        place.process, place.open = None, False
        if filling.get(visit) is place:
            del filling[visit]
        if place.here:
            places.state(place, r.BLOCKED)
            return
        places.state(place, r.SHORT)
        if not place.station.endless:
            place.station.free.append(place)
        yield self.env.timeout(0)  # those who lost or found people at this instant come first, and rework
        places.admit(place.station)

    def set_up(self, place: Place, o: int) -> Steps:
        """A setup, where one is due by count or because another item comes."""
        tables, when = self.tables, self.tables.setup_when[o]
        due = when == Setups.EVERY and place.left_to_setup.get(o, 0.0) <= 1e-9
        seconds = -1.0
        if when == Setups.ITEM_CHANGES and place.last != o:
            seconds = tables.changes.get((place.last, o), -1.0)
            other = place.last < 0 or tables.item[tables.route[place.last]] != tables.item[tables.route[o]]
            due = other or seconds >= 0
        if due:
            crews = [(self.plant.people.crews[c], n) for c, n in tables.setup_crews[o]]
            yield from self.crewed(place, seconds if seconds >= 0 else self.setups[o](), [], crews, r.SETTING_UP)
            if when == Setups.EVERY:
                place.left_to_setup[o] = place.left_to_setup.get(o, 0.0) + tables.setup_every[o]
        place.last = o

    def operate(self, place: Place, o: int, group: list[Piece]) -> Steps:
        """One cycle: hands, the machine alone, hands again, and standing."""
        plant, tables, position = self.plant, self.tables, self.tables.position[o]
        items, crew_pools = plant.stock.items, plant.people.crews
        fresh = [p for p in group if p.reach < position or p.again[0] <= position <= p.again[1]]
        needs = [(items[i], a * len(fresh)) for i, a in tables.takes[o] if fresh]
        needs += [(items[i], a) for i, a in tables.takes_per_load[o] if fresh]
        tools = [(plant.people.tools[t], a) for t, a in tables.tools[o]]
        needs += plant.carriers.get_on(group, o)
        crews = [(crew_pools[c], n) for c, n in tables.crews[o]]
        seconds = self.times[o]() + tables.each[o] * len(group)
        parts = [(seconds, crews)]
        if crews and not tables.hands_all[o]:
            begin = min(tables.hands_start[o], seconds)
            end = min(tables.hands_end[o], seconds - begin)
            parts = [(begin, crews if begin else []), (seconds - begin - end, []), (end, crews)]
        for k, (time_of, who) in enumerate(parts):
            if k and time_of <= 0:
                continue
            if k:
                yield from self.crewed(place, time_of, [], who, r.WORKING)
                continue
            fits = time_of if tables.stop[o] == Stops.FITS else 0.0
            yield from self.crewed(place, time_of, needs + tools, who, r.WORKING, fits, fresh)
            for piece in group:
                piece.begins = False
        for tool, units in tools:
            tool.change(units, self.env.now)
            plant.people.look_again(tool)
        if tables.setup_when[o] == Setups.EVERY:
            place.left_to_setup[o] -= len(group)
        stand = self.stands[o]()
        if stand > 0:
            plant.places.state(place, r.STANDS)
            self.timeouts += 1
            yield self.env.timeout(stand)

    def crewed(
        self, place: Place, seconds: float, needs: list[tuple[Pool, float]], crews: list[tuple[Pool, float]],
        state: int, fits: float = 0.0, fresh: list[Piece] = [],  # noqa: B006 - never changed
    ) -> Steps:  # fmt: skip
        """Some work: it starts with all that it needs, pauses without its people, and stops with its place."""
        env, people, set_state = self.env, self.plant.people, self.plant.places.state
        self.count += 1
        claim = Claim(self.count, needs, env.event(), crews, fits, place.process)
        left, down, begun = seconds, 0.0, False
        clocks = place.clocks if state == r.WORKING else []
        while True:
            if not people.attempt(claim):
                lack = people.lacks(claim)
                set_state(place, r.NO_CREW if lack is not None and lack.steps else r.SHORT)
                yield claim.event
            if not begun:
                begun = True
                self.take_faults(fresh)
            try:
                while left > 0 or down > 0:
                    began = env.now
                    set_state(place, r.IS_DOWN if down > 0 else state)
                    clock = min(clocks, key=_left, default=None)
                    run = down or (min(left, clock[0]) if clock and clock[0] < left else left)
                    self.timeouts += 1
                    yield env.timeout(run)
                    if down > 0:
                        down = 0.0
                        continue
                    left -= run
                    for other in clocks:
                        other[0] -= run
                    if clock is not None and clock[0] <= 0 and left > 0:
                        clock[0], down = clock[1](), clock[2]()
                people.let_go(claim)
                return
            except simpy.Interrupt:
                passed = env.now - began
                if down > 0:
                    down -= passed
                    if down > 0:
                        yield env.timeout(down)
                        down = 0.0
                else:
                    left -= passed
                    for other in clocks:
                        other[0] -= passed
                claim = Claim(claim.order, [], env.event(), crews, 0.0, claim.process)

    def take_faults(self, fresh: list[Piece]) -> None:
        """The faults that the parts bring."""
        stock, takes = self.plant.stock, self.tables.takes
        for piece in fresh:
            for item, units in takes[piece.op]:
                piece.faults |= stock.take_lots(stock.items[item], units)


def _left(clock: list[float]) -> float:
    return clock[0]
