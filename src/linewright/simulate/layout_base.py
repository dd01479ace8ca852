"""What every part of the layout shares: where the rows are, calendars, times, people, pieces and loads."""

from __future__ import annotations

import hashlib
from copy import copy
from dataclasses import dataclass, field

import numpy as np

from linewright.base.calendar import DAY, WEEK, Calendar, shifts_begin
from linewright.base.problems import Problems
from linewright.network.model import Durations, Links, Network
from linewright.network.season import Season
from linewright.simulate.kernel import rows as r
from linewright.simulate.memory import Builder, Template


@dataclass(slots=True)
class Layout:
    """Where everything is: bases of the rows of each table, in the network's order."""

    network: Network
    builder: Builder = field(default_factory=Builder)
    problems: Problems = field(default_factory=Problems)
    items: list[int] = field(default_factory=list)
    crews: list[int] = field(default_factory=list)
    lends: list[int] = field(default_factory=list)
    tools: list[int] = field(default_factory=list)
    carriers: list[int] = field(default_factory=list)
    windows: list[int] = field(default_factory=list)
    stores: list[int] = field(default_factory=list)
    routes: list[int] = field(default_factory=list)
    stations: list[int] = field(default_factory=list)
    places: list[list[int]] = field(default_factory=list)
    operations: list[int] = field(default_factory=list)
    visits: list[int] = field(default_factory=list)
    buffers: dict[int, int] = field(default_factory=dict)
    shared: list[int] = field(default_factory=list)
    positions: list[int] = field(default_factory=list)
    loads_with: list[int] = field(default_factory=list)
    changing: list[int] = field(default_factory=list)
    mates: dict[str, int] = field(default_factory=dict)
    counts: dict[int, dict[int, int]] = field(default_factory=dict)
    event_rows: list[int] = field(default_factory=list)
    cares: list[tuple[int, int]] = field(default_factory=list)
    users: dict[int, list[tuple[int, int]]] = field(default_factory=dict)
    calendars: dict[bytes, int] = field(default_factory=dict)
    times: dict[tuple[float, ...], int] = field(default_factory=dict)

    def copy(self) -> Layout:
        """The same once more, to be filled further without a change to this one."""
        other = copy(self)
        other.builder = Builder()
        other.builder.m, other.builder.x = self.builder.m.copy(), self.builder.x.copy()
        other.problems = Problems()
        for name in ("buffers", "event_rows", "cares", "calendars", "times", "mates"):
            setattr(other, name, copy(getattr(self, name)))
        other.users = {calendar: list(users) for calendar, users in self.users.items()}
        other.counts = {o: dict(counts) for o, counts in self.counts.items()}
        return other

    def template(self) -> Template:
        """The finished memory."""
        b = self.builder
        for calendar, users in self.users.items():
            b.m[calendar + r.K_USERS] = b.pairs(users)
        for calendar in self.calendars.values():
            if b.m[calendar + r.K_USERS] == 0:
                b.m[calendar + r.K_USERS] = b.row(1)
        b.m[r.EVENT_ROWS] = b.list_of(self.event_rows) or b.row(1)
        return Template(np.array(b.m, dtype=np.int64), np.array(b.x, dtype=np.float64), len(b.m))


def calendar_row(layout: Layout, calendar: Calendar) -> int:
    """The row of a calendar, made once."""
    key = calendar.at.tobytes() + calendar.level.tobytes()
    if key in layout.calendars:
        return layout.calendars[key]
    at, level = over_the_horizon(calendar, layout.network.season)
    b, n = layout.builder, len(at)
    row = b.row(r.CALENDAR_WIDTH + n * r.STEP_WIDTH, r.CALENDAR)
    b.m[row + r.K_STEPS] = n
    b.m[row + r.K_LONGEST] = _longest(calendar)
    begins = shifts_begin(np.array(at), np.array(level), max(WEEK, at[-1] + 1))
    shifts = 0
    for k in range(n):
        shifts += int(begins[k])
        step = row + r.CALENDAR_WIDTH + k * r.STEP_WIDTH
        b.m[step + r.K_AT] = at[k]
        b.m[step + r.K_LEVEL] = level[k]
        b.m[step + r.K_SHIFT] = shifts
    layout.calendars[key] = row
    layout.event_rows.append(row)
    return row


def over_the_horizon(calendar: Calendar, season: Season | None) -> tuple[list[int], list[int]]:
    """Times and levels of a calendar's steps: of the week, or where days are closed of the whole horizon and after."""
    if season is None or not season.closed.any():
        return calendar.at.tolist(), calendar.level.tolist()
    at: list[int] = []
    level: list[int] = []

    def add(time: int, there: int) -> None:
        if not level or level[-1] != there:
            at.append(time)
            level.append(there)

    closed = np.concatenate([np.zeros(season.weekday, np.bool_), season.closed, np.zeros(28, np.bool_)])
    edges = sorted({*calendar.at.tolist(), *range(0, WEEK, DAY)})
    for week in range(len(closed) // 7):
        for time in edges:
            add(week * WEEK + time, 0 if closed[7 * week + time // DAY] else calendar.at_time(time))
    return at, level


def _longest(calendar: Calendar) -> int:
    """The longest stretch of the week with the same people or more after it: anyone at all, breaks cut it."""
    longest = run = 0
    lengths = np.concatenate([calendar.lengths, calendar.lengths]).tolist()
    levels = np.concatenate([calendar.level, calendar.level]).tolist()
    for length, level in zip(lengths, levels, strict=True):
        run = run + length if level > 0 else 0
        longest = max(longest, run)
    return min(longest, WEEK) if (calendar.level == 0).any() else 1 << 62


def use_calendar(layout: Layout, calendar: Calendar, user: int, role: int) -> int:
    """Let a crew or a station follow a calendar."""
    row = calendar_row(layout, calendar)
    layout.users.setdefault(row, []).append((user, role))
    return row


def time_row(layout: Layout, durations: Durations, k: int) -> int:
    """The row of a random time, made once."""
    shape = int(durations.shape[k])
    a, b_, c = durations.parameters[k].tolist()
    key = (shape, a, b_, c)
    if key not in layout.times:
        b = layout.builder
        row = b.row(r.TIME_WIDTH)
        b.m[row + r.T_SHAPE] = shape
        b.m[row + r.T_FIXED] = round(a) if shape == 0 else 0
        b.x[row], b.x[row + 1], b.x[row + 2], b.x[row + 3] = a, b_, c, float(durations.mean[k])
        layout.times[key] = row
    return layout.times[key]


def table_of(layout: Layout, header: int, count: int, width: int, kind: int) -> list[int]:
    """The rows of a table, one behind the other; the header says where and how many."""
    b = layout.builder
    bases = [b.row(width, kind) for _ in range(count)]
    b.m[header] = bases[0] if bases else 0
    b.m[header + 1] = count
    return bases


def key_of(name: str) -> tuple[int, int]:
    """Two words of 32 bits that stand for a name in the keys of random numbers."""
    digest = hashlib.blake2b(name.encode(), digest_size=8).digest()
    return int.from_bytes(digest[:4], "big"), int.from_bytes(digest[4:], "big")


def crew_list(layout: Layout, crews: Links, k: int, tends: int) -> int:
    """A list of (crew, units of a person)."""
    if crews.starts[k] == crews.starts[k + 1]:
        return 0
    index, people = crews.row(k)
    pairs = []
    for crew, n in zip(index.tolist(), people.tolist(), strict=True):
        pairs.append((layout.crews[crew], max(int(n * r.PERSON / tends + 1e-6), 1)))
    return layout.builder.pairs(pairs)


def counted(network: Network, operation: int) -> bool:
    """Whether the pieces of an operation are counted one by one."""
    if "counted" not in network.notes:  # asked again and again for every operation
        network.notes["counted"] = network.items.counted[network.routes.item[network.operations.route]].tolist()
    found: bool = network.notes["counted"][operation]
    return found


def any_amount(network: Network, operation: int) -> bool:
    """Whether an operation takes whatever amount comes: it runs at a rate, or an amount has no load."""
    operations = network.operations
    return bool(operations.continuous[operation]) or (
        not counted(network, operation) and float(operations.load_most[operation]) == 1.0
    )


def limit_of_load(network: Network, operation: int) -> float:
    """The most pieces in a cycle, in the largest place that takes it."""
    operations = network.operations
    per_size = float(operations.per_size[operation])
    if per_size == 0.0:
        return load_of(network, operation)
    largest = max(network.stations.sizes[int(s)][-1][0] for s in operations.stations.row(operation)[0])
    return float(min(per_size * largest, float(operations.size_most[operation])))


def smallest_load(network: Network, operation: int) -> float:
    """The pieces of a load in the smallest place that takes it; 0 where one piece is worked on, of any amount."""
    operations = network.operations
    per_size = float(operations.per_size[operation])
    if per_size == 0.0:
        return load_of(network, operation)
    stations = operations.stations.row(operation)[0].tolist()
    smallest = min(network.stations.sizes[int(s)][0][0] for s in stations)
    return float(min(per_size * smallest, float(operations.size_most[operation])))


def load_of(network: Network, operation: int) -> float:
    """The most pieces in a cycle; 0 where one piece is worked on, of any amount."""
    most = float(network.operations.load_most[operation])
    return 0.0 if any_amount(network, operation) or (counted(network, operation) and most <= 1.0) else most
