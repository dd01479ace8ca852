"""A table, a list or a truth where none belongs, in every field of the plans of all kinds: told by name, never dropped.

What stands under a model of physics is read when the plan is compiled, and told there.
"""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import Problems
from linewright.plan.read import read_document

ROOT = Path(__file__).parents[2]
WRONG: list[Any] = [{"zz": [[]]}, [[]], True]
LATER = {"dry", "screen", "press", "cool", "ferment"}
EMPTY = {"together"}
"""Lists of lists: an empty group ties nothing."""


def fields(table: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    parts = table.items() if isinstance(table, dict) else enumerate(table) if isinstance(table, list) else ()
    for key, part in parts:
        yield (*path, key)
        yield from fields(part, (*path, key))


@pytest.mark.parametrize(
    "file", ["examples/trailer.toml", "examples/reedboard.toml", "examples/hivekit.toml",
             "tests/examples/blank_boots.toml", "tests/examples/blank_cidery.toml", "tests/examples/blank_desk.toml"]
)  # fmt: skip
def test_every_wrong_kind_is_told(file: str) -> None:
    document = tomllib.loads((ROOT / file).read_text(encoding="utf-8"))
    seen = set()
    for path in fields(document):
        shape = (path[0], *("#" if isinstance(key, int) else key for key in path[2:]))
        if shape in seen or LATER & set(path):
            continue
        seen.add(shape)
        for wrong in WRONG:
            changed = copy.deepcopy(document)
            place = changed
            for key in path[:-1]:
                place = place[key]
            if place[path[-1]] == wrong or (EMPTY & set(path) and wrong == [[]]):
                continue
            place[path[-1]] = wrong
            problems = Problems()
            read_document(changed, (ROOT / file).parent, problems)
            assert len(problems) > 0, (path, wrong)
