"""Operations as rows: when and how they are done, by whom and with what.

Plain numbers are written a column at a time, for all operations together; what needs rows of its own (people, parts,
random times) follows operation by operation.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from linewright.network.model import DIRECT, NOWHERE, Bools, Ints, Links
from linewright.simulate.kernel import rows as r
from linewright.simulate.layout_base import (
    Layout,
    any_amount,
    calendar_row,
    counted,
    crew_list,
    key_of,
    limit_of_load,
    time_row,
)


def lay_out_operations(layout: Layout) -> None:
    """All columns of all operations but their checks."""
    if not layout.operations:
        return
    _ways(layout)
    _loads(layout)
    _habits(layout)
    choices: dict[int, list[int]] = {}
    for k, choice in enumerate(layout.network.choices):
        choices.setdefault(choice.operation, []).append(k)
    changeovers = _changeovers(layout)
    times, needs, shifts = _Times(layout), _Needs(layout), _Shifts(layout)
    for o, row in enumerate(layout.operations):
        times.lay_out(o, row)
        needs.lay_out(o, row, choices.get(o, ()))
        _places(layout, o, row)
        layout.builder.m[row + r.O_CHANGEOVERS] = layout.builder.pairs(changeovers.get(o, ()))
        layout.builder.m[row + r.O_SHIFTS] = shifts.row_of(o)


def _whole(layout: Layout, column: int, values: Iterable[int]) -> None:
    """A column of whole numbers of all operations, whose rows lie one behind the other."""
    first = layout.operations[0] + column
    layout.builder.m[first : first + len(layout.operations) * r.O_WIDTH : r.O_WIDTH] = list(values)


def _real(layout: Layout, column: int, values: Iterable[float]) -> None:
    """A column of real numbers."""
    first = layout.operations[0] + column
    layout.builder.x[first : first + len(layout.operations) * r.O_WIDTH : r.O_WIDTH] = list(values)


def _ways(layout: Layout) -> None:
    """Where each operation stands in its route, what follows it, and its names."""
    network = layout.network
    p = network.operations
    number = np.arange(len(p.ids))
    last = number == network.routes.last[p.route]
    rows = [*layout.operations, 0]
    loads_with = layout.loads_with
    _whole(layout, r.O_ROUTE, (layout.routes[k] for k in p.route.tolist()))
    _whole(layout, r.O_POSITION, layout.positions)
    _whole(layout, r.O_INDEX, number.tolist())
    _whole(layout, r.O_VISIT, (layout.visits[v] for v in p.visit.tolist()))
    _whole(layout, r.O_ITEM, (layout.items[i] for i in layout.changing))
    _whole(layout, r.O_MIXES, (rows[k] if k >= 0 else 0 for k in loads_with))
    _whole(layout, r.O_NEXT, (0 if end else row for row, end in zip(rows[1:], last.tolist(), strict=True)))
    _whole(layout, r.O_ENDS, (number == network.visits.last[p.visit]).astype(int).tolist())
    _whole(layout, r.O_THEN, (_then(layout, then) for then in p.then_to.tolist()))
    _whole(layout, r.O_HOLDS, (last & (p.then_to == DIRECT)).astype(int).tolist())
    keys = [key_of(name) for name in p.ids]
    _whole(layout, r.O_KEY, (key for key, _ in keys))
    _whole(layout, r.O_KEY_HIGH, (key for _, key in keys))
    _splits(layout, last)


def _then(layout: Layout, then: int) -> int:
    if then == DIRECT or (then >= 0 and float(layout.network.stores.room[then]) == 0.0):
        return -1
    return layout.stores[then] if then >= 0 else 0


def _splits(layout: Layout, last: Bools) -> None:
    """Pieces that come out of one, at each operation and by the end of the route."""
    network = layout.network
    p = network.operations
    are_counted = np.array([counted(network, o) for o in range(len(p.ids))])
    _whole(layout, r.O_COUNTED, are_counted.astype(int).tolist())
    _whole(layout, r.O_SPLITS, (are_counted & ~last & (p.pieces_out != 1.0)).astype(int).tolist())
    _real(layout, r.O_OUT, p.pieces_out.tolist())
    _real(layout, r.O_SURVIVES, (p.survives / (1.0 - p.ullage * p.stand.mean)).tolist())
    _real(layout, r.O_ULLAGE, p.ullage.tolist())
    to_go = [1.0] * len(p.ids)
    for first, end in zip(network.routes.first.tolist(), network.routes.last.tolist(), strict=True):
        changes = np.flatnonzero(p.pieces_out[first : end + 1] != 1.0)
        for o in range(first, first + int(changes.max(initial=-1)) + 1):
            to_go[o] = float(np.prod(p.pieces_out[o : end + 1]))
    _real(layout, r.O_TO_GO, to_go)


def _loads(layout: Layout) -> None:
    """How many pieces are worked on together, and how many a place takes when a visit begins."""
    network = layout.network
    p = network.operations
    by_size = p.per_size > 0
    _real(layout, r.O_LEAST, np.where(by_size, p.size_least, p.load_least).tolist())
    _real(layout, r.O_MOST, np.where(by_size, p.size_most, p.load_most).tolist())
    _real(layout, r.O_PER_SIZE, np.where(by_size, p.per_size, 0.0).tolist())
    limits = [limit_of_load(network, o) for o in range(len(p.ids))]
    room, closes = list(limits), [0] * len(p.ids)
    for first, last in zip(network.visits.first.tolist(), network.visits.last.tolist(), strict=True):
        most = max(limits[first : last + 1])
        for o in range(last, first - 1, -1):
            room[o] = max(limits[o], room[o + 1]) if o < last else limits[o]
            closes[o] = int(limits[o] >= most)
    _real(layout, r.O_ROOM, room)
    _whole(layout, r.O_CLOSES, closes)


def _habits(layout: Layout) -> None:
    """How the work goes: who is by for how long, when it stops, when a place is set up, cleaned and started."""
    network = layout.network
    p = network.operations
    for column, values in (
        (r.O_EACH, p.each), (r.O_HANDS_ALL, p.hands_all), (r.O_HANDS_START, p.hands_start), (r.O_STOP, p.stop),
        (r.O_HANDS_END, p.hands_end), (r.O_PER_LOAD, p.faults_per_load), (r.O_WAITS, p.waits),
        (r.O_SETUP_WHEN, _ever(p.setup_when, p.setup_every, r.EVERY)), (r.O_START_WHEN, p.start_when),
        (r.O_CLEAN_WHEN, _ever(p.clean_when, p.clean_every, r.CLEAN_EVERY)),
    ):  # fmt: skip
        _whole(layout, column, values.astype(np.int64).tolist())
    _whole(layout, r.O_ANY, (int(any_amount(network, o)) for o in range(len(p.ids))))
    _real(layout, r.O_SETUP_EVERY, p.setup_every.tolist())
    _real(layout, r.O_CLEAN_EVERY, p.clean_every.tolist())
    _real(layout, r.O_SPOILS, p.start_scrap.tolist())


def _ever(when: Ints, every: np.ndarray, by_count: int) -> Ints:
    """When it is done; 0 where it is due after endless work."""
    found: Ints = np.where((when != by_count) | np.isfinite(every), when, 0)
    return found


class _Times:
    """The rows of the random times."""

    def __init__(self, layout: Layout) -> None:
        p = layout.network.operations
        self.layout = layout
        self.columns = [
            (column, durations, durations.shape.tolist(), durations.parameters.tolist())
            for column, durations in (
                (r.O_TIME, p.time), (r.O_STAND, p.stand), (r.O_SETUP, p.setup), (r.O_CLEAN, p.clean),
                (r.O_START, p.start),
            )
        ]  # fmt: skip

    def lay_out(self, o: int, row: int) -> None:
        """Those of one operation."""
        m, known = self.layout.builder.m, self.layout.times
        for column, durations, shape, parameters in self.columns:
            there = known.get((shape[o], *parameters[o]))
            m[row + column] = there if there is not None else time_row(self.layout, durations, o)


class _Needs:
    """People, tools, parts, by-products and faults."""

    def __init__(self, layout: Layout) -> None:
        p = layout.network.operations
        self.layout = layout
        self.tends = p.tends.tolist()
        self.parts = [
            (r.O_TAKES, _Rows(p.takes)), (r.O_TAKES_LOAD, _Rows(p.takes_per_load)), (r.O_GIVES, _Rows(p.gives)),
            (r.O_SETUP_TAKES, _Rows(p.setup_takes)), (r.O_CLEAN_TAKES, _Rows(p.clean_takes)),
        ]  # fmt: skip
        self.tools, self.faults = _Rows(p.tools), _Rows(p.faults)

    def lay_out(self, o: int, row: int, choices: Iterable[int]) -> None:
        """Those of one operation."""
        layout, b, p = self.layout, self.layout.builder, self.layout.network.operations
        b.m[row + r.O_CREWS] = crew_list(layout, p.crews, o, int(self.tends[o]))
        b.m[row + r.O_SETUP_CREWS] = crew_list(layout, p.setup_crews, o, 1)
        b.m[row + r.O_CLEAN_CREWS] = crew_list(layout, p.clean_crews, o, 1)
        for column, rows in self.parts:
            taken = rows.of(o)
            if taken:
                b.m[row + column] = b.amounts((layout.items[i], units) for i, units in taken)
        b.m[row + r.O_CHOICES] = b.list_of(_choice(layout, k) for k in choices)
        b.m[row + r.O_TOOLS] = b.pairs((layout.tools[t], int(n)) for t, n in self.tools.of(o))
        faults = self.faults.of(o)
        base = b.row(1 + 2 * len(faults)) if faults else 0
        for k, (fault, chance) in enumerate(faults):
            b.m[base] = len(faults)
            b.m[base + 1 + 2 * k] = fault
            b.x[base + 1 + 2 * k] = chance
        b.m[row + r.O_FAULTS] = base


class _Rows:
    """Links as plain numbers, which are read faster one by one."""

    def __init__(self, links: Links) -> None:
        self.starts, self.index, self.amount = links.starts.tolist(), links.index.tolist(), links.amount.tolist()

    def of(self, o: int) -> list[tuple[int, float]]:
        """Index and amount of one row."""
        first, after = self.starts[o], self.starts[o + 1]
        if first == after:  # most operations have none
            return []
        return list(zip(self.index[first:after], self.amount[first:after], strict=True))


def _choice(layout: Layout, k: int) -> int:
    """A choice with equal shares; the true ones are put in with the quotas."""
    b, choice = layout.builder, layout.network.choices[k]
    n = len(choice.items)
    row = b.row(1 + 3 * n)
    b.m[row] = n
    for i, (item, units) in enumerate(zip(choice.items, choice.units, strict=True)):
        b.m[row + 1 + i] = layout.items[item]
        b.x[row + 1 + i] = units
        share = choice.shares[i]
        b.x[row + 1 + n + i] = share if share == share else (1.0 if i == 0 else 0.0)
    return row


def _places(layout: Layout, o: int, row: int) -> None:
    """Setup, cleaning and start-up count for each place, variants of an operation together."""
    network, b = layout.network, layout.builder
    setup, clean, start = (b.m[row + column] for column in (r.O_SETUP_WHEN, r.O_CLEAN_WHEN, r.O_START_WHEN))
    if not (setup or clean or start):
        return
    places = 1 + sum(len(of_station) for of_station in layout.places)
    counts = layout.counts.setdefault(int(network.origin.operation[o]) if network.origin is not None else o, {})

    def of_places(column: int) -> tuple[int, bool]:
        """One number for each place; and whether they are new."""
        new = column not in counts
        if new:
            counts[column] = b.row(places)
        b.m[row + column] = counts[column]
        return counts[column], new

    if setup:
        of_places(r.O_SETUP_PLACES)
    if clean:
        base, new = of_places(r.O_CLEAN_PLACES)
        if new and clean == r.CLEAN_EVERY:
            b.x[base : base + places] = [float(network.operations.clean_every[o])] * places
    if start:
        base, _ = of_places(r.O_START_PLACES)
        b.m[base : base + places] = [-1] * places


def _changeovers(layout: Layout) -> dict[int, list[tuple[int, int]]]:
    """Operation to pairs of the one that was set up before and the time it takes to change."""
    found: dict[int, list[tuple[int, int]]] = {}
    changes = layout.network.changeovers
    for before, after, time in zip(changes.before.tolist(), changes.after.tolist(), changes.time.tolist(), strict=True):
        found.setdefault(int(after), []).append((layout.operations[int(before)], int(time)))
    return found


class _Shifts:
    """The calendars that tell shifts."""

    def __init__(self, layout: Layout) -> None:
        p = layout.network.operations
        self.layout = layout
        self.crews, self.stations = _Rows(p.crews), _Rows(p.stations)
        self.rows: dict[int, int] = {}

    def row_of(self, o: int) -> int:
        """An operation's: its first crew's, else its station's, else when anybody works."""
        network = self.layout.network
        crews, stations = self.crews.of(o), self.stations.of(o)
        number = int(network.crews.calendar[crews[0][0]]) if crews else NOWHERE
        if not crews and stations:
            number = int(network.stations.calendar[stations[0][0]])
        if number not in self.rows:
            calendar = network.calendars[number] if number != NOWHERE else network.open_calendar
            self.rows[number] = calendar_row(self.layout, calendar)
        return self.rows[number]
