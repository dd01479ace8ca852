"""The quality of each kind of a plan with options, worked by hand, and by the play within its interval."""

from __future__ import annotations

import pytest

from linewright.answer import Answer, answer
from linewright.answer.quality.model import KindQuality
from linewright.plan import Plan, PlanBuilder
from linewright.report.good import kinds, short, tables
from linewright.report.html import to_html

OPEN = {"39": 0.02, "40": 0.04, "41": 0.10}
MIX = {"39": 0.5, "40": 0.3, "41": 0.2}
FINDS, SCRATCHED, LOOSE = 0.75, 0.03, {"left": 0.05, "right": 0.01}


def shoes() -> Plan:
    """A seam opens the more often the larger the size, buckles of 41 scratch, the threads of a left come loose."""
    plan = PlanBuilder("Shoes", makes="pair", demand="120 pair/day", money="EUR", release="flat out", open_pieces=12)
    plan.document["options"] = {
        "size": {"name": "Size", "values": ["39", "40", "41"], "shares": {"39": "50 %", "40": "30 %", "41": "20 %"}},
        "side": {"values": ["left", "right"]},
    }
    plan.shift("day", hours="06:00-14:00").station("bench", places=4).station("table")
    plan.item("shoe", unit="each", options=["size", "side"]).item("pair", unit="pair", options="size", sell="60 EUR")
    seam = {"by": "size", "table": {k: f"{100 * v:g} %" for k, v in OPEN.items()}}
    thread = {"by": "side", "table": {k: f"{100 * v:g} %" for k, v in LOOSE.items()}}
    route = plan.route("shoe", gives="shoe")
    route.operation("stitch", station="bench", time="3 min", faults={"seam open": seam, "thread loose": thread})
    route.operation("look", station="bench", time="1 min", check={"finds": {"seam open": f"{100 * FINDS:g} %"}})
    pair = plan.route("pair", gives="pair")
    pair.operation(
        "match", station="table", time="1 min",
        takes={"shoe": {"same": ["size"], "made_of": {"side": {"left": 1, "right": 1}}}},
    )  # fmt: skip
    pair.operation(
        "buckle", station="table", time="1 min", only_if={"size": "41"}, faults={"scratched": f"{100 * SCRATCHED:g} %"}
    )
    return plan.build()


@pytest.fixture(scope="module")
def found() -> Answer:
    return answer(shoes(), simulate=True, budget_seconds=6.0, half_width=1e-4)


def kind(found: Answer, item: str, *values: tuple[str, str]) -> KindQuality:
    return next(k for k in found.quality.kinds if (k.item, k.values) == (item, values))


def seam(size: str) -> float:
    """A shoe that passes the look with an open seam."""
    return OPEN[size] * (1 - FINDS) / (1 - OPEN[size] * FINDS)


def faulty(size: str) -> float:
    """A pair with a fault: of two shoes, and of the buckle."""
    shoes = (1 - seam(size)) ** 2 * (1 - LOOSE["left"]) * (1 - LOOSE["right"])
    return 1 - shoes * (1 - SCRATCHED if size == "41" else 1.0)


def test_each_value_and_the_mean_by_hand(found: Answer) -> None:
    for size in OPEN:
        told = kind(found, "pair", ("size", size))
        assert told.any_fault == pytest.approx(1e6 * faulty(size))
        assert told.a_day == pytest.approx(120 * MIX[size])
        once = (1 - OPEN[size]) ** 2 * (1 - LOOSE["left"]) * (1 - LOOSE["right"])
        assert told.right_first_time == pytest.approx(once * (1 - SCRATCHED if size == "41" else 1.0))
        both = 1 - (1 - LOOSE["left"]) * (1 - LOOSE["right"])
        assert (told.worst, told.worst_escapes) == ("thread loose", pytest.approx(1e6 * both))
    mean = sum(MIX[size] * faulty(size) for size in OPEN)
    assert kind(found, "pair").any_fault == pytest.approx(1e6 * mean)
    assert found.quality.any_fault == pytest.approx(1e6 * mean)


def test_what_some_variants_skip_is_not_made_in_the_others(found: Answer) -> None:
    assert found.quality.way("scratched").escapes == pytest.approx(1e6 * MIX["41"] * SCRATCHED)
    assert found.quality.way("scratched").steps[-1].after == pytest.approx(1e6 * SCRATCHED)  # of those of 41


def test_the_look_sees_the_shoes_of_all_variants(found: Answer) -> None:
    (load,) = found.quality.checks
    shoes = 2 * 120
    rejected = sum(shoes * MIX[s] * OPEN[s] * FINDS / (1 - OPEN[s] * FINDS) for s in OPEN)
    assert load.operation == "look"
    assert load.rejected == pytest.approx(rejected)
    assert load.looked_at == pytest.approx(shoes + rejected)


def test_sides_that_differ_are_told_as_well(found: Answer) -> None:
    left, right = (kind(found, "shoe", ("side", side)) for side in ("left", "right"))
    assert left.any_fault > right.any_fault
    seams = sum(MIX[s] * (1 - (1 - seam(s)) * (1 - LOOSE["left"])) for s in OPEN)
    assert left.any_fault == pytest.approx(1e6 * seams)


def test_the_play_counts_the_same(found: Answer) -> None:
    assert found.simulation is not None
    run = found.simulation.as_planned
    told = {(e.item, e.values): e.share for e in run.kinds}
    assert {(k.item, k.values) for k in found.quality.kinds} == set(told)
    for k in found.quality.kinds:
        share = told[(k.item, k.values)]
        assert abs(1e6 * share.mean - k.any_fault) <= 2e6 * share.half_width  # eight intervals together
    everything = next(e.share for e in run.escapes if not e.fault)
    assert told[("pair", ())] == everything


def test_the_table_has_the_numbers_and_few_rows(found: Answer) -> None:
    table = kinds.by_kind(found)
    rows = {row[0]: row for row in table.rows}
    assert list(rows) == [
        "all pairs", "pairs, size 39", "pairs, size 40", "pairs, size 41", "shoes, side left", "shoes, side right",
    ]  # fmt: skip
    assert rows["pairs, size 41"][2] == f"{1e6 * faulty('41'):,.0f}"
    assert "±" in rows["all pairs"][3]
    apart = f"from {1e6 * faulty('39'):,.0f} of the size 39 to {1e6 * faulty('41'):,.0f} of the size 41"
    assert apart in short.in_short(found)
    assert apart in to_html(found, live=False)


def test_many_sizes_are_told_by_the_worst_and_the_best() -> None:
    plan = PlanBuilder("Hats", makes="hat", demand="100 each/day", money="EUR")
    sizes = [str(50 + k) for k in range(12)]
    plan.document["options"] = {"size": {"values": sizes}, "colour": {"values": ["red", "blue"]}}
    plan.shift("day", hours="06:00-14:00").item("hat", unit="each", options=["size", "colour"])
    creased = {"by": "size", "table": {size: f"{k + 1} %" for k, size in enumerate(sizes)}}
    plan.route("hat", gives="hat").operation("press", time="1 min", faults={"creased": creased})
    table = kinds.by_kind(answer(plan.build()))
    said = [row[0] for row in table.rows]
    assert said == [
        "all hats",
        "hats, size 61, among the worst", "hats, size 60, among the worst", "hats, size 59, among the worst",
        "hats, size 50, the best of 12",
    ]  # fmt: skip
    assert table.note.endswith("Hats are alike in this whatever the colour.")
    assert table.rows[0][2] == tables.of_million(1e6 * sum(range(1, 13)) / 1200)


def test_a_plan_without_options_has_no_kinds() -> None:
    plan = PlanBuilder("Line", makes="part", demand="10 each/day", money="EUR").item("part", unit="each")
    plan.route("main", gives="part").operation("glue", time="1 min", faults={"gap": "2 %"})
    assert not answer(plan.build()).quality.kinds
