"""The pages of the plan format are current, and every example in them is read without a problem."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from linewright.base.problems import Problems
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Field
from linewright.plan.reference import TABLES, renewed

DOCS = Path(__file__).parents[2] / "docs"
ALL = [(mark, field) for mark, record in TABLES.items() for field in record.fields]


class Everything(frozenset[str]):
    """Names among which every word is known."""

    def __contains__(self, word: object) -> bool:
        return True


@pytest.mark.parametrize("name", ["plan.md", "units.md"])
def test_page_is_current(name: str) -> None:
    text = (DOCS / name).read_text("utf-8")
    assert renewed(text) == text, "write it anew: python -m linewright.plan.reference docs"


def test_page_shows_every_table() -> None:
    text = (DOCS / "plan.md").read_text("utf-8")
    assert set(re.findall(r"<!-- fields (\w+) -->", text)) == set(TABLES)


@pytest.mark.parametrize(("mark", "field"), ALL, ids=[f"{mark}.{field.key}" for mark, field in ALL])
def test_example_of_a_field_is_read(mark: str, field: Field) -> None:
    assert field.example, "every field has an example"
    if (mark, field.key) == ("routes", "operations"):
        return  # a table beside the plan: see test_sheets.py
    value = tomllib.loads(f"{field.key} = {field.example}")[field.key]
    problems = Problems()
    reading = Reading(problems, {kind: Everything() for kind in (*TABLES, "operations")}, money="EUR")
    assert field.form.read(value, field.key, reading) is not FAILED
    assert list(problems) == []


def test_python_of_the_page_runs() -> None:
    text = (DOCS / "plan.md").read_text("utf-8")
    found = re.search(r"```python\n(.*?)```", text, re.DOTALL)
    assert found is not None
    names: dict[str, Any] = {}
    exec(found[1], names)
    assert names["slower"].routes["stool"].operations[0].time.fixed.value == 300.0


def test_every_reserved_name_is_refused_by_name() -> None:
    """The names that the page keeps for later are told apart from misspelt ones, in every table."""
    for mark, record in TABLES.items():
        for name in record.reserved:
            problems = Problems()
            record.read({name: 1}, mark, Reading(problems))
            assert any(p.what == f"`{name}` is not yet played" for p in problems), (mark, name)
