"""The general problem: any rule of a line, by constraint programming (OR-Tools), started from the exact answer.

The plain line under the rules is a relaxation where stations have one person and one copy, so its bound holds here too.
A line that proves impossible is answered with a set of rules that cannot hold together, none of which can be left out.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from linewright.balance.clock import Clock
from linewright.balance.conflict import conflicting
from linewright.balance.contradictions import in_order
from linewright.balance.exact import fewest
from linewright.balance.line import Line
from linewright.balance.loads import Ints
from linewright.balance.model import Model
from linewright.balance.prepare import Plain
from linewright.balance.result import IMPOSSIBLE, PROVED, STOPPED, UNKNOWN, Balance, Placed, Station
from linewright.balance.solve import no_balance, origin
from linewright.balance.start import Start, first_balance, least_by_skills, quickest
from linewright.balance.verify import verify
from linewright.balance.windows import windows_of
from linewright.base.problems import Problems
from linewright.base.results import Honesty

WORKERS = 2
BUILDS = 4e-5  # seconds to build a model, for each task at each station
WORTH_LOADING = 0.2  # seconds allowed below which OR-Tools, which takes longer to load, is left out
COSTS = 1_000_000  # money in the model is counted in millionths


@dataclass(frozen=True, slots=True)
class Solved:
    """A solved model: its status, the objective and bound, and the values read back."""

    status: str
    model: Model | None  # None: found without one
    value: float = 0.0
    bound: float = 0.0
    station: tuple[int, ...] = ()  # from 1
    crew: tuple[str, ...] = ()
    start: tuple[int, ...] = ()
    takt: int = 0


def by_constraints(line: Line, goal: str, room: int | None, stations: int | None, clock: Clock, seed: int) -> Balance:
    """Answer ``goal`` for a line with rules. Raises ProblemsError for what this engine cannot combine."""
    _refuse(line, goal)
    if goal in ("fewest", "cheapest"):
        assert room is not None
        ask = _fewest if goal == "fewest" else _cheapest
        solved, honesty = ask(line, room, stations, clock, seed)
    elif goal == "fastest":
        assert stations is not None
        solved, honesty = _fastest(line, stations, clock, seed)
    else:
        assert room is not None
        assert stations is not None
        solved, honesty = _smoothest(line, room, stations, clock, seed)
    if solved.station:
        return _balance(line, goal, solved, honesty, clock, seed)
    if honesty.status == IMPOSSIBLE:
        notes = conflicting(line, room, stations, clock)
        honesty = Honesty(IMPOSSIBLE, notes=notes)
    return no_balance(line, goal, room, honesty, "constraints", clock, seed)


def _refuse(line: Line, goal: str) -> None:
    problems = Problems()
    rules = line.rules
    if rules.people > 1 and rules.parallel > 1:
        problems.error("people", "several people at parallel stations cannot be modelled together")
    for kind in ("people", "parallel"):
        if getattr(rules, kind) > 1 and goal != "fewest":
            problems.error(
                kind, f'with this rule only "fewest" can be answered, not "{goal}"', hint="give a takt alone"
            )
    if goal == "cheapest" and rules.station_cost <= 0 and not any(c.wage > 0 for c in rules.crews.values()):
        problems.error("goal", "the least cost needs a cost: wages of crews, or a cost per station")
    if rules.people > 1 and rules.within is not None:
        problems.error("people", "several people and times with variation cannot be modelled together")
    problems.raise_errors()


def _fewest(line: Line, room: int, stations: int | None, clock: Clock, seed: int) -> tuple[Solved, Honesty]:
    """Fewest stations. A first balance is looked for by itself; few stations are offered, and solved sooner."""
    most = min(most_stations(line), stations or most_stations(line))
    hint, bound = _plain_answer(line, room, clock, seed)
    bound = max(bound, least_by_skills(line, room))
    start = _kept(line, hint, room, most)
    if start is None:
        start = first_balance(line, room, clock.part(0.3 * clock.seconds), seed, bound, most)
    first: Solved | None = None
    if start is not None:
        count = len(start.crew)
        first = Solved(STOPPED, None, count, bound, start.station, start.crew if line.rules.crews else (), (), room)
        if count <= bound and not line.rules.current:
            return first, Honesty(PROVED, float(count), 0.0)
        hint, most = np.array(start.station) - 1, count
    solved = Solved(UNKNOWN, None)
    for number in (min(_offered(line, room, hint), most), most):
        if not _can_build(line, number, clock):
            break
        model = _model(line, number, room)
        model.cp.add(model.count >= min(bound, number))
        if hint is not None:
            model.hint(hint)
        solved = _solve(model, "count", clock, seed)
        if solved.station or solved.status != IMPOSSIBLE or number == most:
            break
    if first is not None and not solved.station:
        return first, _honest(first, 1.0, max(bound, solved.bound))
    honesty = _honest(solved, 1.0, bound)
    if first is not None and solved.value >= first.value and not line.rules.current:
        return first, honesty  # no worse, and the same on every run, which two racing threads do not give
    return solved, honesty


def _fastest(line: Line, stations: int, clock: Clock, seed: int) -> tuple[Solved, Honesty]:
    """The least takt; a first balance says what need not be looked at."""
    start = quickest(line, stations, clock.part(0.3 * clock.seconds), seed)
    if not _can_build(line, stations, clock):
        return _quickest_alone(line, stations, start)
    model = Model(line, stations, None, windows_of(line, stations, start[0]) if start is not None else None)
    unit = float(model.unit * line.resolution)
    if start is not None:
        model.cp.add(model.room <= start[0] // model.unit)
        model.hint(np.array(start[1].station) - 1)
    solved = _solve(model, "takt", clock, seed)
    if solved.station or start is None:
        return solved, _honest(solved, unit)
    return _quickest_alone(line, stations, start)


def _quickest_alone(line: Line, stations: int, start: tuple[int, Start] | None) -> tuple[Solved, Honesty]:
    """The fastest first balance as the answer, with what the sum and the longest time say."""
    if start is None:
        return Solved(UNKNOWN, None), Honesty(UNKNOWN)
    takt, found = start
    least = max(int(line.times.max(initial=0)), -(-int(line.times.sum()) // stations))
    first = Solved(STOPPED, None, takt, least, found.station, found.crew if line.rules.crews else (), (), takt)
    return first, _honest(first, float(line.resolution))


def _model(line: Line, stations: int, room: int) -> Model:
    return Model(line, stations, room, windows_of(line, stations, room))


def _too_large(line: Line, stations: int, clock: Clock) -> bool:
    """Whether to build a model would take longer than there is time."""
    return line.n * stations * BUILDS > clock.seconds - clock.spent


def _can_build(line: Line, stations: int, clock: Clock) -> bool:
    """Whether there is time to build a model; OR-Tools is loaded for it, half a second that is not time to search."""
    if clock.seconds < WORTH_LOADING or _too_large(line, stations, clock):
        return False
    clock.stand_still(_load)
    return True


def _load() -> None:
    import ortools.sat.python.cp_model  # noqa: F401


def _cheapest(line: Line, room: int, stations: int | None, clock: Clock, seed: int) -> tuple[Solved, Honesty]:
    """Least cost per hour. A first answer limits how many stations could still be cheaper."""
    hint, bound = _plain_answer(line, room, clock, seed)
    most = min(most_stations(line), stations or most_stations(line))
    few = min(most, _offered(line, room, hint))
    if not _can_build(line, few, clock):
        return Solved(UNKNOWN, None), Honesty(UNKNOWN, notes=("too large for the time given",))
    first = _model(line, few, room)
    if hint is not None:
        first.hint(hint)
    solved = _solve(first, "cost", clock.part(clock.seconds / 2), seed)
    if solved.station:
        rules = line.rules
        least = rules.station_cost + min((c.wage for c in rules.crews.values()), default=0.0)
        worth = most if least <= 0 else int(solved.value / COSTS / least + 1e-6)
        most = max(bound, min(most, worth))
        if most <= first.m:
            return solved, _honest(solved, 1.0 / COSTS)
    wider = _model(line, most, room)
    if solved.station:
        wider.hint(np.array(solved.station) - 1)
    second = _solve(wider, "cost", clock, seed)
    if second.station or not solved.station:
        return second, _honest(second, 1.0 / COSTS)
    return solved, Honesty(STOPPED, notes=("stopped by time",))


def most_stations(line: Line) -> int:
    """More stations than this cannot help: one a task and copy, behind the furthest task that is bound."""
    return line.n * line.rules.parallel + max((min(a) for a in line.rules.fixed.values()), default=0)


def _plain_answer(line: Line, room: int, clock: Clock, seed: int) -> tuple[Ints | None, int]:
    """The balance of the line without rules, and its bound, where it is a relaxation of the line with them."""
    if line.rules.people > 1 or line.rules.parallel > 1:
        return None, 1
    plain = Plain.of(line)
    alone = _too_large(line, -(-int(line.times.sum()) // room), clock)  # nothing else will have use for the time
    found = fewest(plain, room, clock.part((0.6 if alone else 0.2) * clock.seconds), seed)
    return plain.whole(found.station), found.bound


def _kept(line: Line, hint: Ints | None, room: int, most: int) -> Start | None:
    """The balance of the plain line, where it happens to keep the rules as well."""
    if hint is None or hint.max() >= most or verify(line, (hint + 1).tolist(), takt=room):
        return None
    return Start(tuple((hint + 1).tolist()), ("",) * (int(hint.max()) + 1))


def _offered(line: Line, room: int, hint: Ints | None) -> int:
    if hint is None:
        few = 3 + math.ceil(1.5 * float(line.times.sum()) / (room * line.rules.people))
    else:
        few = int(hint.max()) + 3 + int(hint.max()) // 4
    return max([few, *(min(a) for a in line.rules.fixed.values())])


def _honest(solved: Solved, unit: float, least: float = 0.0) -> Honesty:
    """Status, bound and gap of a solved model, objective in ``unit``s; ``least`` is a bound from elsewhere."""
    if not solved.station:
        return Honesty(solved.status)
    bound = max(solved.bound, least)
    moves = solved.model is not None and bool(solved.model.rules.current)
    if solved.status == PROVED or (solved.value <= bound and not moves):
        return Honesty(PROVED, solved.value * unit, 0.0)
    notes = ("it may be possible to move fewer tasks",) if moves else ()
    gap = (solved.value - bound) / bound if bound > 0 else None
    return Honesty(STOPPED, bound * unit, gap, notes=("stopped by time", *notes))


def _smoothest(line: Line, room: int, stations: int, clock: Clock, seed: int) -> tuple[Solved, Honesty]:
    """First the least greatest load, then the least sum of squared loads that keeps it."""
    if not _can_build(line, 2 * stations, clock):
        return Solved(UNKNOWN, None), Honesty(UNKNOWN, notes=("too large to be evened out in the time given",))
    first = _solve(_model(line, stations, room), "longest", clock.part(clock.seconds / 2), seed)
    if not first.station:
        return first, Honesty(first.status)
    model = _model(line, stations, room)
    model.hint(np.array(first.station) - 1)
    for load in model.load:
        model.cp.add(load <= int(first.value))
    second = _solve(model, "squares", clock, seed)
    if not second.station:
        return first, Honesty(STOPPED, notes=("the spread was not improved in time",))
    assert first.model is not None
    unit = float(first.model.unit * line.resolution) ** 2
    honesty = _honest(second, unit)
    if first.status != PROVED:
        honesty = Honesty(STOPPED, notes=("the greatest load is the least found, not proved",))
    return second, honesty


def _objective(model: Model, goal: str) -> Any:
    cp = model.cp
    if goal == "count":
        return model.count
    if goal == "takt":
        return model.room
    if goal == "cost":
        station = round(model.rules.station_cost * COSTS)
        cost = station * model.count
        if model.rules.crews:
            cost += sum(
                round(model.rules.crews[name].wage * COSTS) * var for row in model.crew for name, var in row.items()
            )
        return cost
    if goal == "longest":
        longest = cp.new_int_var(0, model.widest, "longest")
        for load in model.load:
            cp.add(load <= longest)
        return longest
    squares = []
    for s, load in enumerate(model.load):
        at = cp.new_int_var(0, model.widest, f"load{s}")
        cp.add(at == load)
        square = cp.new_int_var(0, model.widest**2, f"load squared{s}")
        cp.add_multiplication_equality(square, [at, at])
        squares.append(square)
    return sum(squares)


def _solve(model: Model, goal: str, clock: Clock, seed: int) -> Solved:
    from ortools.sat.python import cp_model

    moves = len(model.rules.current)
    asked = _objective(model, goal)
    model.cp.minimize(asked * (moves + 1) + model.moved if moves else asked)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = max(0.05, clock.seconds - clock.spent)
    # which of several equal answers two racing threads give is luck; where spreads are sought there are many
    solver.parameters.num_workers = 1 if goal in ("longest", "squares") else WORKERS
    solver.parameters.random_seed = seed % (1 << 31)
    if clock.over:
        return Solved(UNKNOWN, model)
    watch = _watch(cp_model, clock)
    code = solver.solve(model.cp, watch)
    if code == cp_model.INFEASIBLE:
        return Solved(IMPOSSIBLE, model)
    if code == cp_model.MODEL_INVALID:
        raise AssertionError("the constraint model is not valid: " + model.cp.validate())
    if code not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Solved(UNKNOWN, model)
    stations = range(model.m)
    station = tuple(next(s + 1 for s in stations if solver.boolean_value(model.x[i][s])) for i in range(model.line.n))
    crew: tuple[str, ...] = ()
    if "skill" in model.rules.asked:
        crew = tuple(
            next((name for name, var in model.crew[s].items() if solver.boolean_value(var)), "") for s in stations
        )
    start: tuple[int, ...] = ()
    if model.rules.people > 1:
        start = tuple(solver.value(v) * model.unit for v in model.start)
    takt = model.ticks if model.ticks is not None else solver.value(model.room) * model.unit
    return Solved(
        PROVED if code == cp_model.OPTIMAL else STOPPED,
        model,
        round(solver.objective_value) // (moves + 1),
        math.ceil((solver.best_objective_bound - moves) / (moves + 1) - 1e-6),
        station,
        crew,
        start,
        takt,
    )


def _watch(cp_model: Any, clock: Clock) -> Any:
    """A callback that tells of each better answer and stops when it is asked to."""

    class Watch(cp_model.CpSolverSolutionCallback):  # type: ignore[misc]
        def on_solution_callback(self) -> None:
            clock.tell(int(self.best_objective_bound), int(self.objective_value))
            if clock.over:
                self.stop_search()

    return Watch()


def people_of(station: Sequence[int], starts: Sequence[int], times: Sequence[int]) -> list[int]:
    """Who of a station's people does each task: the first who is free when it starts."""
    person = [0] * len(station)
    for s in set(station):
        free: list[int] = []  # when each person is free again
        for i in sorted((i for i in range(len(station)) if station[i] == s), key=lambda i: (starts[i], times[i] > 0)):
            at = next((k for k, end in enumerate(free) if end <= starts[i]), len(free))
            if at == len(free):
                free.append(0)
            free[at] = starts[i] + times[i]
            person[i] = at + 1
    return person


def _balance(line: Line, goal: str, solved: Solved, honesty: Honesty, clock: Clock, seed: int) -> Balance:
    rules, station, takt = line.rules, solved.station, solved.takt
    times = [int(t) for t in line.times]
    person = people_of(station, solved.start, times) if solved.start else None
    wrong = verify(line, station, takt=takt, crew=solved.crew, starts=solved.start or None, person=person)
    if wrong:
        raise AssertionError("an engine gave a wrong balance: " + "; ".join(wrong))
    stations = []
    sequence = in_order(line)
    for s in range(1, max(station) + 1):
        tasks = [i for i in sequence if station[i] == s]
        copies = max([1, *(-(-times[i] // takt) for i in tasks)]) if rules.parallel > 1 else 1
        load = line.amount(sum(times[i] for i in tasks)) / copies
        people = max((person[i] for i in tasks), default=1) if person else 1
        crew = solved.crew[s - 1] if solved.crew else ""
        stations.append(Station(s, tuple(line.names[i] for i in tasks), load, copies, crew, people))
    schedule: tuple[Placed, ...] = ()
    if person:
        order = sorted(range(line.n), key=lambda i: (station[i], solved.start[i], person[i]))
        schedule = tuple(Placed(line.names[i], person[i], line.amount(solved.start[i])) for i in order)
    moved = tuple(name for name, s in rules.current.items() if station[line.index[name]] != s)
    cost = None
    if goal == "cheapest":
        wages = itertools.chain(rules.crews[s.crew].wage for s in stations if s.crew)
        cost = rules.station_cost * len(stations) + math.fsum(wages)
    return Balance(
        goal,
        line.amount(takt),
        line.unit,
        tuple(stations),
        honesty,
        origin(line, "constraints", clock, seed),
        moved,
        cost,
        schedule,
    )
