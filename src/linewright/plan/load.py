"""A plan from a file: read safely, its tables beside it, every problem with its file and line.

The text is parsed by the standard library, which is many times faster than a parser that keeps comments; lines are
looked up by a scanner of our own, only when a problem needs them.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from pathlib import Path
from typing import Any

from linewright.base.problems import Problem, Problems, ProblemsError
from linewright.plan.model import Plan
from linewright.plan.places import Places, placed
from linewright.plan.read import read_document
from linewright.plan.sheets import with_tables

DEEPEST = 30
"""Levels of tables and lists in a file; a plan needs about ten."""
LARGEST = 10_000_000
"""Bytes. A plan of 5,000 operations has about 1.5 million; a file above this is refused unread."""


def read_plan(path: str | Path) -> Plan:
    """The plan in a TOML file. Raises ProblemsError with every problem found if any is an error."""
    plan, problems = check_plan(path)
    problems.raise_errors()
    if plan is None:  # cannot be: a plan without errors is made
        raise ProblemsError(problems)
    return plan


def check_plan(path: str | Path) -> tuple[Plan | None, Problems]:
    """The plan in a TOML file (None where it has errors) and every problem found, each with its file and line."""
    file = Path(path)
    try:
        text = _text(file)
    except _RefusedError as wrong:
        return None, Problems([wrong.problem(file)])
    return check_text(text, file)


def check_text(text: str, file: Path) -> tuple[Plan | None, Problems]:
    """The plan in a text that stands, or is to stand, in ``file``; tables and study files are looked for beside it."""
    problems = Problems()
    try:
        document = _document(text)
    except _RefusedError as wrong:
        return None, Problems([wrong.problem(file)])
    document, rows = with_tables(document, file.parent, problems)
    plan = read_document(document, file.parent, problems)
    places = Places(text, str(file), rows)
    if problems.found:
        found = [placed(problem, places, document) for problem in problems.found]
        problems.found[:] = sorted(found, key=lambda problem: (problem.file != str(file), problem.line or 0))
    if plan is not None:
        plan = replace(plan, places=places, warnings=tuple(problems.warnings))
    return plan, problems


def read_text(path: str | Path) -> str:
    """The text of a plan file. Raises ProblemsError for a file that is no plan at all."""
    try:
        return _text(Path(path))
    except _RefusedError as wrong:
        raise ProblemsError([wrong.problem(Path(path))]) from None


def text_in(data: bytes, path: str | Path) -> str:
    """The text in the bytes of the plan file ``path``. Raises ProblemsError for what is no plan at all."""
    try:
        return _decoded(data)
    except _RefusedError as wrong:
        raise ProblemsError([wrong.problem(Path(path))]) from None


def parsed(text: str) -> dict[str, Any]:
    """The plain data in the text of a plan. Raises ProblemsError, with the line, for what is no TOML."""
    try:
        return _document(text)
    except _RefusedError as wrong:
        problem = wrong.problem(Path())
        raise ProblemsError([replace(problem, file=None)]) from None


class _RefusedError(Exception):
    """A file that cannot be read at all, with what is wrong, a hint, and a line."""

    def __init__(self, what: str, hint: str | None = None, line: int | None = None) -> None:
        super().__init__(what)
        self.what, self.hint, self.line = what, hint, line

    def problem(self, file: Path) -> Problem:
        """What is wrong, as a problem of the file."""
        return Problem("", self.what, hint=self.hint, file=str(file), line=self.line)


def _text(file: Path) -> str:
    try:
        size = file.stat().st_size
        if not file.is_file():
            raise _RefusedError("this is no file", "give the path of a plan file")
        if size > LARGEST:
            what = f"this file has {size / 1e6:,.0f} MB; a plan has at most {LARGEST / 1e6:.0f} MB"
            raise _RefusedError(what)
        data = file.read_bytes()
    except OSError as wrong:
        raise _RefusedError(f"this file cannot be read: {wrong.strerror or wrong}") from None
    except ValueError as wrong:  # a name that no file can have
        raise _RefusedError(f"this file cannot be read: {wrong}") from None
    return _decoded(data)


def _decoded(data: bytes) -> str:
    if data[:4] == b"PK\x03\x04":
        hint = "for a spreadsheet: linewright import FILE"
        raise _RefusedError("this is a spreadsheet or an archive, not a plan", hint)
    if b"\0" in data:
        raise _RefusedError("this is a binary file, not a plan")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        raise _RefusedError("this file is not UTF-8 text", "save it as UTF-8", line) from None
    if not text.strip():
        raise _RefusedError("this file is empty", "linewright new NAME writes a plan to begin with")
    return text


_DEEP_KEY = re.compile(
    rf"""(?:^|[{{,\[])[ \t]*+(?:(?:[\w-]++|"[^"\n]*+"|'[^'\n]*+')[ \t]*+\.[ \t]*+){{{DEEPEST}}}""", re.MULTILINE
)
_LONG_NUMBER = re.compile(r"0[xob]\w{1000}")
_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")


def _document(text: str) -> dict[str, Any]:
    try:
        if _DEEP_KEY.search(text):  # the parser would take hours over a key of many thousand parts
            raise _RefusedError(f"this file is nested too deeply: more than {DEEPEST} levels")
        if _LONG_NUMBER.search(text):
            raise _RefusedError("a number in this file has more than 1,000 digits")
        document = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        at = _AT.search(str(wrong))
        line = int(at[1]) if at and at[1] else text.count("\n") + 1
        what = _AT.sub("", str(wrong))
        what = f"this is not TOML: {what[:1].lower()}{what[1:]}"
        if "overwrite a value" in what:
            what = "this is not TOML: this key is written twice in its table"
        raise _RefusedError(what, _syntax_hint(text, line), line) from None
    except ValueError as wrong:  # a decimal number too long for Python, or a date that is none
        raise _RefusedError(f"this is not TOML: {wrong}") from None
    except RecursionError:
        raise _RefusedError("this file is nested too deeply") from None
    _refuse_depth(document)
    return document


def _refuse_depth(document: dict[str, Any]) -> None:
    """Refuse a document nested deeper than any plan: following it would exhaust the stack."""
    level: list[Any] = [document]
    for _ in range(DEEPEST):
        level = [
            part
            for holder in level
            for part in (holder.values() if isinstance(holder, dict) else holder)
            if isinstance(part, (dict, list))
        ]
        if not level:
            return
    raise _RefusedError(f"this file is nested too deeply: more than {DEEPEST} levels")


def _syntax_hint(text: str, line: int) -> str | None:
    lines = text.split("\n")
    found = lines[line - 1].strip() if line <= len(lines) else ""
    word = r"""[\w."-]+\s*=\s*(?!(?:true|false|inf|nan)\b)[A-Za-z_]"""
    if re.match(word, found) or re.match(r"[\w-]+\s*=\s*[\d.]+ *[A-Za-z%]", found):
        return 'a text or a quantity stands in quotes, such as "4 min"'
    return f"the line is: {found[:60]}" if found else None
