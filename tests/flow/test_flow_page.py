"""The numbers in docs/flow.md are what its own plan gives."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from linewright.base.problems import Problems
from linewright.flow import solve_flow
from linewright.network.compile import compile_network
from linewright.plan.read import read_document

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "flow.md").read_text(encoding="utf-8")


def test_example_of_the_page() -> None:
    text = re.search(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    assert text is not None
    problems = Problems()
    plan = read_document(tomllib.loads(text[1]), Path(), problems)
    assert plan is not None, list(problems)
    flow = solve_flow(compile_network(plan))
    rows = re.findall(r"^\| (\w+) (bought|lost|used|going round|delivered) \| ([\d.]+) \|$", PAGE, re.MULTILINE)
    assert len(rows) == 5
    for name, what, number in rows:
        found = (
            float(flow.lost[flow.losses.index(name)])
            if what == "lost"
            else float(getattr(flow, what.replace(" ", "_"))[flow.items.index(name)])
        )
        assert found == pytest.approx(float(number), abs=0.005), (name, what)
    mill = flow.runs[flow.operations.index("mill")]
    assert f"{mill * 1000:,.0f} kg" == "12,500 kg"
    assert "12,500 kg" in PAGE
