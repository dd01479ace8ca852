"""A first balance for a line with rules, station by station, and a bound that follows from skills alone.

Each station is filled with what can be done next, the weightiest first, once for each crew and side that could have it;
the fullest filling is kept. Many such lines are tried, with weights drawn at random. What it finds keeps every rule
but is not proved best; it starts the search that proves.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field
from statistics import NormalDist

from linewright.balance.clock import Clock
from linewright.balance.contradictions import in_order, merged_groups
from linewright.balance.line import Line

TRIES = 400


@dataclass(frozen=True, slots=True)
class Start:
    """A balance that keeps the rules: station of each task (from 1), and the crew of each station (none: no skills)."""

    station: tuple[int, ...]
    crew: tuple[str, ...]


def first_balance(
    line: Line, room: int, clock: Clock, seed: int, goal: int = 1, most: int | None = None
) -> Start | None:
    """The best of many tries, of ``most`` stations or fewer; stops early at ``goal`` stations. None: none found."""
    if line.rules.people > 1 or line.rules.parallel > 1:
        return None
    filler = _Filler(line, room)
    draw = random.Random(seed)
    best: Start | None = None
    for attempt in range(TRIES):
        if best is not None and (len(best.crew) <= goal or clock.over):
            break
        limit = len(best.crew) - 1 if best is not None else (most or filler.most)
        found = filler.fill(draw, attempt, limit)
        best = found or best
        if clock.over:
            break
    return best


def quickest(line: Line, stations: int, clock: Clock, seed: int) -> tuple[int, Start] | None:
    """The least takt (ticks) at which a first balance of ``stations`` was found, by bisection, and that balance."""
    low = max(int(line.times.max(initial=1)), -(-int(line.times.sum()) // stations))
    high, best = max(1, int(line.times.sum())), None
    part = clock.seconds / 16
    while low <= high and not clock.over:
        room = (low + high) // 2
        found = first_balance(line, room, clock.part(part), seed, stations, stations)
        if found is not None:
            best, high = (room, found), room - 1
        else:
            low = room + 1
    return best


def least_by_skills(line: Line, room: int) -> int:
    """Stations needed at least because each has one crew, told from the tasks that only one crew can do.

    By work: each crew needs stations enough for its own, with as many people as may work at one. By order: along a
    chain of tasks every change of crew is another station.
    """
    rules = line.rules
    only: dict[int, str] = {}
    for task, skill in rules.skill.items():
        able = [name for name, crew in rules.crews.items() if skill in crew.skills]
        if len(able) == 1:
            only[line.index[task]] = able[0]
    work: dict[str, int] = {}
    for i, crew in only.items():
        work[crew] = work.get(crew, 0) + int(line.times[i])
    room *= rules.people
    return max(sum(max(1, -(-time // room)) for time in work.values()), _changes(line, only))


def _changes(line: Line, only: dict[int, str]) -> int:
    """The most stations that a chain of tasks asks for by changing crews; 0 where no task has a crew of its own."""
    most: list[dict[str, int]] = [{} for _ in range(line.n)]  # by the last crew of the chain
    for i in in_order(line):
        chains = most[i]
        for p in line.before[line.starts[i] : line.starts[i + 1]]:
            for crew, count in most[int(p)].items():
                chains[crew] = max(chains.get(crew, 0), count)
        if i in only:
            own = only[i]
            most[i] = {own: max([1, *(count + (crew != own) for crew, count in chains.items())])}
    return max((count for chains in most for count in chains.values()), default=0)


@dataclass(slots=True)
class _Block:
    """Tasks that go to one station together, in one piece."""

    tasks: list[int]
    time: int = 0
    before: set[int] = field(default_factory=set)
    after: set[int] = field(default_factory=set)
    weight: float = 0.0
    allowed: set[int] | None = None
    skills: set[str] = field(default_factory=set)
    sides: set[str] = field(default_factory=set)
    tools: set[str] = field(default_factory=set)
    rivals: set[int] = field(default_factory=set)
    variance: float = 0.0
    strain: float = 0.0
    models: tuple[int, ...] = ()


class _Filler:
    """The line as blocks, and how one station after the other is filled."""

    def __init__(self, line: Line, room: int) -> None:
        self.line, self.rules, self.room = line, line.rules, room
        self.most = line.n + max((min(a) for a in line.rules.fixed.values()), default=0)
        self.z = NormalDist().inv_cdf(line.rules.within) if line.rules.within is not None else 0.0
        self.blocks = _blocks(line)
        sides = sorted(set(self.rules.side.values())) or [""]
        crews = [(name, set(crew.skills), crew.people) for name, crew in self.rules.crews.items()]
        self.kinds = [(c, s) for c in (crews or [("", set(), None)]) for s in sides]

    def fill(self, draw: random.Random, attempt: int, most: int) -> Start | None:
        """One line of at most ``most`` stations, or None."""
        blocks = self.blocks
        tilt = 0.0 if attempt == 0 else draw.random()
        rank = [b.weight * (1 - 0.5 * tilt) + b.time * tilt for b in blocks]
        if attempt:
            rank = [r * draw.uniform(1 - 0.4 * tilt, 1.0) for r in rank]
        waits = [len(b.before) for b in blocks]
        station = [0] * len(blocks)
        left = set(range(len(blocks)))
        people = {crew: 0 for (crew, _, _), _ in self.kinds}
        tools: dict[str, int] = {}
        crews: list[str] = []
        while left:
            number = len(crews) + 1
            if number > most:
                return None
            options: list[tuple[float, int, list[int], str]] = []
            for (crew, skills, there), side in self.kinds:
                if there is not None and people[crew] >= there:
                    continue
                chosen = self._station(number, skills, side, left, waits, rank, tools)
                load = sum(blocks[k].time for k in chosen)
                score = (load + sum(rank[k] for k in chosen) * 1e-6) * (draw.uniform(0.7, 1.0) if attempt else 1.0)
                options.append((score if chosen else -1.0, len(options), chosen, crew))
            if not options:
                return None
            _, _, chosen, crew = max(options)
            if not chosen and not any(number < max(blocks[k].allowed or {0}) for k in left):
                return None  # nothing fits here, and nothing is bound to a later station
            crews.append(crew)
            people[crew] += 1
            for tool in {tool for k in chosen for tool in blocks[k].tools}:
                tools[tool] = tools.get(tool, 0) + 1
            for k in chosen:
                station[k] = number
                left.discard(k)
                for j in blocks[k].after:
                    waits[j] -= 1
        placed = [0] * self.line.n
        for k, block in enumerate(blocks):
            for i in block.tasks:
                placed[i] = station[k]
        return Start(tuple(placed), tuple(crews) if self.rules.crews else ("",) * len(crews))

    def _station(
        self, number: int, skills: set[str], side: str, left: set[int], waits: list[int], rank: list[float],
        tools: dict[str, int],
    ) -> list[int]:  # fmt: skip
        """The blocks that fill one station of a crew and a side, weightiest first."""
        blocks = self.blocks
        chosen: list[int] = []
        now = dict.fromkeys((k for k in left if waits[k] == 0), 0)
        less: dict[int, int] = {}
        load = 0
        variance = strain = 0.0
        models = [0] * len(self.rules.models)
        while now:
            k = max(now, key=lambda k: (rank[k], -k))
            del now[k]
            block = blocks[k]
            if load + block.time > self.room or not self._fits(block, k, number, skills, side, chosen, tools):
                continue
            spread = math.sqrt(variance + block.variance)
            if self.z > 0 and load + block.time + self.z * spread > self.room * (1 - 1e-9):
                continue
            if self.rules.strain_limit is not None and strain + block.strain > self.rules.strain_limit:
                continue
            loaded = [a + b for a, b in zip(models, block.models, strict=False)]
            if self.rules.worst_model is not None and max(loaded) > self.rules.worst_model * self.room:
                continue
            chosen.append(k)
            load, variance, strain = load + block.time, variance + block.variance, strain + block.strain
            models = loaded or models
            for j in block.after:
                less[j] = less.get(j, 0) + 1
                if waits[j] == less[j]:
                    now[j] = 0
        return chosen

    def _fits(
        self, block: _Block, k: int, number: int, skills: set[str], side: str, chosen: list[int], tools: dict[str, int]
    ) -> bool:
        if block.allowed is not None and number not in block.allowed:
            return False
        if not block.skills <= skills or (block.sides and block.sides != {side}):
            return False
        if any(rival in block.rivals for rival in chosen) or k in block.rivals:
            return False
        here = {tool for other in chosen for tool in self.blocks[other].tools}
        return all(tool in here or tools.get(tool, 0) < self.rules.tools[tool] for tool in block.tools)


def _blocks(line: Line) -> list[_Block]:
    """Groups kept together, grown until no task outside lies between two of a group."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    groups = merged_groups(line)
    of = {i: k for k, group in enumerate(groups) for i in group}
    links = {(of[a], of[b]) for a, b in line.pairs if of[a] != of[b]}
    rows, columns = ([a for a, _ in links], [b for _, b in links])
    graph = coo_array(([1] * len(links), (rows, columns)), shape=(len(groups), len(groups)))
    _, label = connected_components(graph, directed=True, connection="strong")
    joined: dict[int, list[int]] = {}
    for k, group in enumerate(groups):
        joined.setdefault(int(label[k]), []).extend(group)
    blocks = [_Block(sorted(tasks)) for tasks in joined.values()]
    number = {i: k for k, block in enumerate(blocks) for i in block.tasks}
    for a, b in line.pairs:
        if number[a] != number[b]:
            blocks[number[b]].before.add(number[a])
            blocks[number[a]].after.add(number[b])
    for block in blocks:
        _describe(line, block, number)
    _weigh(blocks)
    return blocks


def _describe(line: Line, block: _Block, number: dict[int, int]) -> None:
    """What the rules ask of a block, all its tasks together."""
    rules = line.rules
    names = [line.names[i] for i in block.tasks]
    block.time = sum(int(line.times[i]) for i in block.tasks)
    allowed = [set(rules.fixed[n]) for n in names if n in rules.fixed]
    block.allowed = set.intersection(*allowed) if allowed else None
    block.skills = {rules.skill[n] for n in names if n in rules.skill}
    block.sides = {rules.side[n] for n in names if n in rules.side}
    block.tools = {tool for n in names for tool in rules.uses.get(n, ()) if tool in rules.tools}
    for group in rules.apart:
        if set(group) & set(names):
            block.rivals |= {number[line.index[n]] for n in group if n not in names}
            if len(set(group) & set(names)) > 1:
                block.rivals.add(number[block.tasks[0]])  # at odds with itself: fits nowhere
    if rules.variance is not None:
        block.variance = float(sum(rules.variance[i] for i in block.tasks))
    if rules.strain is not None:
        block.strain = float(sum(rules.strain[i] for i in block.tasks))
    if rules.model_times is not None:
        block.models = tuple(int(row[block.tasks].sum()) for row in rules.model_times)


def _weigh(blocks: list[_Block]) -> None:
    """Weight by position: the time of a block and of all that comes after it (Helgeson and Birnie, 1961)."""
    waits = [len(b.after) for b in blocks]
    free = [k for k in range(len(blocks)) if waits[k] == 0]
    follow: list[set[int]] = [set() for _ in blocks]
    for k in free:  # grows while it is read
        follow[k] = set().union(*({j} | follow[j] for j in blocks[k].after))
        blocks[k].weight = float(blocks[k].time + sum(blocks[j].time for j in follow[k]))
        for j in blocks[k].before:
            waits[j] -= 1
            if waits[j] == 0:
                free.append(j)
