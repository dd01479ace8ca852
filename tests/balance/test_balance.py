"""The one call: goals, measures, refusals, the shape of the result."""

from __future__ import annotations

import json
import math
import subprocess
import sys

import pytest
from balance_cases import LONG, graphs, line_of
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.balance import Rules, balance, curve, make_line, support, verify
from linewright.balance.smooth import least_squares
from linewright.base.problems import ProblemsError

LINE = make_line(
    {"a": 3, "b": 4, "c": 5, "d": 6, "e": 2, "f": 7}, {"b": ["a"], "c": ["a"], "e": ["c", "b"], "f": ["d"]}, unit="min"
)


def test_measures_by_their_definitions() -> None:
    found = balance(LINE, takt=10)
    loads = [s.load for s in found.stations]
    assert found.count == 3
    assert sum(loads) == found.work == 27
    assert found.efficiency == pytest.approx(27 / 30)
    assert found.balance_delay == pytest.approx(3 / 30)
    assert found.smoothness_index == pytest.approx(math.sqrt(sum((max(loads) - x) ** 2 for x in loads)))
    assert found.sentence == "3 stations at a takt of 10 min, proved best."


def test_the_goal_follows_from_what_is_given() -> None:
    assert balance(LINE, takt=10).goal == "fewest"
    fastest = balance(LINE, stations=3)
    assert (fastest.goal, fastest.takt, fastest.honesty.status) == ("fastest", 9, "proved")
    smooth = balance(LINE, takt=12, stations=4)
    assert (smooth.goal, smooth.longest, smooth.takt) == ("smoothest", 7, 12)
    assert smooth.honesty.bound == least_squares(27, 4)


def test_too_few_stations_is_a_proved_no() -> None:
    found = balance(LINE, takt=8, stations=3)
    assert found.honesty.status == "impossible"
    assert found.stations == ()
    assert found.efficiency is found.balance_delay is found.smoothness_index is None
    assert "3 stations need a takt of at least 9" in found.honesty.notes


def test_the_question_is_checked_whole() -> None:
    with pytest.raises(ProblemsError) as caught:
        balance(LINE, takt="soon", goal="prettiest", seconds=0)
    assert len(caught.value.problems) == 3
    with pytest.raises(ProblemsError, match='"fewest" needs it'):
        balance(LINE)
    with pytest.raises(ProblemsError, match="takes longer than the takt"):
        balance(LINE, takt=5)


def test_the_search_refuses_rules_by_name() -> None:
    line = LINE.with_rules(Rules(apart=(("a", "b"),), people=2))
    with pytest.raises(ProblemsError) as caught:
        balance(line, takt=10, engine="search")
    said = "\n".join(str(p) for p in caught.value.problems)
    assert "kept apart" in said
    assert "several people at one station at once" in said
    with pytest.raises(ProblemsError, match="no such engine"):
        balance(LINE, takt=10, engine="magic")


def test_support_table_names_every_rule() -> None:
    table = support()
    assert len(table.rows) == 12
    assert all(row[2] for row in table.rows)


def test_a_takt_that_is_no_multiple_of_a_tick_is_rounded_down() -> None:
    line = make_line({"a": 1.5, "b": 1.5})
    assert balance(line, takt=2.99).count == 2
    assert balance(line, takt=3).count == 1


def test_tasks_without_time() -> None:
    line = make_line({"a": 0, "b": 5, "c": 0, "d": 5, "e": 0}, {"b": ["a"], "c": ["b"], "d": ["c"], "e": ["d"]})
    found = balance(line, takt=5)
    assert found.count == 2
    assert set(found.station_of) == set("abcde")
    assert balance(make_line({"a": 0, "b": 0}, {"b": ["a"]}), takt=1).count == 1
    assert balance(make_line({"a": 0, "b": 0}, {"b": ["a"]}), stations=2).takt == 0


@pytest.mark.parametrize("n", [1, 64, 65, 129])
def test_word_edges(n: int) -> None:
    line = line_of([7] * n, [(i, i + 1) for i in range(n - 1)])
    assert balance(line, takt=14).count == -(-n // 2)


def test_thousands_of_tasks_are_answered() -> None:
    n = 3000
    line = line_of([1 + i * 37 % 400 for i in range(n)], [(i, i + 5) for i in range(n - 5)])
    found = balance(line, takt=1000, cancel=lambda: True)  # the first answer, which no clock cuts short
    assert verify(line, [found.station_of[name] for name in line.names], takt=1000) == []
    assert found.honesty.bound is not None
    assert found.honesty.bound <= found.count <= 1.05 * found.honesty.bound


def test_nanoseconds_do_not_upset_it() -> None:
    times = {f"t{i}": 1_000_000_007 * (3 + i % 7) + i for i in range(40)}
    line = make_line(times, {f"t{i}": [f"t{i - 3}"] for i in range(3, 40)})
    found = balance(line, takt=15_000_000_000, cancel=lambda: True)
    assert found.honesty.bound is not None
    assert found.count <= found.honesty.bound + 1


@settings(max_examples=40, deadline=None)
@given(graphs(least_time=1), st.integers(2, 4))
def test_smoothing_keeps_the_least_greatest_load(graph: tuple[list[int], list[tuple[int, int]], int], m: int) -> None:
    times, pairs, _ = graph
    line = line_of(times, pairs)
    fast, smooth = (balance(line, stations=m, takt=takt, seconds=LONG) for takt in (None, sum(times)))
    assert smooth.longest == fast.takt
    assert smooth.smoothness_index is not None
    assert smooth.smoothness_index <= (fast.smoothness_index or 0) + 1e-9 or len(smooth.stations) > len(fast.stations)
    assert smooth.honesty.bound is not None
    assert sum(s.load**2 for s in smooth.stations) >= smooth.honesty.bound


def test_the_curve_falls() -> None:
    takts = [b.takt for b in curve(LINE, range(1, 7)).balances]
    assert takts == [27, 14, 9, 7, 7, 7]


def test_the_result_is_plain_data() -> None:
    told = json.loads(json.dumps(balance(LINE, takt=10).to_dict()))
    assert told["count"] == 3
    assert told["honesty"]["status"] == "proved"
    assert told["stations"][0]["tasks"]
    assert "<table>" in balance(LINE, takt=10)._repr_html_()
    json.dumps(curve(LINE, [2, 3]).to_dict())


def test_the_same_seed_gives_the_same_balance() -> None:
    assert balance(LINE, takt=10).station_of == balance(LINE, takt=10).station_of


def test_importing_loads_nothing_heavy() -> None:
    code = "import sys, linewright.balance; print([m for m in ('numba', 'scipy', 'ortools') if m in sys.modules])"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"
