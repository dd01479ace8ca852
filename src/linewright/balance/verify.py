"""Is this balance right? An independent check of any answer, in plain Python, that shares no code with an engine.

It takes the line and who does what, and lists everything that is broken in words. Every answer of every engine passes
through it before it is handed out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import NormalDist

from linewright.balance.line import Line


def verify(
    line: Line,
    station: Sequence[int],
    *,
    takt: int | None = None,
    stations: int | None = None,
    crew: Sequence[str] | None = None,
    starts: Sequence[int] | None = None,
    person: Sequence[int] | None = None,
) -> list[str]:
    """Everything that is wrong with a balance; an empty list where it is right.

    ``station`` is the station of each task, from 1, in the order of the line; ``takt`` in ticks and ``stations``
    (copies counted) are kept where given. ``crew`` is the crew of each station; ``starts`` and ``person`` are the start
    (ticks) and the person of each task where several people work at one station.
    """
    if len(station) != line.n:
        return [f"{line.n} tasks, but {len(station)} are placed"]
    wrong = [f'"{n}" is at no station' for n, s in zip(line.names, station, strict=True) if s < 1]
    if wrong:
        return wrong
    at: dict[int, list[int]] = {}
    for i, s in enumerate(station):
        at.setdefault(int(s), []).append(i)
    wrong += _order(line, station)
    copies = {s: _copies(line, tasks, takt) for s, tasks in at.items()}
    if stations is not None:
        used = max(at) + sum(c - 1 for c in copies.values())
        if used > stations:
            wrong.append(f"{used} stations are used, {stations} are allowed")
    if takt is not None:
        wrong += _loads(line, at, copies, takt, starts, person)
    return wrong + _placing(line, station, at) + _limits(line, at) + _crews(line, at, crew)


def _copies(line: Line, tasks: list[int], takt: int | None) -> int:
    if line.rules.parallel == 1 or takt is None:
        return 1
    return max(1, max(-(-int(line.times[i]) // takt) for i in tasks))


def _order(line: Line, station: Sequence[int]) -> list[str]:
    return [
        f'"{line.names[b]}" is at station {station[b]}, before "{line.names[a]}" at station {station[a]}'
        for a, b in line.pairs
        if station[a] > station[b]
    ]


def _loads(
    line: Line,
    at: dict[int, list[int]],
    copies: dict[int, int],
    takt: int,
    starts: Sequence[int] | None,
    person: Sequence[int] | None,
) -> list[str]:
    wrong = []
    rules = line.rules
    for s, tasks in sorted(at.items()):
        room = takt * copies[s]
        if copies[s] > rules.parallel:
            wrong.append(f"station {s} needs {copies[s]} copies, {rules.parallel} are allowed")
        if rules.people > 1:
            wrong += _several(line, s, tasks, room, starts, person)
        else:
            load = sum(int(line.times[i]) for i in tasks)
            if load > room:
                wrong.append(f"station {s} is loaded with {line.amount(load):g} of {line.amount(room):g}")
        if rules.worst_model is not None and rules.model_times is not None:
            for model, row in zip(rules.models, rules.model_times, strict=True):
                load = sum(int(row[i]) for i in tasks)
                if load > rules.worst_model * room * (1 + 1e-12):
                    wrong.append(f'station {s} is loaded with {line.amount(load):g} when "{model}" comes')
        if rules.within is not None and rules.variance is not None:
            spread = math.sqrt(sum(float(rules.variance[i]) for i in tasks))
            mean = sum(int(line.times[i]) for i in tasks)
            reach = mean + NormalDist().inv_cdf(rules.within) * spread
            if reach > room * (1 + 1e-9):
                wrong.append(f"station {s} stays within takt with less than the probability {rules.within:g}")
    return wrong


def _several(
    line: Line,
    s: int,
    tasks: list[int],
    room: int,
    starts: Sequence[int] | None,
    person: Sequence[int] | None,
) -> list[str]:
    if starts is None or person is None:
        return [f"station {s}: several people, but nobody says who starts what when"]
    wrong = []
    for i in tasks:
        if starts[i] < 0 or starts[i] + int(line.times[i]) > room:
            wrong.append(f'"{line.names[i]}" does not end within takt at station {s}')
        if not 1 <= person[i] <= line.rules.people:
            wrong.append(f'"{line.names[i]}" is done by person {person[i]} of {line.rules.people}')
    inside = set(tasks)
    for a, b in line.pairs:
        if a in inside and b in inside and starts[b] < starts[a] + int(line.times[a]):
            wrong.append(f'"{line.names[b]}" starts before "{line.names[a]}" ends')
    for k in sorted({person[i] for i in tasks}):
        own = sorted((starts[i], starts[i] + int(line.times[i]), i) for i in tasks if person[i] == k)
        for (_, end, a), (start, _, b) in pairwise(own):
            if start < end:
                wrong.append(f'person {k} of station {s} does "{line.names[a]}" and "{line.names[b]}" at once')
    return wrong


def _placing(line: Line, station: Sequence[int], at: dict[int, list[int]]) -> list[str]:
    rules, index = line.rules, line.index
    wrong = []
    for name, allowed in rules.fixed.items():
        if station[index[name]] not in allowed:
            wrong.append(f'"{name}" is at station {station[index[name]]}, it belongs to {list(allowed)}')
    for group in rules.together:
        if len({station[index[name]] for name in group}) > 1:
            wrong.append(f"{', '.join(group)} are not together")
    for group in rules.apart:
        places = [station[index[name]] for name in group]
        if len(set(places)) < len(places):
            wrong.append(f"{', '.join(group)} are not apart")
    for s, tasks in sorted(at.items()):
        sides = sorted({rules.side[line.names[i]] for i in tasks if line.names[i] in rules.side})
        if len(sides) > 1:
            wrong.append(f"station {s} works on more than one side: {', '.join(sides)}")
    for tool, count in rules.tools.items():
        places = sorted({station[index[name]] for name, tools in rules.uses.items() if tool in tools})
        if len(places) > count:
            wrong.append(f'"{tool}" exists {count} times but is used at stations {places}')
    return wrong


def _limits(line: Line, at: dict[int, list[int]]) -> list[str]:
    rules = line.rules
    if rules.strain is None or rules.strain_limit is None:
        return []
    wrong = []
    for s, tasks in sorted(at.items()):
        strain = math.fsum(float(rules.strain[i]) for i in tasks)
        if strain > rules.strain_limit * (1 + 1e-9):
            wrong.append(f"station {s} has a strain of {strain:g}, over the limit of {rules.strain_limit:g}")
    return wrong


def _crews(line: Line, at: dict[int, list[int]], crew: Sequence[str] | None) -> list[str]:
    rules = line.rules
    if not rules.skill and not rules.crews:
        return []
    if crew is None or len(crew) < max(at):
        return ["no crew is named for every station"]
    wrong = []
    for s, tasks in sorted(at.items()):
        able = rules.crews[crew[s - 1]].skills if crew[s - 1] in rules.crews else ()
        for i in tasks:
            need = rules.skill.get(line.names[i])
            if need is not None and need not in able:
                wrong.append(f'"{line.names[i]}" at station {s} needs the skill "{need}"')
    for name, kind in rules.crews.items():
        manned = sum(1 for s in at if crew[s - 1] == name)
        if kind.people is not None and manned > kind.people:
            wrong.append(f'{manned} stations are manned by "{name}", there are {kind.people}')
    return wrong
