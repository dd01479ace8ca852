"""A place at a rate: it is made ready, asks for its people, runs until it is halted, and stops with its place."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import simpy

from linewright.simulate.kernel import rows as r
from process_plant.feeds import Feed
from process_plant.levels import Buffer
from process_plant.things import Claim, Place, Steps

if TYPE_CHECKING:
    from process_plant.plant import Plant

BREAKS, DUE, NOTHING_TO_DO = "breaks", "due", "nothing to do"
REST = 1.0
"""s: a place starts at most so often."""


@dataclass(eq=False, slots=True)
class Runner:
    """One place of an operation that flows.

    ``cap``: pieces a s at full speed; ``source`` and ``sink``: the buffers before and behind (None: it begins or ends
    its route); ``on``: it runs; ``idle``: it could; ``lack``: the state of its place for the speed that it cannot use;
    ``wanted`` and ``halted`` are the events that its process waits for; ``repair`` is that of the stoppage at hand.
    """

    o: int
    place: Place
    cap: float
    source: Buffer | None
    sink: Buffer | None
    feeds: list[Feed] = field(default_factory=list)
    on: bool = False
    idle: bool = False
    rate: float = 0.0
    rests_until: float = 0.0
    lack: int = r.SHORT
    wanted: Any = None
    halted: Any = None
    repair: Callable[[], float] | None = None

    def start(self) -> None:
        """Start to run, or to do what is due before."""
        self.idle = False
        self.wanted.succeed()

    def halt(self, why: str) -> None:
        """Stop running at this instant."""
        self.on = False
        self.halted.succeed(why)


def live(plant: Plant, runner: Runner) -> Steps:
    """The process of a runner: whenever it is wanted, what is due first, then a run."""
    place, o, flows = runner.place, runner.o, plant.flows
    while True:
        runner.wanted, runner.idle = plant.env.event(), True
        plant.places.state(place, runner.lack)
        yield runner.wanted
        runner.rests_until = plant.env.now + REST
        what = plant.readiness.due(place, o)
        if what is None:
            yield from _run(plant, runner)
        else:
            flows.touch()
            yield from plant.readiness.make_ready(place, o, what)
            runner.rests_until = 0.0
        flows.touch()


def _run(plant: Plant, runner: Runner) -> Steps:
    """From asking for people to having nothing to do; it pauses without its people and stops with its place."""
    env, people, place, touch, work = plant.env, plant.people, runner.place, plant.flows.touch, plant.work
    work.count += 1
    order, team, down, began = work.count, work.doing[runner.o].crews, 0.0, env.now
    while True:
        claim = Claim(order, [], team, place)
        try:
            if not people.attempt(claim):
                touch()
                claim.event = env.event()
                yield claim.event
            while True:
                plant.places.state(place, r.WORKING)
                runner.on, runner.halted = True, env.event()
                touch()
                if (yield runner.halted) != BREAKS:
                    people.let_go(claim)
                    return
                touch()
                plant.places.state(place, r.IS_DOWN)
                began, down = env.now, runner.repair() if runner.repair is not None else 0.0
                work.timeouts += 1
                yield env.timeout(down)
                down = 0.0
        except simpy.Interrupt:
            runner.on = False
            touch()
            if down > 0.0:
                yield env.timeout(max(began + down - env.now, 0.0))
                down = 0.0
            if not place.station.is_open():  # when it opens it is seen anew whether it is wanted
                return


def next_stop(place: Place) -> list[Any] | None:
    """The clock of running time that comes first."""
    return min(place.clocks, key=lambda clock: clock[0], default=None)
