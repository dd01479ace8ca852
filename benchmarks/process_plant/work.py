"""A place at work: load by load through the operations of its visit, with setups, people, stoppages and standing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import simpy

from linewright.network.model import Setups, Stops
from linewright.simulate.kernel import rows as r
from process_plant.luck import draws_of
from process_plant.things import Claim, Needs, Piece, Place, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant


@dataclass(frozen=True, slots=True)
class Doing:
    """What an operation takes: parts, tools and people; ``for_one`` is all but people for a single piece."""

    takes: Needs
    takes_per_load: Needs
    tools: Needs
    crews: Needs
    setup_takes: Needs
    setup_crews: Needs
    for_one: Needs
    in_parts: bool
    """Whether hands are needed at the beginning and the end only."""


class Work:
    """The processes of the places."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.env, self.tables = plant, plant.env, plant.tables
        self.count, self.timeouts = 0, 0
        p = plant.network.operations
        self.times, self.stands, self.setups = (draws_of(d, plant.luck) for d in (p.time, p.stand, p.setup))
        self.doing = [self.look_up(o) for o in range(plant.tables.n)]

    def look_up(self, o: int) -> Doing:
        tables, items, people = self.tables, self.plant.stock.items, self.plant.people
        takes, takes_per_load, setup_takes = (
            [(items[i], a) for i, a in rows if not items[i].endless]
            for rows in (tables.takes[o], tables.takes_per_load[o], tables.setup_takes[o])
        )
        tools = [(people.tools[t], n) for t, n in tables.tools[o]]
        crews, setup_crews = (
            [(people.crews[c], n) for c, n in rows] for rows in (tables.crews[o], tables.setup_crews[o])
        )
        return Doing(
            takes, takes_per_load, tools, crews, setup_takes, setup_crews, for_one=takes + takes_per_load + tools,
            in_parts=bool(crews) and not tables.hands_all[o],
        )  # fmt: skip

    def work(self, place: Place, number: int) -> Steps:
        """One visit, from queue ``number``: what is furthest back is worked on first, in loads."""
        tables, filling, set_state = self.tables, place.station.filling, self.plant.places.state
        conclude, random = self.plant.journeys.conclude, self.plant.luck.random
        while True:
            group = self.group(place)
            if not group:
                break
            o = group[0].op
            if place.open:
                if len(group) < tables.most[o]:
                    set_state(place, r.SHORT)
                    place.arrival = self.env.event()
                    yield place.arrival
                    continue
                if tables.closes[o]:
                    place.open = False
                    del filling[number]
            if tables.setup_when[o]:
                yield from self.set_up(place, o)
            place.last = o
            yield from self.operate(place, o, group)
            drawn = [random() < share for _, share in tables.faults[o]] if tables.faults_per_load[o] else None
            for piece in group:
                conclude(place, piece, drawn)
        place.process, place.open = None, False
        if filling.get(number) is place:
            del filling[number]
        if place.here:
            set_state(place, r.BLOCKED)
            return
        set_state(place, r.SHORT)
        if not place.station.endless:
            place.station.free.append(place)
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

    def set_up(self, place: Place, o: int) -> Steps:
        """A setup, where one is due by count or because another item comes."""
        tables, when = self.tables, self.tables.setup_when[o]
        step = tables.step[o]
        due = when == Setups.EVERY and place.left_to_setup.get(step, 0.0) <= 1e-9
        seconds = -1.0
        if when == Setups.ITEM_CHANGES and place.last != o:
            seconds = tables.changes.get((place.last, o), -1.0)
            other = place.last < 0 or tables.changing[place.last] != tables.changing[o]
            due = other or seconds >= 0
        if due:
            seconds = seconds if seconds >= 0 else self.setups[o]()
            yield from self.crewed(place, seconds, self.doing[o].setup_takes, self.doing[o].setup_crews, r.SETTING_UP)
            if when == Setups.EVERY:
                place.left_to_setup[step] = place.left_to_setup.get(step, 0.0) + tables.setup_every[o]

    def operate(self, place: Place, o: int, group: list[Piece]) -> Steps:
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
        seconds, stop = self.times[o]() + tables.each[o] * len(group), tables.stop[o]
        if doing.in_parts:
            begin = min(tables.hands_start[o], seconds)
            end = min(tables.hands_end[o], seconds - begin)
            yield from self.crewed(place, begin, needs, doing.crews if begin else [], r.WORKING, stop, fresh)
            if seconds - begin - end > 0:
                yield from self.crewed(place, seconds - begin - end, [], [], r.WORKING)
            if end > 0:
                yield from self.crewed(place, end, [], doing.crews, r.WORKING)
        else:
            yield from self.crewed(place, seconds, needs, doing.crews, r.WORKING, stop, fresh)
        for tool, units in doing.tools:
            tool.change(units, self.env.now)
            plant.people.look_again(tool)
        if tables.setup_when[o] == Setups.EVERY:
            place.left_to_setup[tables.step[o]] -= len(group)
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
        fresh: list[Piece] = [],  # noqa: B006 - never changed
    ) -> Steps:  # fmt: skip
        """Some work: it starts with all that it needs, pauses without its people, and stops with its place."""
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
                for piece in fresh:
                    piece.begins = False
                    self.take_faults(piece)
                fresh = []
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
