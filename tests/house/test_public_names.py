"""The public names are those said, each is there, and importing linewright is light."""

from __future__ import annotations

import subprocess
import sys

import linewright

PUBLIC = {
    "Answer", "Network", "Plan", "PlanBuilder", "Problem", "ProblemsError", "__version__", "check_plan",
    "compile_network", "cost_of_one", "measure_capacity", "read_plan", "solve_flow",
}  # fmt: skip


def test_the_public_names_are_these() -> None:
    assert set(linewright.__all__) == PUBLIC
    for name in PUBLIC:
        assert getattr(linewright, name) is not None


def test_other_names_are_refused_as_python_does() -> None:
    assert not hasattr(linewright, "no_such_name")


def test_importing_loads_nothing_heavy() -> None:
    code = "import sys, linewright; print(sorted({m.split('.')[0] for m in sys.modules}))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    for heavy in ("numpy", "scipy", "pint", "numba", "rich", "click", "tomlkit", "ortools", "vl_convert"):
        assert f"'{heavy}'" not in loaded
