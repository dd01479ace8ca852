"""The general engine against trying everything: every rule, alone and in pairs, judged by the independent check."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest
from balance_cases import LONG, graphs, line_of
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from linewright.balance import Crew, Line, Rules, balance, make_line, verify
from linewright.balance.windows import windows_of
from linewright.base.problems import ProblemsError

pytest.importorskip("ortools", reason="the general engine needs the extra `balance`")

TAKT = 12
MOST = 4


@st.composite
def lines(draw: st.DrawFn) -> Line:
    n = draw(st.integers(2, 5))
    times = draw(st.lists(st.integers(0, TAKT), min_size=n, max_size=n))
    every = [(a, b) for b in range(n) for a in range(b)]
    pairs = sorted(draw(st.lists(st.sampled_from(every), unique=True, max_size=4)))
    task = st.sampled_from([f"t{i}" for i in range(n)])
    group = st.lists(task, min_size=2, max_size=3, unique=True).map(tuple)
    kinds: dict[str, st.SearchStrategy[dict[str, Any]]] = {
        "fixed": st.dictionaries(task, st.lists(st.integers(1, 3), min_size=1, max_size=2).map(tuple), max_size=2).map(
            lambda v: {"fixed": v}
        ),
        "together": group.map(lambda g: {"together": (g,)}),
        "apart": group.map(lambda g: {"apart": (g,)}),
        "side": st.dictionaries(task, st.sampled_from(["left", "right"])).map(lambda v: {"side": v}),
        "tools": st.lists(task, unique=True).map(
            lambda v: {"tools": {"press": 1}, "uses": dict.fromkeys(v, ("press",))}
        ),
        "parallel": st.just({"parallel": 2}),
        "strain": st.lists(st.sampled_from([0.0, 0.3, 1.0, 1.7]), min_size=n, max_size=n).map(
            lambda v: {"strain": np.array(v), "strain_limit": 2.0}
        ),
        "variance": st.lists(st.sampled_from([0.0, 1.0, 4.0]), min_size=n, max_size=n).map(
            lambda v: {"variance": np.array(v), "within": 0.9}
        ),
        "models": st.lists(st.integers(0, TAKT), min_size=n, max_size=n).map(
            lambda v: {
                "models": ("x", "y"),
                "mix": (0.5, 0.5),
                "model_times": np.array([v, times]),
                "worst_model": 1.25,
            }
        ),
    }
    rules: dict[str, Any] = {}
    for kind in draw(st.lists(st.sampled_from(sorted(kinds)), min_size=1, max_size=2, unique=True)):
        rules |= draw(kinds[kind])
    try:
        return line_of(times, pairs, Rules(**rules))
    except ProblemsError:
        return line_of(times, pairs)  # contradictions have tests of their own


def used(line: Line, station: tuple[int, ...]) -> int:
    """Stations with their copies: a station has as many as its longest task needs takts."""
    longest: dict[int, int] = {}
    for i, s in enumerate(station):
        longest[s] = max(longest.get(s, 0), int(line.times[i]))
    room = line.ticks(TAKT)
    return max(station) + sum(max(0, -(-t // room) - 1) for t in longest.values())


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(lines())
def test_fewest_stations_under_rules_equal_trying_everything(line: Line) -> None:
    room = line.ticks(TAKT)
    right = [
        used(line, station)
        for station in itertools.product(range(1, MOST + 1), repeat=line.n)
        if not verify(line, station, takt=room)
    ]
    try:
        found = balance(line, takt=TAKT, engine="constraints", seconds=LONG)
    except ProblemsError:  # seen without a search; then there must be no balance
        assert not right
        return
    if right:
        assert found.honesty.status == "proved"
        assert found.count == min(right)
        assert found.honesty.bound == found.count
    else:
        assert not found.stations or found.count > MOST


@settings(max_examples=60, deadline=None)
@given(lines(), st.data())
def test_taking_a_rule_away_never_needs_more(line: Line, data: st.DataObject) -> None:
    kinds = [kind for kind in line.rules.asked if kind != "parallel"]
    if not kinds:
        return
    relaxed = line.with_rules(line.rules.without(data.draw(st.sampled_from(kinds))))
    try:
        found = balance(line, takt=TAKT, seconds=LONG)
    except ProblemsError:
        return
    if found.stations:
        assert balance(relaxed, takt=TAKT, seconds=LONG).count <= found.count


@settings(max_examples=40, deadline=None)
@given(lines(), st.integers(1, 4))
def test_both_engines_agree_where_both_can(line: Line, stations: int) -> None:
    plain = line.with_rules(Rules())
    for question in ({"takt": TAKT}, {"stations": stations}):
        one, two = (balance(plain, engine=e, seconds=LONG, **question) for e in ("search", "constraints"))
        assert one.takt == two.takt
        assert one.count == two.count or "stations" in question  # the fastest may leave a station empty
        assert one.honesty.status == two.honesty.status == "proved"


@settings(max_examples=25, deadline=None)
@given(lines(), st.integers(2, 3))
def test_smoothest_equals_trying_everything(line: Line, stations: int) -> None:
    plain = line.with_rules(Rules())
    best = min(
        (max(loads), sum(x * x for x in loads))
        for station in itertools.product(range(1, stations + 1), repeat=plain.n)
        if not verify(plain, station)
        for loads in [
            [sum(int(plain.times[i]) for i in range(plain.n) if station[i] == s + 1) for s in range(stations)]
        ]
    )
    takt = float(sum(plain.times)) or 1.0
    found = balance(plain, takt=takt, stations=stations, engine="constraints", seconds=LONG)
    assert found.honesty.status == "proved"
    assert (found.longest, sum(s.load**2 for s in found.stations)) == best


def test_of_the_fewest_stations_the_one_that_moves_the_fewest_tasks() -> None:
    current = {"a": 1, "b": 2, "c": 2, "d": 1, "e": 3, "f": 3}
    line = make_line(
        {"a": 3, "b": 4, "c": 5, "d": 6, "e": 2, "f": 7},
        {"b": ["a"], "c": ["a"], "e": ["b", "c"], "f": ["d"]},
        rules=Rules(current=current),
    )
    found = balance(line, takt=9)
    assert (found.count, found.moved, found.station_of) == (3, (), current)
    shifted = balance(line.with_rules(Rules(current={**current, "f": 1})), takt=9)
    assert (shifted.count, shifted.moved) == (3, ("f",))


def test_crews_skills_and_the_least_cost() -> None:
    rules = Rules(
        skill={"weld": "welding", "wire": "wiring"},
        crews={
            "welder": Crew(people=1, skills=("welding",), wage=30.0),
            "fitter": Crew(skills=("wiring",), wage=22.0),
            "both": Crew(skills=("welding", "wiring"), wage=60.0),
        },
        station_cost=5.0,
    )
    line = make_line({"weld": 5, "wire": 4}, rules=rules)
    cheap = balance(line, takt=10, goal="cheapest")
    assert (cheap.count, cheap.cost, cheap.honesty.status) == (2, 62.0, "proved")
    assert {s.crew for s in cheap.stations} == {"welder", "fitter"}
    few = balance(line, takt=10)
    assert (few.count, few.stations[0].crew) == (1, "both")
    with pytest.raises(ProblemsError, match="needs a cost"):
        balance(make_line({"a": 1}), takt=2, goal="cheapest", engine="constraints")


def test_two_people_work_side_by_side_but_not_before_what_they_wait_for() -> None:
    side_by_side = make_line({"left": 8, "right": 8}, rules=Rules(people=2))
    assert balance(side_by_side, takt=10).count == 1
    in_turn = make_line({"first": 8, "second": 8}, {"second": ["first"]}, rules=Rules(people=2))
    assert balance(in_turn, takt=10).count == 2
    found = balance(
        make_line({"a": 6, "b": 4, "c": 5, "d": 5}, {"b": ["a"], "d": ["c"]}, rules=Rules(people=2)), takt=10
    )
    assert (found.count, found.stations[0].people, found.efficiency) == (1, 2, 1.0)
    assert {p.task: p.start for p in found.schedule} == {"a": 0, "b": 6, "c": 0, "d": 5}


def test_a_conflict_is_named_and_nothing_that_is_not_needed() -> None:
    rules = Rules(
        apart=(("a", "b"), ("c", "d"), ("b", "c")),
        tools={"press": 1},
        uses={"a": ("press",), "b": ("press",)},
        fixed={"d": (1, 2, 3, 4)},
    )
    line = make_line({"a": 1, "b": 1, "c": 1, "d": 1}, rules=rules)
    found = balance(line, takt=10)
    assert found.honesty.status == "impossible"
    assert found.honesty.notes == (
        "these cannot hold together (none of them can be left out):",
        '"a", "b" apart',
        '"a" with "press"',
        '"b" with "press"',
    )


def test_what_cannot_be_combined_is_refused_by_name() -> None:
    with pytest.raises(ProblemsError, match="several people at parallel stations"):
        balance(make_line({"a": 3}, rules=Rules(people=2, parallel=2)), takt=4)
    with pytest.raises(ProblemsError, match='only "fewest" can be answered'):
        balance(make_line({"a": 3}, rules=Rules(parallel=2)), stations=2)


def test_hints_and_bounds_from_the_search_reach_the_model() -> None:
    """A line of 60 tasks with one rule: the count stays proved, because the plain bound is met."""
    rng = np.random.default_rng(3)
    times = rng.integers(5, 40, 60).tolist()
    pairs = [(i, i + 4) for i in range(56)]
    plain = balance(line_of(times, pairs), takt=80, seconds=LONG)
    ruled = balance(line_of(times, pairs, Rules(apart=(("t0", "t30"),))), takt=80, seconds=LONG)
    assert plain.count == ruled.count
    assert ruled.honesty.status == "proved"


def test_a_plain_answer_that_keeps_the_rules_needs_no_model(monkeypatch: pytest.MonkeyPatch) -> None:
    def never(*_: object) -> None:
        raise AssertionError("a model was built")

    monkeypatch.setattr("linewright.balance.general.Model", never)
    line = line_of([5] * 40, [(i, i + 1) for i in range(39)], Rules(apart=(("t0", "t30"),)))
    found = balance(line, takt=10, seconds=LONG)
    assert (found.count, found.honesty.status) == (20, "proved")


def test_a_line_too_long_for_the_model_is_answered_honestly() -> None:
    """800 tasks of which the ends must not be close: no time to build a model, so the answer is a first balance."""
    n = 800
    line = line_of(
        [1 + i * 37 % 400 for i in range(n)], [], Rules(apart=tuple((f"t{i}", f"t{i + 1}") for i in range(n - 1)))
    )
    found = balance(line, takt=1000, seconds=1)
    assert verify(line, [found.station_of[name] for name in line.names], takt=1000) == []
    assert found.honesty.bound is not None
    assert found.honesty.bound <= found.count
    assert (found.honesty.status == "proved") == (found.count == found.honesty.bound)


@settings(max_examples=60, deadline=None)
@given(graphs(most=7), st.integers(0, 2))
def test_windows_hold_every_balance_there_is(graph: tuple[list[int], list[tuple[int, int]], int], more: int) -> None:
    times, pairs, takt = graph
    line = line_of(times, pairs)
    stations = min(4, balance(line, takt=takt, seconds=LONG).count + more)
    windows = windows_of(line, stations, takt)
    if windows is None:
        assert not any(times) or stations < balance(line, takt=takt, seconds=LONG).count
        return
    for station in itertools.product(range(stations), repeat=line.n):
        if not verify(line, [s + 1 for s in station], takt=takt):
            kept = [(s, w) for s, w, t in zip(station, windows, times, strict=True) if t > 0]
            assert all(first <= s <= last for s, (first, last) in kept)
