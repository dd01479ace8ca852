"""Linewright: from how a thing is made to whether the line will make it.

The names below are loaded when first asked for. Engines whose package bears their own name are imported from it:
``from linewright.answer import answer``, ``from linewright.simulate import simulate``,
``from linewright.balance import balance``, ``from linewright.improve import improve``.
"""

from importlib import import_module
from typing import Any

from linewright.base.showing import before_showing

__version__ = "0.1.0"

_HOMES = {
    "Plan": "linewright.plan",
    "PlanBuilder": "linewright.plan",
    "read_plan": "linewright.plan",
    "check_plan": "linewright.plan",
    "Network": "linewright.network",
    "compile_network": "linewright.network",
    "solve_flow": "linewright.flow",
    "measure_capacity": "linewright.capacity",
    "cost_of_one": "linewright.cost",
    "Answer": "linewright.answer",
    "Problem": "linewright.base.problems",
    "ProblemsError": "linewright.base.problems",
}

__all__ = ["__version__", *_HOMES]


def __getattr__(name: str) -> Any:
    """Load a public name from its package; importing linewright alone loads none of them."""
    if name not in _HOMES:
        raise AttributeError(f"module 'linewright' has no attribute {name!r}")
    return getattr(import_module(_HOMES[name]), name)


def __dir__() -> list[str]:
    return sorted([*globals(), *_HOMES])


# Results show themselves as tables; in a notebook the report draws them, loaded when the first one is shown.
before_showing(lambda: import_module("linewright.report.notebook"))
