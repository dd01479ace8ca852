"""Where every field of a plan file was written: a scanner that maps paths to lines.

The text has been parsed already, so the scanner may trust it to be valid TOML: it only follows headers, keys, texts,
lists and inline tables. It runs when the first line is asked for.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from linewright.base.problems import Problem
from linewright.plan.model import Place
from linewright.plan.paths import join, member


class Places(Mapping[str, Place]):
    """Paths (list members by number from 0) to places; ``rows`` has those in a table elsewhere."""

    def __init__(self, text: str, file: str, rows: Mapping[str, Place]) -> None:
        self._text, self._file, self._rows = text, file, rows
        self._lines: dict[str, int] | None = None

    @property
    def lines(self) -> dict[str, int]:
        """Path to line, from 1."""
        if self._lines is None:
            self._lines = scan(self._text.replace("\r\n", "\n"))
        return self._lines

    def __getitem__(self, path: str) -> Place:
        if path in self._rows:
            return self._rows[path]
        return Place(self._file, self.lines[path])

    def __iter__(self) -> Iterator[str]:
        yield from self._rows
        yield from (path for path in self.lines if path not in self._rows)

    def __len__(self) -> int:
        return len(self._rows.keys() | self.lines.keys())

    def __contains__(self, path: object) -> bool:
        return path in self._rows or path in self.lines

    def near(self, path: str) -> Place:
        """The place of a path, or of the nearest part above it that was written."""
        while path:
            if path in self:
                return self[path]
            path = above(path)
        return Place(self._file, 1)


def placed(problem: Problem, places: Mapping[str, Place], document: Mapping[str, Any]) -> Problem:
    """The problem with its file and line, where they are known, and with operations named by their id."""
    problem = replace(problem, path=quoted(problem.path, document))
    path = named(problem.path, document)
    if problem.file is not None or not isinstance(places, Places):
        return replace(problem, path=path)
    place = places.near(by_number(problem.path, document))
    return replace(problem, path=path, file=place.file, line=place.line)


def quoted(path: str, document: Mapping[str, Any]) -> str:
    """The path with its id in quotes where the id needs them and they were left out.

    >>> quoted("items.left tub.mass", {"items": {"left tub": {}}})
    'items."left tub".mass'
    """
    kind = path.partition(".")[0]
    table = document.get(kind)
    for id in table if isinstance(table, Mapping) else ():
        bare = f"{kind}.{id}"
        if (path == bare or path.startswith((f"{bare}.", f"{bare}["))) and join(kind, id) != bare:
            return join(kind, id) + path[len(bare) :]
    return path


_OPERATION = re.compile(r'routes\.("(?:[^"\\]|\\.)*"|[\w-]+)\.operations\[([^\]]+)\]')


def named(path: str, document: Mapping[str, Any]) -> str:
    """The path with an operation named by its id instead of its number, where only one has the id.

    >>> named("routes.a.operations[0].time", {"routes": {"a": {"operations": [{"id": "glue"}]}}})
    'routes.a.operations[glue].time'
    """
    match, rows = _rows(path, document)
    if match is None or not match[2].isdigit() or int(match[2]) >= len(rows):
        return path
    row = rows[int(match[2])]
    id = row.get("id") if isinstance(row, Mapping) else None
    if not isinstance(id, str) or not id or "]" in id or member(rows, id) != int(match[2]):
        return path
    return f"{path[: match.start(2)]}{id}{path[match.end(2) :]}"


def by_number(path: str, document: Mapping[str, Any]) -> str:
    """The path with an operation by its number from 0, where it was named by its id."""
    match, rows = _rows(path, document)
    if match is None or (match[2].isdigit() and int(match[2]) < len(rows)):
        return path
    number = member(rows, match[2])
    return path if number is None else f"{path[: match.start(2)]}{number}{path[match.end(2) :]}"


def _rows(path: str, document: Mapping[str, Any]) -> tuple[re.Match[str] | None, list[Any]]:
    """The match of an operation in a path, and the operations of its route."""
    match = _OPERATION.match(path)
    routes = document.get("routes")
    if match is None or not isinstance(routes, Mapping):
        return None, []
    route = routes.get(json.loads(match[1]) if match[1].startswith('"') else match[1])
    rows = route.get("operations") if isinstance(route, Mapping) else None
    return match, rows if isinstance(rows, list) else []


_LAST = re.compile(r'(\[[^\]]*\]|\.?"(?:[^"\\]|\\.)*"|\.?[\w-]+)$')


def above(path: str) -> str:
    """The path without its last part.

    >>> above("items.tub.mass"), above("demand[0]"), above("items")
    ('items.tub', 'demand', '')
    """
    return _LAST.sub("", path) if _LAST.search(path) else ""


_SKIP = re.compile(r"(?:[ \t\n]+|#[^\n]*)*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STRINGS = (
    ('"""', re.compile(r'"""(?:[^"\\]|\\[\s\S]|"(?!""))*"{3,5}')),
    ("'''", re.compile(r"'''[\s\S]*?'{3,5}")),
    ('"', re.compile(r'"(?:[^"\\\n]|\\.)*"')),
    ("'", re.compile(r"'[^'\n]*'")),
)
_ATOM = re.compile(r"[^\s,\]}#]+(?: [0-9][^\s,\]}#]*)?")


class _Scanner:
    """One pass over a text; ``lines`` fills as it goes."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.lines: dict[str, int] = {}
        self.headers: list[tuple[int, str]] = []
        self.counts: dict[str, int] = {}
        self.here = ""
        self._line, self._line_at = 1, 0

    def line(self) -> int:
        self._line += self.text.count("\n", self._line_at, self.at)
        self._line_at = self.at
        return self._line

    def skip(self) -> None:
        match = _SKIP.match(self.text, self.at)
        if match is not None:
            self.at = match.end()

    def document(self) -> dict[str, int]:
        self.skip()
        while self.at < len(self.text):
            if self.text.startswith("[[", self.at):
                self.header(2)
            elif self.text[self.at] == "[":
                self.header(1)
            else:
                self.pair(self.here)
            self.skip()
        return self.lines

    def header(self, brackets: int) -> None:
        line = self.line()
        self.at += brackets
        keys = self.keys()
        self.at += brackets
        path = ""
        for key in keys[:-1]:
            path = join(path, key)
            self.lines.setdefault(path, line)
            if path in self.counts:
                path = f"{path}[{self.counts[path] - 1}]"
        path = join(path, keys[-1])
        self.lines.setdefault(path, line)
        if brackets == 2:
            number = self.counts.get(path, 0)
            self.counts[path] = number + 1
            path = f"{path}[{number}]"
            self.lines[path] = line
        self.headers.append((line, path))
        self.here = path

    def keys(self) -> list[str]:
        keys = []
        while True:
            self.blank()
            keys.append(self.key())
            self.blank()
            if not self.text.startswith(".", self.at):
                return keys
            self.at += 1

    def blank(self) -> None:
        while self.at < len(self.text) and self.text[self.at] in " \t":
            self.at += 1

    def key(self) -> str:
        match = _BARE.match(self.text, self.at)
        if match is not None:
            self.at = match.end()
            return match[0]
        raw = self.string()
        return str(json.loads(raw)) if raw.startswith('"') else raw[1:-1]

    def string(self) -> str:
        for mark, pattern in _STRINGS:
            if self.text.startswith(mark, self.at):
                match = pattern.match(self.text, self.at)
                if match is not None:
                    self.at = match.end()
                    return match[0]
        raise ValueError(f"no text at {self.at}")

    def pair(self, path: str) -> None:
        line = self.line()
        for key in self.keys():
            path = join(path, key)
            self.lines.setdefault(path, line)
        self.at = self.text.index("=", self.at) + 1
        self.value(path)

    def value(self, path: str) -> None:
        self.skip()
        mark = self.text[self.at]
        if mark in "\"'":
            self.string()
        elif mark == "[":
            self.members(path)
        elif mark == "{":
            self.table(path)
        else:
            match = _ATOM.match(self.text, self.at)
            if match is None:
                raise ValueError(f"no value at {self.at}")
            self.at = match.end()

    def members(self, path: str) -> None:
        self.at += 1
        number = 0
        while True:
            self.skip()
            if self.text[self.at] == "]":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self.lines[f"{path}[{number}]"] = self.line()
            self.value(f"{path}[{number}]")
            number += 1

    def table(self, path: str) -> None:
        self.at += 1
        while True:
            self.skip()
            if self.text[self.at] == "}":
                self.at += 1
                return
            if self.text[self.at] == ",":
                self.at += 1
                continue
            self.pair(path)


def scan(text: str) -> dict[str, int]:
    """Path to line (from 1) of everything written in a valid TOML text with plain line ends.

    >>> scan('[items.tub]\\nunit = "each"')
    {'items': 1, 'items.tub': 1, 'items.tub.unit': 2}
    """
    return _Scanner(text).document()


def scan_headers(text: str) -> tuple[dict[str, int], list[tuple[int, str]]]:
    """As ``scan``, and (line, path) of every header ``[...]`` or ``[[...]]`` in order.

    >>> scan_headers('[items.tub]\\nunit = "each"')[1]
    [(1, 'items.tub')]
    """
    scanner = _Scanner(text)
    scanner.document()
    return scanner.lines, scanner.headers
