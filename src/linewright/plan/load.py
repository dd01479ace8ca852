"""A plan from a file: read safely, its tables beside it, every problem with its file and line.

The text is parsed by the standard library, which is many times faster than a parser that keeps comments; lines are
looked up by a scanner of our own, only when a problem needs them.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from linewright.base.problems import Problem, Problems, ProblemsError
from linewright.plan.model import Place, Plan
from linewright.plan.places import Places
from linewright.plan.read import read_document

LARGEST = 20_000_000
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
    problems = Problems()
    text = _text(file, problems)
    document = _document(text, file, problems) if text is not None else None
    if text is None or document is None:
        return None, problems
    rows: dict[str, Place] = {}
    plan = read_document(document, file.parent, problems)
    places = Places(text, str(file), rows)
    if problems.found:
        problems.found[:] = [places.placed(problem) for problem in problems.found]
    return (None if plan is None else replace(plan, places=places)), problems


def _refuse(problems: Problems, file: Path, what: str, hint: str | None = None, line: int | None = None) -> None:
    problems.extend([Problem("", what, hint=hint, file=str(file), line=line)])


def _text(file: Path, problems: Problems) -> str | None:
    try:
        size = file.stat().st_size
        if not file.is_file():
            return _refuse(problems, file, "this is no file", "give the path of a plan file")
        if size > LARGEST:
            what = f"this file has {size / 1e6:,.0f} MB; a plan has at most {LARGEST / 1e6:.0f} MB"
            return _refuse(problems, file, what)
        data = file.read_bytes()
    except OSError as wrong:
        return _refuse(problems, file, f"this file cannot be read: {wrong.strerror or wrong}")
    if data[:4] == b"PK\x03\x04":
        hint = "for a spreadsheet: linewright import FILE"
        return _refuse(problems, file, "this is a spreadsheet or an archive, not a plan", hint)
    if b"\0" in data:
        return _refuse(problems, file, "this is a binary file, not a plan")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        line = data.count(b"\n", 0, wrong.start) + 1
        return _refuse(problems, file, "this file is not UTF-8 text", "save it as UTF-8", line)
    if not text.strip():
        return _refuse(problems, file, "this file is empty", "linewright new NAME writes a plan to begin with")
    return text.replace("\r\n", "\n")


_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")


def _document(text: str, file: Path, problems: Problems) -> dict[str, Any] | None:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        at = _AT.search(str(wrong))
        line = int(at[1]) if at and at[1] else text.count("\n") + 1
        what = _AT.sub("", str(wrong))
        what = f"this is not TOML: {what[:1].lower()}{what[1:]}"
        _refuse(problems, file, what, _syntax_hint(text, line), line)
    except RecursionError:
        _refuse(problems, file, "this file is nested too deeply")
    return None


def _syntax_hint(text: str, line: int) -> str | None:
    lines = text.split("\n")
    found = lines[line - 1].strip() if line <= len(lines) else ""
    if re.match(r"""[\w."-]+\s*=\s*[^"'\[{\d+-tf\s]""", found) or re.match(r"[\w-]+\s*=\s*[\d.]+ *[A-Za-z%]", found):
        return 'a text or a quantity stands in quotes, such as "4 min"'
    return f"the line is: {found[:60]}" if found else None
