"""The quality of a plan as it is read: sentences, tables and charts hold the answer's numbers."""

from __future__ import annotations

from pathlib import Path

import pytest

from linewright.answer import Answer, answer
from linewright.plan import PlanBuilder, read_plan
from linewright.report.good import charts, short, tables
from linewright.report.html import to_html

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture(scope="module")
def hive() -> Answer:
    return answer(read_plan(EXAMPLES / "hivekit.toml"))


@pytest.fixture(scope="module")
def trailer() -> Answer:
    return answer(read_plan(EXAMPLES / "trailer.toml"))


def test_in_short(trailer: Answer) -> None:
    worst = trailer.quality.ways[0]
    said = short.in_short(trailer)
    assert f"{trailer.quality.any_fault:,.0f} reach the customer" in said
    assert f"{worst.fault} ({worst.escapes:,.0f})" in said
    assert "trailers" in said


def test_what_nobody_looks_for_is_said() -> None:
    build = PlanBuilder("Line", makes="part", demand="10 each/day", money="EUR").item("part", unit="each")
    build.route("main", gives="part").operation("glue", time="1 min", faults={"gap": "2 %"})
    found = answer(build.build())
    assert "Nobody looks for gap." in short.in_short(found)
    assert tables.faults(found).rows == (("gap", "20,000", "none", "20,000"),)


def test_a_plan_without_faults_claims_nothing() -> None:
    build = PlanBuilder("Line", makes="part", demand="10 each/day", money="EUR").item("part", unit="each")
    build.route("main", gives="part").operation("glue", time="1 min")
    found = answer(build.build())
    assert short.in_short(found) == "No fault is written in the plan."
    assert not tables.faults(found).rows
    assert charts.faults(found) is None
    assert "No fault is written" in to_html(found, live=False)


def test_every_check_stands_in_the_quality_plan(hive: Answer) -> None:
    table = tables.quality_plan(hive)
    written = [o for r in hive.plan.routes.values() for o in r.operations if o.check is not None]
    assert [row[0] for row in table.rows] == [o.name for o in written]
    bag = next(row for row in table.rows if row[0] == "Weigh the bag")
    assert "dowel missing (finds 7 %)" in bag[1]
    assert bag[2] == "598.4 g +/- 4.4 g"
    assert "at most 2 times, then scrapped" in bag[5]


def test_the_way_of_a_fault_ends_with_what_reaches_the_customer(trailer: Answer) -> None:
    rows = tables.way_of_faults(trailer).rows
    begins = [k for k, row in enumerate(rows) if row[0]]
    for k, way in zip(begins, trailer.quality.ways, strict=True):
        after = [j for j in begins if j > k]
        last = rows[(after[0] if after else len(rows)) - 1]
        assert last[-1] == tables.of_million(way.escapes)


def test_the_share_found_is_never_rounded_up_to_all() -> None:
    assert tables.found_in_time(0.99999) == "99.999 %"
    assert tables.found_in_time(1.0) == "all"
    assert tables.found_in_time(0.995) == "99.5 %"


def test_failure_modes_say_where_ranks_come_from_and_defer(trailer: Answer) -> None:
    table = tables.failure_modes(trailer)
    first = table.rows[0]
    assert first[0] == "wheel bolt loose"
    assert (first[4], first[5], first[6], first[7]) == (10, "2", "7", "high")
    gap = next(row for row in table.rows if row[0] == "seam gap")
    assert (gap[5], gap[6]) == ("8*", "4*")
    assert "follow local codes" in table.note
    assert "competent person decide" in table.note


def test_the_bag_and_the_leak_check_are_in_the_page(hive: Answer, trailer: Answer) -> None:
    page = to_html(hive, live=False)
    assert "Counted by weight: weigh the bag" in page
    assert "Hidden: printed pouch, screw 4 x 40, screw 5 x 70 and beech dowel 8 x 35." in page
    assert "Play of a dowel in its hole" in page
    page = to_html(trailer, live=False)
    assert "Probe the seam for leaks with air and smoke" in page
    assert "looked for, 97 % found" in page
    assert 'data-chart="learning"' in page
    assert 'data-chart="faults"' in page


def test_charts_hold_the_numbers(hive: Answer, trailer: Answer) -> None:
    faults = charts.faults(hive)
    assert faults is not None
    left = {v["fault"]: v["left"] for v in faults.spec["data"]["values"]}
    for way in hive.quality.ways:
        assert left[way.fault] == pytest.approx(max(way.escapes, charts.FEWEST), abs=1e-3)
    kit = charts.kit(hive)
    assert kit is not None
    assert next(v["part"] for v in kit.spec["data"]["values"]) == "beech dowel 8 x 35"
    ramp, learning = trailer.quality.ramp, charts.learning(trailer)
    assert ramp is not None
    assert learning is not None
    rates = [v["rate"] for v in learning.spec["data"]["values"]]
    assert rates == pytest.approx(list(ramp.daily[: len(rates)]), abs=1e-4)
