"""Two products on one bottling line, each in campaigns: the line finishes one before the other begins."""

from __future__ import annotations

import pytest
from test_season_played import played

from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate


def two(places: int = 1) -> PlanBuilder:
    """Dry and sweet cider, 300 L/h each, 47,400 of each wanted; 1,000 bottles an hour, from-to 1 h or 3 h."""
    builder = PlanBuilder("Two on a line", money="EUR", from_="2026-09-14", to="2026-12-31")
    builder.item("fruit", unit="kg", buy="0.2 EUR").shift("day", hours="06:00-14:00", days="Mon-Fri")
    builder.crew("hand", people=2, shift="day", wage="20 EUR/h").crew("bottler", people=places, shift="day")
    builder.station("line", places=places)
    builder.intake("fruit", from_="2026-09-14", to="2026-10-31", weekly="28 t")
    for kind, other, time in (("dry", "sweet", "1 h"), ("sweet", "dry", "3 h")):
        builder.station(f"press_{kind}").item(kind, unit="L", mass="1 kg")
        builder.item(f"{kind}_bottle", unit="bottle", mass="1 kg").demand(f"{kind}_bottle", "600 bottle/day")
        builder.route(f"press_{kind}", gives=kind).operation(
            f"press_{kind}", crew="hand", station=f"press_{kind}", takes={"fruit": "1.4 kg"},
            time={"rate": "300 L/h"}, loses={"pomace": "rest"},
        )  # fmt: skip
        campaign = {"starts": "10000 L", "waits": "3 weeks"}
        route = builder.route(f"bottle_{kind}", gives=f"{kind}_bottle", campaign=campaign)
        table = {f"{other}_bottle": {f"{kind}_bottle": time}}
        route.operation(
            f"bottle_{kind}", station="line", crew="bottler", takes={kind: "1 L"}, load=500, time={"each": "3.6 s"},
            setup={"when": "item changes", "time": "2 h", "table": table},
        )  # fmt: skip
    return builder


def test_a_line_runs_one_campaign_at_a_time() -> None:
    """Seven campaigns in turn: set up for the first (2 h), then three times to sweet (3 h) and three to dry (1 h)."""
    bound, run = played(two())
    assert [often.mean for _, often in run.campaigns] == [4, 3]
    assert [one.mean for one in run.finished] == pytest.approx([47_400, 47_400], rel=1e-9)
    assert run.total.mean <= sum(bound.most) * (1 + 1e-9)
    line = run.stations.index("line")
    hours = 109 * 24
    assert run.state_share.mean[line, 2] * hours == pytest.approx(2 + 3 * 3 + 3 * 1, rel=1e-6)
    assert run.state_share.mean[line, 0] * hours == pytest.approx(94.8, rel=1e-6)


def test_two_lines_run_two_campaigns() -> None:
    """With two places each has one to itself after the first campaigns: little is set up."""
    _, run = played(two(places=2))
    line = run.stations.index("line")
    assert [one.mean for one in run.finished] == pytest.approx([47_400, 47_400], rel=1e-9)
    assert run.most_in_use[line] == 2


def test_a_campaign_that_has_made_all_that_is_wanted_lets_the_other_begin() -> None:
    """Bottles and half bottles of one cider, of which there is more than both want: the line is not kept."""
    builder = PlanBuilder("Two of one cider", money="EUR", from_="2026-09-14", to="2026-12-31")
    builder.item("fruit", unit="kg", buy="0.2 EUR").item("cider", unit="L", mass="1 kg")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=2, shift="day", wage="20 EUR/h")
    builder.crew("bottler", people=1, shift="day").station("press").station("line")
    builder.intake("fruit", from_="2026-09-14", to="2026-10-31", weekly="28 t")
    builder.route("press", gives="cider").operation(
        "press",
        crew="hand",
        station="press",
        takes={"fruit": "1.4 kg"},
        time={"rate": "600 L/h"},
        loses={"pomace": "rest"},
    )
    for kind, litres, day in (("bottle", "0.75 L", "600"), ("half", "0.375 L", "400")):
        builder.item(kind, unit="bottle", mass=litres.replace("L", "kg")).demand(kind, f"{day} bottle/day")
        campaign = {"starts": "10000 L", "waits": "3 weeks"}
        builder.route(f"fill_{kind}", gives=kind, campaign=campaign).operation(
            f"fill_{kind}", station="line", crew="bottler", takes={"cider": litres}, load=500, time={"each": "3.6 s"}
        )
    _, run = played(builder)
    assert [one.mean for one in run.finished] == pytest.approx([79 * 600, 79 * 400], rel=1e-9)


def test_in_a_steady_state_no_campaign_keeps_another_from_beginning() -> None:
    """There a campaign that keeps up with its demand need never end."""
    builder = two()
    for key in ("from", "to"):
        del builder.document["plan"][key]
    del builder.document["intake"]
    result = simulate(compile_network(builder.build()), replications=1, still=True, days=280)
    assert [rate.mean for rate in result.rates] == pytest.approx([600, 600], rel=0.05)
