"""The pages run, and the published table is what the code computes today."""

from __future__ import annotations

import doctest
import importlib.util
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("page", ["quality.md", "worktime.md", "quality_of_a_plan.md"])
def test_every_example_of_the_page_is_true(page: str) -> None:
    result = doctest.testfile(str(ROOT / "docs" / page), module_relative=False)
    assert result.attempted > 5
    assert result.failed == 0


def test_the_published_table_is_current() -> None:
    spec = importlib.util.spec_from_file_location("published_table", ROOT / "scripts" / "published_table.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    text = module.PAGE.read_text(encoding="utf-8")
    assert module.page(text) == text, "run python scripts/published_table.py"
    assert text.count("\n| ") > 100


def test_the_rule_of_priority_is_as_printed() -> None:
    from linewright.quality.failure_modes import RULE

    text = (ROOT / "docs" / "quality.md").read_text(encoding="utf-8")
    for priority, lines in RULE.items():
        if priority != "low":
            told = "; ".join(", ".join(str(rank) for rank in line) for line in lines)
            assert f"| {priority} | {told} |" in text
