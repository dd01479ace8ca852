"""A plan from the text of its file, and its material balance."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from linewright.base.problems import Problems
from linewright.flow import Flow, solve_flow
from linewright.network.compile import compile_network
from linewright.plan.read import read_document

HEAD = """
[plan]
name = "Harrow Fen Works, a test"
money = "EUR"
makes = "{makes}"
demand = "{demand}"
[shifts.day]
hours = "08:00-16:00"
[crews.hand]
people = 2
shift = "day"
wage = "20 EUR/h"
"""


@pytest.fixture
def flow() -> Callable[..., Flow]:
    """Solve the plan written in a text, with the head of every plan put before it."""

    def solved(makes: str, demand: str, text: str) -> Flow:
        problems = Problems()
        document = tomllib.loads(HEAD.format(makes=makes, demand=demand) + text)
        plan = read_document(document, Path(), problems)
        problems.raise_errors()
        assert plan is not None
        return solve_flow(compile_network(plan))

    return solved
