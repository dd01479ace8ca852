"""A plan from Python, in the same words as the file: the builder writes a document and reads it like a file.

So a plan built is equal to the plan read from a file that says the same.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from linewright.base.problems import Problems, ProblemsError
from linewright.plan.model import Plan
from linewright.plan.read import read_document


class RouteBuilder:
    """A route of a plan being built; ``operation`` adds a step and returns the route, so that calls chain."""

    def __init__(self, table: dict[str, Any]) -> None:
        self._table = table

    def operation(self, id: str, **fields: Any) -> RouteBuilder:
        """Add an operation; fields are those of the file (``yield_``, ``else_`` stand for the words Python keeps)."""
        self._table["operations"].append({"id": id, **_plain(fields)})
        return self


class PlanBuilder:
    """Collects a plan; every method takes the fields of its table in the file as keywords.

    >>> plan = PlanBuilder("Stool", makes="stool", demand="10 each/day")
    >>> plan.item("stool", unit="each").shift("day", hours="06:00-14:00") and None
    >>> plan.crew("fitter", people=1, shift="day") and None
    >>> _ = plan.route("main", gives="stool").operation("fit", crew={"fitter": 1}, time="4 min")
    >>> plan.build().routes["main"].operations[0].time.fixed.value
    240.0
    """

    def __init__(self, name: str, **fields: Any) -> None:
        self.document: dict[str, Any] = {"plan": {"name": name, **_plain(fields)}}

    def _add(self, kind: str, id: str, fields: dict[str, Any]) -> PlanBuilder:
        table = self.document.setdefault(kind, {})
        if id in table:
            raise ValueError(f'{kind} has "{id}" already')
        table[id] = _plain(fields)
        return self

    def item(self, id: str, **fields: Any) -> PlanBuilder:
        """Add an item."""
        return self._add("items", id, fields)

    def station(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a station."""
        return self._add("stations", id, fields)

    def store(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a store."""
        return self._add("stores", id, fields)

    def tool(self, id: str, **fields: Any) -> PlanBuilder:
        """Add shared tooling."""
        return self._add("tools", id, fields)

    def carrier(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a kind of carriers; ``from_`` stands for the word that Python keeps."""
        return self._add("carriers", id, fields)

    def crew(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a crew."""
        return self._add("crews", id, fields)

    def shift(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a shift."""
        return self._add("shifts", id, fields)

    def line(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a line to balance."""
        return self._add("lines", id, fields)

    def fit(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a fit between parts."""
        return self._add("fits", id, fields)

    def utility(self, id: str, **fields: Any) -> PlanBuilder:
        """Add a utility that stations run on."""
        return self._add("utilities", id, fields)

    def demand(self, item: str, rate: str) -> PlanBuilder:
        """Add a demand."""
        self.document.setdefault("demand", []).append({"item": item, "rate": rate})
        return self

    def intake(self, item: str, **fields: Any) -> PlanBuilder:
        """Add a bought item that comes in season (``from_`` and ``to`` are its first and last day)."""
        self.document.setdefault("intake", []).append({"item": item, **_plain(fields)})
        return self

    def overhead(self, **fields: Any) -> PlanBuilder:
        """Set the overhead."""
        self.document["overhead"] = _plain(fields)
        return self

    def route(self, id: str, *, gives: str, **fields: Any) -> RouteBuilder:
        """Add a route and return its builder, which takes the operations."""
        self._add("routes", id, {"gives": gives, **fields, "operations": []})
        return RouteBuilder(self.document["routes"][id])

    def build(self, folder: str | Path = ".") -> Plan:
        """The plan, checked. Study files lie in ``folder``. Raises ProblemsError with every problem found."""
        problems = Problems()
        plan = read_document(_plain(self.document), Path(folder), problems)
        problems.raise_errors()
        if plan is None:  # cannot be: a plan without errors is made
            raise ProblemsError(problems)
        return plan


def _plain(value: Any) -> Any:
    """Plain data as the file would hold it: tuples become lists, ``yield_`` becomes ``yield``, None is left out."""
    if isinstance(value, dict):
        return {_word(key): _plain(part) for key, part in value.items() if part is not None}
    if isinstance(value, (list, tuple)):
        return [_plain(part) for part in value]
    return value


def _word(key: str) -> str:
    return key[:-1] if key in ("yield_", "else_", "from_") else key
