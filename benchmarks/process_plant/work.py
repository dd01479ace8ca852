"""A place at work: load by load through the operations of its visit, with setups, people, stoppages and standing."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

import simpy

from linewright.network.model import Stops
from linewright.simulate.kernel import rows as r
from process_plant.luck import draws_of
from process_plant.readiness import CLEANING
from process_plant.things import Claim, Needs, Piece, Place, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant


@dataclass(frozen=True, slots=True)
class Doing:
    """What an operation takes: parts, tools and people; ``for_one`` is all but people for a single piece.

    The hours of a station that has its own are needed like people; ``alone`` is while the machine runs without any.
    """

    takes: Needs
    takes_per_load: Needs
    tools: Needs
    crews: Needs
    alone: Needs
    for_one: Needs
    in_parts: bool
    """Whether hands are needed at the beginning and the end only."""


class Work:
    """The processes of the places."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.env, self.tables = plant, plant.env, plant.tables
        self.count, self.timeouts = 0, 0
        p = plant.network.operations
        self.times, self.stands = (draws_of(d, plant.luck) for d in (p.time, p.stand))
        self.doing = [self.look_up(o) for o in range(plant.tables.n)]

    def look_up(self, o: int) -> Doing:
        tables, items, people = self.tables, self.plant.stock.items, self.plant.people
        takes, takes_per_load = (
            [(items[i], a) for i, a in rows if not items[i].endless]
            for rows in (tables.takes[o], tables.takes_per_load[o])
        )
        tools = [(people.tools[t], n) for t, n in tables.tools[o]]
        crews, alone = self.team(o, tables.crews[o]), self.team(o, [])
        in_parts = bool(tables.crews[o]) and not tables.hands_all[o]
        return Doing(takes, takes_per_load, tools, crews, alone, takes + takes_per_load + tools, in_parts)

    def team(self, o: int, crews: list[tuple[int, float]]) -> Needs:
        """People, and the hours of the station where it has its own."""
        hours, people = self.plant.places.at[o].hours, [(self.plant.people.crews[c], n) for c, n in crews]
        return people if hours is None else [(hours, 1.0), *people]

    def work(self, place: Place, number: int) -> Steps:
        """One visit, from queue ``number``: what is furthest back is worked on first, in loads."""
        tables, ready, set_state = self.tables, self.plant.readiness, self.plant.places.state
        conclude, random = self.plant.journeys.conclude, self.plant.luck.random
        while True:
            group = self.group(place)
            if not group:
                break
            o = group[0].op
            if place.open:
                wait = self.until_full(place, o, group)
                if wait > 0:
                    set_state(place, r.SHORT)
                    place.arrival = self.env.event()
                    yield place.arrival if wait == math.inf else place.arrival | self.env.timeout(wait)
                    place.arrival = None
                    continue
                if tables.closes[o] and len(group) >= tables.most[o]:
                    self.close(place, number)
            while ready.may_be_due[o] and (what := ready.due(place, o)):
                yield from ready.make_ready(place, o, what)
            yield from self.operate(place, o, group, number)
            drawn = [random() < share for _, share in tables.faults[o]] if tables.faults_per_load[o] else None
            for piece in group:
                conclude(place, piece, drawn)
        self.close(place, number)
        if not place.here and place.dirty >= 0:
            yield from ready.make_ready(place, place.dirty, CLEANING)
        place.process = None
        if place.here:
            set_state(place, r.BLOCKED)
            return
        set_state(place, r.SHORT)
        if not place.station.endless:
            self.plant.places.give_back(place)
        yield self.env.timeout(0)  # those who lost or found people at this instant come first, and rework
        self.plant.places.admit(place.station)

    def group(self, place: Place) -> list[Piece]:
        """The pieces of the next cycle; none where all only wait to leave."""
        if len(place.here) == 1:
            return place.here[:] if place.here[0].leave is None else []
        todo, steps = [piece for piece in place.here if piece.leave is None], self.tables.step
        if not todo:
            return todo
        step = min([steps[piece.op] for piece in todo])
        group = [piece for piece in todo if steps[piece.op] == step]
        return group[: int(self.tables.most[group[0].op])]

    def until_full(self, place: Place, o: int, group: list[Piece]) -> float:
        """s until a load starts that may still grow: full, or at its least after waiting since the first piece."""
        if len(group) >= self.tables.most[o]:
            return 0.0
        enough = len(group) >= self.tables.least[o]
        return place.opened + self.tables.waits[o] - self.env.now if enough else math.inf

    def close(self, place: Place, number: int) -> None:
        """Nobody joins the load here any more."""
        place.open = False
        if place.station.filling.get(number) is place:
            del place.station.filling[number]

    def clean(self, place: Place) -> Steps:
        """Its last piece has left a place that is to be cleaned before the next may come."""
        yield from self.plant.readiness.make_ready(place, place.dirty, CLEANING)
        place.process = None
        self.plant.places.state(place, r.SHORT)
        self.plant.places.give_back(place)
        self.plant.places.admit(place.station)

    def begin(self, place: Place, o: int, group: list[Piece], number: int, fresh: list[Piece]) -> None:
        """The cycle starts: a load that could still have grown takes who has come meanwhile, and is closed."""
        if place.open and self.tables.closes[o]:
            group[:] = self.group(place)
            self.close(place, number)
        for piece in group:
            piece.begins = False
        for piece in fresh:
            self.take_faults(piece)
        if self.plant.readiness.counts[o]:
            self.plant.readiness.count(place, o, float(len(group)))
        place.last = o

    def operate(self, place: Place, o: int, group: list[Piece], number: int) -> Steps:
        """One cycle: hands, the machine alone, hands again, and standing."""
        plant, tables, doing = self.plant, self.tables, self.doing[o]
        fresh = self.fresh(group)
        if len(fresh) == 1:
            needs = doing.for_one
        elif fresh:
            needs = [(item, a * len(fresh)) for item, a in doing.takes] + doing.takes_per_load + doing.tools
        else:
            needs = doing.tools
        if plant.carriers.pools:
            needs = needs + plant.carriers.get_on(group)
        start = partial(self.begin, place, o, group, number, fresh)
        seconds, stop = self.times[o]() + tables.each[o] * len(group), tables.stop[o]
        if doing.in_parts:
            begin = min(tables.hands_start[o], seconds)
            end = min(tables.hands_end[o], seconds - begin)
            yield from self.crewed(place, begin, needs, doing.crews if begin else doing.alone, r.WORKING, stop, start)
            if seconds - begin - end > 0:
                yield from self.crewed(place, seconds - begin - end, [], doing.alone, r.WORKING)
            if end > 0:
                yield from self.crewed(place, end, [], doing.crews, r.WORKING, frees=doing.tools)
        else:
            yield from self.crewed(place, seconds, needs, doing.crews, r.WORKING, stop, start, doing.tools)
        for tool, units in doing.tools:
            if doing.in_parts and end <= 0:
                tool.change(units, self.env.now)
            plant.people.look_again(tool)
        stand = self.stands[o]()
        if stand > 0:
            plant.places.state(place, r.STANDS)
            self.timeouts += 1
            yield self.env.timeout(stand)

    def fresh(self, group: list[Piece]) -> list[Piece]:
        """Those who take parts: a repeated pass takes none, but where it is written that it does."""
        position = self.tables.position
        return [
            p for p in group if p.reach < 0 or p.reach < position[p.op] or p.again[0] <= position[p.op] <= p.again[1]
        ]

    def crewed(
        self, place: Place, seconds: float, needs: Needs, crews: Needs, state: int, stop: int = 0,
        start: Callable[[], None] | None = None, frees: Needs | None = None,
    ) -> Steps:  # fmt: skip
        """Some work: it starts with all that it needs, pauses without its people, and stops with its place.

        Tools that it ``frees`` are there when those who wait for its people look: both come free at one instant.
        """
        env, people, set_state = self.env, self.plant.people, self.plant.places.state
        self.count += 1
        claim = Claim(self.count, needs, crews, place, seconds if stop == Stops.FITS else 0.0, stop == Stops.FINISH)
        clocks = place.clocks if state == r.WORKING else []
        left, down, began = seconds, 0.0, env.now
        while True:
            try:
                if not people.attempt(claim):
                    claim.event = env.event()
                    yield claim.event
                if start is not None:
                    start()
                    start = None
                while left > 0 or down > 0:
                    began = env.now
                    set_state(place, r.IS_DOWN if down > 0 else state)
                    clock = min(clocks, key=_left) if clocks else None
                    run = down or (clock[0] if clock is not None and clock[0] < left else left)
                    self.timeouts += 1
                    yield env.timeout(run)
                    if down > 0:
                        down = 0.0
                        continue
                    left -= run
                    if clock is not None:
                        for other in clocks:
                            other[0] -= run
                        if clock[0] <= 0 and left > 0:
                            clock[0], down = clock[1](), clock[2]()
                            place.restart = True
                for tool, units in frees or ():
                    tool.change(units, env.now)
                people.let_go(claim)
                return
            except simpy.Interrupt:
                passed = 0.0 if claim.event is not None and not claim.event.processed else env.now - began
                if down > 0:
                    down -= passed
                    if down > 0:
                        yield env.timeout(down)
                        down = 0.0
                else:
                    left -= passed
                    for other in clocks:
                        other[0] -= passed
                claim = Claim(claim.order, [], crews, place)

    def take_faults(self, piece: Piece) -> None:
        """The faults that the parts bring."""
        for item, units in self.doing[piece.op].takes:
            piece.faults |= self.plant.stock.take_lots(item, units)


def _left(clock: list[float]) -> float:
    return clock[0]
