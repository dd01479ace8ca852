"""A whole plan in SimPy, a general-purpose process-simulation library: the yardstick for the examples.

It plays what most plans of counted pieces hold, as docs/simulate.md says it: visits, loads, crews that come and go,
hands-on parts, work that must fit, tools, parts made ahead, finite stores of parts, setups, stoppages by running time,
faults, checks, rework, scrap, seconds, pieces that become several, carriers that come back. What it does
not play it names. The same statistics are kept: pieces finished, time in plant, states of
places, crew use, stock over time.
"""

from __future__ import annotations

import random
import time
from collections import deque
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import simpy

from linewright.base.calendar import NS, WEEK
from linewright.base.distributions import Distribution, Shape
from linewright.network import Network
from linewright.network.model import Fate, Reject
from linewright.plan import Plan
from linewright.simulate.kernel import rows as r
from linewright.simulate.simulate import Prepared

Steps = Generator[Any, Any, None]


def cannot_play(network: Network) -> list[str]:
    """What the plan holds that is not played here."""
    p = network.operations
    found = {
        "amounts and flows": not network.items.counted[network.routes.item].all() or bool(p.continuous.any()),
        "cleaning or start-up": bool((p.clean_when != 0).any() or (p.start_when != 0).any()),
        "carriers that are lost, hold several or go into another route": _hard_carriers(network),
        "choice of parts": len(network.choices) > 0,
        "stations to choose from": bool((np.diff(p.stations.starts) > 1).any()),
        "opening hours of stations": bool((network.stations.calendar >= 0).any()),
        "stores or hand-over between operations": bool((p.then_to != -1).any()),
        "loads that vary": bool((p.load_least != p.load_most).any()),
        "several makers of an item": len(set(network.routes.item.tolist())) < len(network.routes.ids),
        "mending crews": len(network.stoppages.crews.index) > 0,
        "stoppages by the calendar": bool(network.stoppages.calendar_clock.any()),
        "work let in by lots": bool((network.routes.lot > 0).any()),
        "loads of several that become several": bool(((p.load_most > 1) & (p.pieces_out != 1) & ~_ends(network)).any()),
        "variants side by side": len(network.routes.ids) > len(network.written.routes),
        "finish before leaving": bool((p.stop == 1).any()),
    }  # fmt: skip
    return [what for what, there in found.items() if there]


def in_one_variant(plan: Plan) -> Plan:
    """The plan with all that is wanted in the last value of every option: variants side by side are not played here."""
    for option in plan.options.values():
        plan = plan.change(f"options.{option.id}.shares", {option.values[-1]: "100 %"})
    return plan


def _hard_carriers(network: Network) -> bool:
    """Whether a carrier does more than go along with one piece on one route."""
    c = network.carriers
    return bool((c.holds > 1).any() or (c.between.mean > 0).any() or len(c.items.index))


def _ends(network: Network) -> Any:
    """[n_operations] whether it is the last of its route."""
    return np.isin(np.arange(len(network.operations.ids)), network.routes.last)


@dataclass(eq=False)
class Pool:
    """People, tools or units on hand, and the claims that wait for them in order of asking."""

    free: float
    endless: bool = False
    steps: list[tuple[float, float]] = field(default_factory=list)
    used: float = 0.0
    area: float = 0.0
    since: float = 0.0
    waiting: list[Claim] = field(default_factory=list)
    holders: list[Claim] = field(default_factory=list)
    stations: list[Station] = field(default_factory=list)
    lots: deque[list[float]] = field(default_factory=deque)

    def change(self, by: float, now: float) -> None:
        self.area += (self.used if self.steps else self.free) * (now - self.since)
        self.since = now
        self.free += by


@dataclass(eq=False)
class Claim:
    """What a start takes together, or not at all."""

    order: int
    needs: list[tuple[Pool, float]]
    event: Any
    crews: list[tuple[Pool, float]]
    fits: float = 0.0
    process: Any = None


@dataclass(eq=False)
class Piece:
    """A piece on its way."""

    route: int
    born: float
    op: int
    faults: int = 0
    begins: bool = True
    reach: int = -1
    again: tuple[int, int] = (1 << 30, -1)
    counts: dict[int, int] = field(default_factory=dict)
    ahead: bool = False
    turn: int = 0
    leave: Callable[[], None] | None = None
    rides: set[int] = field(default_factory=set)


@dataclass(eq=False)
class Place:
    """A place of a station: its pieces, its clocks, its accounts."""

    station: Station
    clocks: list[list[Any]]
    here: list[Piece] = field(default_factory=list)
    state: int = r.SHORT
    since: float = 0.0
    account: list[float] = field(default_factory=lambda: [0.0] * r.N_STATES)
    last: int = -1
    open: bool = False
    arrival: Any = None
    process: Any = None
    left_to_setup: dict[int, float] = field(default_factory=dict)


@dataclass(eq=False)
class Station:
    """Free places, who waits for them by visit, and the places that are being filled."""

    free: list[Place] = field(default_factory=list)
    endless: bool = False
    queues: dict[int, tuple[deque[Piece], deque[Piece]]] = field(default_factory=dict)
    filling: dict[int, Place] = field(default_factory=dict)


class Plant:
    """The plan being played: let in flat out, with the parts made ahead that the simulation keeps."""

    def __init__(self, network: Network, prepared: Prepared, seed: int) -> None:
        self.network, self.p, self.luck = network, network.operations, random.Random(seed)
        self.env, self.count, self.timeouts = simpy.Environment(), 0, 0
        m, x = prepared.template.m, prepared.template.x
        items = [int(m[r.ITEMS]) + k * r.ITEM_WIDTH for k in range(len(network.items.ids))]
        self.target = [float(x[row + r.I_TARGET]) for row in items]
        stock = network.items.stock
        self.items = [
            Pool(float(stock[k]) if np.isfinite(stock[k]) else 0.0, endless=bool(m[row + r.I_ENDLESS]))
            for k, row in enumerate(items)
        ]
        self.made = {int(item): route for route, item in enumerate(network.routes.item)}
        self.open = [0.0] * len(items)
        self.room: dict[int, float] = {
            k: float(network.stores.room[s]) for k, s in enumerate(network.item_store.tolist()) if s >= 0
        }
        self.exits: dict[int, deque[Piece]] = {k: deque() for k in self.room}
        self.crews = [self.crew(int(c)) for c in network.crews.calendar]
        self.tools = [Pool(float(n)) for n in network.tools.count]
        self.carriers = [Pool(float(n)) for n in network.carriers.count]
        self.ways_back = [self.draw(network.carriers.way_back, c) for c in range(len(self.carriers))]
        self.joins, self.leaves = (
            {(c, int(o)) for c in range(len(self.carriers)) for o in links.row(c)[0]}
            for links in (network.carriers.joins, network.carriers.leaves)
        )
        self.stations = [self.station(s) for s in range(len(network.stations.ids))]
        self.bench = Station(endless=True)
        self.draws = [self.draw(self.p.time, o) for o in range(len(self.p.ids))]
        self.stands = [self.draw(self.p.stand, o) for o in range(len(self.p.ids))]
        self.setups = [self.draw(self.p.setup, o) for o in range(len(self.p.ids))]
        self.links = [
            {name: self.row(name, o) for name in ("takes", "takes_per_load", "gives", "crews", "tools", "setup_crews")}
            for o in range(len(self.p.ids))
        ]
        self.faults = [
            list(zip(*(a.tolist() for a in self.p.faults.row(o)), strict=True)) for o in range(len(self.p.ids))
        ]
        self.most = [float(n) for n in self.p.load_most]
        self.rooms = [max(self.most[q] for q in np.flatnonzero(self.p.visit == v)) for v in self.p.visit]
        self.checks = {c.operation: c for c in network.inspections}
        self.to_go = self.units_to_go()
        self.changes = {(b, a): t / NS for b, a, t in zip(
            network.changeovers.before.tolist(), network.changeovers.after.tolist(),
            network.changeovers.time.tolist(), strict=True)}  # fmt: skip
        self.finished, self.times, self.scrapped, self.carried = 0.0, [0.0] * 0, 0, {}  # type: ignore[var-annotated]
        for o in range(len(self.p.ids)):
            if o in network.routes.first:
                for item, _ in self.links[o]["takes"]:
                    self.items[item].stations.append(self.where(o))

    # --- what there is ------------------------------------------------------------------------------------------

    def row(self, name: str, o: int) -> list[tuple[int, float]]:
        return [(int(i), float(a)) for i, a in zip(*getattr(self.p, name).row(o), strict=True)]

    def crew(self, calendar: int) -> Pool:
        steps = self.network.calendars[calendar]
        pool = Pool(
            float(steps.level[0]), steps=[(t / NS, float(n)) for t, n in zip(steps.at, steps.level, strict=True)]
        )
        self.env.process(self.come_and_go(pool))
        return pool

    def station(self, s: int) -> Station:
        station, stops = Station(), self.network.stoppages
        mine = [k for k in range(len(stops.names)) if stops.station[k] == s]
        for _ in range(int(self.network.stations.places[s])):
            clocks = [[0.0, self.draw(stops.between, k), self.draw(stops.repair, k)] for k in mine]
            for clock in clocks:
                clock[0] = clock[1]()
            station.free.append(Place(station, clocks))
        return station

    def where(self, o: int) -> Station:
        stations = self.p.stations.row(o)[0]
        return self.stations[int(stations[0])] if len(stations) else self.bench

    def draw(self, durations: Any, k: int) -> Callable[[], float]:
        """A random time in s; the shapes of the engine, by Python's own library."""
        shape, (a, b, _), luck = int(durations.shape[k]), durations.parameters[k], self.luck
        if shape == Shape.FIXED:
            return lambda: a / NS
        if shape == Shape.EXPONENTIAL:
            return lambda: luck.expovariate(1.0) * a / NS
        if shape == Shape.LOGNORMAL:
            return lambda: luck.lognormvariate(a, b) / NS
        kept = Distribution(Shape(shape), *(float(v) for v in durations.parameters[k]))
        return lambda: float(kept.quantile(luck.random())) / NS

    def units_to_go(self) -> list[float]:
        out = [1.0] * len(self.p.ids)
        for first, last in zip(self.network.routes.first, self.network.routes.last, strict=True):
            units = 1.0
            for o in range(int(last), int(first) - 1, -1):
                units *= float(self.p.pieces_out[o])
                out[o] = units
        return out

    # --- people, parts and tools: together or not at all ---------------------------------------------------------

    def come_and_go(self, pool: Pool) -> Steps:
        steps, week = pool.steps, WEEK / NS
        if len(steps) < 2:
            return
        k = 0
        while True:
            following = steps[(k + 1) % len(steps)]
            passed = self.env.now % week
            yield self.env.timeout(following[0] - passed if following[0] > passed else week - passed + following[0])
            k = (k + 1) % len(steps)
            pool.change(following[1] - steps[k - 1][1], self.env.now)
            for claim in reversed(list(pool.holders)):
                if pool.free >= -1e-9:
                    break
                if claim.process.is_alive:
                    self.let_go(claim)
                    claim.process.interrupt()
            self.look_again(pool)

    def lacks(self, claim: Claim) -> Pool | None:
        for pool, units in claim.needs:
            if not pool.endless and pool.free < units - 1e-9:
                return pool
        for pool, units in claim.crews:
            if pool.free < units - 1e-9 or (claim.fits and not self.fit(pool, units, claim.fits)):
                return pool
        return None

    def fit(self, pool: Pool, units: float, seconds: float) -> bool:
        week = WEEK / NS
        begin, passed = self.env.now - self.env.now % week, self.env.now % week
        for turn in (0.0, week):
            for at, level in pool.steps:
                if at + turn > passed and level < pool.used + units:
                    return begin + at + turn >= self.env.now + seconds - 1e-6
        return True

    def attempt(self, claim: Claim) -> bool:
        lack = self.lacks(claim)
        if lack is not None:
            spot = len(lack.waiting)
            while spot and lack.waiting[spot - 1].order > claim.order:
                spot -= 1
            lack.waiting.insert(spot, claim)
            return False
        for pool, units in claim.needs:
            if not pool.endless:
                self.put(pool, -units)
        for pool, units in claim.crews:
            pool.change(-units, self.env.now)
            pool.used += units
            pool.holders.append(claim)
        claim.event.succeed()
        return True

    def let_go(self, claim: Claim) -> None:
        for pool, units in claim.crews:
            if claim in pool.holders:
                pool.change(units, self.env.now)
                pool.used -= units
                pool.holders.remove(claim)
                self.look_again(pool)

    def look_again(self, pool: Pool) -> None:
        waiting, pool.waiting = pool.waiting, []
        for k, claim in enumerate(waiting):
            if pool.free <= 1e-9 and not pool.endless:
                pool.waiting += waiting[k:]
                return
            self.attempt(claim)

    def put(self, pool: Pool, units: float) -> None:
        """Units on hand more or fewer, and whom it concerns."""
        pool.change(units, self.env.now)
        if units > 0:
            self.look_again(pool)
            for station in pool.stations:
                self.admit(station)
        if pool in self.items:
            k = self.items.index(pool)
            if k in self.exits and units < 0:
                while self.exits[k] and pool.free + self.out(self.exits[k][0]) <= self.room[k] + 1e-9:
                    self.end(self.exits[k].popleft())
            self.let_in(k)

    # --- pieces --------------------------------------------------------------------------------------------------

    def let_in(self, item: int) -> None:
        if item not in self.made:
            return
        route = self.made[item]
        first = int(self.network.routes.first[route])
        demanded = self.network.items.demand[item] > 0
        while self.target[item] - self.open[item] - (0.0 if demanded else self.items[item].free) > 1e-9:
            self.open[item] += self.to_go[first]
            self.queue(Piece(route, self.env.now, first))

    def queue(self, piece: Piece) -> None:
        self.count += 1
        piece.turn = self.count
        station = self.where(piece.op)
        queues = station.queues.setdefault(int(self.p.visit[piece.op]), (deque(), deque()))
        queues[0 if piece.ahead else 1].append(piece)
        self.admit(station)

    def admit(self, station: Station) -> None:
        while True:
            best: tuple[bool, int, int] | None = None
            for visit, (ahead, plain) in station.queues.items():
                queue = ahead or plain
                if not queue:
                    continue
                piece, place = queue[0], station.filling.get(visit)
                if piece.begins and not all(
                    self.items[i].endless or self.items[i].free >= a * (1 + len(place.here if place else ())) - 1e-9
                    for i, a in self.links[piece.op]["takes"]
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
        leave, piece.leave, piece.ahead = piece.leave, None, False
        place.here.append(piece)
        if len(place.here) >= self.rooms[piece.op]:
            place.open = False
            place.station.filling.pop(visit, None)
        elif len(place.here) == 1 and visit not in place.station.filling:
            place.open, place.station.filling[visit] = True, place
        if place.process is None:
            place.process = self.env.process(self.work(place, visit))
        elif place.arrival is not None:
            place.arrival.succeed()
            place.arrival = None
        if leave is not None:
            leave()

    def state(self, place: Place, state: int) -> None:
        place.account[place.state] += self.env.now - place.since
        place.state, place.since = state, self.env.now

    # --- work ----------------------------------------------------------------------------------------------------

    def work(self, place: Place, visit: int) -> Steps:
        while True:
            todo = [piece for piece in place.here if piece.leave is None]
            if not todo:
                break
            o = min(piece.op for piece in todo)
            group = [piece for piece in todo if piece.op == o][: int(self.most[o])]
            if place.open and len(group) < self.most[o]:
                self.state(place, r.SHORT)
                place.arrival = self.env.event()
                yield place.arrival
                continue
            if place.open and self.most[o] == self.rooms[o]:
                place.open = False
                place.station.filling.pop(visit, None)
            yield from self.set_up(place, o)
            yield from self.operate(place, o, group)
            drawn = [self.luck.random() < share for _, share in self.faults[o]]
            for piece in group:
                self.conclude(place, piece, o, drawn if self.p.faults_per_load[o] else None)
        place.process, place.open = None, False
        if place.station.filling.get(visit) is place:
            del place.station.filling[visit]
        if place.here:
            self.state(place, r.BLOCKED)
            return
        self.state(place, r.SHORT)
        if not place.station.endless:
            place.station.free.append(place)
        yield self.env.timeout(0)  # those who lost or found people at this instant come first, and rework
        self.admit(place.station)

    def set_up(self, place: Place, o: int) -> Steps:
        when = int(self.p.setup_when[o])
        due = when == 1 and place.left_to_setup.get(o, 0.0) <= 1e-9
        seconds = -1.0
        if when == 2 and place.last != o:
            seconds = self.changes.get((place.last, o), -1.0)
            item = self.network.routes.item[self.p.route[o]]
            other = place.last < 0 or self.network.routes.item[self.p.route[place.last]] != item
            due = other or seconds >= 0
        if due:
            crews = [(self.crews[c], n) for c, n in self.links[o]["setup_crews"]]
            yield from self.crewed(place, seconds if seconds >= 0 else self.setups[o](), [], crews, r.SETTING_UP, 0.0)
            if when == 1:
                place.left_to_setup[o] = place.left_to_setup.get(o, 0.0) + float(self.p.setup_every[o])
        place.last = o

    def operate(self, place: Place, o: int, group: list[Piece]) -> Steps:
        links, position = self.links[o], int(self.p.position[o])
        fresh = [p for p in group if p.reach < position or p.again[0] <= position <= p.again[1]]
        needs = [(self.items[i], a * len(fresh)) for i, a in links["takes"] if fresh]
        needs += [(self.items[i], a) for i, a in links["takes_per_load"] if fresh]
        tools = [(self.tools[t], a) for t, a in links["tools"]]
        for c, carrier in enumerate(self.carriers):
            without = [p for p in group if c not in p.rides] if (c, o) in self.joins else []
            needs += [(carrier, float(len(without)))] if without else []
            for piece in without:
                piece.rides.add(c)
        crews = [(self.crews[c], n) for c, n in links["crews"]]
        seconds = self.draws[o]() + float(self.p.each[o]) / NS * len(group)
        begin = end = 0.0
        if crews and not self.p.hands_all[o]:
            begin = min(float(self.p.hands_start[o]) / NS, seconds)
            end = min(float(self.p.hands_end[o]) / NS, seconds - begin)
        parts = [(seconds, crews)] if not crews or self.p.hands_all[o] else [
            (begin, crews if begin else []), (seconds - begin - end, []), (end, crews)]  # fmt: skip
        for k, (time_of, who) in enumerate(parts):
            if k and time_of <= 0:
                continue
            fits = time_of if k == 0 and self.p.stop[o] == 2 else 0.0
            yield from self.crewed(
                place, time_of, needs + tools if k == 0 else [], who, r.WORKING, fits, fresh if k == 0 else []
            )
            if k == 0:
                for piece in group:
                    piece.begins = False
        for tool, units in tools:
            tool.change(units, self.env.now)
            self.look_again(tool)
        if int(self.p.setup_when[o]) == 1:
            place.left_to_setup[o] -= len(group)
        stand = self.stands[o]()
        if stand > 0:
            self.state(place, r.STANDS)
            self.timeouts += 1
            yield self.env.timeout(stand)

    def crewed(
        self, place: Place, seconds: float, needs: list[tuple[Pool, float]], crews: list[tuple[Pool, float]],
        state: int, fits: float, fresh: list[Piece] = [],  # noqa: B006 - never changed
    ) -> Steps:  # fmt: skip
        """Some work: it starts with all that it needs, pauses without its people, and stops with its place."""
        self.count += 1
        claim = Claim(self.count, needs, self.env.event(), crews, fits, place.process)
        left, down, begun = seconds, 0.0, False
        while True:
            if not self.attempt(claim):
                lack = self.lacks(claim)
                self.state(place, r.NO_CREW if lack in self.crews else r.SHORT)
                yield claim.event
            if not begun:
                begun = True
                for piece in fresh:
                    for item, units in self.links[piece.op]["takes"]:
                        piece.faults |= self.take_lots(self.items[item], units)
            try:
                while left > 0 or down > 0:
                    began = self.env.now
                    self.state(place, r.IS_DOWN if down > 0 else state)
                    clock = min(place.clocks, key=lambda c: c[0], default=None) if state == r.WORKING else None
                    run = down or (min(left, clock[0]) if clock and clock[0] < left else left)
                    self.timeouts += 1
                    yield self.env.timeout(run)
                    if down > 0:
                        down = 0.0
                        continue
                    left -= run
                    for other in place.clocks if state == r.WORKING else []:
                        other[0] -= run
                    if clock is not None and clock[0] <= 0 and left > 0:
                        clock[0], down = clock[1](), clock[2]()
                self.let_go(claim)
                return
            except simpy.Interrupt:
                passed = self.env.now - began
                if down > 0:
                    down -= passed
                    if down > 0:
                        yield self.env.timeout(down)
                        down = 0.0
                else:
                    left -= passed
                    for other in place.clocks if state == r.WORKING else []:
                        other[0] -= passed
                claim = Claim(claim.order, [], self.env.event(), crews, 0.0, claim.process)

    def take_lots(self, pool: Pool, units: float) -> int:
        faults = 0
        while units > 1e-9 and pool.lots:
            lot = pool.lots[0]
            faults |= int(lot[0])
            taken = min(units, lot[1])
            lot[1] -= taken
            units -= taken
            if lot[1] <= 1e-9:
                pool.lots.popleft()
        return faults

    # --- what becomes of a piece ---------------------------------------------------------------------------------

    def conclude(self, place: Place, piece: Piece, o: int, drawn: list[bool] | None) -> None:
        luck, position = self.luck.random, int(self.p.position[o])
        self.get_off(piece, {c for c in piece.rides if (c, o) in self.leaves})
        for item, units in self.links[o]["gives"]:
            self.put(self.items[item], units)
        if self.p.survives[o] < 1 and luck() >= self.p.survives[o]:
            self.lose(place, piece, o)
            return
        for k, (fault, share) in enumerate(self.faults[o]):
            if (luck() < share) if drawn is None else drawn[k]:
                piece.faults |= 1 << int(fault)
        check = self.checks.get(o)
        if check is not None and (piece.counts or check.one_in == 1 or luck() < 1 / check.one_in):
            found = [
                self.in_force(piece, o, reject)
                for fault, finds, reject in zip(check.faults, check.finds, check.rejects, strict=True)
                if piece.faults >> fault & 1 and luck() < finds
            ]
            if not found and luck() < check.false_alarms:
                found = [self.in_force(piece, o, check.other)]
            if found:
                self.react(place, piece, o, min(found, key=lambda one: ((0, 2, 1)[one.fate], one.to)))
                return
        if position >= piece.reach:
            piece.reach, piece.again = -1, (1 << 30, -1)
        if o == self.network.routes.last[piece.route]:
            item = int(self.network.routes.item[piece.route])
            piece.leave = lambda: self.vacate(place, piece)
            if (
                item in self.exits
                and self.network.items.demand[item] <= 0
                and (self.exits[item] or self.items[item].free + self.out(piece) > self.room[item] + 1e-9)
            ):
                self.exits[item].append(piece)
            else:
                self.end(piece)
            return
        piece.op = o + 1
        if self.p.visit[o + 1] != self.p.visit[o]:
            self.vacate(place, piece)
            for _ in range(round(float(self.p.pieces_out[o])) - 1):
                self.queue(Piece(piece.route, self.env.now, o + 1, piece.faults, False, counts=dict(piece.counts)))
            self.queue(piece)

    def get_off(self, piece: Piece, carriers: set[int]) -> None:
        piece.rides -= carriers
        for c in carriers:
            self.env.process(self.come_back(c))

    def come_back(self, carrier: int) -> Steps:
        yield self.env.timeout(self.ways_back[carrier]())
        self.put(self.carriers[carrier], 1.0)

    def in_force(self, piece: Piece, o: int, reject: Reject) -> Reject:
        done = piece.counts.get(o, 0)
        while reject.fate == Fate.REWORK and done >= reject.at_most:
            done -= reject.at_most
            reject = reject.otherwise or Reject(Fate.SCRAP)
        return reject

    def react(self, place: Place, piece: Piece, o: int, reject: Reject) -> None:
        if reject.fate != Fate.REWORK:
            self.lose(place, piece, o)
            if reject.fate == Fate.SECONDS:
                self.put(self.items[reject.item], 1.0)
            return
        piece.counts[o] = piece.counts.get(o, 0) + 1
        here = int(self.p.position[o])
        piece.reach = max(piece.reach, here)
        if reject.takes_again:
            piece.again = (int(self.p.position[reject.to]), max(here, piece.again[1]))
        for q in range(reject.to, o + 1):
            for fault, _ in self.faults[q]:
                piece.faults &= ~(1 << int(fault))
        piece.op = reject.to
        if self.p.visit[reject.to] != self.p.visit[o]:
            piece.ahead = True
            self.vacate(place, piece)
            self.queue(piece)

    def lose(self, place: Place, piece: Piece, o: int) -> None:
        item = int(self.network.routes.item[piece.route])
        self.open[item] -= self.to_go[o]
        self.scrapped += 1
        self.get_off(piece, set(piece.rides))
        self.vacate(place, piece)
        self.let_in(item)

    def out(self, piece: Piece) -> float:
        return float(self.p.pieces_out[self.network.routes.last[piece.route]])

    def end(self, piece: Piece) -> None:
        item, units = int(self.network.routes.item[piece.route]), self.out(piece)
        leave, piece.leave = piece.leave, None
        self.open[item] -= units
        if leave is not None:
            leave()
        if self.network.items.demand[item] > 0:
            self.finished += units
            self.times.append(self.env.now - piece.born)
            self.let_in(item)
        else:
            self.items[item].lots.append([piece.faults, units])
            self.put(self.items[item], units)

    def vacate(self, place: Place, piece: Piece) -> None:
        """The piece has gone; a place that waited only for its pieces to leave is free."""
        place.here.remove(piece)
        if not place.here and place.process is None:
            self.state(place, r.SHORT)
            if not place.station.endless:
                place.station.free.append(place)
            self.admit(place.station)


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
    for item in plant.made:
        plant.let_in(item)
    week = WEEK / NS
    plant.env.run(until=warm_up * week or 1e-9)
    before, plant.times = plant.finished, []
    plant.env.run(until=weeks * week)
    spent = time.process_time() - begin
    days = network.days_week * (weeks - warm_up)
    return Played((plant.finished - before) / days, float(np.mean(plant.times or [0])), spent, plant.timeouts)
