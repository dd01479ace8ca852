"""Flows: quantities at rates that are constant between two events, as docs/simulate.md and docs/meaning.md say it.

At the end of every instant in which something has happened that flows look at, loads are put together of what has
flowed, those who wait for a level are told, it is seen who may run and which bounds hold, and the rates are solved;
then it is worked out when they may change next. Rates follow from the state, so each state is solved once and kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import simpy
from simpy.events import EventPriority

from linewright.simulate.kernel import rows as r
from process_plant.active import Solved, State, solve_state
from process_plant.columns import BUFFER, DONE, HAND, OPEN, WANTED, Columns
from process_plant.feeds import feeds_of
from process_plant.levels import Buffer, Moving
from process_plant.people import week_by_week
from process_plant.runners import BREAKS, DUE, NOTHING_TO_DO, Runner, live, next_stop
from process_plant.things import Piece, Station

if TYPE_CHECKING:
    from linewright.simulate.simulate import Prepared
    from process_plant.plant import Plant

LAST = EventPriority(2)
"""The priority of what comes at the end of an instant."""
NEAR_S = 60.0
"""s of full speed within which options of a feed are equally far behind."""


class Later(simpy.Event):
    """A call after so long, at the end of that instant."""

    def __init__(self, env: simpy.Environment, delay: float, call: Callable[[Any], None]) -> None:
        super().__init__(env)
        self.callbacks = [call]
        self._ok, self._value = True, None
        env.schedule(self, LAST, delay)


class Flows:
    """The runners, the buffers before and behind them, and their events."""

    def __init__(self, plant: Plant, prepared: Prepared) -> None:
        self.plant, self.env, self.tables, self.stock = plant, plant.env, plant.tables, plant.stock
        self.pending, self.last, self.version = False, 0.0, 0
        flowing, route, size = self.tables.flowing, self.tables.route, self.tables.size
        self.buffers = {
            o: Buffer(o, 0.0 if flowing[o] else size[o])
            for o in range(1, self.tables.n)
            if route[o] == route[o - 1] and (flowing[o] or flowing[o - 1])
        }
        self.runners = [
            runner for o in range(self.tables.n) if flowing[o] for runner in self.runners_of(o, prepared)
        ]  # fmt: skip
        self.moving = [item for item in self.stock.items if isinstance(item, Moving)]
        self.columns = Columns(plant, self.runners, self.buffers)
        self.made_of_pieces = [item.item for item in self.moving if item.item in self.stock.made]
        self.solved: dict[State, Solved] = {}
        self.at = Solved([], [], [], [], [])
        """What holds now."""
        for item in self.moving:
            item.touched = self.touch
        for runner in self.runners:
            runner.place.process = self.env.process(live(plant, runner))
            hours = runner.place.station.hours
            if hours is not None:
                self.env.process(week_by_week(self.env, hours.steps, lambda _: self.touch()))
        if self.runners:
            self.touch()

    def runners_of(self, o: int, prepared: Prepared) -> list[Runner]:
        """The places of the operation's station: no pieces go there."""
        station = self.plant.places.at[o]
        station.free.clear()
        source, sink = self.buffers.get(o), None if o in self.tables.ends else self.buffers[o + 1]
        return [
            Runner(o, place, 1.0 / self.tables.each[o], source, sink, feeds_of(self.plant.network, prepared, o))
            for place in station.places
        ]

    # --- time passes ----------------------------------------------------------------------------------------------

    def touch(self) -> None:
        """Something has happened: look at the end of this instant."""
        if not self.pending:
            self.pending = True
            Later(self.env, 0.0, lambda _: self.settle())

    def book(self) -> None:
        """Bring everything up to the present."""
        passed, self.last = self.env.now - self.last, self.env.now
        if passed == 0.0:
            return
        for runner, draws in zip(self.runners, self.at.draws, strict=False):
            if runner.rate > 0.0:
                self.book_run(runner, passed, draws)
        for (kind, of), rate in self.at.levels:
            if kind == BUFFER:
                self.buffers[of].level += rate * passed
            elif kind == OPEN:
                self.stock.open[of] += rate * passed
            elif kind == DONE:
                self.plant.journeys.finished += rate * passed

    def book_run(self, runner: Runner, passed: float, draws: list[list[float]]) -> None:
        """A part of its speed that a place cannot use is time short of parts or blocked, not time at work."""
        place, pieces = runner.place, runner.rate * passed
        lost = passed * (1.0 - runner.rate / runner.cap)
        place.account[r.WORKING] -= lost
        place.account[runner.lack] += lost
        for clock in place.clocks:
            clock[0] -= passed
        if place.due_scrap > 0.0:
            left = place.due_scrap - pieces * self.tables.survives[runner.o]
            place.due_scrap = left if left > 1e-9 else 0.0
        self.plant.readiness.count(place, runner.o, pieces)
        for feed, rates in zip(runner.feeds, draws, strict=True):
            feed.total += pieces
            for k, rate in enumerate(rates):
                feed.drawn[k] += rate * passed

    # --- the end of an instant ------------------------------------------------------------------------------------

    def settle(self) -> None:
        """Meet the loads, see who runs and what holds, solve, and say when to look again."""
        self.pending = False
        self.book()
        self.meet()
        may_run = tuple([self.may_run(runner) for runner in self.runners])
        if self.pending:  # something has begun or ended: it is looked at once more when that is done
            return
        state = self.state(may_run)
        found = self.solved.get(state)
        if found is None:
            found = self.solved[state] = solve_state(self.runners, self.columns, state)
        for runner, rate, held_up in zip(self.runners, found.rates, found.held_up, strict=True):
            runner.lack = runner.lack if held_up is None else held_up
            if runner.idle and rate > 0.0:
                runner.start()
                self.touch()
        if not self.pending:
            self.run_at(found)
            self.look_ahead(state)

    def state(self, may_run: tuple[bool, ...]) -> State:
        bounds = self.columns.bounds
        holds = {key: self.columns.holds(key) for key in bounds}
        feeds = tuple(
            tuple(
                feed.how([not holds.get((HAND, i), False) for i in feed.items], NEAR_S * runner.cap)
                for feed in runner.feeds
            )
            for runner in self.runners
        )
        spoils = tuple([runner.place.due_scrap > 0.0 for runner in self.runners])
        return State(may_run, spoils, feeds, tuple(holds.values()))

    def may_run(self, runner: Runner) -> bool:
        """Whether a runner may run; what is due ends a run, and so does a stoppage."""
        if runner.on:
            clock = next_stop(runner.place)
            if clock is not None and clock[0] <= 1e-9:
                clock[0], runner.repair = clock[1](), clock[2]
                runner.place.restart = True
                runner.halt(BREAKS)
                self.touch()
            elif self.plant.readiness.due(runner.place, runner.o) is not None:
                runner.halt(DUE)
                self.touch()
            return runner.on
        return runner.idle and self.env.now >= runner.rests_until and runner.place.station.is_open()

    def meet(self) -> None:
        """Loads of what has flowed; those who wait for a level or for room; what is let in piece by piece."""
        for buffer in self.buffers.values():
            while buffer.lot > 0.0 and buffer.level >= buffer.lot * (1.0 - 1e-9):
                buffer.level -= buffer.lot
                self.stock.inside.change(1.0, self.env.now)
                self.plant.places.queue(Piece(self.tables.route[buffer.o], self.env.now, buffer.o, begins=False))
        for item in self.moving:
            if any(units <= item.free + 1e-9 for units in self.waited_for(item)):
                self.plant.people.look_again(item)
            for station in item.stations:
                if any(units <= item.free + 1e-9 for units in self.outside(item, station)):
                    self.plant.places.admit(station)
            if item.item in self.stock.room:
                self.stock.let_out(item.item)
        for made in self.made_of_pieces:
            self.stock.let_in(made)

    def waited_for(self, item: Moving) -> list[float]:
        """Units that claims wait for."""
        return [units for claim in item.waiting for pool, units in claim.needs if pool is item]

    def outside(self, item: Moving, station: Station) -> list[float]:
        """Units that pieces outside a station begin with, where there is a place for them."""
        found = []
        for number, (ahead, plain) in station.queues.items():
            queue, filling = ahead or plain, station.filling.get(number)
            if queue and queue[0].begins and (station.free or filling is not None):
                beside = len(filling.here) if filling is not None else 0
                parts = self.plant.places.parts[queue[0].op]
                found += [units * (1 + beside) for pool, units in parts if pool is item]
        return found

    def pour(self, piece: Piece) -> None:
        """A load comes to where it flows on: it is no piece any more."""
        self.buffers[piece.op].level += self.tables.size[piece.op - 1] * self.tables.out[piece.op - 1]
        self.stock.inside.change(-1.0, self.env.now)
        self.touch()

    def run_at(self, found: Solved) -> None:
        """The rates from now on."""
        for runner, rate in zip(self.runners, found.rates, strict=True):
            runner.rate = rate
            if runner.on and rate == 0.0:
                runner.halt(NOTHING_TO_DO)
            elif runner.idle and runner.place.state != runner.lack:
                self.plant.places.state(runner.place, runner.lack)
        rates = dict(found.levels)
        for item in self.moving:
            rate = rates.get((HAND, item.item), 0.0)
            if rate != item.rate:
                item.run(rate, self.env.now)
        for buffer in self.buffers.values():
            buffer.rate = rates.get((BUFFER, buffer.o), 0.0)
        self.at = found

    # --- what comes next ------------------------------------------------------------------------------------------

    def look_ahead(self, state: State) -> None:
        """When a bound is reached, a load has come together, a level is there, or a run must end."""
        soonest = min([max(self.columns.slack(key), 0.0) / -rate for key, rate in self.at.falls], default=math.inf)
        for buffer in self.buffers.values():
            if buffer.lot > 0.0 and buffer.rate > 0.0:
                soonest = min(soonest, (buffer.lot - buffer.level) / buffer.rate)
        for item in self.moving:
            soonest = min(soonest, self.until_level(item) + 1e-7)
        for made in self.made_of_pieces:
            soonest = min(soonest, self.until_wanted(made))
        for j, runner in enumerate(self.runners):
            soonest = min(soonest, self.until_run_ends(runner, j, state))
        self.version += 1
        if soonest < math.inf:
            version = self.version
            self.plant.work.timeouts += 1
            Later(self.env, max(soonest, 1e-9), lambda _: self.come(version))

    def come(self, version: int) -> None:
        """The time has come, unless something else has happened meanwhile."""
        if version == self.version and not self.pending:
            self.settle()

    def until_level(self, item: Moving) -> float:
        """s until somebody's level is there, or room for somebody."""
        waiting = self.stock.waiting.get(item.item)
        if item.rate < 0.0 and waiting:
            return (item.free + waiting[0].units - self.stock.room[item.item]) / -item.rate
        if item.rate <= 0.0:
            return math.inf
        needs = self.waited_for(item)
        for station in item.stations:
            needs += self.outside(item, station)
        free = item.free
        return min([units - free for units in needs if units > free + 1e-9], default=math.inf) / item.rate

    def until_wanted(self, item: int) -> float:
        """s until flows have made another piece of an item wanted."""
        rate = -sum(rate for (kind, of), rate in self.at.levels if of == item and kind in (HAND, OPEN))
        return (1e-8 - self.columns.slack((WANTED, item))) / rate if rate > 1e-12 else math.inf

    def until_run_ends(self, runner: Runner, j: int, state: State) -> float:
        """s until a stoppage, something due, the end of what is spoiled, or another option's turn."""
        if runner.rate == 0.0:
            rests = runner.rests_until - self.env.now
            return rests if runner.idle and rests > 0.0 else math.inf
        place, o, rate = runner.place, runner.o, runner.rate
        soonest = self.plant.readiness.until_due(place, o, rate)
        clock = next_stop(place)
        if clock is not None:
            soonest = min(soonest, clock[0])
        if place.due_scrap > 0.0:
            soonest = min(soonest, place.due_scrap / (rate * self.tables.survives[o]))
        for f, feed in enumerate(runner.feeds):
            soonest = min(soonest, feed.until_turn(state.feeds[j][f], self.at.draws[j][f], rate, NEAR_S * runner.cap))
        return soonest
