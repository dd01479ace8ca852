"""Why there is no balance: a set of rules that cannot hold together, none of which can be left out.

Rules are taken away one by one as long as the line stays impossible; what is left is named.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from typing import Any

from linewright.balance.clock import Clock
from linewright.balance.line import Line
from linewright.balance.rules import KINDS, Rules

SECONDS = 2.0  # for one question whether a smaller set is still impossible
MOST_PLACES = 100_000  # tasks x stations of a model that is still built to find a conflict
MOST_SECONDS = 20.0


def conflicting(line: Line, room: int | None, stations: int | None, clock: Clock) -> tuple[str, ...]:
    """The conflict in words, one rule a line; empty where it was not narrowed down in time."""
    impossible = _Question(line, room, stations, Clock(MOST_SECONDS, clock.cancel))
    rules = line.rules
    for kind in rules.asked:
        without = rules.without(kind)
        if impossible(without):
            rules = without
    for kind in rules.asked:
        rules = _thin(rules, kind, impossible)
    named = [said for kind in rules.asked for said in _said(rules, kind)]
    any_takt = rules.people == rules.parallel == 1 and impossible.apart_from("room", rules)
    if room is not None and not any_takt:
        named.append(f"the takt of {line.amount(room):g} {line.unit}".rstrip())
    if stations is not None and not impossible.apart_from("stations", rules):
        named.append(f"{stations} stations")
    certain = "none of them can be left out" if impossible.certain else "some of them may not be needed"
    return (f"these cannot hold together ({certain}):", *named)


class _Question:
    """Whether a line is proved impossible under fewer rules."""

    def __init__(self, line: Line, room: int | None, stations: int | None, clock: Clock) -> None:
        self.line, self.room, self.stations, self.clock = line, room, stations, clock
        self.certain = True

    def apart_from(self, limit: str, rules: Rules) -> bool:
        """Whether it is impossible without the ``limit`` too; if so, the limit is left out from now on."""
        kept = getattr(self, limit)
        setattr(self, limit, None)
        if self(rules):
            return True
        setattr(self, limit, kept)
        return False

    def __call__(self, rules: Rules) -> bool:
        from ortools.sat.python import cp_model

        from linewright.balance.model import Model

        if self.clock.over:
            self.certain = False
            return False
        line = replace_rules(self.line, rules)
        most = line.n * rules.parallel + max((min(a) for a in self.line.rules.fixed.values()), default=0)
        if line.n * (self.stations or most) > MOST_PLACES:
            self.certain = False
            return False
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = SECONDS
        solver.parameters.num_workers = 2
        code = solver.solve(Model(line, self.stations or most, self.room).cp)
        if code == cp_model.UNKNOWN:
            self.certain = False
        return bool(code == cp_model.INFEASIBLE)


def replace_rules(line: Line, rules: Rules) -> Line:
    """The line under fewer rules; they need no check, since they were checked as part of the whole."""
    return replace(line, rules=rules)


def _thin(rules: Rules, kind: str, impossible: Callable[[Rules], bool]) -> Rules:
    """Take away the single entries of one kind that are not needed for the conflict."""
    field_name = {"tools": "uses"}.get(kind, kind)
    value = getattr(rules, field_name, None) if field_name in {f.name for f in fields(Rules)} else None
    if isinstance(value, Mapping):
        for key in tuple(value):
            kept: Any = {k: v for k, v in getattr(rules, field_name).items() if k != key}
            fewer = replace(rules, **{field_name: kept})
            if impossible(fewer):
                rules = fewer
    elif isinstance(value, tuple):
        for group in value:
            kept = tuple(g for g in getattr(rules, field_name) if g is not group)
            fewer = replace(rules, **{field_name: kept})
            if impossible(fewer):
                rules = fewer
    return rules


def _said(rules: Rules, kind: str) -> list[str]:
    """The rules of one kind in words."""
    value: Any = {
        "fixed": [f'"{n}" at station {" or ".join(map(str, a))}' for n, a in rules.fixed.items()],
        "together": [f"{_listed(g)} together" for g in rules.together],
        "apart": [f"{_listed(g)} apart" for g in rules.apart],
        "side": [f'"{n}" on the side "{s}"' for n, s in rules.side.items()],
        "tools": [f'"{n}" with {_listed(t)}' for n, t in rules.uses.items()],
        "skill": [
            *(f'"{n}" needs the skill "{s}"' for n, s in rules.skill.items()),
            *(f'{c.people} people of "{n}"' for n, c in rules.crews.items() if c.people is not None),
        ],
    }.get(kind)
    return value if value else [KINDS[kind]]


def _listed(names: tuple[str, ...]) -> str:
    return ", ".join(f'"{n}"' for n in names)
