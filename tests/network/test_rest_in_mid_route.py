"""A rest that is written before the end of a route: the message says where it can be written."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.base.problems import ProblemsError
from linewright.network.model import Network

TEXT = """
[plan]
name = "Cellar"
money = "EUR"
makes = "young"
demand = "100 L/day"
[items.must]
unit = "L"
mass = "1.05 kg"
buy = "1 EUR"
[items.young]
unit = "L"
mass = "1 kg"
[routes.young]
gives = "young"
[[routes.young.operations]]
id = "ferment"
time = "1 h"
takes = { must = "1 L" }
FIRST
[[routes.young.operations]]
id = "rack"
time = "1 h"
LAST
"""
REST = 'loses = { gas = "rest" }'


def test_a_rest_belongs_where_the_mass_of_what_is_made_is_known(network: Callable[[str], Network]) -> None:
    with pytest.raises(ProblemsError, match="write the rest in the last operation of the route"):
        network(TEXT.replace("FIRST", REST).replace("LAST", ""))
    done = network(TEXT.replace("FIRST", "").replace("LAST", REST))
    _, kg = done.operations.loses.row(1)
    assert kg.tolist() == pytest.approx([0.05])
