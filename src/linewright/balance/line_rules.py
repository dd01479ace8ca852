"""What the floor asks of a line, from the fields of ``[lines.ID]`` to the rules of a balance.

Rules speak of tasks only: one about an operation that nobody does asks nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from linewright.balance.line_source import Source
from linewright.balance.line_times import NS
from linewright.balance.rules import Crew, Rules


def rules_of(source: Source, tick: float) -> Rules:
    """The rules of a line whose ticks are ``tick`` seconds long."""
    written, tasks = source.written, set(source.names)
    cost = written.station_cost
    rules = Rules(
        fixed=_fixed(source),
        together=_groups(written.together, tasks),
        apart=_groups(written.apart, tasks),
        side={name: side for name, side in written.sides.items() if side != "either" and name in tasks},
        people=written.people,
        parallel=written.parallel,
        current=_current(source),
        station_cost=cost.value * 3600 if cost is not None else 0.0,
    )
    rules = _with_limits(_with_skills(_with_machines(rules, source), source), source, tick)
    return _with_models(rules, source, tick)


def _groups(groups: Iterable[Sequence[str]], tasks: set[str]) -> tuple[tuple[str, ...], ...]:
    kept = (tuple(name for name in group if name in tasks) for group in groups)
    return tuple(group for group in kept if len(group) > 1)


def _fixed(source: Source) -> dict[str, tuple[int, ...]]:
    """Stations by operation and by zone; where both are written an operation keeps to both."""
    fixed: dict[str, tuple[int, ...]] = {}
    for name in source.names:
        allowed = [source.written.fixed.get(name), source.written.zones.get(source.asked[name].zone or "")]
        given = [set(numbers) for numbers in allowed if numbers is not None]
        if given:
            fixed[name] = tuple(sorted(set.intersection(*given)))
    return fixed


def _current(source: Source) -> dict[str, int]:
    """Where the tasks are now, by number of the station; as planned, stations are numbered as the work meets them."""
    now = source.written.current
    if now is None:
        return {}
    if not isinstance(now, str):
        return {name: number for name, number in now.items() if name in set(source.names)}
    numbers: dict[str, int] = {}
    stations = {name: source.asked[name].station[:1] for name in source.names}
    return {name: numbers.setdefault(at[0], len(numbers) + 1) for name, at in stations.items() if at}


def _with_machines(rules: Rules, source: Source) -> Rules:
    """Machines and tools that stand at few stations, and the tasks that need them."""
    plan, machines = source.network.plan, source.written.machines
    count = {m: plan.stations[m].places if m in plan.stations else plan.tools[m].count for m in machines}
    uses = {}
    for name in source.names:
        operation = source.asked[name]
        needs = tuple(m for m in machines if m in operation.uses or m in operation.station[:1])
        if needs:
            uses[name] = needs
    return replace(rules, tools=count, uses=uses)


def _with_skills(rules: Rules, source: Source) -> Rules:
    """A crew does its own work, the skills named there, and what the line adds; with one crew there is nothing to say.

    A transport is done by whoever works at its station. How many people there are limits a crew only where another
    could stand in for it; else the answer says how many are needed.
    """
    crew = {name: does for name, does in source.crew.items() if not source.moves(name)}
    extra = line_skills(source, dict.fromkeys(crew.values()))
    able: dict[str, dict[str, None]] = {name: {name: None} for name in dict.fromkeys([*crew.values(), *extra])}
    for name, does in crew.items():
        able[does][_skill(source, name)] = None
    own = {name: tuple(skills) for name, skills in able.items()}
    for name, skills in extra.items():
        for skill in skills:
            able[name].update(dict.fromkeys((skill, *own.get(skill, ()))))
    if len(able) < 2:
        return rules
    needs = {name: _needs(source, name, able) for name in crew}
    crews = {name: _crew(source, name, tuple(skills), bool(extra)) for name, skills in able.items()}
    return replace(rules, crews=crews, skill=needs)


def line_skills(source: Source, crews: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """What the line adds, and other crews of the line whose work all of a crew can do at full pace.

    A station is manned by any of its crew, so what only some of them can do, or slower, cannot be counted on there.
    """
    plan, known = source.network.plan, list(crews)
    extra = {name: tuple(skills) for name, skills in source.written.skills.items()}
    for name in known:
        most = max(plan.crews[name].people.values(), default=0)
        can = [c for c, s in plan.crews[name].can.items() if c in known and s.people >= most and s.pace >= 1]
        if can:
            extra[name] = tuple(dict.fromkeys([*extra.get(name, ()), *can]))
    return extra


def _skill(source: Source, task: str) -> str:
    return source.asked[task].skill or source.crew[task]


def _needs(source: Source, task: str, able: dict[str, dict[str, None]]) -> str:
    """The skill of a task; one that takes several people at once only crews of so many can do."""
    skill, people = _skill(source, task), source.people[task]
    if people == 1:
        return skill
    together = f"{skill}, {people} at once"
    there = {name: max(source.network.plan.crews[name].people.values(), default=0) for name in able}
    for name, skills in able.items():
        if skill in skills and (there[name] >= people or name == source.crew[task]):
            skills[together] = None
    return together


def _crew(source: Source, name: str, skills: tuple[str, ...], limited: bool) -> Crew:
    crew = source.network.plan.crews[name]
    wage = crew.wage.value * 3600 if crew.wage is not None else 0.0
    return Crew(max(crew.people.values(), default=0) if limited else None, skills, wage)


def _with_limits(rules: Rules, source: Source, tick: float) -> Rules:
    """Variation and strain."""
    written = source.written
    if written.within is not None:
        variance = source.times.variance / (tick * NS) ** 2
        rules = replace(rules, variance=variance, within=written.within)
    if written.strain_limit is not None:
        strain = np.array([written.strain.get(name, 0.0) for name in source.names])
        rules = replace(rules, strain=strain, strain_limit=written.strain_limit)
    return rules


def _with_models(rules: Rules, source: Source, tick: float) -> Rules:
    """Times by product where the line makes several; a part made for all of them counts alike in each."""
    network = source.network
    if len(source.pieces) < 2:
        models, limit = network.models, source.written.worst_model
        if models is None or len(models.names) < 2 or limit is None:
            return rules
        times = models.relative[:, list(source.tasks)] * source.times.mean / (tick * NS)
        mix = tuple(models.mix.tolist())
        rows_of_models = np.rint(times).astype(np.int64)
        return replace(rules, models=models.names, model_times=rows_of_models, mix=mix, worst_model=limit)
    made = network.routes.item[network.operations.route[list(source.tasks)]]
    mean = source.times.mean / (tick * NS)
    rows = []
    for item, pieces in source.pieces.items():
        others = [other for other in source.pieces if other != item]
        rows.append(np.where(made == item, mean * source.total / pieces, np.where(np.isin(made, others), 0.0, mean)))
    return replace(
        rules,
        models=tuple(network.items.ids[item] for item in source.pieces),
        model_times=np.rint(np.array(rows)).astype(np.int64),
        mix=_shares(source.pieces),
        worst_model=source.written.worst_model,
    )


def _shares(pieces: Mapping[int, float]) -> tuple[float, ...]:
    total = sum(pieces.values())
    return tuple(made / total for made in pieces.values())
