"""The parts of the kernel by themselves: luck, quantiles, the heap, memory, and the same bits without compiler."""

from __future__ import annotations

import heapq
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.base.calendar import DAY
from linewright.base.distributions import Distribution, Shape
from linewright.network import Network, compile_network
from linewright.plan import PlanBuilder
from linewright.simulate.engine import Engine
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.draws import philox
from linewright.simulate.kernel.heap import cancel, close_top, schedule, take_next
from linewright.simulate.kernel.quantiles import gamma_quantile, lower_gamma, normal_quantile, quantile
from linewright.simulate.kernel.rows import __file__ as rows_file
from linewright.simulate.memory import Checked
from linewright.simulate.simulate import prepare


@pytest.mark.parametrize(
    ("counter", "key", "words"),
    [
        ((0, 0, 0, 0), (0, 0), (0x6627E8D5, 0xE169C58D, 0xBC57AC4C, 0x9B00DBD8)),
        ((0xFFFFFFFF,) * 4, (0xFFFFFFFF,) * 2, (0x408F276D, 0x41C83B0E, 0xA20BC7C6, 0x6D5451FD)),
        (
            (0x243F6A88, 0x85A308D3, 0x13198A2E, 0x03707344),
            (0xA4093822, 0x299F31D0),
            (0xD16CFE09, 0x94FDCCEB, 0x5001E420, 0x24126EA1),
        ),
    ],
)
def test_philox_known_answers(counter: Any, key: Any, words: Any) -> None:
    """Known answers of Philox-4x32-10 published with the Random123 library (file kat_vectors), from memory."""
    assert philox(*counter, *key) == words


def test_luck_is_uniform_and_unrelated() -> None:
    """A chi-square over 64 cells, and the correlation of neighbouring counters; bounds are 99.99 % of theory."""
    n = 20_000
    u = np.array([philox(7, 9, k, 3, 1, 0)[0] for k in range(n)]) / 2**32
    cells = np.bincount((u * 64).astype(int), minlength=64)
    from scipy.stats import chi2

    assert ((cells - n / 64) ** 2 / (n / 64)).sum() < chi2.ppf(0.9999, 63)
    assert abs(np.corrcoef(u[1:], u[:-1])[0, 1]) < 4 / np.sqrt(n)


P = np.concatenate([[1e-9, 1e-4], np.linspace(0.003, 0.997, 101), [1 - 1e-4, 1 - 1e-6]])


def test_normal_quantile_against_scipy() -> None:
    from scipy.stats import norm

    assert np.allclose([normal_quantile(p) for p in P], norm.ppf(P), rtol=1e-12, atol=1e-14)


@pytest.mark.parametrize("a", [0.05, 0.3, 1.0, 2.5, 16.0, 400.0, 1e4])
def test_gamma_quantile_against_scipy(a: float) -> None:
    from scipy.special import gammainc
    from scipy.stats import gamma

    ours = np.array([gamma_quantile(a, p) for p in P])
    truth = gamma.ppf(P, a)
    seen = truth > 1e-200
    assert np.allclose(ours[seen], truth[seen], rtol=1e-9)
    assert np.allclose([lower_gamma(a, v) for v in truth[seen]], gammainc(a, truth[seen]), rtol=1e-10)


@pytest.mark.parametrize(
    "shape",
    [
        Distribution(Shape.EXPONENTIAL, 7.0),
        Distribution(Shape.LOGNORMAL, 1.0, 0.4),
        Distribution(Shape.GAMMA, 3.0, 2.0),
        Distribution(Shape.WEIBULL, 1.7, 5.0),
        Distribution(Shape.NORMAL, 5.0, 2.0),
        Distribution(Shape.NORMAL, 1.0, 3.0),
        Distribution(Shape.TRIANGULAR, 1.0, 2.0, 6.0),
        Distribution(Shape.UNIFORM, 2.0, 4.0),
    ],
)
def test_every_shape_inverts_as_its_reference(shape: Distribution) -> None:
    ours = [quantile(int(shape.shape), shape.a, shape.b, shape.c, float(p)) for p in P]
    assert np.allclose(ours, shape.quantile(P), rtol=1e-8, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(0, 30), st.integers(0, 3), st.integers(1, 12)), max_size=120))
def test_the_heap_gives_time_priority_and_order(moves: list[tuple[int, int, int]]) -> None:
    """Against Python's own heap: each row has one event, a new one replaces the old."""
    width = 4
    m = Checked([0] * (r.HEADER + 16 * width))
    h = Checked([0] * 64)
    wanted: dict[int, tuple[int, int, int]] = {}
    for counter, (time, priority, k) in enumerate(moves):
        row = r.HEADER + k * width
        if time == 0:
            cancel(m, h, row)
            wanted.pop(row, None)
        else:
            schedule(m, h, row, time, priority)
            wanted[row] = (time, priority, counter)
    queue = [(*key, row) for row, key in wanted.items()]
    heapq.heapify(queue)
    while queue:
        *_, row = heapq.heappop(queue)
        assert h[2] == row
        cancel(m, h, row)
    assert m[r.HEAP_SIZE] == 0


@given(st.lists(st.lists(st.tuples(st.integers(0, 40), st.integers(0, 3), st.integers(0, 9)), max_size=4), max_size=40))
def test_the_top_of_the_heap_may_stay_open(steps: list[list[tuple[int, int, int]]]) -> None:
    """As the run loop does it: the earliest is taken, what happens schedules and cancels, then the top is closed."""
    width = 4
    m = Checked([0] * (r.HEADER + 16 * width))
    h = Checked([0] * 64)
    wanted: dict[int, tuple[int, int, int]] = {}
    counter = 0
    for moves in steps:
        if wanted:
            first = min(wanted, key=wanted.__getitem__)
            assert take_next(m, h) == first
            del wanted[first]
        for time, priority, k in moves:
            row = r.HEADER + k * width
            if time == 0:
                cancel(m, h, row)
                wanted.pop(row, None)
            else:
                counter += 1
                schedule(m, h, row, time, priority)
                wanted[row] = (time, priority, counter)
        if m[r.OPEN_TOP] == 1:
            close_top(m, h)
        assert m[r.HEAP_SIZE] == len(wanted)
        assert all(h[3 * (m[row + r.HEAP] - 1) + 2] == row for row in wanted)


def plant() -> Network:
    """A bit of everything: crews, a load, standing, a check with rework, a stoppage, a store, splitting, setup."""
    plan = PlanBuilder("bits", makes="kit", demand="40 each/day", release="takt")
    plan.shift("day", hours="08:00-16:00", breaks=["12:00-12:30"], days="Mon-Fri")
    plan.crew("hand", people=3, shift="day", allowance="10 %")
    plan.item("kit", unit="each").item("side", unit="each", store="rack").store("rack", room=30)
    plan.station("saw", between_stops="5 h", repair="20 min").station("oven").station("table", places=2)
    plan.tool("jig", count=1)
    side = plan.route("s", gives="side")
    side.operation(
        "cut", station="saw", crew={"hand": 1}, time={"mean": "6 min", "cv": 0.3},
        setup={"time": "5 min", "every": 7}, gives={"side": 4},
    ).operation(
        "bake", station="oven", time={"mean": "20 min", "cv": 0.2, "shape": "gamma"}, stand="10 min",
        load={"least": 4, "most": 12, "waits": "30 min"},
    )  # fmt: skip
    kit = plan.route("k", gives="kit")
    again = {"rework": "join", "at_most": 1, "else": "scrap"}
    kit.operation(
        "join", station="table", crew={"hand": 2}, uses={"jig": 1}, takes={"side": 2}, faults={"gap": "10 %"},
        time={"least": "3 min", "likely": "4 min", "most": "8 min"},
    ).operation(
        "look", crew={"hand": 1}, time="1 min", stop="fits",
        check={"finds": {"gap": "90 %"}, "false_alarms": "2 %", "then": again},
    )  # fmt: skip
    return compile_network(plan.build())


def test_the_same_bits_without_the_compiler() -> None:
    """Every number of the memory and of the log after eleven days; lists check every index of every access."""
    template = prepare(plant()).template
    compiled, plain = (
        Engine(template, seed=3, replication=5, tracing=True, compiler=choice) for choice in (True, False)
    )
    for engine in (compiled, plain):
        assert engine.advance(11 * DAY)
        engine.settle()
    assert np.array_equal(compiled.m, plain.m)
    assert np.array_equal(compiled.x.view(np.int64), plain.x.view(np.int64))
    assert np.array_equal(compiled.take_log(), plain.take_log())
    assert compiled.events > 500


def test_a_run_can_be_interrupted_anywhere_and_memory_grows() -> None:
    """In steps of seven events and from the smallest memory, or at once with plenty: the same story."""
    template = prepare(plant()).template
    whole = Engine(template, seed=3, replication=5, tracing=True, rows=5000, log=200_000)
    assert whole.advance(13 * DAY)
    steps = Engine(template, seed=3, replication=5, tracing=True, rows=1, log=1)
    count = 0
    while not steps.advance(13 * DAY, budget=7):
        count += 1
    assert count > 100
    assert np.array_equal(whole.take_log(), steps.take_log())
    assert whole.events == steps.events


def test_negative_and_far_indices_are_caught() -> None:
    with pytest.raises(IndexError):
        Checked([1, 2])[-1]
    with pytest.raises(IndexError):
        Checked([1, 2])[2]


def test_no_two_things_share_a_cell_of_the_header() -> None:
    """Tables take two cells each: the first row and the number of rows."""
    text = Path(rows_file).read_text(encoding="utf-8")
    header = text[: text.index("HEADER: Final")]
    numbers = {name: int(value) for name, value in re.findall(r"^([A-Z_]+): Final = (\d+)$", header, re.M)}
    tables = {"ROUTES", "OPERATIONS", "STATIONS", "CREWS", "ITEMS", "STORES", "TOOLS", "VISITS"}
    cells = [*numbers.values(), *(numbers[name] + 1 for name in tables)]
    assert len(cells) == len(set(cells))
    assert max(cells) < r.HEADER


def test_no_column_has_the_name_of_another() -> None:
    """The columns of all kinds of row are read under one name, so two of the same name would hide each other."""
    names = [
        name
        for path in sorted(Path(rows_file).parent.glob("rows*.py"))
        for name in re.findall(r"^([A-Z][A-Z0-9_]*): Final", path.read_text(encoding="utf-8"), re.M)
    ]
    assert len(names) > 300
    assert [name for name in set(names) if names.count(name) > 1] == []
