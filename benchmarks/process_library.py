"""The same lines in SimPy, a general-purpose process-simulation library: the yardstick of tests and benchmarks.

A line here is a route whose every operation has a station of its own kind, with places, perhaps one crew, and a store
of limited room or none behind it; pieces are let in flat out. Both models keep the same statistics: pieces finished,
time in plant, and for every station the time working, blocked and waiting for its crew.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import simpy

from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder


@dataclass
class Step:
    """One operation: mean seconds, coefficient of variation, places, crew ("" for none), room behind (0: no limit)."""

    mean: float
    cv: float
    places: int = 1
    crew: str = ""
    room: int = 0


@dataclass
class Line:
    """A line: its steps, the people of each crew, and the pieces kept open."""

    steps: list[Step]
    crews: dict[str, int] = field(default_factory=dict)
    open_pieces: int = 50


def as_network(line: Line) -> Network:
    """The line as a plan."""
    plan = PlanBuilder("line", makes="job", demand="1 each/day", release="flat out", open_pieces=line.open_pieces)
    plan.item("job", unit="each").shift("always", hours="00:00-24:00", days="Mon-Sun")
    for name, people in line.crews.items():
        plan.crew(name, people=people, shift="always")
    route = plan.route("r", gives="job")
    for k, step in enumerate(line.steps):
        plan.station(f"s{k}", places=step.places)
        fields: dict[str, Any] = {"station": f"s{k}", "time": f"{step.mean} s"}
        if step.cv:
            shape = "exponential" if step.cv == 1 else "lognormal"
            fields["time"] = {"mean": f"{step.mean} s", "cv": step.cv, "shape": shape}
        if step.crew:
            fields["crew"] = {step.crew: 1}
        if step.room and k < len(line.steps) - 1:
            plan.store(f"b{k}", room=step.room)
            fields["then_to"] = f"b{k}"
        route.operation(f"o{k}", **fields)
    return compile_network(plan.build())


@dataclass
class Found:
    """What a run of the library found after the warm-up."""

    finished: int
    in_plant: float
    working: list[float]
    blocked: list[float]
    no_crew: list[float]
    seconds: float
    timeouts: int


def play(line: Line, horizon: float, warm_up: float, seed: int) -> Found:
    """Run the line in SimPy for ``horizon`` seconds; statistics from ``warm_up`` on. CPU seconds are taken."""
    luck = random.Random(seed)
    env = simpy.Environment()
    places = [simpy.Resource(env, step.places) for step in line.steps]
    crews = {name: simpy.Resource(env, people) for name, people in line.crews.items()}
    rooms = [simpy.Resource(env, step.room) if step.room else None for step in line.steps[:-1]] + [None]
    n = len(line.steps)
    working, blocked, no_crew = [0.0] * n, [0.0] * n, [0.0] * n
    times: list[float] = []
    timeouts = 0
    draws = [_draw(step, luck) for step in line.steps]

    def clipped(begin: float, end: float) -> float:
        return max(end, warm_up) - max(begin, warm_up)

    def piece() -> Any:
        nonlocal timeouts
        entered = env.now
        room = room_owner = None
        for k, step in enumerate(line.steps):
            place = places[k].request()
            yield place
            if room is not None and room_owner is not None:
                room_owner.release(room)
                room = None
            asked = env.now
            person = None
            if step.crew:
                person = crews[step.crew].request()
                yield person
            begun = env.now
            no_crew[k] += clipped(asked, begun)
            timeouts += 1
            yield env.timeout(draws[k]())
            working[k] += clipped(begun, env.now)
            if person is not None:
                crews[step.crew].release(person)
            done = env.now
            room_owner = rooms[k]
            if room_owner is not None:
                room = room_owner.request()
                yield room
                blocked[k] += clipped(done, env.now)
            places[k].release(place)
        if env.now >= warm_up:
            times.append(env.now - entered)
        env.process(again())

    def again() -> Any:
        """A new piece for the one that has left; at the same instant the place that was left is filled first."""
        for _ in range(3):
            yield env.timeout(0)
        env.process(piece())

    for _ in range(line.open_pieces):
        env.process(piece())
    begin = time.process_time()
    env.run(until=horizon)
    spent = time.process_time() - begin
    span = horizon - warm_up
    share = [
        [v / (span * step.places) for v, step in zip(row, line.steps, strict=True)]
        for row in (working, blocked, no_crew)
    ]
    return Found(len(times), sum(times) / max(len(times), 1), *share, spent, timeouts)


def _draw(step: Step, luck: random.Random) -> Callable[[], float]:
    if step.cv == 0:
        return lambda: step.mean
    if step.cv == 1:
        return lambda: luck.expovariate(1 / step.mean)
    spread = math.log1p(step.cv**2)
    return lambda: luck.lognormvariate(math.log(step.mean) - spread / 2, math.sqrt(spread))


def random_line(seed: int) -> Line:
    """A line of 2 to 6 stations with random places, rooms, spread and shared crews."""
    luck = random.Random(seed)
    crews = {"red": luck.randint(1, 3), "blue": luck.randint(1, 2)}
    steps = [
        Step(
            mean=luck.uniform(30, 120),
            cv=luck.choice([0, 0.5, 1]),
            places=luck.randint(1, 3),
            crew=luck.choice(["", "red", "blue"]),
            room=luck.choice([0, 1, 3]),
        )
        for _ in range(luck.randint(2, 6))
    ]
    return Line(steps, crews, open_pieces=luck.randint(15, 40))
