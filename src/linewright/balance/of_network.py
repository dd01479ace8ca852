"""A line of a plan as the problem of balancing: its tasks, their order, its takt, and what its floor asks.

A task is an operation that people do; its time is the people's time for one piece of the line, so a load is divided by
its pieces, a rework counts as often as it happens, and a machine that runs alone does not count. What nobody stands by
(a cure, a rack) is no task: the order passes through it. Times are kept in whole hundredths of a second.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from linewright.balance.line import Line, make_line
from linewright.balance.line_rules import line_skills, rules_of
from linewright.balance.line_source import Source, source_of
from linewright.balance.line_times import NS, Floats, runs_alone, takt_of
from linewright.base.problems import Problem, ProblemsError, did_you_mean
from linewright.network.fold import fold_network
from linewright.network.model import Network, Reject
from linewright.network.rows import summed
from linewright.plan.called import step_called
from linewright.plan.paths import join

TICK = Fraction(1, 100)  # seconds


@dataclass(frozen=True, slots=True)
class PlanLine:
    """A line of a plan, ready to be balanced.

    ``line`` has a task for each operation of ``tasks`` (numbers in the network), named by its id, times in seconds.
    ``takt`` and ``stations`` are what the plan asks; ``pieces`` what leaves the line in a working day. ``crew`` is the
    crew that does each task, ``people`` how many it takes at once, all crews together. ``operations`` are all of its
    routes, those included that nobody does, and ``order`` their (earlier, later) pairs. ``stays`` are tasks done by the
    people of a station at a place that does not move there: a machine that runs on its own, a load that gathers.
    """

    id: str
    name: str
    line: Line
    tasks: tuple[int, ...]
    takt: float | None
    stations: int | None
    pieces: float
    crew: Mapping[str, str]
    people: Mapping[str, int]
    operations: tuple[str, ...]
    order: tuple[tuple[str, str], ...]
    stays: tuple[str, ...]
    assumptions: tuple[str, ...]
    paths: Mapping[str, str]

    def placed(self, problem: Problem) -> Problem:
        """A problem of the line at the field of the plan that it is about."""
        kind, _, rest = problem.path.partition(".")
        task = next((t for t in self.paths if rest == t or rest.startswith(f"{t}.")), "")
        if kind in ("tasks", "skill", "uses") and task:
            return replace(problem, path=self.paths[task] + ("" if kind == "tasks" else ".crew"))
        if kind in ("goal", "seconds", "engine"):
            return problem
        return replace(problem, path=f"{join('lines', self.id)}.{problem.path}")


def line_of(network: Network, id: str, *, runs: Sequence[float] | Floats | None = None) -> PlanLine:
    """A line of the plan. ``runs`` [n_operations] is how often each operation is done in a working day.

    Without ``runs`` every operation is done once for a piece. Variants of an operation are one task. Raises
    ProblemsError where the plan has no such line, or where what the line asks contradicts itself.
    """
    network, runs = _as_written(network, runs)
    written = network.plan.lines.get(id)
    if written is None:
        known = network.plan.lines
        hint = did_you_mean(id, known) or "write a line, such as [lines.main] with routes"
        raise ProblemsError([Problem("lines", f'the plan has no line "{id}"', hint=hint)])
    source = source_of(network, written, None if runs is None else np.asarray(runs, dtype=np.float64))
    if not source.tasks:
        what = f'no operation of line "{id}" has a crew, so there is no work to share'
        raise ProblemsError([Problem(join("lines", id), what)])
    takt = written.takt.value if written.takt is not None else takt_of(network, source.tasks, source.total)
    ids, earlier = network.operations.ids, _earlier(source)
    bare = PlanLine(
        id=id,
        name=written.name or id,
        line=_NOTHING,
        tasks=source.tasks,
        takt=takt,
        stations=written.stations,
        pieces=source.total,
        crew=source.crew,
        people=source.people,
        operations=tuple(ids[i] for i in source.own),
        order=tuple((ids[k], ids[i]) for i in source.own for k in dict.fromkeys(earlier[i])),
        stays=tuple(ids[i] for i in source.tasks if runs_alone(network, i) or network.operations.load_most[i] > 1),
        assumptions=_assumed(source, takt),
        paths={network.operations.ids[i]: network.operations.paths[i] for i in source.tasks},
    )
    try:
        line = make_line(_in_ticks(source), _before(source, earlier), unit="s")
        return replace(bare, line=line.with_rules(rules_of(source, float(line.resolution))))
    except ProblemsError as wrong:
        raise ProblemsError([bare.placed(problem) for problem in wrong.problems]) from None


def _as_written(
    network: Network, runs: Sequence[float] | Floats | None
) -> tuple[Network, Sequence[float] | Floats | None]:
    """A network with variants by what was written, and how often each operation is done."""
    if network.origin is None:
        return network, runs
    often = np.ones(len(network.operations.ids)) if runs is None else np.asarray(runs, dtype=np.float64)
    whole = fold_network(network, often, np.ones(len(network.items.ids)))
    return whole, None if runs is None else summed(network.origin.operation, often, len(whole.operations.ids))


_NOTHING = make_line({"nothing": 0})


def _in_ticks(source: Source) -> dict[str, Fraction]:
    """Times in seconds, whole ticks; work is never rounded to nothing."""
    times = zip(source.names, source.times.mean.tolist(), strict=True)
    return {name: (max(1, round(time / NS / TICK)) if time > 0 else 0) * TICK for name, time in times}


def _before(source: Source, earlier: Mapping[int, Sequence[int]]) -> dict[str, list[str]]:
    """Task to the tasks just before it; operations that nobody does are passed through."""
    tasks, ids = set(source.tasks), source.network.operations.ids
    order: dict[str, list[str]] = {}
    for i in source.tasks:
        found: set[int] = set()
        waiting, seen = list(earlier[i]), set(earlier[i])
        while waiting:
            k = waiting.pop()
            if k in tasks:
                found.add(k)
                continue
            fresh = [p for p in earlier[k] if p not in seen]
            seen.update(fresh)
            waiting += fresh
        order[ids[i]] = [ids[k] for k in sorted(found)]
    return order


def _earlier(source: Source) -> dict[int, list[int]]:
    """Operation to what must come before it: as written, else the one above; what makes the item that it takes; and
    for a check, what makes the faults that it finds and where it sends back to."""
    operations = source.network.operations
    number = {name: i for i, name in enumerate(operations.ids)}
    own = set(source.own)
    earlier: dict[int, list[int]] = {}
    for i in source.own:
        after = source.asked[operations.ids[i]].after
        if after is not None:
            earlier[i] = [number[name] for name in after if number[name] in own]
        else:
            earlier[i] = [] if operations.position[i] == 0 else [i - 1]
    followed = {k for ones in earlier.values() for k in ones}
    for i in source.own:
        for route in _makers(source, i):
            earlier[i] += [k for k in source.own if operations.route[k] == route and k not in followed]
        earlier[i] += [k for k in _checked(source, i) if k in own and k != i]
    for k, i in list(_carried(source)):
        if i not in _all_before(earlier, k):  # there the plan itself has the operation on the other side
            earlier[i].append(k)
    return earlier


def _all_before(earlier: Mapping[int, Sequence[int]], operation: int) -> set[int]:
    """Everything that must come before an operation, directly or by a chain."""
    found, waiting = set[int](), [operation]
    while waiting:
        fresh = [k for k in earlier[waiting.pop()] if k not in found]
        found.update(fresh)
        waiting += fresh
    return found


def _carried(source: Source) -> Iterator[tuple[int, int]]:
    """(earlier, later) pairs that carriers ask for: what is done before a piece gets on stays before it, what is done
    on a carrier lies between getting on and coming off, and the rest comes behind.
    """
    carriers, own, route = source.network.carriers, set(source.own), source.network.operations.route
    for c in range(len(carriers.ids)):
        on = set(carriers.stretch.row(c)[0].tolist()) & own
        joins, leaves = (
            {k for k in links.row(c)[0].tolist() if k in on} for links in (carriers.joins, carriers.leaves)
        )
        for ends, there in ((joins, min), (leaves, max)):
            for r in {int(route[k]) for k in ends}:
                gate = there(k for k in ends if route[k] == r)
                for i in (i for i in own if route[i] == r and i != gate):
                    yield (gate, i) if i > gate else (i, gate)


def _checked(source: Source, operation: int) -> list[int]:
    """Operations above a check that make the faults it finds, and those it sends pieces back to."""
    network = source.network
    faults = network.operations.faults
    found: list[int] = []
    for check in (c for c in network.inspections if c.operation == operation):
        sought = {*check.faults}
        found += [k for k in source.own if k < operation and sought & set(faults.row(k)[0].tolist())]
        reactions: list[Reject | None] = [*check.rejects, check.other]
        while reactions:
            reaction = reactions.pop()
            if reaction is not None:
                found += [reaction.to] if reaction.to >= 0 else []
                reactions.append(reaction.otherwise)
    return found


def _makers(source: Source, operation: int) -> list[int]:
    """Other routes of the line that make what an operation takes."""
    network = source.network
    taken = {int(k) for k in network.operations.takes.row(operation)[0]}
    taken |= {k for choice in network.choices if choice.operation == operation for k in choice.items}
    own = network.operations.route[operation]
    return [r for r in source.routes if r != own and int(network.routes.item[r]) in taken]


def _assumed(source: Source, takt: float | None) -> tuple[str, ...]:
    """What was taken for granted in reading the line."""
    operations, tasks = source.network.operations, set(source.tasks)
    said = []
    if source.written.takt is None and takt is not None:
        said.append(f"Takt: the hours that the crews of the line share, over {source.total:.6g} pieces a day.")
    left = [operations.ids[i] for i in source.own if i not in tasks]
    alone = [operations.ids[i] for i in source.tasks if runs_alone(source.network, i)]
    several = [name for name in source.names if source.people[name] > 1]
    moved = [name for name in source.names if source.moves(name)] if len(set(source.crew.values())) > 1 else []
    for start, names in (
        ("Nobody stands by, so this is no work to share", left),
        ("A machine runs on its own here, and hands-on time alone counts", alone),
        ("This takes more than one person at once, and its station is manned for it", several),
        ("Transport is done by whoever works at its station", moved),
        ("Setting up by the count is spread over the pieces between", source.times.with_setups),
    ):
        if names:
            said.append(f"{start}: {_listed([step_called(source.network.plan, name) for name in names])}.")
    if some := _some_can(source):
        said.append(
            f"Stations are manned by a whole crew, so what only some of it can do, or slower, is left out: {some}."
        )
    if source.runs is None:
        said.append("Every operation is done once for a piece: scrap and rework are not counted.")
    models = source.network.models
    if source.written.worst_model is not None and len(source.pieces) < 2 and models is None:
        said.append("The line makes one product, so there is no worst one to limit.")
    return tuple(said)


def _some_can(source: Source) -> str:
    """Work of other crews of the line that some of a crew can do, and not all of it at full pace."""
    crews = dict.fromkeys(source.crew.values())
    counted = line_skills(source, crews)
    plan = source.network.plan
    return ", ".join(
        f"{name} for {other}".replace("_", " ")
        for name in crews
        for other in plan.crews[name].can
        if other in crews and other not in counted.get(name, ())
    )


def _listed(names: Sequence[str]) -> str:
    shown = ", ".join(names[:6])
    return f"{shown} and {len(names) - 6} more" if len(names) > 6 else shown
