"""What is counted comes in whole pieces: a lot that comes to a part of one is refused, both neighbours named."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder


def panels(lot: Any = None, load: Any = None) -> Network:
    plan = PlanBuilder("Panels", makes="panel", demand="10 panel/day", money="EUR")
    plan.item("blank", unit="each", buy="1 EUR", mass="4.6 kg")
    plan.item("panel", unit="panel")
    route = plan.route("panels", gives="panel", **({"lot": lot} if lot is not None else {}))
    route.operation("edge", time="1 min", takes={"blank": 1}, **({"load": load} if load is not None else {}))
    return compile_network(plan.build())


@pytest.mark.parametrize("field", ["lot", "load"])
def test_part_of_a_piece_is_refused_with_both_neighbours(field: str) -> None:
    with pytest.raises(ProblemsError) as refused:
        panels(**{field: "72 kg"})
    (problem,) = refused.value.problems
    assert problem.path.endswith(field)
    assert problem.value == '"72 kg"'
    assert "15.65 panels" in problem.what
    assert problem.hint == "write 15 (69 kg) or 16 (73.6 kg)"


def test_whole_pieces_by_mass_or_count_are_taken() -> None:
    assert panels(lot="69 kg").routes.lot[0] == 15
    assert panels(lot=12).routes.lot[0] == 12
    assert panels(load="69.000001 kg").operations.load_most[0] == 15
    assert panels(load={"least": 4, "most": 12}).operations.load_most[0] == 12


def test_less_than_one_piece_names_one() -> None:
    with pytest.raises(ProblemsError) as refused:
        panels(load="3 kg")
    assert refused.value.problems[0].hint == "write 1 (4.6 kg)"


@pytest.mark.parametrize("load", [2.5, {"least": 2, "most": 4.5}])
def test_part_of_a_piece_by_count_is_refused(load: Any) -> None:
    with pytest.raises(ProblemsError) as refused:
        panels(load=load)
    assert "write " in str(refused.value.problems[0].hint)


def test_what_is_measured_may_come_in_any_amount() -> None:
    plan = PlanBuilder("Juice", makes="juice", demand="10 hL/day").item("juice", unit="hL")
    plan.route("juice", gives="juice", lot="1250 L").operation("stir", time="1 min", load="250 L")
    network = compile_network(plan.build())
    assert network.operations.load_most[0] == pytest.approx(2.5)
