"""Intervals that mean what they say, the same luck for a changed plan, and a warm-up that is cut by a stated rule."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest

from linewright.base.calendar import WEEK
from linewright.base.problems import ProblemsError
from linewright.base.results import Interval
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate import simulate
from linewright.simulate.engine import Engine
from linewright.simulate.estimates import cycle_of, edge_of, interval, settled_from, whole_cycles
from linewright.simulate.kernel import rows as r
from linewright.simulate.replication import replicate
from linewright.simulate.simulate import Prepared, _Runner, prepare, rates_of_each


def two_stations(minutes: float = 10) -> Prepared:
    """Two exponential stations without room between: throughput is exactly two thirds of a station's."""
    time = {"mean": f"{minutes} min", "cv": 1, "shape": "exponential"}
    plan = PlanBuilder("two", makes="job", demand="1 each/day", release="flat out", open_pieces=20)
    plan.item("job", unit="each").station("a").station("b")
    plan.route("r", gives="job").operation("x", station="a", time=time, then_to="next").operation(
        "y", station="b", time=time
    )
    return prepare(compile_network(plan.build()))


def covered(seeds: range, replications: int = 6) -> float:
    """The share of seeds whose 95 % interval holds the truth."""
    prepared = two_stations()
    truth = 2 / 3 * 144
    hits = 0
    for seed in seeds:
        runs = [
            replicate(prepared.layout, prepared.template, seed=seed, replication=k, weeks=2)
            for k in range(replications)
        ]
        found = interval(rates_of_each(runs, prepared, 1, 2))
        hits += found.low <= truth <= found.high
    return hits / len(seeds)


@pytest.mark.slow
def test_coverage_over_two_thousand_seeds() -> None:
    """A right engine is outside 93 to 97 % once in 25,000 times (binomial, n = 2000, p = 0.95)."""
    assert 0.93 <= covered(range(2000)) <= 0.97


def test_coverage_at_a_glance() -> None:
    """The same with 120 seeds: at least 104 is passed by a right engine all but once in 1,000 times."""
    assert covered(range(10_000, 10_120)) >= 104 / 120


def serial(seed: int) -> dict[str, Any]:
    luck = random.Random(seed)
    n = luck.randint(2, 5)
    return {
        "places": [luck.randint(1, 2) for _ in range(n)],
        "room": [luck.randint(1, 4) for _ in range(n - 1)],
        "mean": [luck.randint(30, 90) for _ in range(n)],
        "cv": [luck.choice([0.0, 0.4, 1.0]) for _ in range(n)],
    }


def line(of: dict[str, Any]) -> Network:
    plan = PlanBuilder("serial", makes="job", demand="1 each/day", release="flat out", open_pieces=60)
    plan.item("job", unit="each")
    route = plan.route("r", gives="job")
    for k, places in enumerate(of["places"]):
        plan.station(f"s{k}", places=places)
        fields: dict[str, Any] = {"time": {"mean": f"{of['mean'][k]} s", "cv": of["cv"][k]}}
        if k < len(of["room"]):
            plan.store(f"b{k}", room=of["room"][k])
            fields["then_to"] = f"b{k}"
        route.operation(f"o{k}", station=f"s{k}", **fields)
    return compile_network(plan.build())


def departures(network: Network) -> np.ndarray:
    engine = Engine(prepare(network).template, seed=4, replication=2)
    assert engine.advance(WEEK // 7)
    log = engine.take_log()
    return np.asarray(log[log[:, r.L_EVENT] == 6, r.L_TIME])


@pytest.mark.parametrize("seed", range(40))
def test_more_room_or_places_never_delay_any_departure_of_a_serial_line(seed: int) -> None:
    """Under the same luck, piece by piece (meaning.md, section 9)."""
    of = serial(seed)
    before = departures(line(of))
    for key in ("places", "room"):
        for k in range(len(of[key])):
            more = [*of[key][:k], of[key][k] + 1, *of[key][k + 1 :]]
            after = departures(line({**of, key: more}))
            n = min(len(before), len(after))
            assert len(after) >= len(before)
            assert (after[:n] <= before[:n]).all(), (key, k)


def test_the_answer_does_not_depend_on_the_number_of_threads() -> None:
    network = line(serial(3))
    one, two = (simulate(network, days=21, replications=5, threads=n) for n in (1, 2))
    assert one.rate == two.rate
    assert np.array_equal(one.state_share.mean, two.state_share.mean)
    assert one.quantiles == two.quantiles


def test_another_seed_gives_another_story_and_the_same_seed_the_same() -> None:
    network = line(serial(3))
    first, again, other = (simulate(network, days=21, replications=3, seed=s).rate for s in (1, 1, 2))
    assert first == again
    assert first != other


def test_replications_are_added_until_the_interval_is_narrow_enough() -> None:
    network = two_stations(2).network
    wide = simulate(network, days=14, half_width=0.05)
    narrow = simulate(network, days=14, half_width=0.004)
    assert narrow.honesty.replications is not None
    assert wide.honesty.replications is not None
    assert narrow.honesty.replications > wide.honesty.replications
    assert narrow.rate.half_width <= 0.004 * narrow.rate.mean


def test_a_spent_budget_and_a_stop_are_said() -> None:
    network = two_stations(1).network
    spent = simulate(network, days=56, half_width=1e-6, budget_seconds=0.3)
    assert any("time allowed ran out" in note for note in spent.notes)
    calls: list[int] = []

    def stop() -> bool:
        calls.append(1)
        return len(calls) > 30

    stopped = simulate(network, days=56, half_width=1e-6, stop=stop, threads=1)
    assert stopped.honesty.status == "stopped"
    with pytest.raises(ProblemsError, match="stopped before anything was done"):
        simulate(network, days=56, stop=lambda: True)


def test_a_horizon_too_short_for_a_warm_up_says_so() -> None:
    assert any("too short" in note for note in simulate(two_stations().network, days=5, replications=2).notes)


def test_the_warm_up_ends_where_the_halves_look_alike() -> None:
    luck = np.random.default_rng(1)
    series = 100 + luck.normal(0, 1, (8, 12))
    assert settled_from(series, 0.01) == 0
    series[:, :2] = [0, 60]
    assert settled_from(series, 0.01) == 2
    rising = np.arange(12.0)[None, :] * 10 + luck.normal(0, 0.1, (8, 12))
    assert settled_from(rising, 0.01) is None


def test_a_rhythm_of_weeks_is_found_and_only_whole_ones_are_looked_at() -> None:
    beat = np.tile([128.0, 132.0, 130.0], 5)
    assert cycle_of(beat) == 3
    assert cycle_of(100 + np.random.default_rng(2).normal(0, 1, 16)) == 1
    assert whole_cycles(np.tile(beat, (4, 1)), 1) == (3, 3)


def test_without_luck_the_interval_covers_what_the_window_decides() -> None:
    """Weekly output 90 and 110 in turn, a window of seven weeks: 700 / 7 is not told apart from 96 or 104."""
    output = np.tile(np.resize([90.0, 110.0], 8), (3, 1))
    edge = edge_of(output, 1, 1)
    assert edge > 1
    assert edge_of(output, 0, 2) < 1e-9


def test_a_stop_while_it_is_played_for_longer_keeps_what_was_played_before(monkeypatch: pytest.MonkeyPatch) -> None:
    """Twice as long is tried where eight weeks do not settle; a stop in the midst of it must not lose the eight."""
    monkeypatch.setattr(_Runner, "long_enough", lambda self, _: self.weeks > 8)
    network = two_stations(1).network
    first: list[int] = []
    asked: list[int] = []

    def stop() -> bool:
        asked.append(1)
        return len(first) == 4 and len(asked) > before + 1

    def told(done: int, wanted: int, _: Interval | None) -> None:
        nonlocal before
        first.append(done)
        before = len(asked)

    before = 0
    found = simulate(network, replications=4, threads=1, stop=stop, progress=told)
    assert found.weeks == 8
    assert found.honesty.status == "stopped"
    assert found.honesty.replications == 4
    assert simulate(network, replications=4, threads=1).weeks == 16
