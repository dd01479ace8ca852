"""The rules of windows on plans small enough to follow by hand: open time, flash-off, what happens when one closes."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.calendar import MINUTE
from linewright.base.problems import ProblemsError
from linewright.capacity import measure_capacity
from linewright.flow import solve_flow
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import Simulation, simulate
from linewright.simulate.recurring import recurring_rate


def works(wait: dict[str, Any] | None, middle: bool = False, **plan: Any) -> PlanBuilder:
    """Glue for two minutes, perhaps something between, press for five: the press is the slow one."""
    fields = {"makes": "thing", "demand": "10 each/day", "release": "flat out", "open_pieces": 4, **plan}
    builder = PlanBuilder("Harrow Fen Works, a test", money="EUR", **fields).item("thing", unit="each")
    builder.station("bench").station("saw").station("press")
    route = builder.route("r", gives="thing")
    route.operation("glue", station="bench", time="2 min")
    if middle:
        route.operation("saw", station="saw", time="4 min")
    route.operation("press", station="press", time="5 min", **({"wait": wait} if wait else {}))
    return builder


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def run(builder: PlanBuilder, days: int = 7, **options: Any) -> Simulation:
    return simulate(network(builder), days=days, replications=1, trace=True, **options)


def times(simulation: Simulation, event: str, operation: str) -> list[float]:
    assert simulation.trace is not None
    records = simulation.trace.records
    return [r.time / MINUTE for r in records if r.event == event and r.operation == operation]


def test_least_it_may_not_begin_before_it_opens() -> None:
    result = run(works({"after": "glue", "least": "10 min"}))
    assert times(result, "starts", "press")[:4] == [12, 17, 22, 27], "glued at 2, 4, 6, 8: the press is the limit then"
    assert result.windows == ("press",)
    assert result.closed.mean.tolist() == [0]


def test_a_piece_that_flashes_off_in_its_place_stands_there() -> None:
    """Glue and press at one station: the place is kept, ten minutes stand between."""
    plan = works({"after": "glue", "least": "10 min"}, open_pieces=1)
    plan.document["routes"]["r"]["operations"][1]["station"] = "bench"
    result = run(plan, days=70)
    assert times(result, "starts", "press")[:2] == [12, 29]
    share = dict(zip(result.states, result.state_share.mean[0].tolist(), strict=True))
    assert (share["working"], share["standing"]) == (pytest.approx(7 / 17, abs=1e-3), pytest.approx(10 / 17, abs=1e-3))


def test_most_what_waits_too_long_is_scrapped() -> None:
    """Glued at 2, 4, 6, 8; the press begins at 2, 7, 12, ...: what waited more than four minutes is thrown away."""
    result = run(works({"after": "glue", "most": "4 min"}))
    assert times(result, "starts", "press")[:3] == [2, 7, 12]
    assert times(result, "scrapped", "press")[:3] == [10, 14, 16], "of 6, 10 and 12; 4 and 8 begin in time"
    assert result.closed.mean[0] == pytest.approx(result.scrapped.mean[1])
    assert result.closed.mean[0] > 0


def test_a_piece_may_begin_at_the_very_moment_at_which_it_closes() -> None:
    """Glued at 4, pressed at 7 where it closes after three minutes; after less it is too late."""
    assert times(run(works({"after": "glue", "most": "3 min"})), "starts", "press")[:2] == [2, 7]
    assert times(run(works({"after": "glue", "most": "179 s"})), "scrapped", "press")[0] == pytest.approx(4 + 179 / 60)


def test_a_piece_at_work_when_it_closes_is_judged_at_the_end_of_that_work() -> None:
    """Sawn from 2 to 6 and pressed in time; the next is glued at 4, sawn from 6 to 10, and its time was up at 9."""
    result = run(works({"after": "glue", "most": "5 min"}, middle=True))
    assert times(result, "starts", "press")[0] == 6
    assert times(result, "scrapped", "saw")[0] == 10


def test_what_waits_in_a_store_and_in_a_place_goes_too() -> None:
    plan = works({"after": "glue", "most": "4 min"})
    plan.store("rack", room=1)
    plan.document["routes"]["r"]["operations"][0]["then_to"] = "rack"
    result = run(plan)
    assert times(result, "scrapped", "press")[:1] == [10]
    assert result.store_most.tolist() == [1]
    blocked = works({"after": "glue", "most": "4 min"})
    blocked.document["routes"]["r"]["operations"][0]["then_to"] = "next"
    assert times(run(blocked), "starts", "press")[:3] == [2, 7, 12], "handed over directly each waits three minutes"
    blocked.document["routes"]["r"]["operations"][1]["wait"]["most"] = "2 min"
    gone = run(blocked)
    assert times(gone, "scrapped", "press")[:2] == [6, 12], "scrapped in its place on the bench, which is free again"


def test_it_is_sent_back_to_be_glued_anew() -> None:
    """At most once, then it is scrap."""
    then = {"rework": "glue", "at_most": 1, "else": "scrap"}
    result = run(works({"after": "glue", "most": "4 min", "else": then}), days=28)
    assert result.reworked.mean[0] > 0
    assert result.closed.mean[0] == pytest.approx(result.reworked.mean[0] + result.scrapped.mean[1], rel=1e-2)


def test_it_becomes_seconds() -> None:
    plan = works({"after": "glue", "most": "4 min", "else": {"seconds": "odd"}})
    plan.item("odd", unit="each", sell="1 EUR")
    result = run(plan, days=14)
    assert result.closed.mean[0] > 0
    assert result.scrapped.mean[1] == 0


def test_a_piece_that_waits_for_people_in_its_place_goes_too() -> None:
    """Nobody presses before eight; what was glued in the night is thrown away an hour later."""
    plan = works({"after": "glue", "most": "1 h"}, open_pieces=2)
    plan.shift("day", hours="08:00-16:00", days="Mon-Sun").crew("fitter", people=1, shift="day")
    plan.document["routes"]["r"]["operations"][1]["crew"] = "fitter"
    result = run(plan)
    assert times(result, "scrapped", "press")[:2] == [62, 64]
    assert times(result, "starts", "press")[0] == 480


def test_the_bits_are_the_same_without_the_compiler(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("LINEWRIGHT_NO_JIT", raising=False)
    first = simulate(network(random_plan(5)), days=7, replications=2, seed=1)
    monkeypatch.setenv("LINEWRIGHT_NO_JIT", "1")
    second = simulate(network(random_plan(5)), days=7, replications=2, seed=1)
    assert np.array_equal(first.rate_of_each, second.rate_of_each)
    assert np.array_equal(first.closed.mean, second.closed.mean)


def random_plan(seed: int) -> PlanBuilder:
    """Loads, stores, hand-over, rework, several windows on a way, carriers too."""
    luck = random.Random(seed)
    let_in = {"release": "flat out", "open_pieces": luck.randint(3, 25)}
    plan = PlanBuilder("windows", money="EUR", makes="thing", demand="10 each/day", **let_in)
    plan.item("thing", unit="each").item("odd", unit="each", sell="1 EUR")
    route, steps = plan.route("r", gives="thing"), luck.randint(3, 6)
    for k in range(steps):
        plan.station(f"s{k}", places=luck.randint(1, 2)).store(f"b{k}", room=luck.randint(1, 4))
        station = f"s{k - 1}" if k and luck.random() < 0.2 else f"s{k}"
        fields: dict[str, Any] = {"station": station, "time": {"mean": f"{luck.randint(1, 6)} min", "cv": 0.5}}
        if luck.random() < 0.3:
            fields["load"] = {"least": 1, "most": luck.randint(2, 3), "waits": "5 min"}
        if k < steps - 1 and luck.random() < 0.5:
            fields["then_to"] = luck.choice(["next", f"b{k}"])
        if k and luck.random() < 0.7:
            after = luck.randrange(k)
            least = luck.randint(1, 5)
            back = {"rework": f"s{luck.randint(0, after)}", "at_most": 2, "else": "scrap"}
            fields["wait"] = {
                "after": f"s{after}",
                "least": f"{least} min",
                "most": f"{least + luck.randint(3, 30)} min",
                "else": luck.choice(["scrap", {"seconds": "odd"}, back]),
            }
        if k == steps - 1:
            fields["faults"] = {"crack": 0.2}
            fields["check"] = {"finds": {"crack": 0.9}, "then": {"rework": f"s{luck.randrange(steps)}", "at_most": 2}}
        route.operation(f"s{k}", **fields)
    if luck.random() < 0.5:
        plan.carrier("tray", count=luck.randint(3, 9), from_="s0", to=f"s{luck.randrange(steps)}", way_back="2 min")
    return plan


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_the_books_balance_with_windows(seed: int) -> None:
    """Pieces, times, rooms and carriers are counted at the end of every week; a standstill says who waits for what."""
    try:
        result = simulate(network(random_plan(seed)), days=14, replications=1, seed=seed)
    except ProblemsError as stuck:
        said = stuck.problems[0].what
    else:
        said = ""
        assert (result.closed.mean >= 0).all()
    assert not said or "standstill" in said or "nothing ever starts" in said


@pytest.mark.parametrize("least", [1, 7, 12, 30])
def test_least_time_counts_in_the_exact_rate_of_a_ring(least: int) -> None:
    """Two trays go round glue, flash-off and press: two in 7 minutes and the flash-off, or the press alone."""
    plan = works({"after": "glue", "least": f"{least} min"})
    plan.carrier("tray", count=2, from_="glue", to="press")
    net = network(plan)
    capacity = measure_capacity(net, solve_flow(net))
    found = recurring_rate(net)
    assert found is not None
    assert capacity.honesty.status == "exact"
    assert capacity.multiple * 10 == pytest.approx(1440 * min(2 / (7 + least), 1 / 5), rel=1e-9)
    assert found.rate == pytest.approx(capacity.multiple * 10, rel=1e-9)
