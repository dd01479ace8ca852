"""One change as a table of the page asks for it, done to the text of a plan."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from linewright.pages.asked import Asked
from linewright.pages.refused import RefusedError
from linewright.plan import edit
from linewright.plan.outline import lenient
from linewright.plan.paths import join, split

Done = tuple[str, str]
"""The new text, and the path of what was changed."""
FRESH: Mapping[str, dict[str, Any]] = {
    "stations": {"places": 1}, "crews": {"people": 1}, "items": {"unit": "each"}, "tools": {"count": 1},
    "stores": {"room": 10},
}  # fmt: skip
"""What a thing that is put in begins with."""


def edited(text: str, change: Mapping[str, Any]) -> dict[str, Any]:
    """The text after a change, its line and its path. Raises RefusedError, with the reason, where it cannot be done."""
    ask = Asked(change)
    text = text.replace("\r\n", "\n")
    kind = next((key for key in CHANGES if ask.has(key)), None)
    if kind is None:
        raise RefusedError(400, f"a change has one of {', '.join(CHANGES)}")
    try:
        new, path = CHANGES[kind](text, ask)
    except edit.EditError as wrong:
        raise RefusedError(422, str(wrong)) from None
    return {"text": new, "line": edit.line_of(new, path), "path": path}


def _typed(text: str, ask: Asked) -> Done:
    path = ask.text("path")
    return edit.typed(text, path, ask.text("text", ""), toml=ask.yes("toml")), path


def _inserted(text: str, ask: Asked) -> Done:
    kind = ask.text("insert")
    if kind != "operations":
        id, row = ask.text("id"), ask.table("row")
        start = dict(FRESH.get(kind, {}))
        if kind == "crews" and (shifts := _ids(text, "shifts")):
            start["shift"] = shifts[0]
        return edit.declared(text, kind, id, row or start), join(kind, id)
    route, at = _place(text, ask)
    row = ask.table("row") or {"id": edit.new_id(text), "name": "New step", "time": "1 min"}
    new = edit.inserted(text, route, at, row)
    return new, f"{join('routes', route)}.operations[{at}]"


def _place(text: str, ask: Asked) -> tuple[str, int]:
    """Route and place of a new operation: after the one named, or at the end of the route named."""
    if not ask.has("after"):
        route = ask.text("route")
        return route, edit.count(text, route)
    path = ask.text("after")
    try:
        parts = split(path)
    except ValueError as wrong:
        raise edit.EditError(str(wrong)) from None
    if len(parts) < 4 or parts[0] != "routes":
        raise edit.EditError(f"{path}: this is no operation")
    return str(parts[1]), edit.number_of(text, path) + 1


def _removed(text: str, ask: Asked) -> Done:
    path = ask.text("remove")
    return edit.removed(text, path), path


def _moved(text: str, ask: Asked) -> Done:
    path, by = ask.text("move"), -1 if ask.number("by", 1, -1, 1) < 0 else 1
    number = edit.number_of(text, path)
    new = edit.moved(text, path, by)
    return new, f"{path.rpartition('[')[0]}[{number + by}]"


def _ids(text: str, kind: str) -> list[str]:
    read = lenient(text)
    table = tomllib.loads(read[0]).get(kind) if read is not None else None
    return list(table) if isinstance(table, dict) else []


CHANGES: Mapping[str, Callable[[str, Asked], Done]] = {
    "insert": _inserted, "remove": _removed, "move": _moved, "path": _typed,
}  # fmt: skip
"""What a change may be, by the field that says so."""
