"""Reading a line from a file without a plan: a plain graph file, or a table of task, time and what it comes after.

A graph file has one word a line: ``tasks 3``, ``t 1 12`` (task, time), ``p 1 2`` (task 1 before task 2), ``cycle 20``
(a takt that goes with it); ``#`` begins a comment. A CSV file has the columns task, time, after (names parted by blanks
or semicolons).
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

from linewright.balance.line import Line, Number, as_fraction, make_line
from linewright.base.problems import Problem, ProblemsError, as_text


@dataclass(frozen=True, slots=True)
class Graph:
    """What a graph file holds: the line, and the takt written in it, if any, in the unit of its times."""

    line: Line
    takt: float | None = None


def read_graph(path: str | Path) -> Graph:
    """Read ``.csv`` as a table, anything else as a graph file. Raises ProblemsError with every problem found."""
    path = Path(path)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not plain text"
        raise ProblemsError([Problem("", f"cannot be read: {reason}", file=str(path))]) from None
    reader = _Table(str(path)) if path.suffix.lower() == ".csv" else _Words(str(path))
    return reader.read(text)


class _Reader:
    def __init__(self, file: str) -> None:
        self.file = file
        self.found: list[Problem] = []
        self.times: dict[str, Number] = {}
        self.after: dict[str, list[str]] = {}
        self.takt: float | None = None

    def error(self, line: int, what: str, value: str | None = None, expected: str | None = None) -> None:
        self.found.append(Problem("", what, as_text(value), expected, file=self.file, line=line))

    def task(self, line: int, name: str, time: str) -> None:
        if name in self.times:
            self.error(line, f'task "{name}" is written twice')
        self.times[name] = 0
        try:
            value = as_fraction(time)
        except (ValueError, ZeroDivisionError):
            self.error(line, f'the time of task "{name}" is no number', time, "a number of zero or more")
            return
        if value < 0:
            self.error(line, f'the time of task "{name}" is negative', time, "zero or more")
            return
        self.times[name] = value

    def finish(self) -> Graph:
        try:
            line = make_line(self.times, self.after)
        except ProblemsError as error:
            raise ProblemsError([*self.found, *error.problems]) from None
        if self.found:
            raise ProblemsError(self.found)
        return Graph(line, self.takt)


class _Words(_Reader):
    """The graph file."""

    def read(self, text: str) -> Graph:
        told: int | None = None
        for number, raw in enumerate(text.splitlines(), 1):
            words = raw.split("#")[0].split()
            match words:
                case []:
                    pass
                case ["t", name, time]:
                    self.task(number, name, time)
                case ["p", earlier, later]:
                    self.after.setdefault(later, []).append(earlier)
                case ["tasks", count] if count.isdigit():
                    told = int(count)
                case ["cycle", takt]:
                    self._takt(number, takt)
                case _:
                    self.error(number, "not understood", raw.strip(), '"t task time" or "p earlier later"')
        if told is not None and told != len(self.times):
            self.error(1, f"{told} tasks are announced, {len(self.times)} are given")
        return self.finish()

    def _takt(self, number: int, text: str) -> None:
        try:
            self.takt = float(as_fraction(text))
        except (ValueError, ZeroDivisionError):
            self.error(number, "the cycle is no number", text)


class _Table(_Reader):
    """The table of task, time, after."""

    def read(self, text: str) -> Graph:
        rows = csv.DictReader(io.StringIO(text), skipinitialspace=True)
        columns = [c.strip().lower() for c in rows.fieldnames or []]
        rows.fieldnames = columns
        missing = [c for c in ("task", "time") if c not in columns]
        if missing:
            self.error(1, "a column is missing", ", ".join(columns), f"columns {', '.join(missing)} and after")
            raise ProblemsError(self.found)
        for row in rows:
            name = (row["task"] or "").strip()
            if not name:
                self.error(rows.line_num, "a row without a task")
                continue
            self.task(rows.line_num, name, (row["time"] or "").strip())
            after = (row.get("after") or "").replace(";", " ").split()
            if after:
                self.after.setdefault(name, []).extend(after)
        return self.finish()
