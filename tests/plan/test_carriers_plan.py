"""Carriers in a plan: what is read, and every problem by name."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import Plan, PlanBuilder
from linewright.plan.carried import stretch_of
from linewright.simulate import simulate


def boot(**carrier: Any) -> PlanBuilder:
    """Uppers are closed, pulled on and soled in two routes."""
    plan = PlanBuilder("Boot", money="EUR", makes="boot", demand="40 pair/day")
    plan.item("boot", unit="pair").item("upper", unit="pair").item("glue", unit="kg", buy="9 EUR/kg")
    plan.station("lasting").station("soling")
    plan.carrier("last", **{"count": 180, "from_": "pull_on", "to": "slip", "way_back": "2 min", **carrier})
    plan.route("uppers", gives="upper").operation("close", time="3 min").operation(
        "pull_on", station="lasting", time="2 min"
    )
    plan.route("boots", gives="boot").operation("sole", station="soling", time="4 min", takes={"upper": 1}).operation(
        "slip", time="1 min"
    ).operation("box", time="1 min")
    return plan


def problems(plan: PlanBuilder) -> list[tuple[str, str]]:
    with pytest.raises(ProblemsError) as raised:
        plan.build()
    return [(problem.path, problem.what) for problem in raised.value.problems]


def test_a_carrier_is_read_with_everything_that_it_says() -> None:
    plan: Plan = boot(
        holds=2, between_losses="400 h", repair="2 h", price="38 EUR", lasts_for=4000, name="Last"
    ).build()
    last = plan.carriers["last"]
    assert (last.count, last.holds, last.joins, last.leaves) == (180, 2, ("pull_on",), ("slip",))
    assert last.way_back is not None
    assert last.way_back.fixed is not None
    assert last.way_back.fixed.value == 120
    network = compile_network(plan)
    assert network.carriers.wear.tolist() == [38 / 4000]
    assert network.carriers.way_back.mean.tolist() == [120e9]


def test_the_stretch_goes_on_with_the_part_into_the_next_route() -> None:
    plan = boot().build()
    found = stretch_of(plan.carriers["last"], plan.routes)
    assert list(found.operations) == ["pull_on", "sole", "slip"]
    assert (list(found.items), found.ends, found.lost) == (["upper"], set(), [])


def test_from_and_to_may_be_lists() -> None:
    plan = boot(from_=["close", "pull_on"], to=["slip", "box"])
    assert [p for p, _ in problems(plan)] == ["carriers.last.to"], "nothing comes to the box on a last: it slips before"
    assert boot(from_=["close", "pull_on"]).build().carriers["last"].joins == ("close", "pull_on")


@pytest.mark.parametrize(
    ("carrier", "path", "said"),
    [
        (
            {"from_": "slip", "to": "sole"},
            "carriers.last.to",
            '"last" goes from "slip" to "sole", which comes before it',
        ),
        (
            {"from_": "sole", "to": "close"},
            "carriers.last.to",
            'no piece that "sole" puts on carrier "last" ever comes',
        ),
        ({"from_": []}, "carriers.last.from", "no operation: nothing is `from` here"),
        ({"from_": None}, "carriers.last.from", "a carrier needs `from`"),
        ({"to": None}, "carriers.last.to", "a carrier needs `to`"),
        ({"count": None}, "carriers.last.count", "a carrier needs `count`"),
        ({"from_": "pull_onn"}, "carriers.last.from", 'no operation is called "pull_onn"'),
        ({"count": 0}, "carriers.last.count", ""),
        ({"holds": 0}, "carriers.last.holds", ""),
        ({"between_losses": "9 h"}, "carriers.last.repair", "`between_losses` and `repair` belong together"),
        ({"repair": "9 h"}, "carriers.last.between_losses", "`between_losses` and `repair` belong together"),
        ({"price": "9 EUR"}, "carriers.last.lasts_for", "wear needs `price` and `lasts_for`"),
        ({"way_back": "2 kg"}, "carriers.last.way_back", ""),
        ({"sizes": 3}, "carriers.last.sizes", "a carrier has no field `sizes`"),
    ],
)
def test_bad_carriers_are_told_by_name(carrier: dict[str, Any], path: str, said: str) -> None:
    found = problems(boot(**carrier))
    assert found[0][0] == path
    assert said in found[0][1]


def test_quantities_do_not_ride() -> None:
    plan = boot()
    plan.document["items"]["boot"]["unit"] = "kg"
    plan.document["plan"]["demand"] = "40 kg/day"
    assert problems(plan)[0] == (
        "carriers.last.from", 'carrier "last" carries counted pieces, and route "boots" makes boot in kg',
    )  # fmt: skip


def test_a_load_that_never_fits_on_the_carriers() -> None:
    plan = boot(count=3, holds=2)
    plan.document["routes"]["uppers"]["operations"][1]["load"] = 8
    assert problems(plan) == [
        ("carriers.last.count", 'a load of 8 at "pull_on" never fits on 3 of carrier "last" that hold 2 each')
    ]


def test_a_part_of_a_plan_keeps_its_own_carriers_only() -> None:
    network = compile_network(boot().build())
    assert network.only(["boots"], {"boot": 40.0}).carriers.ids == ()
    inner = boot(from_="sole", to="slip")
    assert compile_network(inner.build()).only(["boots"], {"boot": 40.0}).carriers.ids == ("last",)


def pairs(**carrier: Any) -> PlanBuilder:
    """Shoes in two sizes and both sides, on lasts of their own; a pair takes both."""
    plan = PlanBuilder("Pairs", makes="pair", demand="40 each/day")
    plan.document["options"] = {
        "size": {"values": ["39", "40"], "shares": {"39": "25 %"}},
        "side": {"values": ["left", "right"]},
    }
    plan.item("pair", unit="each", options=["size"]).item("shoe", unit="each", options=["size", "side"])
    plan.station("lasting").station("pairing")
    fields = {"count": 6, "options": ["size", "side"], "from_": "pull_on", "to": "slip", "way_back": "2 min"}
    plan.carrier("last", **{**fields, **carrier})
    plan.route("shoes", gives="shoe").operation("pull_on", station="lasting", time="2 min").operation(
        "slip", station="lasting", time="1 min"
    )
    made_of = {"same": ["size"], "made_of": {"side": {"left": 1, "right": 1}}}
    plan.route("pairs", gives="pair").operation("match", station="pairing", time="1 min", takes={"shoe": made_of})
    return plan


def test_one_kind_for_each_combination_of_options() -> None:
    carriers = compile_network(pairs().build()).carriers
    assert carriers.ids == ("last [39, left]", "last [39, right]", "last [40, left]", "last [40, right]")
    assert carriers.count.tolist() == [6, 6, 6, 6]
    assert [len(carriers.joins.row(k)[0]) for k in range(4)] == [1, 1, 1, 1]


def test_the_count_by_an_option() -> None:
    by_size = {"by": "size", "table": {"39": 2, "40": 6}}
    assert compile_network(pairs(count=by_size).build()).carriers.count.tolist() == [2, 2, 6, 6]
    network = compile_network(pairs(count=by_size, options=None).build())
    assert (network.carriers.ids, network.carriers.count.tolist()) == (("last [39]", "last [40]"), [2, 6])
    assert [len(network.carriers.joins.row(k)[0]) for k in range(2)] == [2, 2], "left and right share them"


def test_a_size_with_no_last_and_an_option_that_the_piece_has_not() -> None:
    assert problems(pairs(count={"by": "size", "table": {"39": 2}})) == [
        ("carriers.last.count.table", 'size "40" is missing in this table')
    ]
    plan = pairs()
    plan.document["options"]["colour"] = {"values": ["red", "blue"]}
    plan.document["items"]["pair"]["options"] = ["size", "colour"]
    plan.document["carriers"]["last"]["options"] = ["colour"]
    assert problems(plan)[0] == (
        "carriers.last.options", 'carrier "last" is by colour, but "pull_on" is done to shoe, which has none',
    )  # fmt: skip


def test_kinds_of_one_carrier_limit_their_own_variants_only() -> None:
    """A quarter of the pairs is of size 39: with one last each its own loop of five minutes bounds it."""
    network = compile_network(pairs(count={"by": "size", "table": {"39": 1, "40": 50}}).build())
    capacity = measure_capacity(network, solve_flow(network))
    most = {bound.where: bound.multiple for bound in capacity.bounds if bound.kind == "carriers"}
    assert most["last [39, left]"] == pytest.approx(1440 / 5 / 10)
    assert most["last [40, left]"] == pytest.approx(50 * 1440 / 5 / 30)
    played = simulate(network, days=28, replications=1)
    assert played.carriers == network.carriers.ids
    in_use = played.carrier_use.mean[:, 0]
    assert in_use == pytest.approx([10 * 3 / 1440] * 2 + [30 * 3 / 1440] * 2, rel=0.4)
