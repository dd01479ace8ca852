"""Two plans side by side: differences are b less a, the same plan differs in nothing, and a known change is seen."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from linewright.answer import Answer, answer
from linewright.answer.compared import Difference, differences, simulated_differences
from linewright.answer.stretch import last_words, play_stretch
from linewright.base.trace import EVENTS
from linewright.plan import read_plan
from linewright.report.compared import difference, sentence, table_of

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def trailer() -> Answer:
    return answer(read_plan(EXAMPLES / "trailer.toml"))


@pytest.fixture(scope="module")
def slower(trailer: Answer) -> Answer:
    """The trailer with four minutes more to cure where the frame is bonded, which is its bottleneck."""
    ids = [
        o.id for o in trailer.plan.routes["shell"].operations if o.stand is not None and o.station == ("bond_frame",)
    ]
    return answer(trailer.plan.change(f"routes.shell.operations[{ids[-1]}].stand", "18 min"))


def test_a_plan_differs_from_itself_in_nothing(trailer: Answer) -> None:
    found = differences(trailer, trailer)
    assert all(row.difference in (0, None) for row in found.rows)
    assert "the same" in sentence(found)
    assert {row.sort for row in found.rows} == {"exact", "bound", "estimate", "words"}


def test_differences_turn_round_with_the_plans(trailer: Answer, slower: Answer) -> None:
    there, back = differences(trailer, slower), differences(slower, trailer)
    assert [row.what for row in there.rows] == [row.what for row in back.rows]
    for one, other in zip(there.rows, back.rows, strict=True):
        if one.difference is not None:
            assert one.difference == pytest.approx(-(other.difference or 0.0))
    bound = next(row for row in there.rows if row.sort == "bound")
    assert isinstance(bound.difference, float)
    assert bound.difference < 0
    assert bound.a == pytest.approx(trailer.capacity.wanted[0].rate)
    assert bound.b == pytest.approx(slower.capacity.wanted[0].rate)


def test_the_parts_of_a_cost_that_differ_add_up(trailer: Answer) -> None:
    dearer = answer(trailer.plan.change("items.adhesive.buy", "90 EUR/kg"))
    rows = differences(trailer, dearer).rows
    whole = next(row for row in rows if row.what.endswith(": one costs"))
    parts = [row for row in rows if row.sort == "exact" and row.unit == whole.unit and row is not whole]
    assert whole.difference is not None
    assert whole.difference > 0
    assert sum(row.difference or 0.0 for row in parts) == pytest.approx(whole.difference, abs=0.02)


def test_a_slower_bottleneck_is_seen_under_the_same_luck(trailer: Answer, slower: Answer) -> None:
    found = simulated_differences(trailer, slower, ("as it is", "slower"), replications=6, budget_seconds=30)
    planned, flat = (row for row in found.rows if row.sort == "simulated")
    assert flat.low is not None
    assert flat.high is not None
    assert flat.low < flat.high < 0
    assert flat.sure
    assert planned.difference is not None
    assert planned.difference <= 1e-9  # by takt no plan makes more than is wanted
    assert "slower" in sentence(found)
    assert len(table_of(found).rows) == len(found.rows)


def test_what_luck_could_make_is_said_so() -> None:
    row = Difference("rate", "each/day", 36.0, 36.2, "simulated", 1, 0.2, -0.3, 0.7)
    assert row.sure is False
    assert "cannot be told from nothing" in difference(row)
    assert Difference("x", "h", 1.0, 2.0, "estimate", -1, 1.0).sure is None


def test_a_stretch_tells_where_every_open_piece_was(trailer: Answer) -> None:
    played = play_stretch(trailer)
    assert (played.before.time < played.begin).all()
    assert (played.trace.time >= played.begin).all()
    assert (played.trace.time < played.end).all()
    pieces = played.before.lot[played.before.event != EVENTS.index("stops")]
    assert len(np.unique(pieces)) == len(pieces)
    gone = {EVENTS.index(event) for event in ("finished", "scrapped", "seconds", "mended")}
    assert not gone & set(played.before.event.tolist())
    # A later stretch begins with what an earlier one, played to that moment, leaves open.
    noon = (played.begin + played.end) // 2
    later = play_stretch(trailer, begin=noon, end=played.end)
    morning = played.trace.between(played.begin, noon)
    seen = morning.lot[last_words(morning)]
    assert set(seen.tolist()) <= set(later.before.lot.tolist())
