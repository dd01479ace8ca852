"""docs/balance.md runs, its table of rules is the engines' own, and its numbers are those recorded."""

from __future__ import annotations

import doctest
import importlib.util
import json
import sys
from pathlib import Path

import pytest

from linewright.balance import support

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "docs/balance.md"


def between(begin: str, end: str) -> str:
    text = PAGE.read_text(encoding="utf-8")
    return text[text.index(begin) + len(begin) : text.index(end)].strip()


def test_the_page_runs() -> None:
    pytest.importorskip("ortools", reason="the page shows the general engine, which needs the extra `balance`")
    found = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert found.attempted > 8
    assert found.failed == 0


def test_the_table_of_rules_is_what_the_engines_say() -> None:
    table = support()
    rows = [f"| {' | '.join(table.columns)} |", "|" + "---|" * len(table.columns)]
    rows += [f"| {row[0]} | {' | '.join('yes' if can else 'no' for can in row[1:])} |" for row in table.rows]
    assert between("<!-- support -->", "<!-- end support -->") == "\n".join(rows)


def test_the_measured_table_is_the_recorded_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.syspath_prepend(str(ROOT / "benchmarks"))
    spec = importlib.util.spec_from_file_location("balance_benchmark", ROOT / "benchmarks/balance.py")
    assert spec is not None
    assert spec.loader is not None
    benchmark = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(benchmark)
    sys.modules.pop("common", None)
    recorded = json.loads(benchmark.RECORD.read_text())
    assert between(benchmark.BEGIN, "<!-- end -->") == benchmark.page(recorded)
    assert recorded["wrong"] == 0
