"""Which engine can model what. An engine refuses by name every rule that it would have to leave out."""

from __future__ import annotations

from linewright.balance.line import Line
from linewright.balance.rules import KINDS
from linewright.base.problems import Problems
from linewright.base.results import Table

ENGINES: dict[str, frozenset[str]] = {
    "search": frozenset(),
    "constraints": frozenset(KINDS),
}
GOALS: dict[str, frozenset[str]] = {
    "search": frozenset({"fewest", "fastest", "smoothest"}),
    "constraints": frozenset({"fewest", "fastest", "smoothest", "cheapest"}),
}


def choose(line: Line, goal: str, engine: str | None) -> str:
    """The engine for a line and a goal: the one asked for, else the first that can. Raises ProblemsError."""
    problems = Problems()
    if engine is not None and engine not in ENGINES:
        problems.error("engine", "no such engine", value=engine, expected=" or ".join(ENGINES))
        problems.raise_errors()
    if engine is None:
        engine = "search" if not line.rules.asked and goal in GOALS["search"] else "constraints"
    for kind in line.rules.asked:
        if kind not in ENGINES[engine]:
            problems.error(
                kind,
                f'the engine "{engine}" cannot model "{KINDS[kind]}"',
                hint='leave the engine open, or ask for "constraints"',
            )
    if goal not in GOALS[engine]:
        problems.error(
            "goal",
            f'the engine "{engine}" does not know this goal',
            value=goal,
            expected=", ".join(sorted(GOALS[engine])),
        )
    problems.raise_errors()
    return engine


def support() -> Table:
    """Which engine supports which rule."""
    rows = tuple((said, *(kind in can for can in ENGINES.values())) for kind, said in KINDS.items())
    return Table("What each engine can model", ("rule", *ENGINES), rows)
