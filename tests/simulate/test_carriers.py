"""The rules of carriers on plans small enough to follow by hand, and their conservation on many random plans."""

from __future__ import annotations

import os
import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.calendar import MINUTE
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate
from linewright.simulate.simulate import prepare
from linewright.simulate.stuck import StuckError


def works(**plan: Any) -> PlanBuilder:
    """A plan of one item, let in flat out; it works at all hours."""
    fields = {"makes": "thing", "demand": "10 each/day", "release": "flat out", "open_pieces": 6, **plan}
    return PlanBuilder("Harrow Fen Works, a test", money="EUR", **fields).item("thing", unit="each")


def run(builder: PlanBuilder, days: int = 7, **options: Any) -> Simulation:
    return simulate(network(builder), days=days, replications=1, trace=True, **options)


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def times(simulation: Simulation, event: str, operation: str) -> list[float]:
    assert simulation.trace is not None
    records = simulation.trace.records
    return [r.time / MINUTE for r in records if r.event == event and r.operation == operation]


def two_steps(count: int = 2, **carrier: Any) -> PlanBuilder:
    """Two minutes on, four minutes on and off, two lasts, three minutes back."""
    plan = works().station("one").station("two")
    plan.carrier("last", **{"count": count, "from_": "on", "to": "off", "way_back": "3 min", **carrier})
    plan.route("r", gives="thing").operation("on", station="one", time="2 min").operation(
        "off", station="two", time="4 min"
    )
    return plan


def test_a_piece_takes_a_free_carrier_at_its_start_and_keeps_it_to_the_end() -> None:
    result = run(two_steps())
    assert times(result, "starts", "on")[:4] == [0, 2, 9, 13], "back at 6 + 3, and at 10 + 3"
    assert times(result, "starts", "off")[:4] == [2, 6, 11, 15]


def test_without_a_way_back_the_carrier_is_there_at_once() -> None:
    result = run(two_steps(way_back=None))
    assert times(result, "starts", "on")[:4] == [0, 2, 6, 10]


def test_who_waits_for_a_carrier_counts_as_waiting_for_a_tool() -> None:
    """Two of nine minutes are worked at the first station, nobody else is there: the rest is waiting for a last."""
    result = run(two_steps(), days=70)
    share = dict(zip(result.states, result.state_share.mean[0].tolist(), strict=True))
    assert share["working"] == pytest.approx(4 / 9, abs=1e-3)
    assert share["no tool"] == pytest.approx(5 / 9, abs=1e-3)


def test_carriers_in_use_on_the_way_back_and_wanted() -> None:
    """Every nine minutes each of two is in use for six and on its way back for three."""
    result = run(two_steps(), days=70)
    in_use, back, mended, wanted = result.carrier_use.mean[0].tolist()
    assert in_use == pytest.approx(2 * 6 / 9, abs=1e-3)
    assert back == pytest.approx(2 * 3 / 9, abs=1e-3)
    assert mended == 0
    assert wanted == pytest.approx(6 / 9, abs=2e-3), "none is free from 11 to 13 and 15 to 18 but for those starting"
    assert [row[0] for row in result.carrier_table().rows] == ["last"]


def test_carrier_people_tools_and_parts_are_taken_together_or_not_at_all() -> None:
    """The second piece waits for its last and does not keep the fitter from other work."""
    plan = works(open_pieces=2).shift("day", hours="00:00-24:00", days="Mon-Sun").crew("fitter", people=1, shift="day")
    plan.station("one").station("two").station("three").carrier("last", count=1, from_="on", to="off")
    plan.item("other", unit="each").demand("other", "10 each/day")
    route = plan.route("r", gives="thing")
    route.operation("before", station="one", time="1 min").operation("on", station="one", crew="fitter", time="2 min")
    route.operation("off", station="two", time="20 min")
    plan.route("q", gives="other").operation("else", station="three", crew="fitter", time="5 min")
    result = run(plan)
    assert times(result, "starts", "on")[:2] == [5, 27], "in its place the second waits from 8 on"
    assert times(result, "starts", "else")[:5] == [0, 7, 12, 17, 22]


def test_a_piece_that_begins_with_a_carrier_waits_outside_for_it() -> None:
    """Else the one that comes back to the same station for its second visit would find the place taken for ever."""
    plan = works(open_pieces=3).station("one").station("two")
    plan.carrier("last", count=1, from_="on", to="off")
    route = plan.route("r", gives="thing")
    route.operation("on", station="one", time="1 min").operation("mid", station="two", time="2 min")
    route.operation("off", station="one", time="3 min")
    assert times(run(plan), "starts", "on")[:3] == [0, 6, 12]


def test_a_standstill_names_the_carrier_and_is_warned_of_beforehand() -> None:
    """The next one waits for a last in the only place that the one on the last must come back to."""
    plan = works(open_pieces=3).station("one").station("two")
    plan.carrier("last", count=1, from_="on", to="off")
    route = plan.route("r", gives="thing")
    route.operation("before", station="one", time="1 min").operation("on", station="one", time="1 min")
    route.operation("mid", station="two", time="9 min").operation("off", station="one", time="3 min")
    net = network(plan)
    assert any("one, last" in problem.what for problem in net.problems)
    with pytest.raises(StuckError, match="waits for a free carrier last to do on"):
        run(plan, days=21)


def test_scrap_frees_the_carrier() -> None:
    """Every piece is thrown away in mid-stretch: the last is free for the next."""
    plan = works(open_pieces=3).station("one").station("two")
    plan.carrier("last", count=1, from_="on", to="off")
    route = plan.route("r", gives="thing")
    route.operation("on", station="one", time="1 min", faults={"crack": 1.0})
    route.operation("look", station="two", time="2 min", check={"finds": {"crack": 1.0}, "then": "scrap"})
    route.operation("off", station="two", time="1 min")
    assert times(run(plan), "starts", "on")[:3] == [0, 3, 6]


def rework(to: str, at: str) -> list[float]:
    """One last; a check at ``at`` sends every piece back once to ``to``: the starts of the operation that puts on."""
    plan = works(open_pieces=1).station("one").station("two").station("three").station("four")
    plan.carrier("last", count=1, from_="on", to="off", way_back="1 min")
    route = plan.route("r", gives="thing")
    for k, name in enumerate(("cut", "on", "off", "pack")):
        fields: dict[str, Any] = {"station": ("one", "two", "three", "four")[k], "time": "2 min"}
        if name == "cut":
            fields["faults"] = {"crack": 1.0}
        if name == at:
            fields["check"] = {"finds": {"crack": 1.0}, "then": {"rework": to, "at_most": 1, "else": {"seconds": "b"}}}
        route.operation(name, **fields)
    plan.item("b", unit="each", sell="1 EUR")
    return times(run(plan), "starts", "on")[:3]


def test_a_piece_sent_back_from_the_end_keeps_its_carrier() -> None:
    """Sent back from ``to`` to ``from``: it starts again at once, without a way back."""
    assert rework("on", "off") == [2, 6, 12], "the third is the next piece: let in at 10, cut until 12"


def test_a_piece_sent_back_to_before_the_start_comes_off() -> None:
    """Sent back at 6: cut again until 8, and the last is back at 7."""
    assert rework("cut", "off") == [2, 8, 14]


def test_a_piece_sent_back_into_the_stretch_gets_on_again() -> None:
    plan = works(open_pieces=1).station("one").station("two").station("three").station("four")
    plan.carrier("last", count=1, from_="on", to="off", way_back="30 min")
    route = plan.route("r", gives="thing")
    route.operation("on", station="one", time="1 min", faults={"crack": 1.0})
    route.operation("mid", station="two", time="1 min").operation("off", station="three", time="1 min")
    then = {"rework": "mid", "at_most": 1, "else": "scrap"}
    route.operation("look", station="four", time="1 min", check={"finds": {"crack": 1.0}, "then": then})
    result = run(plan)
    assert times(result, "starts", "mid")[:2] == [1, 33], "sent back at 4, the last is back at 3 + 30"


@pytest.mark.parametrize("count", [1, 3])
def test_who_is_sent_back_without_a_carrier_lets_those_go_by_who_are_on_one(count: int) -> None:
    """Else nobody ever brings one back: all lasts wait behind a boot that waits for a last, at an empty station."""
    plan = works(open_pieces=30).station("one").station("two").station("three")
    plan.carrier("last", count=count, from_="on", to="off")
    then = {"rework": "off", "at_most": 1, "else": "scrap"}
    plan.route("r", gives="thing").operation("on", station="one", time="7 min", faults={"crack": 0.15}).operation(
        "off", station="two", time="7 min"
    ).operation("sew", station="two", time="7 min").operation(
        "look", station="three", time="7 min", check={"finds": {"crack": 1.0}, "then": then}
    )
    result = run(plan, days=56)
    assert result.rate.mean > 1440 / 14 * 0.7


def test_a_carrier_that_comes_back_wakes_who_was_sent_back_to_the_middle_of_a_visit() -> None:
    """The frame is empty, for a shell that leaked waits there for clamps: once they hang at the frame it is closed."""
    plan = works(open_pieces=1).station("frame").station("bench")
    plan.carrier("clamps", count=1, from_="close", to="off", way_back="30 min")
    then = {"rework": "close", "at_most": 1, "else": "scrap"}
    plan.route("r", gives="thing").operation("bead", station="frame", time="4 min", faults={"gap": 1.0}).operation(
        "close", station="frame", time="2 min"
    ).operation("off", station="bench", time="2 min").operation(
        "leak", station="bench", time="1 min", check={"finds": {"gap": 1.0}, "then": then}
    )
    starts = times(run(plan), "starts", "close")
    assert starts[:2] == [4, 38], "off at 8, back at 38"


def test_several_pieces_on_one_carrier_which_is_free_when_the_last_has_left() -> None:
    plan = works(open_pieces=8).station("one").station("two")
    plan.carrier("rack", count=1, holds=3, from_="on", to="off")
    plan.route("r", gives="thing").operation("on", station="one", time="1 min").operation(
        "off", station="two", time="4 min"
    )
    assert times(run(plan), "starts", "on")[:6] == [0, 1, 2, 13, 14, 15]


def test_a_load_takes_as_many_carriers_as_it_fills() -> None:
    plan = works(open_pieces=12).station("one").station("two")
    plan.carrier("rack", count=3, holds=2, from_="on", to="off")
    route = plan.route("r", gives="thing")
    route.operation("on", station="one", time="1 min", load=3).operation("off", station="two", time="5 min", load=3)
    result = run(plan)
    assert sorted(set(times(result, "starts", "on")))[:3] == [0, 6, 12], "two of three racks for each load of three"


@pytest.mark.parametrize("count", [3, 4, 6])
def test_who_fills_a_place_needs_no_carrier_for_those_who_are_on_theirs(count: int) -> None:
    """Three get on one by one and are baked together: three trays are enough, and one load is in the oven at a time."""
    plan = works(open_pieces=12).station("oven")
    plan.carrier("tray", count=count, from_="on", to="bake")
    route = plan.route("r", gives="thing")
    route.operation("on", station="oven", time="1 min").operation("bake", station="oven", time="5 min", load=3)
    assert times(run(plan), "starts", "on")[:7] == [0, 1, 2, 8, 9, 10, 16]


def test_a_piece_that_becomes_several_keeps_the_carrier_until_all_are_off() -> None:
    plan = works(open_pieces=2).station("one").station("two")
    plan.item("sheet", unit="sheet", buy="1 EUR").carrier("tray", count=1, from_="cut", to="off")
    route = plan.route("r", gives="thing")
    route.operation("cut", station="one", time="1 min", takes={"sheet": 1}, gives={"thing": 4})
    route.operation("off", station="two", time="2 min")
    assert times(run(plan), "starts", "cut")[:3] == [0, 9, 18]


def test_a_part_brings_its_carrier_into_the_next_route() -> None:
    """Uppers are pulled on in one route and slipped in the next: two lasts let two be under way in both together."""
    plan = works(open_pieces=9).station("one").station("two").station("three")
    plan.item("upper", unit="each").carrier("last", count=2, from_="on", to="off", way_back="1 min")
    plan.route("u", gives="upper").operation("on", station="one", time="2 min").operation(
        "set", station="two", time="3 min"
    )
    plan.route("r", gives="thing").operation("sole", station="three", time="4 min", takes={"upper": 1}).operation(
        "off", station="three", time="2 min"
    )
    result = run(plan)
    assert times(result, "starts", "on")[:4] == [0, 2, 12, 18], "off at 11 and 17, and a minute back"


def test_two_parts_bring_two_carriers() -> None:
    plan = works(open_pieces=9).station("one").station("two")
    plan.item("half", unit="each").carrier("jig", count=2, from_="on", to="join")
    plan.route("h", gives="half").operation("on", station="one", time="2 min")
    plan.route("r", gives="thing").operation("join", station="two", time="5 min", takes={"half": 2})
    assert times(run(plan), "starts", "on")[:4] == [0, 2, 9, 11]


def test_a_lost_carrier_comes_back_mended() -> None:
    """Lost after an hour of use: with 6 minutes a use every tenth use, and eleven minutes more until it is back."""
    plan = two_steps(count=1, between_losses={"mean": "1 h", "cv": 0.02}, repair="11 min")
    result = run(plan, days=70)
    in_use, back, mended, _ = result.carrier_use.mean[0].tolist()
    assert result.rate.mean == pytest.approx(1440 / (9 + 1.1), rel=2e-3)
    assert mended == pytest.approx(14 / 101, rel=1e-2), "its way back is part of it: (3 + 11) minutes in 101"
    assert in_use + back + mended == pytest.approx(1.0, abs=1e-3)


def test_the_carrier_binds_by_takt_and_by_pull() -> None:
    """Demand is 288 a day; one last makes 160 of it."""
    for release in ("takt", "pull"):
        plan = two_steps(count=1)
        plan.document["plan"] |= {"release": release, "demand": "288 each/day"}
        assert run(plan, days=21).runs.mean == pytest.approx([160, 160], rel=2e-3), release


def test_the_same_bits_without_the_compiler(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = random_plan(7)
    monkeypatch.delenv("LINEWRIGHT_NO_JIT", raising=False)
    first = simulate(network(plan), days=7, replications=2, seed=3)
    monkeypatch.setenv("LINEWRIGHT_NO_JIT", "1")
    assert os.environ["LINEWRIGHT_NO_JIT"] == "1"
    second = simulate(network(plan), days=7, replications=2, seed=3)
    assert np.array_equal(first.rate_of_each, second.rate_of_each)
    assert np.array_equal(first.carrier_use.mean, second.carrier_use.mean)
    assert np.array_equal(first.state_share.mean, second.state_share.mean)


def random_plan(seed: int) -> PlanBuilder:
    """Loads, splits, rework into and out of the stretch, scrap, a part that is carried over, losses, two kinds."""
    luck = random.Random(seed)
    plan = works(open_pieces=luck.randint(2, 30))
    plan.item("part", unit="each")
    steps = luck.randint(3, 6)
    made = plan.route("p", gives="part")
    for k in range(2):
        plan.station(f"p{k}", places=luck.randint(1, 2))
        made.operation(f"p{k}", station=f"p{k}", time={"mean": "3 min", "cv": 0.5}, load=luck.choice([1, 1, 2]))
    route, whole = plan.route("r", gives="thing"), 0
    for k in range(steps):
        plan.station(f"s{k}", places=luck.randint(1, 3))
        fields: dict[str, Any] = {"station": f"s{k}", "time": {"mean": f"{luck.randint(1, 5)} min", "cv": 0.4}}
        if luck.random() < 0.3:
            fields["load"] = {"least": 1, "most": luck.randint(2, 3), "waits": "5 min"}
        if k == 0:
            fields["takes"] = {"part": luck.randint(1, 2)}
            fields["faults"] = {"crack": 0.3}
        if k == steps - 1:
            then: Any = {"rework": f"s{luck.randrange(whole, steps)}", "at_most": 2, "else": "scrap"}
            fields["check"] = {"finds": {"crack": 0.8}, "then": then, "false_alarms": 0.05}
        elif luck.random() < 0.2:
            fields["gives"], whole = {"thing": luck.choice([2, 3])}, k + 1
        if luck.random() < 0.15:
            fields["yield_"] = 0.9
        route.operation(f"s{k}", **fields)
    first, last = sorted(luck.sample(range(steps), 2))
    losses = {"between_losses": "5 h", "repair": "20 min"} if luck.random() < 0.5 else {}
    plan.carrier("last", count=luck.randint(3, 9), holds=luck.choice([1, 1, 2, 4]), from_=f"s{first}", to=f"s{last}",
                 way_back=luck.choice([None, "4 min", {"mean": "4 min", "cv": 0.5}]), **losses)  # fmt: skip
    plan.carrier("pallet", count=luck.randint(6, 20), from_="p1", to=f"s{luck.randrange(steps)}", way_back="2 min")
    return plan


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_no_carrier_is_lost_or_made_up(seed: int) -> None:
    """The books of every week count the carriers, and everyone on them; a plan that locks itself says so by name."""
    net = network(random_plan(seed))
    try:
        result = simulate(net, days=14, replications=1, seed=seed)
    except StuckError as stuck:
        said = stuck.problems[0].what
    else:
        said = ""
        assert (result.carrier_use.mean[:, :3].sum(axis=1) <= net.carriers.count + 1e-9).all()
    assert not said or "waits for" in said or "wait to begin" in said


def test_a_plan_without_carriers_has_no_rows_of_them() -> None:
    plan = works().station("one")
    plan.route("r", gives="thing").operation("a", station="one", time="1 min")
    assert prepare(network(plan)).layout.carriers == []
