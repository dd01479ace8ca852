"""Cider and reed board are answered from physics: a colder cellar moves tanks, rate and cost, and it is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from linewright.answer import Answer, answer
from linewright.answer.followed import followed
from linewright.base.results import show
from linewright.plan import read_plan
from linewright.report import parts, tables
from linewright.report.charts import charts
from linewright.report.html import to_html

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
FERMENT = "routes.young.operations[1].stand.ferment.temperature"


def cellar(degrees: float) -> Answer:
    return answer(read_plan(EXAMPLES / "cider.toml").change(FERMENT, f"{degrees:g} degC"))


@pytest.fixture(scope="module")
def warm() -> Answer:
    return cellar(17)


@pytest.fixture(scope="module")
def cold() -> Answer:
    return cellar(13)


def test_a_colder_cellar_moves_tank_time_tanks_rate_and_cost(warm: Answer, cold: Answer) -> None:
    at = warm.network.operations.ids.index("ferment")
    days = [float(a.network.operations.stand.mean[at]) / 8.64e13 for a in (warm, cold)]
    assert days[1] > 1.3 * days[0]
    tanks = [a.capacity.of("station", "fermenter") for a in (warm, cold)]
    needed = [t.use * t.count for t in tanks]
    assert needed[1] > 1.25 * needed[0]
    assert cold.capacity.bounds[0].rate < warm.capacity.bounds[0].rate
    assert cold.cost.products[0].total > warm.cost.products[0].total
    assert warm.bottleneck == "maturing_tank"
    assert cold.bottleneck == "fermenter"


def test_the_report_says_so(warm: Answer, cold: Answer) -> None:
    """Days in the tank, tanks needed, greatest rate and cost of one stand on the page, and are not the same."""
    said = []
    for found in (warm, cold):
        page = to_html(found, live=False)
        stations = tables.resources(found, "station")
        needed = next(row[2] for row in stations.rows if row[0] == "Cooled fermenter of 5,000 L")
        rate = show(found.capacity.bounds[0].rate)
        cost = f"{found.cost.products[0].total:,.2f} EUR"
        assert parts.table(stations) in page
        assert rate in page
        assert cost in page
        said.append((needed, rate, cost))
        days = f"{followed(found.plan)[0].timed.seconds / 86400:.3g} days"
        assert days in page
        assert 'data-chart="curve_ferment_stand"' in page
        assert "hangs on" in page
    assert said[0][0] < said[1][0]  # type: ignore[operator]
    assert all(one != other for one, other in zip(*said, strict=True))


def test_a_colder_cellar_gives_off_less_heat_at_once(warm: Answer, cold: Answer) -> None:
    """Longer and slower: more tanks at once, a lower peak of each."""
    tanks = [a.energy.tanks[0] for a in (warm, cold)]
    assert tanks[1].at_once > tanks[0].at_once
    assert tanks[1].most < tanks[0].most


def test_the_curve_is_a_chart_with_its_target(cold: Answer) -> None:
    spec = charts(cold)["curve_ferment_stand"].spec
    line, goal = spec["layer"]
    values = [row["value"] for row in line["data"]["values"] if row["what"] == "sugar"]
    assert values[0] == 124.0
    assert values[-1] == pytest.approx(2.0, abs=1e-3)
    assert goal["data"]["values"] == [{"goal": 2.0}]


def test_reed_board_dries_presses_and_cools_by_physics() -> None:
    plan = read_plan(EXAMPLES / "reedboard.toml")
    found = {f.operation: f for f in followed(plan)}
    assert set(found) == {"dry", "screen", "press", "cool"}
    assert found["press"].timed.seconds == pytest.approx(306, abs=1)
    assert found["cool"].timed.seconds / 60 == pytest.approx(30, abs=1)
    colder = answer(plan.change("routes.flakes.operations[0].time.dry.gas", "180 degC"))
    usual = answer(plan)
    assert colder.capacity.of("station", "dryer").use > 1.2 * usual.capacity.of("station", "dryer").use


def test_wrong_conditions_are_named_with_their_line() -> None:
    from linewright.base.problems import ProblemsError

    with pytest.raises(ProblemsError, match="yeast does not work at this temperature"):
        cellar(2)


def test_gas_that_leaves_is_what_the_model_says() -> None:
    found = answer(read_plan(EXAMPLES / "cider.toml"))
    at = found.network.operations.ids.index("ferment")
    gas = float(found.network.operations.loses.row(at)[1][0])  # kg for each litre
    assert gas * 1000 == pytest.approx(followed(found.plan)[0].timed.outcome("carbon dioxide"), abs=0.1)
