"""The same luck for every plan: what a change leaves alone happens as before, and intervals hold together."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate
from linewright.simulate.compare import compare, simultaneous


def line(places: tuple[int, ...] = (1, 1, 1), people: int = 0, room: int | None = 2, **last: Any) -> PlanBuilder:
    """Three stations in a row with spread times and stoppages; the last two fed through a small store."""
    builder = PlanBuilder("Line", money="EUR", makes="p", demand="300 each/day", release="flat out", open_pieces=40)
    builder.item("p", unit="each").item("raw", unit="each", buy="1 EUR")
    builder.shift("day", hours="00:00-24:00", days="Mon-Sun")
    if people:
        builder.crew("fitter", people=people, shift="day")
    for s, count in enumerate(places):
        stop = {"name": "jam", "between": "3 h", "repair": {"mean": "9 min", "cv": 0.5}, "clock": "calendar"}
        builder.station(f"s{s}", places=count, stoppages=[stop])
    if room is not None:
        builder.store("rack", room=room)
    route = builder.route("r", gives="p")
    for s in range(len(places)):
        fields: dict[str, Any] = {"station": f"s{s}", "time": {"mean": "4 min", "cv": 0.6}}
        fields |= {"takes": {"raw": 1}} if s == 0 else {}
        fields |= {"crew": {"fitter": 1}} if people else {}
        fields |= {"then_to": "rack"} if s == 1 and room is not None else {}
        fields |= last if s == len(places) - 1 else {}
        route.operation(f"o{s}", **fields)
    return builder


def network(builder: PlanBuilder) -> Network:
    return compile_network(builder.build())


def heard(plan: Network) -> dict[str, list[tuple[int, ...]]]:
    """What a run of a week tells: of each place its stoppages, of each operation how long its starts took to end."""
    found = simulate(plan, days=7, replications=1, trace=True, seed=5)
    assert found.trace is not None
    started: dict[tuple[str, int], tuple[int, int]] = {}
    count: dict[str, int] = {}
    spans: dict[str, list[tuple[int, ...]]] = {}
    for record in found.trace.records:
        if record.event == "starts":
            number = count[record.operation] = count.get(record.operation, 0) + 1
            started[record.operation, record.lot] = (number, record.time)
        elif record.event == "ends":
            number, begun = started.pop((record.operation, record.lot))
            spans.setdefault(record.operation, []).append((number, record.time - begun))
        elif record.event in ("stops", "mended"):
            spans.setdefault(f"{record.station} {record.event}", []).append((record.time,))
    return {name: sorted(times) for name, times in spans.items()}


def still(builder: PlanBuilder) -> PlanBuilder:
    """The same without stoppages, so that a time from start to end is the time drawn."""
    for station in builder.document["stations"].values():
        station.pop("stoppages")
    return builder


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({}, {"places": (2, 1, 1)}),
        ({}, {"places": (1, 3, 1)}),
        ({}, {"room": 9}),
        ({"people": 2}, {"people": 3}),
        ({"people": 1}, {"people": 3, "places": (2, 2, 1)}),
    ],
)
def test_the_nth_start_of_an_operation_draws_the_same_time(one: dict[str, Any], other: dict[str, Any]) -> None:
    before, after = heard(network(still(line(**one)))), heard(network(still(line(**other))))
    for operation in ("o0", "o1", "o2"):
        both = min(len(before[operation]), len(after[operation])) - 3  # the last few may be under way in one of them
        assert both > 300
        starts = dict(after[operation])  # type: ignore[arg-type]
        assert all(starts.get(number, took) == took for number, took in before[operation][:both])
        assert len({took for _, took in before[operation]}) > 300


def test_the_stoppages_of_a_place_come_as_before_when_places_and_people_are_added() -> None:
    before, after = heard(network(line(people=2))), heard(network(line(people=3, places=(2, 1, 1))))
    for station in ("s1", "s2"):
        assert len(before[f"{station} stops"]) > 20
        assert before[f"{station} stops"] == after[f"{station} stops"]
        assert before[f"{station} mended"] == after[f"{station} mended"]
    assert set(before["s0 stops"]) < set(after["s0 stops"]), "the first place as before, and the second has its own"


def test_a_plan_compared_with_itself_gains_nothing_at_all() -> None:
    plan = network(line())
    found = compare([plan, plan, plan], seed=3, days=14, replications=4)
    assert [c.gain and (c.gain.mean, c.gain.half_width) for c in found.networks] == [None, (0.0, 0.0), (0.0, 0.0)]
    assert found.first.rate is not None
    assert found.first.rate.half_width > 0


def test_it_plays_what_simulate_plays() -> None:
    plan = network(line())
    found = compare([plan, network(line(room=6))], seed=3, days=28, replications=4)
    alone = simulate(plan, seed=3, days=28, replications=4)
    if found.warm_up_weeks == alone.warm_up_weeks:
        assert found.first.rate_of_each.tolist() == alone.rate_of_each.tolist()
    assert found.first.rate_of_each == pytest.approx(alone.rate_of_each, rel=0.05)


def test_threads_change_nothing() -> None:
    plans = [network(line()), network(line(room=6)), network(line(places=(1, 2, 1)))]
    one, two = (compare(plans, seed=1, days=14, replications=5, threads=n) for n in (1, 2))
    assert [c.rate_of_each.tolist() for c in one.networks] == [c.rate_of_each.tolist() for c in two.networks]


def test_more_store_never_lowers_the_rate_of_a_serial_line_under_the_same_luck() -> None:
    """Promised for serial lines without shared crew only (docs/meaning.md, 9): in every single replication."""
    plans = [network(line(room=room)) for room in (1, 2, 4, 9)]
    found = compare(plans, seed=2, days=28, replications=6)
    rates = np.array([c.rate_of_each for c in found.networks])
    piece = 1 / (7 * (found.weeks - found.warm_up_weeks))
    assert (np.diff(rates, axis=0) >= -piece * (1 + 1e-9)).all(), "the window may cut one piece"
    assert rates[-1].mean() > rates[0].mean() + 1


def test_the_same_luck_makes_differences_sharper() -> None:
    plans = [network(line()), network(line(room=6))]
    found = compare(plans, seed=4, days=28, replications=10)
    apart = compare(plans[1:], seed=5, days=28, replications=10)
    paired = found.networks[1].rate_of_each - found.first.rate_of_each
    unpaired = apart.first.rate_of_each - found.first.rate_of_each
    assert paired.var(ddof=1) < 0.7 * unpaired.var(ddof=1)


def test_the_interval_is_students_with_bonferronis_correction() -> None:
    """t of 9 degrees of freedom: 2.262 at 97.5 % and 3.690 at 99.75 % (any table; Fisher and Yates, from memory)."""
    d = np.array([1.0, 3.0, 2.0, 4.0, 0.0, 2.0, 1.0, 3.0, 2.0, 2.0])
    error = d.std(ddof=1) / math.sqrt(10)
    assert simultaneous(d, 1).half_width == pytest.approx(2.262 * error, rel=2e-4)
    assert simultaneous(d, 10).half_width == pytest.approx(3.690 * error, rel=2e-4)
    assert simultaneous(d[:1], 10).half_width == math.inf


def test_intervals_hold_together_as_often_as_they_say() -> None:
    """2,000 draws of ten correlated differences with known means: all ten are covered in at least 95 % of them."""
    draw = np.random.default_rng(1)
    means = np.arange(10) / 10
    shared = draw.normal(size=(2000, 8, 1))
    d = means + shared + draw.normal(size=(2000, 8, 10)) * (1 + means)
    covered = 0
    for one in d:
        intervals = [simultaneous(one[:, k], 10) for k in range(10)]
        covered += all(i.low <= mean <= i.high for i, mean in zip(intervals, means, strict=True))
    assert 0.95 * 2000 - 3 * math.sqrt(2000 * 0.05 * 0.95) <= covered


def test_a_budget_leaves_whole_replications_and_says_so() -> None:
    plans = [network(line()), network(line(room=6))]
    found = compare(plans, days=14, replications=50, budget_seconds=0.0)
    assert found.honesty.status == "stopped"
    assert found.honesty.replications == 2
    assert "2 of 50" in found.honesty.notes[0]
    assert all(len(c.rate_of_each) == 2 for c in found.networks)


def test_a_stop_keeps_what_is_done() -> None:
    plans = [network(line()), network(line(room=6))]
    seen: list[int] = []
    found = compare(
        plans, days=14, replications=50, progress=lambda done, _: seen.append(done), stop=lambda: len(seen) >= 6
    )
    assert found.honesty.status == "stopped"
    assert found.honesty.replications is not None
    assert 3 <= found.honesty.replications < 50
    with pytest.raises(ProblemsError, match="before anything was done"):
        compare(plans, days=14, stop=lambda: True)


def test_a_plan_that_cannot_be_played_does_not_spoil_the_others() -> None:
    alone = PlanBuilder("Stuck", money="EUR", makes="p", demand="10 each/day", release="flat out", open_pieces=2)
    alone.item("p", unit="each").item("q", unit="each").station("s")
    alone.route("q", gives="q").operation("never", station="s", time="5 min", takes={"p": 1})
    alone.route("p", gives="p").operation("neither", station="s", time="5 min", takes={"q": 1})
    stuck = network(alone)
    found = compare([network(line()), stuck, network(line(room=6))], days=14, replications=3)
    assert found.networks[1].problem is not None
    assert found.networks[1].rate is None
    assert found.networks[2].gain is not None
    assert found.networks[2].gain.mean > 0
    assert [row[1] is None for row in found.to_table().rows] == [False, True, False]
    with pytest.raises(ProblemsError):
        compare([stuck, network(line())], days=14, replications=3)
    with pytest.raises(ProblemsError, match="no network"):
        compare([])


def test_networks_not_begun_in_time_are_left_out_and_say_so() -> None:
    plans = [network(line()), network(line(room=6)), network(line(room=4))]
    found = compare(plans, days=14, replications=3, begin_within=0.0)
    assert found.first.rate is not None
    assert found.honesty.replications == 3
    assert [c.problem is not None and c.problem.what.startswith("not played") for c in found.networks[1:]] == [
        True,
        True,
    ]
