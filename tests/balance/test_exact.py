"""The exact search against brute force, and with its bounds, its memory and its patience taken away."""

from __future__ import annotations

import numpy as np
import pytest
from balance_cases import LONG, brute_force, graphs, line_of
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.balance import balance, verify
from linewright.balance.bounds import weight_rows
from linewright.balance.clock import Clock
from linewright.balance.dual import dual_weights
from linewright.balance.exact import fewest
from linewright.balance.fastest import fastest
from linewright.balance.feasible import Direction, feasible
from linewright.balance.merging import improve, merge
from linewright.balance.order import make_order
from linewright.balance.prepare import Plain, Ready, _case, prepare
from linewright.balance.search import EXHAUSTED, GOING, SOLVED
from linewright.balance.sharing import stations_for

Graph = tuple[list[int], list[tuple[int, int]], int]


@settings(max_examples=150, deadline=None)
@given(graphs())
def test_fewest_stations_equal_brute_force(graph: Graph) -> None:
    times, pairs, takt = graph
    found = balance(line_of(times, pairs), takt=takt)
    assert found.honesty.status == "proved"
    assert found.count == brute_force(times, pairs, takt)
    assert found.honesty.bound == found.count


@settings(max_examples=60, deadline=None)
@given(graphs(most=7, least_time=1), st.integers(1, 5))
def test_fastest_takt_equals_brute_force(graph: Graph, stations: int) -> None:
    times, pairs, _ = graph
    found = fastest(Plain.of(line_of(times, pairs)), stations, Clock(LONG))
    takt = next(c for c in range(max(times), sum(times) + 1) if brute_force(times, pairs, c) <= stations)
    assert (found.takt, found.bound, found.reason) == (takt, takt, "proved")


def bare(plain: Plain, room: int, stations: int) -> Ready:
    """The case with no bounds but the idle time, no windows, no raised times: only the search is left."""
    n = len(plain.times)
    cases = []
    for order in (plain.order, plain.turned):
        nothing = np.zeros(n, np.int64)
        cases.append(
            _case(
                stations,
                room,
                plain.times,
                order,
                nothing + stations - 1,
                nothing,
                np.arange(n),
                plain.times.reshape(n, 1).copy(),
                np.array([room], np.int64),
            )
        )
    return Ready(cases[0], cases[1], True)


@settings(max_examples=120, deadline=None)
@given(graphs(least_time=1), st.sampled_from([1, 2, 256]))
def test_the_search_alone_is_right_also_when_it_pauses_all_the_time(graph: Graph, most_loads: int) -> None:
    times, pairs, takt = graph
    plain = Plain.of(line_of(times, pairs))
    best = brute_force(times, pairs, takt)
    for stations in {max(1, best - 1), best}:
        ready = bare(plain, takt, stations)
        for case in (ready.front, ready.back):
            direction = Direction(case, True, 10**8)
            direction.most_loads = most_loads
            code = direction.run(50, Clock(60.0))
            while code == GOING:
                code = direction.run(50, Clock(60.0))
            assert code == (SOLVED if stations == best else EXHAUSTED)
            if code == SOLVED:
                station = direction.station()
                assert len(np.unique(station)) <= stations
                assert np.bincount(station, weights=plain.times).max() <= takt


def test_a_search_whose_time_is_over_takes_small_turns_and_goes_on() -> None:
    """Without time left a turn is cut to the least work; the search is only paused, not wrong."""
    times, pairs, takt = [3, 4, 5, 6, 2, 7], [(0, 1), (0, 2), (1, 4), (2, 4), (3, 5)], 10
    ready = bare(Plain.of(line_of(times, pairs)), takt, brute_force(times, pairs, takt) - 1)
    assert feasible(ready, Clock(0.0)).station is None
    direction = Direction(ready.front, True, 10**8)
    for _ in range(2):  # the first turn knows no pace yet
        code = direction.run(10**9, Clock(0.0))
    assert code == EXHAUSTED


@settings(max_examples=60, deadline=None)
@given(graphs(), st.randoms(use_true_random=False), st.integers(2, 1000))
def test_renaming_and_scaling_change_nothing(graph: Graph, random: object, factor: int) -> None:
    times, pairs, takt = graph
    places = list(range(len(times)))
    random.shuffle(places)  # type: ignore[attr-defined]
    moved = [0] * len(times)
    for i, p in enumerate(places):
        moved[p] = times[i] * factor
    renamed = line_of(moved, [(places[a], places[b]) for a, b in pairs])
    here, there = balance(line_of(times, pairs), takt=takt), balance(renamed, takt=takt * factor)
    assert here.count == there.count
    assert here.efficiency == pytest.approx(there.efficiency)


@settings(max_examples=60, deadline=None)
@given(graphs(), st.data())
def test_relaxing_never_needs_more(graph: Graph, data: st.DataObject) -> None:
    times, pairs, takt = graph
    count = balance(line_of(times, pairs), takt=takt).count
    fewer = data.draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    assert balance(line_of(times, sorted(fewer)), takt=takt).count <= count
    assert balance(line_of(times, pairs), takt=takt + 3).count <= count


@settings(max_examples=80, deadline=None)
@given(graphs(most=9, least_time=1))
def test_no_load_weighs_more_than_its_room(graph: Graph) -> None:
    """The defining property of a dual feasible function, over every load there is."""
    times, _, takt = graph
    weights, rooms = weight_rows(np.array(times, np.int64), takt)
    for load in range(1 << len(times)):
        inside = [i for i in range(len(times)) if load >> i & 1]
        if sum(times[i] for i in inside) <= takt:
            assert (weights[inside].sum(axis=0) <= rooms).all()


@settings(max_examples=25, deadline=None)
@given(graphs(most=9, least_time=1))
def test_the_dual_weights_are_safe_and_never_below_the_sum_of_times(graph: Graph) -> None:
    times, _, takt = graph
    found = dual_weights(np.array(times, np.int64), takt, LONG)
    assert found is not None
    weights, room = found
    for load in range(1 << len(times)):
        inside = [i for i in range(len(times)) if load >> i & 1]
        if sum(times[i] for i in inside) <= takt:
            assert weights[inside].sum() <= room
    assert weights.sum() / room >= sum(times) / takt * (1 - 1e-5)  # the times are one choice of weights


@settings(max_examples=80, deadline=None)
@given(graphs(least_time=1))
def test_preparing_never_excludes_what_brute_force_finds(graph: Graph) -> None:
    times, pairs, takt = graph
    best = brute_force(times, pairs, takt)
    assert prepare(Plain.of(line_of(times, pairs)), takt, best) is not None


@settings(max_examples=60, deadline=None)
@given(graphs())
def test_the_order_loses_its_detours_and_nothing_else(graph: Graph) -> None:
    times, pairs, _ = graph
    line = line_of(times, pairs)
    order = make_order(line.starts.copy(), line.before.copy())
    reach = {(a, b) for a, b in pairs}
    for k in range(len(times)):
        reach |= {(a, b) for a in range(len(times)) for b in range(len(times)) if {(a, k), (k, b)} <= reach}
    follow = {(a, b) for a in range(len(times)) for b in range(len(times)) if int(order.follow[a, 0]) >> b & 1}
    direct = {
        (int(p), i) for i in range(len(times)) for p in order.before[order.before_start[i] : order.before_start[i + 1]]
    }
    assert follow == reach
    assert direct == {(a, b) for a, b in reach if not any({(a, k), (k, b)} <= reach for k in range(len(times)))}


def test_memory_used_up_is_never_called_proved(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tangle that needs a search; with no memory to speak of the answer is honest."""
    random = np.random.default_rng(4)
    times = random.integers(20, 60, 60).tolist()
    pairs = sorted({(int(a), int(b)) for b in range(60) for a in random.integers(0, 60, 2) if a < b})
    plain = Plain.of(line_of(times, pairs))
    takt = 97
    monkeypatch.setattr("linewright.balance.feasible.MEMORY", 1)
    monkeypatch.setattr("linewright.balance.filling.EFFORTS", ((1, 1, 20),) * 3)
    found = fewest(plain, takt, Clock(LONG))
    if found.bound <= found.station.max():
        assert found.reason == "memory"
    monkeypatch.undo()
    best = fewest(plain, takt, Clock(LONG))
    assert best.bound <= best.station.max() + 1 <= found.station.max() + 1
    assert found.bound <= best.station.max() + 1


@settings(max_examples=100, deadline=None)
@given(graphs(least_time=1), st.integers(0, 9), st.floats(0.0, 100.0))
def test_tasks_put_together_anywhere_make_a_line(graph: Graph, seed: int, fill: float) -> None:
    times, pairs, takt = graph
    plain = Plain.of(line_of(times, pairs))
    noise = np.random.default_rng(seed).uniform(0.5, 1.0, len(times))
    first = merge(plain.times, takt, plain.order, noise, fill)
    better = improve(plain.times, takt, plain.order, first, 20, seed)
    for station in (first, better):
        assert verify(plain.line, (station + 1).tolist(), takt=takt) == []
    assert brute_force(times, pairs, takt) <= better.max() + 1 <= first.max() + 1
    assert (better == improve(plain.times, takt, plain.order, first, 20, seed)).all()


def test_taking_stations_apart_mends_a_bad_line() -> None:
    times = [3, 4, 6, 7] * 60
    plain = Plain.of(line_of(times, []))
    alone = np.arange(len(times))
    assert improve(plain.times, 10, plain.order, alone, 200, 0).max() + 1 == sum(times) // 10


def test_time_and_cancel_keep_the_best_so_far() -> None:
    random = np.random.default_rng(7)
    line = line_of(random.integers(100, 500, 200).tolist(), [(i, i + 7) for i in range(0, 190, 3)])
    told: list[tuple[int, int]] = []
    stopped = balance(line, takt=1000, cancel=lambda: True, progress=lambda b, f: told.append((b, f)))
    assert stopped.stations
    assert verify(line, [stopped.station_of[n] for n in line.names], takt=1000) == []
    assert told
    assert told[-1][0] <= told[-1][1] == stopped.count


def test_feasible_says_no_only_when_it_knows() -> None:
    line = line_of([6, 6, 6], [])
    ready = bare(Plain.of(line), 10, 2)
    answer = feasible(ready, Clock(LONG))
    assert (answer.station, answer.reason) == (None, "proved")


@settings(max_examples=80, deadline=None)
@given(graphs(most=8, least_time=1))
def test_what_can_share_a_station_is_never_above_what_is_needed(graph: Graph) -> None:
    """For every number of stations that could be asked; and no set that a best line uses is left out of the list."""
    times, pairs, takt = graph
    plain = Plain.of(line_of(times, pairs))
    best = brute_force(times, pairs, takt)
    for stations in range(best, len(times) + 2):
        least = stations_for(plain, takt, stations, LONG)
        assert least is not None
        assert least <= best
    if best > 1:
        assert (stations_for(plain, takt, best - 1, LONG) or 0) <= best


def test_a_chain_whose_neighbours_alone_fit_together() -> None:
    """Of 30, 50, 30, 50, 30 in a chain only neighbours share 100: three stations, where the times alone ask for two."""
    plain = Plain.of(line_of([30, 50, 30, 50, 30], [(i, i + 1) for i in range(4)]))
    assert stations_for(plain, 100, 4, LONG) == 3


def test_many_loads_are_not_listed_and_give_no_bound() -> None:
    plain = Plain.of(line_of([1] * 40, []))
    assert stations_for(plain, 20, 3, LONG) is None
