"""Plain Python and machine code make a line ready in the same way; times are raised by the sums that others have."""

from __future__ import annotations

import random
import subprocess
import sys
from itertools import combinations
from typing import Any

import numpy as np
import pytest
from balance_cases import line_of
from hypothesis import given
from hypothesis import strategies as st

from linewright.balance.bounds import conflicts, raise_times, reachable_room, tails, weight_rows
from linewright.balance.clock import Clock
from linewright.balance.filling import try_to_fill
from linewright.balance.kernel import _Way
from linewright.balance.order import better_tasks
from linewright.balance.prepare import Plain, prepare
from linewright.balance.smooth import even_out


def made_ready(seed: int, tasks: int) -> list[Any]:
    """All that kernels make of a line of more than 64 tasks."""
    luck = random.Random(seed)
    times = [luck.randint(1, 60) for _ in range(tasks)]
    pairs = sorted({tuple(sorted(luck.sample(range(tasks), 2))) for _ in range(2 * tasks)})
    plain = Plain.of(line_of(times, pairs))  # type: ignore[arg-type]
    stations = sum(times) // 80 + 1
    ready = prepare(plain, 90, stations)
    assert ready is not None
    station = try_to_fill(ready, 0, Clock(600.0))
    assert station is not None
    return [*ready.front, *ready.back, station, even_out(plain.times, plain.order, station, stations, 90)]


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_machine_code_makes_a_line_ready_as_plain_python_does(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    both = []
    for compiled in (False, True):
        monkeypatch.setattr(_Way, "compiled", compiled)
        both.append(made_ready(seed, 70))
    for plain, fast in zip(*both, strict=True):
        assert np.array_equal(plain, fast)


@pytest.mark.parametrize("seed", range(12))
def test_whole_arrays_say_what_the_loops_say(seed: int) -> None:
    luck = random.Random(seed)
    n, longest = luck.choice([1, 2, 9, 30, 66]), luck.choice([9, 200])
    times = [luck.randint(1, longest) for _ in range(n)]
    pairs = sorted({tuple(sorted(luck.sample(range(n), 2))) for _ in range(2 * n)}) if n > 1 else []
    plain = Plain.of(line_of(times, pairs))  # type: ignore[arg-type]
    order, room = plain.order, longest + luck.randint(0, longest)
    weights, rooms = same(weight_rows, plain.times, room)
    follow, lead = order.follow, order.lead
    _, behind, _ = same(tails, plain.times, room, follow, order.sequence, weights, rooms)
    _, before, _ = same(tails, plain.times, room, lead, plain.turned.sequence, weights, rooms)
    same(conflicts, plain.times, room, follow, lead, before - 1, sum(times) // room + 2 - behind)
    same(better_tasks, plain.times, follow)


def same(kernel: Any, *arguments: Any) -> Any:
    """What a kernel answers in whole arrays, seen to be what its loops answer."""
    with np.errstate(over="ignore"):
        loops = kernel.function(*arguments)
    arrays = kernel.plain(*arguments)
    assert kernel.plain is not kernel.function
    for one, other in zip(*((x if isinstance(x, tuple) else (x,)) for x in (loops, arrays)), strict=True):
        assert np.array_equal(one, other)
        assert one.dtype == other.dtype
    return arrays


@given(st.lists(st.integers(1, 30), min_size=1, max_size=7), st.integers(30, 60))
def test_times_are_raised_by_what_no_others_can_fill(times: list[int], room: int) -> None:
    """By every set there is, the longest first, each raised before the next is looked at."""
    sums = {sum(some) for k in range(len(times) + 1) for some in combinations(times, k)}
    assert reachable_room(np.array(times), room) == max(s for s in sums if s <= room)
    wanted = list(times)
    for i in sorted(range(len(times)), key=lambda i: -times[i]):
        others = wanted[:i] + wanted[i + 1 :]
        beside = {sum(some) for k in range(len(others) + 1) for some in combinations(others, k)}
        wanted[i] = room - max(s for s in beside if s <= room - wanted[i])
    raised = np.array(times)
    assert raise_times(raised, room, np.zeros((len(times), len(times)), np.bool_)) == (wanted != times)
    assert raised.tolist() == wanted


def test_a_short_line_loads_no_compiler() -> None:
    """A line whose first filling meets the bound needs no search."""
    ask = (
        "import sys; from linewright.balance import balance, make_line;"
        "found = balance(make_line({'cut': 4, 'bend': 3, 'weld': 5}, {'bend': ['cut'], 'weld': ['bend']}), takt=8);"
        "print(found.count, found.honesty.status, 'numba' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["2", "proved", "False"]
