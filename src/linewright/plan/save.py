"""Edit a plan file in place: one value set, added or taken out, the author's comments and order kept.

The edited text is checked before it replaces the file; the old file stays beside it with ``.bak`` behind its name.
"""

from __future__ import annotations

import os
import tempfile
from collections.abc import MutableMapping
from pathlib import Path
from typing import Any

from linewright.base.problems import Problem, ProblemsError
from linewright.plan.load import check_text, read_text
from linewright.plan.model import Plan
from linewright.plan.paths import Part, member, split
from linewright.plan.written import inline


def set_value(text: str, path: str, value: object) -> str:
    """The text of a plan with the value at ``path`` set (added where there is none, taken out where it is None).

    Everything else, comments and order included, stays as it was. Raises KeyError where the path leads nowhere and
    ValueError where it is no path.

    >>> print(set_value("[crews.fitter]\\npeople = 6  # by day\\n", "crews.fitter.people", 7), end="")
    [crews.fitter]
    people = 7  # by day
    """
    import tomlkit

    document = tomlkit.parse(text)
    *way, last = split(path)
    here: Any = document
    for part in way:
        here = _step(here, part, path)
    _set(here, last, value, path)
    return tomlkit.dumps(document)


def _step(here: Any, part: Part, path: str) -> Any:
    if isinstance(here, MutableMapping) and "table" in here and part not in ("table", "sheet"):
        raise KeyError(f"{path}: this stands in {here['table']}; change it there")
    if isinstance(here, list):
        number = member(here, part)
        if number is None:
            raise KeyError(f"{path}: there is no {part}")
        return here[number]
    if not isinstance(here, MutableMapping):
        raise KeyError(f"{path}: nothing lies below the value before {part}")
    if str(part) not in here:
        here[str(part)] = {}
    return here[str(part)]


def _set(here: Any, last: Part, value: object, path: str) -> None:
    if isinstance(here, list):
        number = member(here, last)
        if number is None:
            raise KeyError(f"{path}: there is no {last}")
        if value is None:
            del here[number]
        else:
            here[number] = _item(value)
    elif not isinstance(here, MutableMapping):
        raise KeyError(f"{path}: nothing lies below the value before {last}")
    elif value is None:
        if str(last) not in here:
            raise KeyError(f"{path}: there is nothing to take out")
        del here[str(last)]
    else:
        here[str(last)] = _item(value)


def _item(value: object) -> Any:
    """A value as the library takes it; tables and lists on one line, not as tables with a header of their own."""
    import tomlkit

    return tomlkit.parse(f"x = {inline(value)}")["x"] if isinstance(value, (dict, list, tuple)) else value


def append(text: str, path: str, value: object) -> str:
    """The text of a plan with a member added at the end of the list at ``path``: an operation, a demand."""
    import tomlkit

    document = tomlkit.parse(text)
    here: Any = document
    for part in split(path):
        here = _step(here, part, path)
    if not isinstance(here, list):
        raise KeyError(f"{path}: this is no list")
    here.append(value)
    return tomlkit.dumps(document)


def save_value(file: str | Path, path: str, value: object) -> Plan:
    """Set the value at ``path`` in a plan file (None: take it out) and return the plan it now says.

    The file is replaced at once and whole, with the old one kept as ``NAME.bak``; it stays untouched where the new plan
    would have errors, which are raised as ProblemsError.
    """
    target = Path(file)
    old = read_text(target)
    try:
        new = set_value(old, path, value)
    except (KeyError, ValueError) as wrong:
        what = str(wrong.args[0]) if wrong.args else str(wrong)
        raise ProblemsError([Problem(path, what, file=str(target))]) from wrong
    plan, problems = check_text(new, target)
    problems.raise_errors()
    if plan is None:  # cannot be: a plan without errors is made
        raise ProblemsError(problems)
    replace_file(target, new)
    return plan


class ChangedError(Exception):
    """The file is no longer what it was taken to be, so it was not written over."""


def replace_file(target: Path, text: str, *, only_over: bytes | None = None) -> None:
    """Write a file whole or not at all: to a new file beside it, then in its place; the old one becomes ``.bak``.

    With ``only_over`` it replaces these bytes and no others: raises ChangedError where another program wrote the file.
    """
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.")
    fresh = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        if target.exists():
            fresh.chmod(target.stat().st_mode & 0o777)
            backup = target.with_name(target.name + ".bak")
            old = target.read_bytes()
            if only_over is not None and old != only_over:
                raise ChangedError(str(target))
            backup.write_bytes(old)
        fresh.replace(target)
    finally:
        fresh.unlink(missing_ok=True)
