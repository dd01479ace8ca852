"""Carriers, windows and what goes off, from the plan to the page and the terminal, with sizes too."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from linewright.answer import Answer, Wish, answer, simulate_plan
from linewright.plan import PlanBuilder
from linewright.report.html import to_html
from linewright.report.played import limits
from linewright.report.played.terminal import print_simulation
from linewright.report.terminal import print_answer


def boot() -> PlanBuilder:
    """Shoes in two sizes on lasts of their size, soled with glue that keeps an hour and must be pressed in time."""
    plan = PlanBuilder("Boots", money="EUR", makes="shoe", demand="60 each/day")
    plan.document["options"] = {"size": {"values": ["39", "40"], "shares": {"39": "25 %"}}}
    plan.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("laster", people=3, shift="day", wage="20 EUR/h")
    plan.item("shoe", unit="each", options=["size"], name="Walking shoe").item("resin", unit="kg", buy="8 EUR/kg")
    plan.item("glue", unit="kg", keeps="1 h", name="Mixed glue")
    plan.station("mixer").station("lasting").station("press")
    plan.carrier("last", count={"by": "size", "table": {"39": 1, "40": 2}}, from_="pull_on", to="slip",
                 way_back="5 min", price="38 EUR", lasts_for=400)  # fmt: skip
    plan.route("mix", gives="glue").operation(
        "mix", station="mixer", time="5 min", load="4 kg", takes={"resin": "1 kg"}
    )
    route = plan.route("shoes", gives="shoe")
    route.operation("pull_on", station="lasting", crew="laster", time="3 min", name="Pull on")
    route.operation("glue", station="lasting", crew="laster", time="2 min", takes={"glue": "0.05 kg"})
    route.operation("press", station="press", crew="laster", time={"mean": "4 min", "cv": 0.8}, name="Press the sole",
                    wait={"after": "glue", "least": "2 min", "most": "15 min"})  # fmt: skip
    route.operation("slip", station="lasting", crew="laster", time="1 min")
    return plan


@pytest.fixture(scope="module")
def played() -> Answer:
    return answer(boot().build(), simulate=True, budget_seconds=4, threads=1)


def test_the_tables_agree_with_the_simulation(played: Answer) -> None:
    assert played.simulation is not None
    run = played.simulation.as_planned
    kinds = limits.carriers(played, run)
    assert [row[:2] for row in kinds.rows] == [("Last 39", "1"), ("Last 40", "2")]
    assert limits.closed(played, run).rows[0][0] == "Press the sole"
    assert float(run.closed.mean[0]) > 0
    assert limits.spoiled(played, run).rows[0][0] == "Mixed glue"


def test_the_page_and_the_terminal_show_them(played: Answer) -> None:
    page = to_html(played)
    out = io.StringIO()
    console = Console(file=out, width=160)
    print_answer(played, console=console)
    print_simulation(simulate_plan(boot().build(), Wish(replications=4, days=28)), console=console)
    for said in ("Where the carriers are, simulated", "What went off on hand, simulated", "Windows that closed"):
        assert said in page
        assert said in out.getvalue()
    assert "Carriers" in page


def test_the_cost_has_the_wear_of_both_sizes(played: Answer) -> None:
    assert played.cost.products[0].parts.machine == pytest.approx(38 / 400, abs=0.01)


def test_a_plan_without_them_shows_nothing() -> None:
    plan = boot()
    del plan.document["carriers"], plan.document["routes"]["shoes"]["operations"][2]["wait"]
    del plan.document["items"]["glue"]["keeps"]
    plain = answer(plan.build(), simulate=True, budget_seconds=2, threads=1)
    page = to_html(plain)
    assert "carriers are, simulated" not in page
    assert "went off" not in page
    assert "Windows that closed" not in page
