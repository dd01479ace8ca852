"""A plan that gets stuck: nothing is at work, nothing will ever start again. It is said who waits for what."""

from __future__ import annotations

import numpy as np

from linewright.base.calendar import DAY
from linewright.base.problems import Problem, ProblemsError
from linewright.simulate.checks import runners
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.vessels import least_in
from linewright.simulate.layout_base import Layout

MOST_NAMED = 12


class StuckError(ProblemsError):
    """The plan comes to a standstill: as it is let in and played, it makes nothing more."""


def say_if_stuck(engine: Engine, layout: Layout, before: int, replication: int) -> int:
    """Completions so far; raises StuckError where a whole week has brought none and none is under way."""
    done = int(engine.m[r.COMPLETIONS]) + sum(int(engine.m[row + r.X_CLOSED]) for row in layout.windows)
    if done != before or _under_way(engine):
        return done
    if int(engine.m[r.PIECES]) == 0 and not _flows_stand(engine):
        return done
    names = waiting(engine, layout)
    when = f"by day {engine.now // DAY} of replication {replication + 1}"
    what = "nothing ever starts" if done == 0 else f"everything has come to a standstill {when}"
    raise StuckError(
        [
            Problem(
                "plan",
                f"{what}: " + "; ".join(names[:MOST_NAMED]) + ("; …" if len(names) > MOST_NAMED else ""),
                hint="give one of these more room, or let in less at a time",
            )
        ]
    )


def _under_way(engine: Engine) -> bool:
    """Whether any work, standing or repair is running."""
    size = int(engine.m[r.HEAP_SIZE])
    rows = engine.h[2 : 3 * size : 3]
    kinds = engine.m[rows]
    mending = (kinds == r.STOPPAGE) & (engine.m[rows + r.Z_BROKEN] == 1)
    resting = (kinds == r.WINDOW) & (engine.m[rows + r.J_PIECE] != 0)
    return bool((np.isin(kinds, (r.PLACE, r.CARRIED)) | mending | resting).any())


def _flows_stand(engine: Engine) -> bool:
    """Whether a flow cannot go on because something is missing or full, not because nothing more is wanted."""
    return any(_flow_held_up_by(engine, runner) for runner in runners(engine))


def _flow_held_up_by(engine: Engine, runner: int) -> int:
    """The bound that holds a runner at no rate, but for what is wanted; 0: none."""
    m, flows = engine.m, int(engine.m[r.FLOWS])
    n, acts = int(m[flows + f.F_N]), int(m[flows + f.F_ACTS])
    j = (runner - int(m[flows + f.F_RUNNERS])) // f.RUNNER_WIDTH
    if engine.x[runner + f.N_RATE] > 0.0 or m[runner + f.N_MODE] != f.READY or j >= n:
        return 0
    for b in range(int(m[flows + f.F_N_BOUNDS])):
        bound = int(m[flows + f.F_BOUNDS]) + b * f.BOUND_WIDTH
        limits = m[m[flows + f.F_PRESENT] + b * acts + j] == 1
        if limits and m[bound + f.B_HOLDS] == 1 and m[bound + f.B_KIND] != f.WANTED:
            return bound
    return 0


def _standing_flows(engine: Engine, layout: Layout) -> list[str]:
    """Flows that stand, and what for."""
    said = []
    for runner in runners(engine):
        bound = _flow_held_up_by(engine, runner)
        if bound:
            op = layout.network.operations.ids[int(engine.m[int(engine.m[runner + f.N_OP]) + r.O_INDEX])]
            kind = int(engine.m[bound + f.B_KIND])
            what = name_of(layout, int(engine.m[bound + f.B_OF])) if kind in (f.ON_HAND, f.ROOM) else "its neighbour"
            said.append(f"{op} waits for {what}")
    return said


def waiting(engine: Engine, layout: Layout) -> list[str]:
    """Who waits for what, in words: places with pieces first, then queues."""
    said = []
    places = [(s, p) for s, rows in enumerate(layout.places) for p in rows if engine.m[p + r.VISIT] != 0]
    said += [_place(engine, layout, layout.network.stations.ids[s], p) for s, p in places]
    benches = [int(p) for p in engine.rows_of(r.PLACE)]
    said += [_place(engine, layout, "a bench", p) for p in benches]
    for v, row in dict(zip(layout.shared, layout.visits, strict=True)).items():
        count = int(engine.m[row + r.V_WAITING])
        if count:
            first = layout.network.operations.ids[int(layout.network.visits.first[v])]
            said.append(f"{count} wait to begin {first}")
    return list(dict.fromkeys(said + _held_back(engine, layout) + _standing_flows(engine, layout)))


def _held_back(engine: Engine, layout: Layout) -> list[str]:
    """Pieces that wait for the next sample of a check."""
    m, pieces = engine.m, engine.rows_of(r.PIECE)
    waiting = m[pieces[m[pieces + r.WHERE] == r.HELD_BACK] + r.OPERATION]
    return [
        f"{int((waiting == row).sum())} are held back until the next sample at {layout.network.operations.ids[o]}"
        for o, row in enumerate(layout.operations)
        if (waiting == row).any()
    ]


def _place(engine: Engine, layout: Layout, station: str, place: int) -> str:
    m = engine.m
    count = int(m[place + r.COUNT])
    holds = f"{station} holds {count} piece{'s' if count != 1 else ''}"
    if m[place + r.WAITS_AT] != 0:
        return f"{holds} and waits for {name_of(layout, int(m[place + r.WAITS_AT]))}{_operation(engine, layout, place)}"
    piece = int(m[place + r.HEAD])
    if piece and m[piece + r.WHERE] in (r.EXITS, r.GIVES):
        return f"{holds} and waits for room for {_leaving(engine, layout, piece)}"
    if piece and m[piece + r.WHERE] in (r.LEAVES, r.QUEUES):
        onward = int(m[piece + r.OPERATION])
        return f"{holds} that cannot go on to {layout.network.operations.ids[int(m[onward + r.O_INDEX])]}"
    if piece and m[piece + r.WHERE] == r.TO_DO:
        op = int(m[piece + r.OPERATION])
        least = least_in(engine.x, place, op)
        return f"{holds} and waits for a load of {least:g}{_operation(engine, layout, place, op)}"
    return holds


def _operation(engine: Engine, layout: Layout, place: int, op: int = 0) -> str:
    op = op or int(engine.m[place + r.STAGE])
    return f" to do {layout.network.operations.ids[int(engine.m[op + r.O_INDEX])]}" if op else ""


def _leaving(engine: Engine, layout: Layout, piece: int) -> str:
    item = int(engine.m[int(engine.m[piece + r.ROUTE]) + r.U_ITEM])
    return layout.network.items.ids[layout.items.index(item)]


def name_of(layout: Layout, row: int) -> str:
    """A crew, item, tool or store by its name in the plan."""
    network = layout.network
    for rows, ids, kind in (
        (layout.crews, network.crews.ids, "people of"),
        (layout.items, network.items.ids, "units of"),
        (layout.tools, network.tools.ids, "tool"),
        (layout.carriers, network.carriers.ids, "a free carrier"),
        (layout.stores, network.stores.ids, "room in"),
    ):
        if row in rows:
            return f"{kind} {ids[rows.index(row)]}"
    return "something"
