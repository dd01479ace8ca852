"""Two products on one press: changeovers by hand, rates that are known exactly, and the lot that costs least."""

from __future__ import annotations

import math

import pytest

from linewright.answer import Answer, answer
from linewright.base.problems import ProblemsError
from linewright.lots import lot_cost
from linewright.network import compile_network
from linewright.plan import Plan, PlanBuilder
from linewright.simulate import simulate


def two(lot: int | None = None, rate: str = "8 each/day", of_stock: str | None = "20 %", count: int = 2) -> Plan:
    """10 min a piece, half an hour to change over, 8 hours a day."""
    builder = PlanBuilder("Products", money="EUR")
    builder.overhead(of_stock=of_stock)
    names = "abcde"[:count]
    for name in names:
        builder.item(name, unit="each").item(f"part_{name}", unit="each", buy="100 EUR").demand(name, rate)
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day", wage="30 EUR/h")
    builder.station("press", machine_rate="10 EUR/h")
    for name in names:
        builder.route(f"make_{name}", gives=name, lot=lot).operation(
            f"press_{name}", station="press", crew={"hand": 1}, time="10 min", takes={f"part_{name}": 1},
            setup={"time": "30 min", "when": "item changes"},
        )  # fmt: skip
    return builder.build()


def setting_up(found: Answer) -> float:
    return found.capacity.of("station", "press").hours.setting_up


@pytest.mark.parametrize(("lot", "hours"), [(None, 8.0), (1, 8.0), (4, 2.0), (16, 0.5)])
def test_one_changeover_a_lot(lot: int | None, hours: float) -> None:
    """16 pieces a day in turn want 16 changeovers of half an hour; in lots of 4 a quarter of them."""
    assert setting_up(answer(two(lot))) == pytest.approx(hours)


@pytest.mark.parametrize("lot", [4, 8, 16, 40])
def test_the_rate_of_a_setup_line_is_known(lot: int) -> None:
    """Flat out a lot takes 30 min + 10 min a piece: 480 / (10 + 30 / lot) a day, but for a lot at the edge."""
    network = compile_network(two(lot))
    found = simulate(network, days=7 * 22, replications=2, release="flat out")
    weeks = found.weeks - found.warm_up_weeks
    assert found.rate.mean == pytest.approx(480 / (10 + 30 / lot), abs=2 * lot / (5 * weeks))


def test_a_third_product_does_not_change_the_rate_of_lots() -> None:
    two_of, three_of = (
        simulate(compile_network(two(8, count=count)), days=7 * 22, replications=2, release="flat out").rate.mean
        for count in (2, 3)
    )
    assert two_of == pytest.approx(three_of, abs=0.3)


def test_by_takt_lots_make_the_demand_that_one_by_one_cannot() -> None:
    """16 a day one by one take 16 x 40 min of 480; in lots of 4 they take 280 min."""
    single, lots = (simulate(compile_network(two(lot)), days=7 * 12, replications=2).rate.mean for lot in (None, 4))
    assert single == pytest.approx(12.0, abs=0.3)
    assert lots == pytest.approx(16.0, abs=0.2)


def test_a_lot_is_let_in_whole() -> None:
    found = simulate(compile_network(two(4)), days=7 * 4, replications=1, trace=True)
    assert found.trace is not None
    entered = [r.item for r in found.trace.records if r.event == "enters"]
    runs = [entered[k : k + 4] for k in range(0, len(entered) - 3, 4)]
    assert len(runs) > 40
    assert all(len(set(run)) == 1 for run in runs)


def test_the_lot_that_costs_least_by_hand() -> None:
    """30 min at 30 and 10 EUR/h are 20 EUR; one is worth 100 + 10 min at 40 EUR/h; 8 a day, 260 days a year."""
    found = answer(two(4)).cost
    (first, _) = found.lots
    assert (first.setup, first.value) == pytest.approx((20.0, 100 + 40 / 6))
    assert (first.demand, first.holding) == pytest.approx((2080.0, 0.2 * first.value))
    assert first.pace == pytest.approx(2080 * 480 / 80)  # the press makes it in 80 of its 480 min
    best = math.sqrt(2 * 2080 * 20 / (first.holding * (1 - 80 / 480)))
    assert first.best.lot == pytest.approx(best)
    assert first.now == lot_cost(4.0, first.demand, first.setup, first.holding, first.pace)
    assert first.saves > 0
    assert min(point.total for point in first.curve) == pytest.approx(first.best.total)


def test_parts_made_here_count_at_their_own_value() -> None:
    builder = PlanBuilder("Nested", money="EUR")
    builder.overhead(of_stock="20 %").item("rod", unit="each", buy="3 EUR").item("frame", unit="each")
    builder.item("a", unit="each").demand("a", "4 each/day").item("b", unit="each").demand("b", "4 each/day")
    builder.shift("day", hours="06:00-14:00").crew("hand", people=2, shift="day", wage="30 EUR/h").station("saw")
    builder.station("bench")
    builder.route("frames", gives="frame").operation(
        "saw", station="saw", crew={"hand": 1}, time="4 min", takes={"rod": 2}
    )
    for name in "ab":
        builder.route(name, gives=name).operation(
            f"fit_{name}", station="bench", crew={"hand": 1}, time="2 min", takes={"frame": 1},
            setup={"time": "6 min", "when": "item changes"},
        )  # fmt: skip
    for lot in answer(builder.build()).cost.lots:
        assert lot.value == pytest.approx(2 * 3 + 2 + 1)  # rods, 4 min and 2 min at 30 EUR/h


def test_nothing_is_said_where_stock_has_no_price() -> None:
    assert answer(two(4, of_stock=None)).cost.lots == ()


def test_a_wrong_lot_is_a_problem() -> None:
    for lot in (0, -4):
        with pytest.raises(ProblemsError):
            two(lot)
    with pytest.raises(ProblemsError):
        compile_network(two(4).change("routes.make_a.lot", "3 L"))
