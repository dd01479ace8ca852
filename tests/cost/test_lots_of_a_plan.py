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


def paints(**setups: dict[str, object]) -> Plan:
    """White and black on one filler: 24 of each a day in lots of 8, 4 min each, a person at 30 and a machine at 10."""
    builder = PlanBuilder("Harrow Fen Works, paints", money="EUR")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day", wage="30 EUR/h")
    builder.station("filler", machine_rate="10 EUR/h").item("cleaner", unit="L", buy="3 EUR/L")
    table = {"white": {"black": "10 min"}, "black": {"white": "30 min"}}
    for name in ("white", "black"):
        builder.item(name, unit="each").demand(name, "24 each/day")
        builder.route(f"make_{name}", gives=name, lot=8).operation(
            f"fill_{name}", station="filler", crew={"hand": 1}, time="4 min",
            setup=setups.get(name, {"when": "item changes", "table": table}),
        )  # fmt: skip
    return builder.build()


def test_two_products_and_a_table_from_to_in_every_engine() -> None:
    """Three lots of each a day in turn: 3 x 10 min to black and 3 x 30 min to white, two hours of eight.

    Flat out a white lot and a black one take 2 x 32 + 40 min: 16 in 104. A white one carries 90 min x 40 EUR/h / 24 of
    changeover, a black one 30 min of it; the balance knows nothing of changeovers that use nothing up.
    """
    found = answer(paints())
    filler, hand = found.capacity.of("station", "filler"), found.capacity.of("crew", "hand")
    assert (filler.hours.setting_up, filler.hours.working) == pytest.approx((2.0, 3.2))
    assert (filler.use, hand.use) == pytest.approx((5.2 / 8, 5.2 / 8))
    assert found.flow.runs.tolist() == pytest.approx([24.0, 24.0])
    white, black = (found.cost.of(name).parts for name in ("white", "black"))
    assert (white.setup, black.setup) == pytest.approx((1.5 * 40 / 24, 0.5 * 40 / 24), abs=5e-4)
    assert (white.labour, white.machine) == pytest.approx((4 / 60 * 30, 4 / 60 * 10), abs=5e-4)
    network = compile_network(paints())
    flat_out = simulate(network, days=7 * 26, replications=1, release="flat out")
    weeks = flat_out.weeks - flat_out.warm_up_weeks
    assert flat_out.rate.mean == pytest.approx(480 * 16 / 104, abs=8 / (5 * weeks))
    assert [r.mean for r in flat_out.rates] == pytest.approx([480 * 8 / 104] * 2, abs=8 / (5 * weeks))
    planned = simulate(network, days=7 * 12, replications=1)
    assert [r.mean for r in planned.rates] == pytest.approx([24.0, 24.0])
    states = dict(zip(planned.states, planned.state_share.mean[0].tolist(), strict=True))
    assert states["setting up"] == pytest.approx(2 * 5 / 168, rel=2e-3), "hours of the week, nights too"


def test_what_setups_of_two_products_use_up_in_every_engine() -> None:
    """Rinsed after every 6 white ones with 2 L, after every 4 black ones with 1.5 L: 8 and 9 L a day, 51 EUR."""
    setups: dict[str, dict[str, object]] = {
        "white": {"every": 6, "time": "3 min", "takes": {"cleaner": "2 L"}},
        "black": {"every": 4, "time": "5 min", "takes": {"cleaner": "1.5 L"}},
    }
    plan = paints(**setups)
    found = answer(plan)
    assert float(found.flow.bought[found.flow.items.index("cleaner")]) == pytest.approx(24 / 6 * 2 + 24 / 4 * 1.5)
    assert found.capacity.of("station", "filler").hours.setting_up == pytest.approx((4 * 3 + 6 * 5) / 60)
    white, black = (found.cost.of(name).parts.setup for name in ("white", "black"))
    assert white == pytest.approx((4 * 3 / 60 * 40 + 8 * 3) / 24, abs=5e-4)
    assert black == pytest.approx((6 * 5 / 60 * 40 + 9 * 3) / 24, abs=5e-4)
    flat_out = simulate(compile_network(plan), days=7 * 26, replications=1, release="flat out")
    each = 4 + (3 / 6 + 5 / 4) / 2  # as many white ones as black ones
    assert flat_out.rate.mean == pytest.approx(480 / each, abs=8 / (5 * (flat_out.weeks - flat_out.warm_up_weeks)))


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
