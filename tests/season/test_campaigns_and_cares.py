"""Campaigns, work during a stand and ullage: by hand, in the averages and as they are played."""

from __future__ import annotations

from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from rich.console import Console
from season_cases import cellar
from test_season_played import played

from linewright.answer import answer, check
from linewright.base.problems import ProblemsError
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import compile_network
from linewright.plan import PlanBuilder
from linewright.report.html import to_html
from linewright.report.played.terminal import print_simulation
from linewright.simulate import simulate

CIDERY = Path(__file__).parents[1] / "examples" / "blank_cidery.toml"


def bottled(campaign: Any, **asked: Any) -> PlanBuilder:
    """The cellar with a bottling line behind it: a litre a bottle, 1,000 an hour."""
    builder = cellar(**asked)
    builder.document["plan"]["makes"] = "bottle"
    builder.item("bottle", unit="bottle", mass="1 kg").station("line").crew("bottler", people=1, shift="day")
    fields = {"campaign": campaign} if campaign is not None else {}
    builder.route("bottling", gives="bottle", **fields).operation(
        "bottle", station="line", crew="bottler", takes={"cider": "1 L"}, load=100, time={"each": "3.6 s"}
    )
    return builder


def refused(builder: PlanBuilder, path: str, what: str) -> None:
    with pytest.raises(ProblemsError) as wrong:
        compile_network(builder.build())
    assert any(path in p.path and what in p.what for p in wrong.value.problems), wrong.value


def test_a_campaign_waits_for_enough() -> None:
    """Two vats of 5,000 L come a week from 6 October on. At 15,000 L it begins on the third, and empties what came."""
    _, without = played(bottled(None, vats=9))
    _, run = played(bottled("15000 L", vats=9))
    assert without.week_finished.mean[3, 0] == pytest.approx(10_000)
    assert run.week_finished.mean[3, 0] == 0  # two vats in the week of 5 October
    assert run.week_finished.mean[4, 0] >= 15_000
    ((route, often),) = run.campaigns
    assert route == "bottling"
    assert often.mean == 4  # 14 vats of 5,000 L, three to a campaign; the last two wait for ever
    assert run.total.mean == pytest.approx(60_000)


def test_what_is_left_waits_no_longer_than_is_written() -> None:
    _, run = played(bottled({"starts": "15000 L", "waits": "10 days"}, vats=9))
    assert run.total.mean == pytest.approx(70_000)
    assert run.campaigns[0][1].mean == 5


def test_campaigns_in_a_steady_state() -> None:
    """Cider is kept ahead, at least what a campaign waits for: the demand is made."""
    builder = bottled("15000 L", vats=9)
    header = builder.document["plan"]
    for key in ("from", "to"):
        del header[key]
    header["demand"] = "1000 bottle/day"
    del builder.document["intake"]
    result = simulate(compile_network(builder.build()), replications=1, still=True, days=280)
    assert result.rate.mean == pytest.approx(1000, rel=0.05)


def test_a_campaign_for_more_than_its_store_holds() -> None:
    builder = bottled("15000 L").store("bright", room="10000 L")
    builder.document["items"]["cider"]["store"] = "bright"
    refused(builder, "routes.bottling.campaign.starts", "waits for more than bright ever holds")


def test_a_campaign_needs_something_that_is_made() -> None:
    builder = cellar()
    builder.document["routes"]["must"]["campaign"] = {"starts": "1 t", "item": "must"}
    refused(builder, "routes.must.campaign.item", "no operation of the route takes this")


def cared(every: str = "2 days", time: str = "30 min", **asked: Any) -> PlanBuilder:
    builder = cellar(**asked)
    ferment = builder.document["routes"]["cider"]["operations"][1]
    ferment["during"] = [{"name": "stir", "every": every, "time": time, "crew": "hand"}]
    return builder


def test_work_during_a_stand_by_hand() -> None:
    """5,000 L are pressed and filled by Monday noon and stand for ten days: stirred after 2, 4, 6 and 8 days.

    The third time is Sunday noon, when nobody is there: it is done on Monday at 6, 18 hours late.
    """
    builder = cared(vats=1, until="2026-09-14", weekly="35 t", stand="10 days")
    _, run = played(builder)
    (care,) = run.cares
    assert care.done.mean == 4
    assert care.missed.mean == 0
    assert care.late.mean == 1
    assert care.delay == pytest.approx(18)


def test_work_that_nobody_has_time_for_is_missed() -> None:
    """Every hour for ten days, but there is a hand only for 8 h on working days."""
    builder = cared("1 h", "20 min", vats=1, until="2026-09-14", weekly="35 t", stand="10 days")
    _, run = played(builder)
    (care,) = run.cares
    assert care.done.mean + care.missed.mean == pytest.approx(239, abs=2)
    assert care.missed.mean > 150


def test_work_during_a_stand_counts_for_its_crew() -> None:
    """200 L a working day are 0.04 loads of 5,000 L; nine times half an hour a load: 0.18 h."""
    builder = cared()
    header = builder.document["plan"]
    for key in ("from", "to"):
        del header[key]
    header["demand"] = "200 L/day"
    del builder.document["intake"]
    network = compile_network(builder.build())
    flow = solve_flow(network)
    bare = cellar()
    bare.document["plan"] = header
    del bare.document["intake"]
    plain = compile_network(bare.build())
    more = measure_capacity(network, flow).of("crew", "hand").hours.working
    less = measure_capacity(plain, solve_flow(plain)).of("crew", "hand").hours.working
    assert more - less == pytest.approx(0.04 * 9 * 0.5, rel=1e-9)


def stirred(every: str) -> PlanBuilder:
    """5,000 L a week, filled on Monday from 6 to 7, stand for three days and are drawn off on Thursday."""
    builder = PlanBuilder("Stirred", money="EUR", makes="cider", demand="1000 L/day")
    builder.item("must", unit="L", buy="1 EUR").item("cider", unit="L")
    builder.shift("day", hours="06:00-14:00", days="Mon-Fri").crew("hand", people=1, shift="day", wage="20 EUR/h")
    builder.station("vat", places=2)
    load: dict[str, Any] = {"station": "vat", "load": "5000 L"}
    route = builder.route("cider", gives="cider")
    route.operation("fill", crew="hand", takes={"must": "1 L"}, time="1 h", **load)
    care = {"name": "stir", "every": every, "time": "15 min", "crew": "hand"}
    route.operation("ferment", stand="3 days", during=[care], **load)
    route.operation("draw", crew="hand", time="1 h", **load)
    return builder


def test_lateness_in_a_steady_state_by_hand() -> None:
    """Standing from Monday at 7: due on Tuesday at 1 and 19 and on Wednesday at 13, so twice late, by 5 h and 11 h."""
    run = simulate(compile_network(stirred("18 h").build()), replications=1, still=True, days=70)
    (care,) = run.cares
    assert (care.operation, care.name) == ("ferment", "stir")
    assert care.done.mean == pytest.approx(3 / 5)
    assert care.late.mean == pytest.approx(2 / 5)
    assert care.missed.mean == 0
    assert care.delay == pytest.approx(8)
    (row,) = run.care_table().rows
    assert row[:2] == ("ferment", "stir")


def test_what_comes_due_again_at_night_is_done_once_in_the_morning() -> None:
    """Every 6 h: of those due at 19 and at 1 the first is missed, the second done at 6, 5 h late, on three nights."""
    run = simulate(compile_network(stirred("6 h").build()), replications=1, still=True, days=70)
    (care,) = run.cares
    assert (care.done.mean, care.late.mean, care.missed.mean) == pytest.approx((8 / 5, 3 / 5, 3 / 5))
    assert care.delay == pytest.approx(5)


def test_lateness_in_a_steady_state_is_told() -> None:
    found = answer(stirred("6 h").build(), simulate=True, budget_seconds=2)
    assert found.simulation is not None
    (care,) = found.simulation.as_planned.cares
    assert care.done.mean > 0
    assert care.done.mean + care.missed.mean == pytest.approx(11 / 5, rel=1e-6)
    out = StringIO()
    print_simulation(found, console=Console(file=out, width=120))
    assert "Work while it stands" in out.getvalue()
    assert "Work while it stands" in to_html(found)
    assert found.to_dict()["simulation"]["as_planned"]["cares"][0]["name"] == "stir"


def test_work_that_never_comes() -> None:
    refused(cared("30 days"), "routes.cider.operations[1].during[0].every", "the stand is shorter")


def test_only_what_stands_is_cared_for() -> None:
    builder = cellar()
    builder.document["routes"]["must"]["operations"][0]["ullage"] = "1 %/month"
    refused(builder, "routes.must.operations[0].ullage", "does not stand")


def test_ullage_by_hand() -> None:
    """1.5 % a month for 20 days in the balance. In play it stands from Monday noon to Sunday noon, and waits until
    Monday at 6 for who draws it off: 18 h more."""
    builder = cellar(vats=1, until="2026-09-14", weekly="35 t")
    builder.document["routes"]["cider"]["operations"][1]["ullage"] = "1.5 %/month"
    bound, run = played(builder)
    a_day = 0.015 / (365.25 / 12)
    assert bound.most[0] == pytest.approx(5000 * (1 - 20 * a_day), rel=1e-6)
    assert run.total.mean == pytest.approx(5000 * (1 - 20 * a_day) * (1 - 0.75 * a_day), rel=1e-9)


def aired(stand: Any, loss: str = "15 %/month", **fields: Any) -> PlanBuilder:
    """What is filled on Monday from 6 to 7, with a loss over its stand."""
    builder = stirred("18 h")
    ferment = builder.document["routes"]["cider"]["operations"][1]
    del ferment["during"]
    ferment.update(stand=stand, ullage=loss, **fields)
    return builder


def left(builder: PlanBuilder, **asked: Any) -> tuple[float, float]:
    """Of what stands, the share that is left: in the balance, and as it is played."""
    network = compile_network(builder.build())
    run = simulate(network, **asked)
    return 1 / float(solve_flow(network).runs[0]) * 1000, 1 - float(run.scrapped.mean[1] / run.runs.mean[1])


def test_ullage_follows_the_stand_of_each_load() -> None:
    """60 h end on Wednesday at 19, drawn off from Thursday at 6: 11 h more; 72 h end at 7, when it is drawn off."""
    an_hour = 0.15 / (365.25 / 12 * 24)
    asked: dict[str, Any] = {"replications": 1, "still": True, "days": 70}
    balance, play = left(aired("60 h"), **asked)
    assert balance == pytest.approx(1 - 60 * an_hour, rel=1e-9)
    assert play == pytest.approx((1 - 60 * an_hour) * (1 - 11 * an_hour), rel=1e-6)
    balance, play = left(aired("72 h"), **asked)
    assert (balance, play) == pytest.approx((1 - 72 * an_hour, 1 - 72 * an_hour), rel=1e-6)


def test_ullage_ends_with_the_vessel() -> None:
    """Where the stand is the last in its vessel, it loses until it leaves: the next is another station."""
    builder = aired("60 h")
    operations = builder.document["routes"]["cider"]["operations"]
    builder.station("butt", places=1)
    operations[2].update(station="butt", load={"least": "1000 L", "most": "5000 L"})
    an_hour = 0.15 / (365.25 / 12 * 24)
    _, play = left(builder, replications=1, still=True, days=70)
    assert play == pytest.approx(1 - 60 * an_hour, rel=1e-6)  # there is room outside, so it leaves at once
    operations[1]["then_to"] = "next"
    _, play = left(builder, replications=1, still=True, days=70)
    assert play == pytest.approx(1 - 60 * an_hour, rel=1e-6)  # it moves into the empty butt at once


def test_ullage_of_stands_that_vary() -> None:
    """Longer stands lose more and shorter ones less: the mean is that of the mean stand, but for the waits."""
    balance, play = left(aired({"mean": "60 h", "cv": 0.3}), replications=8, days=1400)
    an_hour = 0.15 / (365.25 / 12 * 24)
    assert play < balance
    assert (1 - 60 * an_hour) * (1 - 24 * an_hour) < play < (1 - 60 * an_hour) * (1 - 5 * an_hour)


def test_what_is_taken_for_granted_of_vessels_is_told() -> None:
    found = answer(aired("60 h").build())
    assert any("ullage of ferment" in said for said in found.network.assumptions)
    (lost,) = [scrap for scrap in found.flow.scrap if scrap.pieces > 0]
    assert lost.reason == "ullage"
    both = answer(aired("60 h", **{"yield": "99 %"}).build())
    assert [scrap.reason for scrap in both.flow.scrap] == ["yield and ullage"]
    kept = answer(held("next").build())
    assert any("holds what draw made until it is drawn off" in said for said in kept.network.assumptions)


def test_ullage_that_leaves_nothing() -> None:
    builder = cellar()
    builder.document["routes"]["cider"]["operations"][1]["ullage"] = "200 %/month"
    refused(builder, "routes.cider.operations[1].ullage", "nothing is left")


def held(then_to: str | None, **asked: Any) -> PlanBuilder:
    """One vat and one load of 5,000 L, bottled 100 an hour: drawn off in 50 h."""
    builder = bottled(None, vats=1, until="2026-09-14", weekly="35 t", **asked)
    if then_to is not None:
        builder.document["routes"]["cider"]["operations"][2]["then_to"] = then_to
    builder.document["routes"]["bottling"]["operations"][0]["time"] = {"each": "36 s"}
    return builder


def test_a_vat_holds_what_it_made_until_it_is_drawn_off() -> None:
    """Full on Monday 14 September, drawn from Monday 5 October on: seven hours, then eight a day, to the 13th."""
    _, free = played(held(None))
    _, run = played(held("next"))
    vat = run.stations.index("vat")
    assert free.week_in_use.mean[2:6, vat].tolist() == [1, 0, 0, 0]
    assert run.week_in_use.mean[2:6, vat].tolist() == [1, 1, 1, 0]
    assert run.total.mean == free.total.mean == pytest.approx(5000)


def test_a_vat_that_is_held_is_not_filled() -> None:
    """Two loads and one vat: the second waits until the first is bottled."""
    _, free = played(bottled_twice(None))
    _, run = played(bottled_twice("next"))
    assert run.total.mean == free.total.mean == pytest.approx(10_000)
    last = [max(w for w in range(len(r.mondays)) if r.week_finished.mean[w, 0] > 0) for r in (free, run)]
    assert last[1] > last[0]


CIDERY = Path(__file__).parents[1] / "examples" / "blank_cidery.toml"


def bottled_twice(then_to: str | None) -> PlanBuilder:
    builder = held(then_to)
    builder.document["intake"][0]["weekly"] = "70 t"
    return builder


def test_what_is_demanded_is_not_held() -> None:
    builder = cellar()
    builder.document["routes"]["cider"]["operations"][2]["then_to"] = "next"
    with pytest.raises(ProblemsError, match="what is demanded leaves"):
        played(builder)


def test_a_campaign_that_waits_for_more_than_the_whole_season_gives() -> None:
    """98 t of fruit give 70,000 L of cider. With ``waits`` it begins with less; without it never does."""
    with pytest.raises(ProblemsError) as wrong:
        answer(bottled("90000 L", vats=9).build())
    (problem,) = wrong.value.problems
    assert problem.path == "routes.bottling.campaign.starts"
    assert "waits for 90,000 L of cider, and the whole season gives 70,000 L: it never begins" in problem.what
    found = answer(bottled({"starts": "90000 L", "waits": "10 days"}, vats=9).build())
    assert any(p.path == "routes.bottling.campaign.starts" and "70,000 L" in p.what for p in found.problems)
    assert not answer(bottled("70000 L", vats=9).build()).problems


def test_such_a_campaign_is_told_by_check(tmp_path: Path) -> None:
    text = CIDERY.read_text().replace('{ starts = "9000 L", waits = "8 weeks" }', '{ starts = "900000 L" }')
    plan = tmp_path / "cidery.toml"
    plan.write_text(text)
    (problem,) = check(plan)
    assert problem.path == "routes.bottle.campaign.starts"
    assert problem.line == 1 + text[: text.index("900000 L")].count("\n")
