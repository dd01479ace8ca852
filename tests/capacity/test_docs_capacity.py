"""The pages' examples run, and print what the pages say."""

from __future__ import annotations

import doctest
from pathlib import Path

import pytest

DOCS = Path(__file__).resolve().parents[2] / "docs"


@pytest.mark.parametrize("page", ["capacity.md", "cost.md"])
def test_page_runs(page: str) -> None:
    found = doctest.testfile(str(DOCS / page), module_relative=False, encoding="utf-8")
    assert found.attempted > 5
    assert found.failed == 0
