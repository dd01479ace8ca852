"""Can this line be balanced at all: names that do not exist, rules that contradict each other, tasks longer than takt.

Each problem names the tasks and rules at fault and, where there is one, the way out. Contradictions that need a search
to be seen are found by the general engine.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

from linewright.base.problems import Problems, did_you_mean

if TYPE_CHECKING:
    from linewright.balance.line import Line

TOO_LONG = "takes longer than the takt"
TOO_LONG_TOGETHER = "are kept together but take"
SAY_NO = (TOO_LONG, TOO_LONG_TOGETHER)
"""How work is said to fit into no station: the problems that are an answer and no fault of the input."""


def check_rules(line: Line, problems: Problems) -> None:
    """Add every problem of the rules that can be seen without a takt."""
    before = len(problems.errors)
    _names(line, problems)
    _sizes(line, problems)
    if len(problems.errors) == before:
        _groups(line, problems)
        _order_against_fixed(line, problems)


def check_takt(line: Line, takt: int | None, stations: int | None, problems: Problems) -> None:
    """Add every problem of the line at ``takt`` ticks and ``stations`` stations that can be seen without a search."""
    if stations is not None and stations < 1:
        problems.error("stations", "a line has at least one station", value=stations)
    if stations is not None:
        for name, allowed in line.rules.fixed.items():
            if min(allowed) > stations:
                problems.error(
                    f"fixed.{name}",
                    f'"{name}" is bound to station {min(allowed)}, the line has {stations}',
                )
    if takt is None:
        return
    if takt <= 0:
        problems.error("takt", "takt must be more than zero", value=takt)
        return
    for i in range(line.n):
        _fits(line, i, takt, problems)
    for group in merged_groups(line):
        total = sum(int(line.times[i]) for i in group)
        if len(group) > 1 and total > takt * line.rules.people * line.rules.parallel:
            problems.error(
                "together",
                f"{named(line, group)} {TOO_LONG_TOGETHER} {line.amount(total):g} {line.unit}".rstrip(),
                expected=f"at most the takt of {line.amount(takt):g} {line.unit}".rstrip(),
                hint="let one of them go, or allow several people or parallel stations",
            )


def _fits(line: Line, i: int, takt: int, problems: Problems) -> None:
    rules = line.rules
    time = int(line.times[i])
    copies = -(-time // takt)
    if copies > rules.parallel:
        problems.error(
            f"tasks.{line.names[i]}",
            f'"{line.names[i]}" {TOO_LONG}',
            value=f"{line.amount(time):g} {line.unit}".rstrip(),
            expected=f"at most {line.amount(takt):g} {line.unit}".rstrip(),
            hint=f"it takes {time / takt:.2f} times the takt: allow `parallel = {copies}` stations, or split the task, "
            f"or put {copies} people on it together",
        )
    elif rules.worst_model is not None and rules.model_times is not None:
        worst = int(rules.model_times[:, i].max())
        if worst > rules.worst_model * takt * rules.parallel:
            problems.error(
                f"tasks.{line.names[i]}",
                f'"{line.names[i]}" takes {line.amount(worst):g} on its longest model, over the worst-model limit',
                hint="raise the limit, split the task or slow the takt",
            )


def _names(line: Line, problems: Problems) -> None:
    rules = line.rules
    named_by: list[tuple[str, Iterable[str]]] = [
        *((kind, getattr(rules, kind)) for kind in ("fixed", "side", "uses", "skill", "current")),
        *((kind, [t for g in getattr(rules, kind) for t in g]) for kind in ("together", "apart")),
    ]
    for kind, names in named_by:
        for name in names:
            if name not in line.index:
                problems.error(kind, "no such task", value=name, hint=did_you_mean(name, line.names))
    for task, tools in rules.uses.items():
        for tool in tools:
            if tool not in rules.tools:
                problems.error(f"uses.{task}", "no such tool", value=tool, hint=did_you_mean(tool, rules.tools))
    skills = {s for crew in rules.crews.values() for s in crew.skills}
    for task, skill in rules.skill.items():
        if skill not in skills:
            problems.error(f"skill.{task}", "no crew has this skill", value=skill, hint=did_you_mean(skill, skills))


def _sizes(line: Line, problems: Problems) -> None:
    rules = line.rules
    for name, allowed in rules.fixed.items():
        if not allowed or min(allowed) < 1:
            problems.error(f"fixed.{name}", "stations are numbered from 1", value=allowed)
    for name, station in rules.current.items():
        if station < 1:
            problems.error(f"current.{name}", "stations are numbered from 1", value=station)
    for kind, least in (("people", 1), ("parallel", 1)):
        if getattr(rules, kind) < least:
            problems.error(kind, f"at least {least}", value=getattr(rules, kind))
    for tool, count in rules.tools.items():
        if count < 1:
            problems.error(f"tools.{tool}", "a tool that does not exist cannot be used", value=count)
    for crew_name, crew in rules.crews.items():
        if crew.people is not None and crew.people < 0:
            problems.error(f"crews.{crew_name}.people", "people cannot be negative", value=crew.people)
    _row(line, "variance", rules.variance, rules.within, problems)
    _row(line, "strain", rules.strain, rules.strain_limit, problems)
    if rules.within is not None and not 0.5 <= rules.within < 1:
        problems.error("within", "a probability from 0.5 to below 1", value=rules.within)
    if rules.strain is not None and rules.strain_limit is not None and len(rules.strain) == line.n:
        for name, strain in zip(line.names, rules.strain, strict=True):
            if strain > rules.strain_limit:
                problems.error(
                    f"strain.{name}",
                    f'"{name}" alone is over the limit of a station',
                    value=float(strain),
                    expected=f"at most {rules.strain_limit:g}",
                )
    _models(line, problems)


def _row(line: Line, kind: str, values: Any, limit: float | None, problems: Problems) -> None:
    if values is None:
        if limit is not None:
            problems.error(kind, "a limit is given, but no values of the tasks")
        return
    if len(values) != line.n:
        problems.error(kind, "one value per task", value=len(values), expected=str(line.n))
    elif not all(math.isfinite(v) and v >= 0 for v in values):
        problems.error(kind, "each value is a finite number of zero or more")


def _models(line: Line, problems: Problems) -> None:
    rules = line.rules
    if rules.worst_model is not None and rules.model_times is None:
        problems.error("worst_model", "a limit is given, but no times by model")
    if rules.model_times is None:
        return
    if rules.model_times.shape != (len(rules.models), line.n):
        problems.error(
            "model_times",
            "one row per model, one column per task",
            value=rules.model_times.shape,
            expected=f"({len(rules.models)}, {line.n})",
        )
    elif (rules.model_times < 0).any():
        problems.error("model_times", "a time cannot be negative")
    if len(rules.mix) != len(rules.models) or abs(sum(rules.mix) - 1) > 1e-9 or min(rules.mix, default=0) < 0:
        problems.error("mix", "one share per model, together 1", value=rules.mix)


def merged_groups(line: Line) -> list[list[int]]:
    """Tasks that end up at one station because their groups of ``together`` overlap."""
    leader = list(range(line.n))

    def find(i: int) -> int:
        while leader[i] != i:
            leader[i] = leader[leader[i]]
            i = leader[i]
        return i

    for group in line.rules.together:
        for name in group[1:]:
            leader[find(line.index[name])] = find(line.index[group[0]])
    by_leader: dict[int, list[int]] = {}
    for i in range(line.n):
        by_leader.setdefault(find(i), []).append(i)
    return list(by_leader.values())


def named(line: Line, tasks: Iterable[int]) -> str:
    """Task names as a person lists them."""
    return ", ".join(f'"{line.names[i]}"' for i in tasks)


def _groups(line: Line, problems: Problems) -> None:
    rules = line.rules
    for group in (g for g in merged_groups(line) if len(g) > 1):
        members = {line.names[i] for i in group}
        for apart in rules.apart:
            both = sorted(members & set(apart))
            if len(both) > 1:
                problems.error("apart", f'"{both[0]}" and "{both[1]}" are kept together and kept apart')
        allowed = [(m, set(rules.fixed[m])) for m in sorted(members & set(rules.fixed))]
        for k, (a, at_a) in enumerate(allowed):
            for b, at_b in allowed[k + 1 :]:
                if not at_a & at_b:
                    problems.error("together", f'"{a}" and "{b}" are kept together but fixed to different stations')
        _one_value(rules.side, members, "are kept together but on different sides of the work", problems)
        if rules.strain is not None and rules.strain_limit is not None:
            strain = float(sum(rules.strain[i] for i in group))
            if strain > rules.strain_limit:
                problems.error(
                    "together",
                    f"{named(line, group)} are kept together but their strain is over the limit",
                    value=f"{strain:g}",
                    expected=f"at most {rules.strain_limit:g}",
                )


def _one_value(values: Mapping[str, str], members: set[str], what: str, problems: Problems) -> None:
    sided = sorted(m for m in members if m in values)
    for other in sided[1:]:
        if values[other] != values[sided[0]]:
            problems.error("together", f'"{sided[0]}" and "{other}" {what}')


def _order_against_fixed(line: Line, problems: Problems) -> None:
    """A task bound to a station before that of a task which must come earlier, directly or by a chain."""
    earliest: list[tuple[int, int]] = [(1, -1)] * line.n  # station, the task that says so
    for i in in_order(line):
        for p in line.before[line.starts[i] : line.starts[i + 1]]:
            earliest[i] = max(earliest[i], earliest[int(p)])
        allowed = line.rules.fixed.get(line.names[i])
        if allowed is None:
            continue
        at, why = earliest[i]
        if max(allowed) < at:
            problems.error(
                "fixed",
                f'"{line.names[i]}" is bound to station {max(allowed)} but comes after "{line.names[why]}", '
                f"which is at station {at} or later",
            )
        elif min(allowed) > at:
            earliest[i] = (min(allowed), i)


def in_order(line: Line) -> list[int]:
    """The tasks so that each comes after all that must be done before it."""
    waits = [int(line.starts[i + 1] - line.starts[i]) for i in range(line.n)]
    later: list[list[int]] = [[] for _ in range(line.n)]
    for a, b in line.pairs:
        later[a].append(b)
    free = [i for i in range(line.n) if waits[i] == 0]
    for i in free:  # grows while it is read
        for j in later[i]:
            waits[j] -= 1
            if waits[j] == 0:
                free.append(j)
    return free
