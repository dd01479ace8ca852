"""Balances without an answer say why, in the plan's words."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.base.problems import ProblemsError
from linewright.flow import Flow

Solve = Callable[..., Flow]


def refused(flow: Solve, makes: str, demand: str, text: str) -> str:
    with pytest.raises(ProblemsError) as caught:
        flow(makes, demand, text)
    return str(caught.value)


GLUE = """
[items.dough]
unit = "kg"
[items.flour]
unit = "kg"
buy = "1 EUR"
[routes.dough]
gives = "dough"
[[routes.dough.operations]]
id = "knead"
time = "1 min"
takes = {{ dough = "{again} kg", flour = "{flour} kg" }}
gives = {{ dough = "1 kg" }}
loses = {{ crumbs = "rest" }}
"""


def test_a_starter_that_uses_itself(flow: Solve) -> None:
    solved = flow("dough", "100 kg/day", GLUE.format(again=0.2, flour=0.9))
    assert solved.started == pytest.approx([125])
    words = refused(flow, "dough", "100 kg/day", GLUE.format(again=1.2, flour=0.9))
    assert "more dough is taken than can ever be made" in words
    assert "uses 1.2 kg for every 1 kg that it gives" in words


def test_a_loop_of_two_routes_that_eats_itself(flow: Solve) -> None:
    words = refused(
        flow,
        "hoe",
        "10 each/day",
        """
[items.hoe]
unit = "each"
[items.rake]
unit = "each"
[routes.hoe]
gives = "hoe"
[[routes.hoe.operations]]
id = "hoe_from_rakes"
time = "1 min"
takes = { rake = 2 }
[routes.rake]
gives = "rake"
[[routes.rake.operations]]
id = "rake_from_hoes"
time = "1 min"
takes = { hoe = 1 }
""",
    )
    assert "than can ever be made" in words
    assert "goes round through hoe, rake, hoe, rake" in words or "goes round" in words


def test_a_by_product_of_which_there_is_not_enough(flow: Solve) -> None:
    words = refused(
        flow,
        "lid",
        "100 each/day",
        """
[items.tub]
unit = "each"
[items.lid]
unit = "each"
[items.sheet]
unit = "sheet"
buy = "3 EUR"
[items.ring]
unit = "each"
[routes.lid]
gives = "lid"
[[routes.lid.operations]]
id = "press_lid"
time = "1 min"
takes = { sheet = 1, ring = 1 }
gives = { ring = 0.4 }
""",
    )
    assert "more ring is taken than can ever be made" in words


def test_a_store_that_nobody_empties(flow: Solve) -> None:
    text = """
[items.board]
unit = "each"
[items.log]
unit = "each"
buy = "9 EUR"
[items.bark]
unit = "kg"
store = "heap"
[stores.heap]
room = "2 t"
[routes.board]
gives = "board"
[[routes.board.operations]]
id = "saw"
time = "1 min"
takes = { log = 1 }
gives = { board = 6, bark = "12 kg" }
"""
    words = refused(flow, "board", "600 each/day", text)
    assert "1200 kg of bark a working day go into heap, and nobody takes them out" in words
    assert flow("board", "600 each/day", text.replace('store = "heap"\n', "")).left_over.max() == pytest.approx(1200)


def test_an_imbalance_names_the_operation(flow: Solve) -> None:
    words = refused(
        flow,
        "bolt",
        "10 each/day",
        """
[items.bolt]
unit = "each"
mass = "1 kg"
[items.bar]
unit = "each"
mass = "1.5 kg"
buy = "1 EUR"
[routes.bolt]
gives = "bolt"
[[routes.bolt.operations]]
id = "turn"
time = "1 min"
takes = { bar = 1 }
""",
    )
    assert "routes.bolt.operations[0]" in words
    assert "1.5 kg in, 1 kg out" in words
    assert "name what leaves" in words


def test_more_leaves_than_goes_in(flow: Solve) -> None:
    words = refused(
        flow,
        "bolt",
        "10 each/day",
        """
[items.bolt]
unit = "each"
mass = "1 kg"
[items.bar]
unit = "each"
mass = "0.5 kg"
buy = "1 EUR"
[items.swarf]
unit = "kg"
[routes.bolt]
gives = "bolt"
[[routes.bolt.operations]]
id = "turn"
time = "1 min"
takes = { bar = 1 }
gives = { swarf = "rest" }
""",
    )
    assert "more leaves than goes in" in words


def test_a_share_of_what_has_no_mass(flow: Solve) -> None:
    words = refused(
        flow,
        "bolt",
        "10 each/day",
        """
[items.bolt]
unit = "each"
[items.bar]
unit = "each"
buy = "1 EUR"
[items.swarf]
unit = "kg"
[routes.bolt]
gives = "bolt"
[[routes.bolt.operations]]
id = "turn"
time = "1 min"
takes = { bar = 1 }
gives = { swarf = "10 %" }
""",
    )
    assert "write items.bar.mass" in words


def test_shares_that_contradict_each_other(flow: Solve) -> None:
    """Two routes of declared shares that cannot both hold with what one of them needs of the other."""
    words = refused(
        flow,
        "pin",
        "10 each/day",
        """
[items.pin]
unit = "each"
[items.bar]
unit = "each"
buy = "1 EUR"
[routes.a]
gives = "pin"
share = "30 %"
[[routes.a.operations]]
id = "turn_a"
time = "1 min"
takes = { bar = 1 }
[routes.b]
gives = "pin"
share = "60 %"
[[routes.b.operations]]
id = "turn_b"
time = "1 min"
takes = { bar = 1 }
""",
    )
    assert "share" in words


def test_a_loop_that_would_pay_for_ever(flow: Solve) -> None:
    """Washing a rag gives a rag and dear soap water: the loop earns by going round, whatever is wanted."""
    words = refused(
        flow,
        "rag",
        "10 each/day",
        """
[items.rag]
unit = "each"
[items.clean]
unit = "each"
[items.cloth]
unit = "each"
buy = "1 EUR"
[items.suds]
unit = "L"
sell = "5 EUR"
[items.soap]
unit = "kg"
buy = "0.1 EUR"
[routes.cut]
gives = "rag"
[[routes.cut.operations]]
id = "cut"
time = "1 min"
takes = { cloth = 1 }
[routes.wipe]
gives = "rag"
[[routes.wipe.operations]]
id = "wipe"
time = "1 min"
takes = { clean = 1 }
[routes.wash]
gives = "clean"
[[routes.wash.operations]]
id = "wash"
time = "1 min"
takes = { rag = 1, soap = "0.1 kg" }
gives = { suds = "3 L" }
""",
    )
    assert "has no end" in words
    assert "suds" in words
