"""A plan from the text of its file, and its network."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from linewright.base.problems import Problems
from linewright.network.compile import compile_network
from linewright.network.model import Network
from linewright.plan.read import read_document


@pytest.fixture
def network() -> Callable[[str], Network]:
    """Compile the plan written in a text."""

    def compiled(text: str) -> Network:
        problems = Problems()
        plan = read_document(tomllib.loads(text), Path(), problems)
        problems.raise_errors()
        assert plan is not None
        return compile_network(plan)

    return compiled
