"""Flows as rows: runners, what bounds them, the matrix of who changes which slack, buffers where loads meet flows."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from linewright.network.lending import able_to
from linewright.network.model import Network
from linewright.simulate.flowing import flows, takers
from linewright.simulate.kernel import flow_rows as f
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import Layout, load_of
from linewright.simulate.letting_in import lot_of

LIMIT = (f.ON_HAND, f.IN_BUFFER, f.ROOM, f.WANTED, f.DIRECTLY, f.ALLOWED)
"""Kinds of bounds that may hold somebody up."""
STRETCHES = 256
"""Stretches of a belt that are told apart; where there are more, the last two become one."""
Column = dict[tuple[int, int], float]
"""Change of slack per piece, by bound (kind, row)."""


@dataclass(slots=True)
class Runners:
    """What is known of the flows while they are laid out; columns are per piece."""

    operations: list[int]
    rows: list[int] = field(default_factory=list)
    mains: list[Column] = field(default_factory=list)
    outs: list[Column] = field(default_factory=list)
    options: list[Column] = field(default_factory=list)
    items: dict[int, None] = field(default_factory=dict)
    stores: dict[int, None] = field(default_factory=dict)
    bounds: dict[tuple[int, int], int] = field(default_factory=dict)


def lay_out_flows(layout: Layout) -> None:
    """Everything of the flows; ``let_in`` has said how work is let in. Raises ProblemsError for stores too small."""
    network = layout.network
    flowing = [o for o, flow in enumerate(flows(network)) if flow]
    if not flowing:
        return
    b = layout.builder
    row = b.m[r.FLOWS] = b.row(f.FLOWS_WIDTH, f.FLOWING)
    made = Runners(flowing)
    _buffers(layout, made)
    _takes_fit(layout)
    _people_for_joined(layout, flowing)
    _runners(layout, row, made)
    _bounds(layout, row, made)
    b.m[row + f.F_BUFFERS] = _list(layout, list(layout.buffers.values()))
    b.m[row + f.F_WATCHES] = _list(layout, _watches(layout, made))
    b.m[row + f.F_DIRTY] = b.m[row + f.F_LOOK] = 1
    _watch_and_move(layout, row, made)
    b.m[r.MARGIN] += 8 * len(made.rows) + 8
    layout.problems.raise_errors()


def _list(layout: Layout, rows: list[int]) -> int:
    return layout.builder.list_of(rows) or layout.builder.row(1)


def _buffers(layout: Layout, made: Runners) -> None:
    """Between two operations of a route, at least one of which flows; by the second."""
    network, b, p = layout.network, layout.builder, layout.network.operations
    flowing = flows(network)
    for o in range(1, len(p.ids)):
        if p.route[o] != p.route[o - 1] or not (flowing[o] or flowing[o - 1]):
            continue
        row = layout.buffers[o] = b.row(f.BUFFER_WIDTH)
        store = b.m[layout.operations[o - 1] + r.O_THEN]
        b.m[row + f.U_OP] = layout.operations[o]
        b.m[row + f.U_STORE] = max(store, 0)
        b.m[row + f.U_DIRECT] = int(store < 0)
        if not flowing[o]:
            b.m[row + f.U_LOADS] = 1
            b.x[row + f.U_LOT] = _lot(network, o)
            _room_for(layout, store, b.x[row + f.U_LOT], p.paths[o])
        if not flowing[o - 1]:
            b.m[row + f.U_QUEUE] = layout.visits[int(p.visit[o])]
        if store > 0:
            made.stores[store] = None


def _lot(network: Network, o: int) -> float:
    """What is put together of a flow for an operation that does not flow: its load, or its least."""
    if load_of(network, o) > 0:
        return float(min(network.operations.load_least[o], network.operations.load_most[o]))
    return lot_of(network, int(network.operations.route[o]))


def _room_for(layout: Layout, store: int, take: float, path: str) -> None:
    if store > 0 and layout.builder.x[store + r.W_ROOM] < take * (1 - 1e-9):
        name = layout.network.stores.ids[layout.stores.index(store)]
        layout.problems.error(
            path, f"{name} has not room for what is taken from it at once", value=f"{take:g}",
            expected=f"at most its room of {layout.builder.x[store + r.W_ROOM]:g}", hint="give the store more room",
        )  # fmt: skip


def _takes_fit(layout: Layout) -> None:
    """Whatever flows into a store must be able to come to as much as is taken from it at once."""
    network, b, p = layout.network, layout.builder, layout.network.operations
    flowing = flows(network)
    flown = {int(network.routes.item[p.route[o]]) for o in np.flatnonzero(flowing).tolist()}
    for o in np.flatnonzero(~np.array(flowing)).tolist():
        least = float(p.load_least[o]) if load_of(network, o) > 0 else 1.0
        for links, pieces in ((p.takes, least), (p.takes_per_load, 1.0)):
            for item, units in zip(*(part.tolist() for part in links.row(o)), strict=True):
                if item in flown and not network.items.counted[item]:
                    _room_for(layout, b.m[layout.items[item] + r.I_STORE], units * pieces, p.paths[o])


def _people_for_joined(layout: Layout, flowing: list[int]) -> None:
    """Flows handed over directly run together or not at all: there must be people for all of them at once."""
    network, p = layout.network, layout.network.operations
    joined: list[int] = []
    for o in flowing:
        buffer = layout.buffers.get(o, 0)
        joined = [*joined, o] if buffer and layout.builder.m[buffer + f.U_DIRECT] else [o]
        needed: dict[int, float] = {}
        for q in joined:
            for crew, people in zip(*(part.tolist() for part in p.crews.row(q)), strict=True):
                needed[crew] = needed.get(crew, 0.0) + people / float(p.tends[q])
        for crew, people in needed.items():
            most = int(able_to(network, crew).level.max())
            if people > most * (1 + 1e-9) and len(joined) > 1:
                names = ", ".join(p.ids[q] for q in joined)
                layout.problems.error(
                    f"{p.paths[o]}.crew", f"{names} hand over directly, so they run at the same time",
                    value=f"{people:g} of {network.crews.ids[crew]}", expected=f"at most {most}",
                    hint="name a store between them",
                )  # fmt: skip


def _runners(layout: Layout, row: int, made: Runners) -> None:
    """One runner for every place of a station that a flow has to itself, one behind the other."""
    network, b = layout.network, layout.builder
    places = [(o, place) for o in made.operations for place in layout.places[_station(network, o)]]
    first = b.row(len(places) * f.RUNNER_WIDTH)
    b.m[row + f.F_RUNNERS], b.m[row + f.F_N] = first, len(places)
    for k, (o, place) in enumerate(places):
        runner = first + k * f.RUNNER_WIDTH
        made.rows.append(runner)
        _runner(layout, runner, o, place)
        _columns(layout, runner, o, made)
        b.m[runner + f.N_OPTION] = len(places) + len(made.options)
        made.options += _options(layout, o, made)
    for o in made.operations:
        station = layout.stations[_station(network, o)]
        b.m[station + r.S_EMPTY] = 0
        b.m[station + r.S_VISITS] = b.row(1)


def _station(network: Network, o: int) -> int:
    return int(network.operations.stations.row(o)[0][0])


def _runner(layout: Layout, runner: int, o: int, place: int) -> None:
    network, b, p = layout.network, layout.builder, layout.network.operations
    route = int(p.route[o])
    item = layout.items[int(network.routes.item[route])]
    b.m[runner + f.N_PLACE], b.m[runner + f.N_OP] = place, layout.operations[o]
    b.m[runner + f.N_ROUTE], b.m[runner + f.N_ITEM] = layout.routes[route], item
    b.m[runner + f.N_IN] = layout.buffers.get(o, 0)
    b.m[runner + f.N_OUT] = layout.buffers.get(o + 1, 0) if o != int(network.routes.last[route]) else 0
    b.m[runner + f.N_CHOICES] = b.m[layout.operations[o] + r.O_CHOICES]
    b.m[runner + f.N_SHORT_OF] = r.SHORT
    b.m[runner + f.N_STARTS_AT] = -1
    b.x[runner + f.N_CAP] = 1.0 / float(p.each[o])
    if p.dwell[o]:
        belt = b.m[runner + f.N_BELT] = b.row(f.BELT_WIDTH + 2 * STRETCHES)
        b.m[belt + f.E_COUNT], b.m[belt + f.E_SIZE] = 1, STRETCHES
        b.x[belt + f.E_LENGTH] = b.x[belt + f.BELT_WIDTH] = float(p.dwell[o])
    if b.m[runner + f.N_IN] == 0:
        b.m[runner + f.N_FIRST] = 1
        b.m[item + r.I_MADE] = 2


def _add(column: Column, key: tuple[int, int], amount: float) -> None:
    column[key] = column.get(key, 0.0) + amount


def _put(layout: Layout, column: Column, item: int, units: float, made: Runners) -> None:
    """Units of an item more on hand: less room in its store, less of it wanted."""
    b = layout.builder
    made.items[item] = None
    if b.m[item + r.I_ENDLESS]:
        return
    _add(column, (f.ON_HAND, item), units)
    if b.m[item + r.I_STORE]:
        made.stores[b.m[item + r.I_STORE]] = None
        _add(column, (f.ROOM, b.m[item + r.I_STORE]), -units)
    if b.m[item + r.I_MADE] == 2 and b.m[item + r.I_MODE] in (r.BY_STOCK, r.BY_PULL):
        _add(column, (f.WANTED, item), -units)


def _columns(layout: Layout, runner: int, o: int, made: Runners) -> None:
    """What a piece through a runner changes, and what its good output changes."""
    b, p = layout.builder, layout.network.operations
    main: Column = {}
    out: Column = {}
    op, item = layout.operations[o], b.m[runner + f.N_ITEM]
    to_go, survives = b.x[op + r.O_TO_GO], b.x[op + r.O_SURVIVES]
    paced = b.m[item + r.I_MADE] == 2
    lost = (1.0 - survives) * to_go
    leaves = out if p.dwell[o] else main  # what dwells is lost as it leaves
    _add(main, (f.OPEN_UNITS, item), to_go if b.m[runner + f.N_FIRST] else 0.0)
    _add(leaves, (f.OPEN_UNITS, item), -lost)
    if b.m[runner + f.N_FIRST] and paced:
        _add(main, (f.WANTED, item), -to_go)
        if b.m[item + r.I_MODE] >= r.BY_PUSH:
            _add(main, (f.ALLOWED, item), -to_go)
    if paced and survives < 1.0:
        _add(leaves, (f.WANTED, item), lost)
    for links, sign in ((p.takes, -1.0), (p.gives, 1.0)):
        for i, units in zip(*(part.tolist() for part in links.row(o)), strict=True):
            _put(layout, main, layout.items[i], sign * float(units), made)
    _fill(layout, main, b.m[runner + f.N_IN], -1.0)
    pieces = survives * b.x[op + r.O_OUT]
    if b.m[runner + f.N_OUT]:
        _fill(layout, out, b.m[runner + f.N_OUT], pieces)
    else:
        if paced and b.m[item + r.I_MODE] != r.BY_TAKT:
            _add(out, (f.WANTED, item), pieces)  # open no more
        _add(out, (f.OPEN_UNITS, item), -pieces)
        if b.m[item + r.I_MODE] in (r.BY_STOCK, r.BY_PULL, r.BY_PUSH_PART):
            _put(layout, out, item, pieces, made)
        else:
            _add(out, (f.FINISHED_UNITS, item), pieces)
    made.mains.append(main)
    made.outs.append(out)


def _fill(layout: Layout, column: Column, buffer: int, pieces: float) -> None:
    if buffer == 0:
        return
    b = layout.builder
    _add(column, (f.IN_BUFFER, buffer), pieces)
    if b.m[buffer + f.U_STORE]:
        _add(column, (f.ROOM, b.m[buffer + f.U_STORE]), -pieces)
    if b.m[buffer + f.U_DIRECT]:
        _add(column, (f.DIRECTLY, buffer), -pieces)


def _options(layout: Layout, o: int, made: Runners) -> list[Column]:
    """One column for every option of every choice of an operation."""
    found = []
    for choice in layout.network.choices:
        if choice.operation == o:
            for item, units in zip(choice.items, choice.units, strict=True):
                column: Column = {}
                _put(layout, column, layout.items[item], -units, made)
                found.append(column)
    return found


def _bounds(layout: Layout, row: int, made: Runners) -> None:
    """Bounds that somebody can reach, and the matrix."""
    b, n = layout.builder, len(made.rows)
    columns = [*made.mains, *made.outs, *made.options]
    kept = [(f.ON_HAND, item) for item in _touched(layout, made)] + [(f.ROOM, store) for store in made.stores]
    limiting = [key for column in columns for key, amount in column.items() if amount < 0.0 and key[0] in LIMIT]
    moving = [key for column in columns for key in column if key[0] in (f.OPEN_UNITS, f.FINISHED_UNITS, f.IN_BUFFER)]
    keys = list(dict.fromkeys([*limiting, *kept, *moving]))
    dwelling = [runner for runner in made.rows if b.m[runner + f.N_BELT]]
    acts = n + len(made.options) + len(dwelling)
    first = b.row(max(len(keys), 1) * f.BOUND_WIDTH)
    matrix = b.row(len(keys) * len(columns) + 1)
    for k, key in enumerate(keys):
        bound = first + k * f.BOUND_WIDTH
        b.m[bound + f.B_KIND], b.m[bound + f.B_OF] = key
        for c, column in enumerate(columns):
            b.x[matrix + k * len(columns) + c] = column.get(key, 0.0)
        b.x[bound + f.B_GROSS] = _gross(layout, made, key) if key[0] in LIMIT else 0.0
    b.m[row + f.F_BOUNDS], b.m[row + f.F_N_BOUNDS], b.m[row + f.F_ACTS] = first, len(keys), acts
    b.m[row + f.F_MATRIX], b.m[row + f.F_COLUMNS] = matrix, len(columns)
    b.m[row + f.F_STALE] = 1
    b.m[row + f.F_ENTRIES] = b.row(len(keys) * (acts + 1) + 1)
    made.bounds = {key: first + k * f.BOUND_WIDTH for k, key in enumerate(keys)}
    for column_of, size in (
        (f.F_PRESENT, len(keys) * acts), (f.F_RATES, acts), (f.F_CAPS, acts), (f.F_ACTIVE, len(keys)),
        (f.F_SYSTEM, len(keys) * (len(keys) + 1)), (f.F_DRAWS, 2 * acts),
    ):  # fmt: skip
        b.m[row + column_of] = b.row(size + 1)
    for k, runner in enumerate(dwelling):
        b.m[runner + f.N_LEAVES] = n + len(made.options) + k
        b.m[b.m[row + f.F_CAPS] + n + len(made.options) + k] = -1
    for k, option in enumerate(made.options):
        own = next((key for key in option if key[0] == f.ON_HAND), None)
        b.m[b.m[row + f.F_DRAWS] + acts + n + k] = first + keys.index(own) * f.BOUND_WIDTH if own else 0
        owner = max(j for j in range(n) if b.m[made.rows[j] + f.N_OPTION] <= n + k)
        b.m[b.m[row + f.F_CAPS] + n + k] = owner


def _gross(layout: Layout, made: Runners, key: tuple[int, int]) -> float:
    """The most by which a slack can fall in a ns."""
    b, total, n = layout.builder, 0.0, len(made.rows)
    for j, runner in enumerate(made.rows):
        first = b.m[runner + f.N_OPTION] - n
        last = b.m[made.rows[j + 1] + f.N_OPTION] - n if j + 1 < n else len(made.options)
        parts = [made.mains[j], made.outs[j], *made.options[first:last]]
        total += b.x[runner + f.N_CAP] * sum(max(-part.get(key, 0.0), 0.0) for part in parts)
    return total


def _touched(layout: Layout, made: Runners) -> list[int]:
    """Items whose units on hand, or what is wanted of them, flows change."""
    ends = {layout.builder.m[runner + f.N_ITEM]: None for runner in made.rows}
    return [item for item in {**made.items, **ends} if not layout.builder.m[item + r.I_ENDLESS]]


def _watch_and_move(layout: Layout, row: int, made: Runners) -> None:
    """Cells in which others may change what concerns flows; and levels that flows change, whose seen values follow."""
    b = layout.builder
    cells = list(dict.fromkeys(_cells(layout, made)))
    base = b.m[row + f.F_WATCHED] = b.row(1 + 2 * len(cells))
    b.m[base] = len(cells)
    b.m[base + 1 : base + 1 + len(cells)] = cells
    movable: list[tuple[float, tuple[int, ...]]] = []
    spare = b.row(1)
    for (kind, of), bound in made.bounds.items():
        cell, area, since, most, sign = _level(kind, of)
        if cell:
            seen = base + 1 + len(cells) + cells.index(cell) if cell in cells else spare
            movable.append((sign, (cell, seen, area, since, most, bound)))
    for column in (f.F_MOVABLE, f.F_MOVING):
        at = b.m[row + column] = b.row(1 + len(movable) * f.MOVING_WIDTH)
        if column == f.F_MOVABLE:
            b.m[at] = len(movable)
            for k, (sign, fields) in enumerate(movable):
                entry = at + 1 + k * f.MOVING_WIDTH
                b.m[entry : entry + f.MOVING_WIDTH] = fields
                b.x[entry] = sign


def _level(kind: int, of: int) -> tuple[int, int, int, int, float]:
    """The cell of a level, of its area, of its time and of the most that it was; and its sign as seen by the bound."""
    if kind == f.ON_HAND:
        return of + r.I_POOL, of + r.I_TIME, of + r.I_SINCE, 0, 1.0
    if kind == f.ROOM:
        return of + r.W_LEVEL, of + r.W_TIME, of + r.W_SINCE, of + r.W_MOST, -1.0
    columns = {f.IN_BUFFER: f.U_LEVEL, f.OPEN_UNITS: r.I_OPEN, f.FINISHED_UNITS: r.I_FINISHED}
    return (of + columns[kind] if kind in columns else 0), 0, 0, 0, 1.0


def _cells(layout: Layout, made: Runners) -> list[int]:
    b = layout.builder
    cells = []
    for item in _touched(layout, made):
        cells += [item + c for c in (r.I_POOL, r.I_OPEN, r.I_DUE, r.I_FINISHED, r.FIRST, r.LAST)]
        for links, columns in ((r.I_OPENERS, ()), (r.I_LEADERS, (r.FIRST, r.LAST))):
            rows = b.m[item + links]
            for other in b.m[rows + 1 : rows + 1 + b.m[rows]] if rows else []:
                cells += [other + c for c in columns]
                if links == r.I_OPENERS:
                    visits = b.m[other + r.S_VISITS]
                    for visit in b.m[visits + 1 : visits + 1 + b.m[visits]]:
                        cells += [visit + r.V_FIRST, visit + r.V_FILLING]
    for store in made.stores:
        cells += [store + r.W_LEVEL, store + r.FIRST]
    for runner in made.rows:
        place = b.m[runner + f.N_PLACE]
        cells += [place + c for c in (r.STATUS, r.DOWN, r.WAITS_AT, r.DUE_SCRAP, r.RESTART)]
        cells.append(b.m[place + r.AT] + r.S_OPEN)
        shifts = b.m[b.m[runner + f.N_OP] + r.O_SHIFTS]
        cells += [shifts + r.K_STEP] if shifts else []
    for buffer in layout.buffers.values():
        visit = b.m[buffer + f.U_QUEUE]
        cells += [buffer + f.U_LEVEL] + ([visit + r.V_FIRST, visit + r.V_AHEAD_FIRST] if visit else [])
    return cells


def _watches(layout: Layout, made: Runners) -> list[int]:
    """Items that somebody who does not flow takes or makes, and stores, whose levels flows change."""
    b = layout.builder
    taken = {layout.items[i] for i in takers(layout.network)}
    wanted = [i for i in _touched(layout, made) if i in taken or b.m[i + r.I_MADE] == 1]
    rows = []
    for of in [*wanted, *made.stores]:
        watch = b.row(f.WATCH_WIDTH)
        b.m[watch + f.W_OF] = of
        b.m[watch + f.W_BOUND] = made.bounds[f.ROOM if of in made.stores else f.ON_HAND, of]
        b.x[watch + f.W_NEEDS] = -1.0
        rows.append(watch)
    return rows
