"""Edits of a plan's text as a table of it makes them: a cell typed, a row put in, taken out or moved.

The author's comments and layout stay. Every edit is proved before it is given back: the new text must say exactly what
the old one said with the one change, else the edit is refused. Lines that cannot be read stand aside meanwhile and come
back where they were.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from typing import Any

from linewright.base.problems import ProblemsError
from linewright.plan.blocks import Blocks
from linewright.plan.change import with_value
from linewright.plan.forms import Form
from linewright.plan.load import parsed
from linewright.plan.outline import BROKEN, lenient
from linewright.plan.paths import Part, join, numbered, split
from linewright.plan.places import above
from linewright.plan.record import Record
from linewright.plan.reference import TABLES
from linewright.plan.save import set_value
from linewright.plan.sheets import form_of
from linewright.plan.table_fields import RECORDS
from linewright.plan.written import inline, key_of

Document = dict[str, Any]


class EditError(ValueError):
    """An edit that cannot be done, with the reason in words."""


def typed(text: str, path: str, value: str, *, toml: bool = False) -> str:
    """The text with what was typed at ``path``; nothing typed takes the field out.

    With ``toml`` it is read as TOML; else it is a text, or a number where the field takes one.
    """
    if not value.strip():
        return removed(text, path)
    document, lines = _begin(text)
    new = _read(value) if toml else _as_form(value, path, _at(document, path))
    wanted = _with(document, path, new)
    return _proved(text, wanted, lambda sound: _set(sound, document, path, new), lines)


def removed(text: str, path: str) -> str:
    """The text without the field, row or table at ``path``."""
    document, lines = _begin(text)
    if _at(document, path) is None:
        raise EditError(f"{path}: there is nothing to take out")
    wanted = _with(document, path, None)

    def do(sound: str) -> str:
        blocks = Blocks(sound)
        numbered_path = _by_number(document, path)
        whole = blocks.whole(numbered_path)
        if whole:
            return blocks.without([(block.top, block.end) for block in whole])
        return _tomlkit(sound, numbered_path, None)

    return _proved(text, wanted, do, lines)


def inserted(text: str, route: str, at: int, row: Mapping[str, Any]) -> str:
    """The text with one more operation in a route, at place ``at`` from 0 (its number or more: at the end)."""
    document, lines = _begin(text)
    rows = _rows(document, route)
    at = min(max(at, 0), len(rows))
    path = f"{join('routes', route)}.operations"
    wanted = with_value(document, path, [*rows[:at], dict(row), *rows[at:]])
    block = "\n".join([f"[[routes.{key_of(route)}.operations]]", *_fields(row)])

    def do(sound: str) -> str:
        blocks = Blocks(sound)
        if rows and blocks.of(f"{path}[0]") is None:
            return _in_list(sound, route, lambda listed: listed.insert(at, _item(row)))
        before = blocks.span(f"{path}[{at - 1}]") if at else None
        if before is not None:
            return blocks.with_block(before[1], block)
        first = blocks.span(f"{path}[0]") if rows else None
        if first is not None:
            return blocks.with_block(first[0], block)
        own = blocks.of(join("routes", route))
        return blocks.with_block(own.end if own is not None else len(blocks.lines), block)

    return _proved(text, wanted, do, lines)


def declared(text: str, kind: str, id: str, row: Mapping[str, Any]) -> str:
    """The text with one more thing of a kind: a station, a crew, an item."""
    document, lines = _begin(text)
    table = document.get(kind, {})
    if not id.strip() or not isinstance(table, Mapping) or kind not in RECORDS:
        raise EditError(f'{kind}: there can be none called "{id}"')
    if id in table:
        raise EditError(f'{kind}: there is one called "{id}" already')
    wanted = {**document, kind: {**table, id: dict(row)}}
    block = "\n".join([f"[{kind}.{key_of(id)}]", *_fields(row)])

    def do(sound: str) -> str:
        blocks = Blocks(sound)
        own = blocks.whole(kind)
        return blocks.with_block(own[-1].end if own else _before_routes(blocks), block)

    return _proved(text, wanted, do, lines)


def moved(text: str, path: str, by: int) -> str:
    """The text with an operation moved up (``by`` -1) or down (1) in its route."""
    document, lines = _begin(text)
    parts = _numbers(document, path)
    if len(parts) != 4 or parts[0] != "routes" or parts[2] != "operations" or not isinstance(parts[3], int):
        raise EditError(f"{path}: only an operation can be moved")
    route, here = str(parts[1]), parts[3]
    rows = _rows(document, route)
    there = here + by
    if not 0 <= there < len(rows):
        raise EditError(f"{path}: there is no place to move it to")
    order = list(rows)
    order.insert(there, order.pop(here))
    listed = f"{join('routes', route)}.operations"
    wanted = with_value(document, listed, order)

    def do(sound: str) -> str:
        blocks = Blocks(sound)
        for step in range(here, there, 1 if by > 0 else -1):
            after = step + (1 if by > 0 else -1)
            one, other = blocks.span(f"{listed}[{step}]"), blocks.span(f"{listed}[{after}]")
            if one is None or other is None:
                return _in_list(sound, route, lambda rows: rows.insert(there, rows.pop(here)))
            blocks = Blocks(blocks.swapped(one, other))
        return "\n".join(blocks.lines)

    return _proved(text, wanted, do, lines)


def count(text: str, route: str) -> int:
    """How many operations a route has. Raises EditError where there is no such route."""
    return len(_rows(_begin(text)[0], route))


def number_of(text: str, path: str) -> int:
    """The number, from 0, of an operation in its route. Raises EditError where there is none."""
    parts = _numbers(_begin(text)[0], path)
    if len(parts) < 4 or not isinstance(parts[3], int):
        raise EditError(f"{path}: this is no operation")
    return parts[3]


def line_of(text: str, path: str) -> int | None:
    """The line, from 1, on which a path or the nearest part above it is written."""
    read = lenient(text)
    if read is None:
        return None
    document, where = tomllib.loads(read[0]), Blocks(read[0]).where
    while path:
        try:
            line = where.get(_by_number(document, path))
        except EditError:
            line = None
        if line is not None:
            return line
        path = above(path)
    return None


def new_id(text: str) -> str:
    """An id that no operation has."""
    read = lenient(text)
    known = read[0] if read is not None else text
    number = 1
    while f'"step_{number}"' in known:
        number += 1
    return f"step_{number}"


def _begin(text: str) -> tuple[Document, dict[int, str]]:
    """What the text says, with the lines that cannot be read."""
    read = lenient(text)
    if read is None:
        raise EditError("the text has too much that cannot be read: mend it first")
    return tomllib.loads(read[0]), read[1]


def _proved(text: str, wanted: Document, do: Callable[[str], str], aside: Mapping[int, str]) -> str:
    """The text after ``do``, proved to say what is wanted and no more, with the lines that stood aside back."""
    read = lenient(text)
    assert read is not None  # _begin has read it
    try:
        new = do(read[0])
        right = _full(tomllib.loads(new)) == _full(wanted)
    except (KeyError, ValueError, TypeError, AttributeError, IndexError, ProblemsError) as wrong:
        said = str(wrong.args[0]) if wrong.args else type(wrong).__name__
        raise EditError(said) from None
    if not right:
        raise EditError("this cannot be done without touching more than is asked: change it in the text")
    return re.sub(rf"^{re.escape(BROKEN)}(\d+)$", lambda at: aside.get(int(at[1]), at[0]), new, flags=re.MULTILINE)


def _with(document: Document, path: str, value: object) -> Document:
    """What the document is to say."""
    try:
        return with_value(document, path, value)
    except (KeyError, ValueError) as wrong:
        raise EditError(str(wrong.args[0]) if wrong.args else path) from None


def _full(value: Any) -> Any:
    """A value without tables and lists that hold nothing: the last row of a kind takes its table with it."""
    if isinstance(value, dict):
        parts = {key: _full(part) for key, part in value.items()}
        return {key: part for key, part in parts.items() if part not in ({}, [])}
    return [_full(part) for part in value] if isinstance(value, list) else value


def _set(sound: str, document: Document, path: str, value: object) -> str:
    """A value set: a new field of a table with a header goes below the others, before any empty line."""
    parts = _numbers(document, path)
    blocks = Blocks(sound)
    for depth in range(1, len(parts)):
        here = _written(parts[:depth])
        if here in blocks.where or blocks.of(here) is not None:
            continue
        if depth <= 2 < len(parts) and parts[0] in RECORDS:  # a thing that is not declared yet
            return declared(sound, str(parts[0]), str(parts[1]), _nested(parts[2:], value))
        return _add(blocks, sound, parts[: depth - 1], str(parts[depth - 1]), _nested(parts[depth:], value))
    if _written(parts) in blocks.where:
        return _tomlkit(sound, _written(parts), value)
    return _add(blocks, sound, parts[:-1], str(parts[-1]), value)


def _add(blocks: Blocks, sound: str, holder: list[Part], key: str, value: object) -> str:
    block = blocks.of(_written(holder))
    if block is None:
        return _tomlkit(sound, _written([*holder, key]), value)
    return blocks.with_line(max(block.end, block.head + 1), f"{key_of(key)} = {inline(value)}")


def _nested(parts: list[Part], value: object) -> Any:
    for part in reversed(parts):
        value = {str(part): value}
    return value


def _tomlkit(text: str, path: str, value: object) -> str:
    try:
        return set_value(text, path, value)
    except Exception as wrong:  # the library raises many kinds over odd but valid files
        said = wrong.args[0] if isinstance(wrong, (KeyError, ValueError)) and wrong.args else "change it in the text"
        raise EditError(f"{path}: {said}" if path not in str(said) else str(said)) from None


def _in_list(text: str, route: str, change: Callable[[Any], object]) -> str:
    """A change of operations written as one list in square brackets."""
    import tomlkit

    document: Any = tomlkit.parse(text)
    change(document["routes"][route]["operations"])
    return tomlkit.dumps(document)


def _item(value: object) -> Any:
    """A value as the library keeps it, tables on one line."""
    import tomlkit

    return tomlkit.parse(f"x = {inline(value)}")["x"]


def _rows(document: Document, route: str) -> list[Any]:
    routes = document.get("routes")
    table = routes.get(route) if isinstance(routes, Mapping) else None
    rows = table.get("operations", []) if isinstance(table, Mapping) else None
    if isinstance(rows, Mapping):
        raise EditError(f"the operations of {route} stand in {rows.get('table')}; change them there")
    if not isinstance(rows, list):
        raise EditError(f'there is no route "{route}"')
    return rows


def _at(document: Document, path: str) -> Any:
    """The value at a path, None where there is none. Raises EditError for what is no path or stands in a table."""
    here: Any = document
    for part in _numbers(document, path):
        if isinstance(here, dict) and "table" in here and isinstance(part, int):
            raise EditError(f"{path}: this stands in {here['table']}; change it there")
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            return None
    return here


def _numbers(document: Document, path: str) -> list[Part]:
    """The parts of a path, list members by number."""
    try:
        parts = split(path)
        if not parts or not all(str(part) for part in parts):
            raise ValueError(path)
        if len(parts) > 3 and parts[0] == "routes":
            rows = document.get("routes", {}).get(str(parts[1]), {}).get("operations")
            if isinstance(rows, Mapping) and "table" in rows and str(parts[3]) not in rows:
                raise EditError(f"{path}: this stands in {rows['table']}; change it there")
        found = numbered(document, path)
        if len(found) > 3 and found[0] == "routes" and found[2] == "operations" and not isinstance(found[3], int):
            raise ValueError(path)
        return found
    except EditError:
        raise
    except (KeyError, ValueError, AttributeError, TypeError):
        raise EditError(f'there is no "{path}"') from None


def _by_number(document: Document, path: str) -> str:
    return _written(_numbers(document, path))


def _written(parts: list[Part]) -> str:
    path = ""
    for part in parts:
        path = f"{path}[{part}]" if isinstance(part, int) else join(path, part)
    return path


def _read(value: str) -> Any:
    try:
        document = parsed(f"value = {value.strip()}\n")
    except ProblemsError:
        raise EditError(f"this cannot be read: {value[:60]}") from None
    if list(document) != ["value"]:
        raise EditError(f"this is more than one value: {value[:60]}")
    return document["value"]


def _as_form(value: str, path: str, current: object) -> Any:
    """What was typed, as a number where one stands or the field takes one, else as text."""
    if isinstance(current, str):
        return value
    if isinstance(current, (int, float)) or not _textual(path):
        if value.strip() in ("true", "false"):
            return value.strip() == "true"
        try:
            return _read(value) if re.fullmatch(r"[+-]?[\d_.eE+-]+", value.strip()) else value
        except EditError:
            return value
    return value


def _textual(path: str) -> bool:
    """Whether the field of a path is written as a text."""
    parts = split(path)
    form: Form | None
    if len(parts) > 4 and parts[0] == "routes" and parts[2] == "operations":
        form = form_of(".".join(str(part) for part in parts[4:]))
    else:
        record: Form | None = TABLES.get(str(parts[0]))
        rest = parts[2:] if str(parts[0]) in RECORDS else parts[1:]
        for part in rest:
            field = record.by_key.get(str(part)) if isinstance(record, Record) else None
            record = field.form if field is not None else None
        form = record
    return form.textual if form is not None else False


def _fields(row: Mapping[str, Any]) -> list[str]:
    return [f"{key_of(key)} = {inline(value)}" for key, value in row.items()]


def _before_routes(blocks: Blocks) -> int:
    """Where a new kind of table goes: before the first route, else at the end."""
    first = next((block for block in blocks.found if block.path.startswith("routes")), None)
    return first.top if first is not None else len(blocks.lines)
