"""A plan from a spreadsheet: every row an operation, the rest of the plan declared around it to be completed.

Stations, crews, items, tools and stores that the rows name are declared with what is known of them; what is not known
is marked with a comment that says so.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from linewright.base.problems import Problem, Problems, ProblemsError
from linewright.base.units import UnitError, read_quantity
from linewright.plan.amounts import MEASURED
from linewright.plan.sheets import TableError, read_rows
from linewright.plan.written import inline, key_of

TO_DO = "# to be completed"


def import_table(path: str | Path, sheet: str | None = None, name: str | None = None) -> str:
    """The text of a plan whose one route is the table in a CSV file or a spreadsheet (its first sheet by default).

    Raises ProblemsError where the table cannot be read. The plan names everything the rows use; prices, people and
    places are placeholders marked in comments.
    """
    file = Path(path)
    problems = Problems()
    try:
        rows = [row.fields for row in read_rows(file, sheet, problems)]
    except TableError as wrong:
        problem = Problem("", wrong.what, hint=wrong.hint, file=str(file), line=wrong.line)
        raise ProblemsError([*problems, problem]) from None
    problems.raise_errors()
    title = name or file.stem
    product = re.sub(r"\W+", "_", title.casefold()).strip("_") or "product"
    parts = [
        _head(title, product),
        *_declared(rows, product),
        f"[routes.{key_of(product)}]\ngives = {inline(product)}\n",
    ]
    parts += [_operation(row, product) for row in rows]
    return "\n".join(parts)


def _head(title: str, product: str) -> str:
    return (
        f'# A plan from a table. Lines marked "{TO_DO[2:]}" hold placeholders.\n\n'
        f'[plan]\nname = {inline(title)}\nmoney = "EUR"\nmakes = {inline(product)}\n'
        f'demand = "10 each/day"  {TO_DO}\n\n'
        f'[shifts.day]\nhours = "06:00-14:30"  {TO_DO}\ndays = "Mon-Fri"\n\n'
        f'[items.{key_of(product)}]\nunit = "each"\n'
    )


def _declared(rows: list[dict[str, Any]], product: str) -> Iterable[str]:
    """The tables for everything that the rows name."""
    for item, amount in _amounts(rows).items():
        if item != product:
            yield f'[items.{key_of(item)}]\nunit = {inline(_unit(amount))}\nbuy = "0 EUR"  {TO_DO}\n'
    for station in _words(rows, "station"):
        yield f"[stations.{key_of(station)}]\nplaces = 1  {TO_DO}\n"
    for crew, most in _crews(rows).items():
        yield f'[crews.{key_of(crew)}]\npeople = {most}  {TO_DO}\nshift = "day"\n'
    for tool in _keys(rows, "uses"):
        yield f"[tools.{key_of(tool)}]\ncount = 1  {TO_DO}\n"
    for store in (word for word in _words(rows, "then_to") if word != "next"):
        yield f"[stores.{key_of(store)}]\nroom = 100  {TO_DO}\n"


def _amounts(rows: list[dict[str, Any]]) -> dict[str, object]:
    """Items named in takes and gives, with an amount from which to guess the unit."""
    amounts: dict[str, object] = {}
    for row in rows:
        for field in ("takes", "takes_per_load", "gives"):
            table = row.get(field)
            for item, amount in table.items() if isinstance(table, dict) else ():
                known = amounts.get(item)
                if known is None or not isinstance(known, str):
                    amounts[item] = amount
    return amounts


def _unit(amount: object) -> str:
    if isinstance(amount, str):
        try:
            quantity = read_quantity(amount)
        except UnitError:
            return "each"
        if quantity.dimension in MEASURED:
            return amount.strip().lstrip("0123456789.+-_eE ").strip()
        if quantity.dimension == "count":
            return quantity.noun
    return "each"


def _crews(rows: list[dict[str, Any]]) -> dict[str, int]:
    """Crews named, with the most people that one operation asks for."""
    crews: dict[str, int] = {}
    for row in rows:
        crew = row.get("crew")
        crew = {crew: 1} if isinstance(crew, str) else crew
        for name, people in crew.items() if isinstance(crew, dict) else ():
            asked = -int(-people // 1) if isinstance(people, (int, float)) and people < 1000 else 1
            crews[name] = max(crews.get(name, 1), asked)
    return crews


def _words(rows: list[dict[str, Any]], field: str) -> list[str]:
    words: dict[str, None] = {}
    for row in rows:
        value = row.get(field, [])
        words.update(dict.fromkeys(w for w in (value if isinstance(value, list) else [value]) if isinstance(w, str)))
    return list(words)


def _keys(rows: list[dict[str, Any]], field: str) -> list[str]:
    return list(dict.fromkeys(key for row in rows if isinstance(row.get(field), dict) for key in row[field]))


def _operation(row: Mapping[str, Any], product: str) -> str:
    lines = [f"[[routes.{key_of(product)}.operations]]"]
    lines += [f"{key_of(key)} = {inline(value)}" for key, value in row.items()]
    return "\n".join(lines) + "\n"
