"""The measured table of docs/simulate.md is the recorded one, and what was promised is kept in it or said."""

from __future__ import annotations

import importlib.util
import json
import sys
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture
def benchmark(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """benchmarks/simulate.py as a module; it needs SimPy."""
    pytest.importorskip("simpy", reason="the yardstick is in the test extra")
    monkeypatch.syspath_prepend(str(ROOT / "benchmarks"))
    before = set(sys.modules)
    spec = importlib.util.spec_from_file_location("simulate_benchmark", ROOT / "benchmarks/simulate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    for name in set(sys.modules) - before:
        if not name.startswith(("linewright", "simpy")):
            sys.modules.pop(name)
    return module


def test_the_measured_table_is_the_recorded_one(benchmark: ModuleType) -> None:
    text = (ROOT / "docs/simulate.md").read_text(encoding="utf-8")
    begin = text.index(benchmark.BEGIN) + len(benchmark.BEGIN)
    recorded = json.loads(benchmark.RECORD.read_text())
    assert text[begin : text.index(benchmark.END, begin)].strip() == benchmark.page(recorded)
    plans = [*benchmark.LINES, *benchmark.WEEKS]
    assert all(f"{name}_times_faster" in recorded or f"{name}_without_yardstick" in recorded for name in plans)
