"""To machine code: every construct that the kernel may use gives what plain Python gives, the rest is refused."""

from __future__ import annotations

import ctypes
import inspect
import math
import subprocess
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.simulate.kernel import compiled, machine
from linewright.simulate.kernel import rows as r
from linewright.simulate.kernel.cells import Real, Whole
from linewright.simulate.kernel.translate import LIBRARY, UntranslatableError, translate
from linewright.simulate.memory import Checked

SEVEN = 7
DOOR = ctypes.CFUNCTYPE(
    ctypes.c_int64, ctypes.POINTER(ctypes.c_int64), ctypes.POINTER(ctypes.c_double), ctypes.c_int64, ctypes.c_int64
)


def both(function: Any, m: list[int], x: list[float], a: int, b: int) -> tuple[list[Any], list[Any]]:
    """What a function answers and leaves in memory, as plain Python and as machine code."""
    plain_m, plain_x = Checked(list(m)), Checked(list(x))
    plain = [function(plain_m, plain_x, a, b), plain_m.cells, plain_x.cells]
    whole, real = np.array(m, dtype=np.int64), np.array(x)
    answer = door(function)(compiled.pointer(whole, ctypes.c_int64), compiled.pointer(real, ctypes.c_double), a, b)
    return plain, [answer, whole.tolist(), real.tolist()]


MADE: dict[Any, Any] = {}


def door(function: Any) -> Any:
    if function not in MADE:
        MADE[function] = machine.load(machine.build(translate(function, "door")), "door", DOOR, LIBRARY)
    return MADE[function]


def whole_numbers(m: Whole, x: Real, a: int, b: int) -> int:
    m[0] = a // (b + SEVEN * (b == -7)) if b != 0 else -1
    m[1] = a % b if b != 0 else 0
    m[2] = (a << 3) ^ (b >> 2) | (a & r.PERSON)
    m[3] -= ~a
    m[4] += abs(a) + min(a, b) - max(a, -b)
    m[5] = (a > b) + (a == b)
    return a - 2 * b


def real_numbers(m: Whole, x: Real, a: int, b: int) -> int:
    x[0] = a / 8 + b
    x[1] *= -x[0]
    x[2] = abs(x[0]) + min(x[0], 0.5) + max(1, x[1])
    x[3] = math.sqrt(abs(x[0])) + math.log(1.0 + x[0] * x[0]) + math.exp(-abs(x[1]))
    x[3] += math.pow(2.0, min(x[0] / 64, 99.0))
    x[4] = float(a) if x[0] > 0.0 else b
    x[5] = math.inf if not x[0] < 1e300 else 0.1
    return int(x[1] + 0.5)


def _touch(m: Whole, answer: bool) -> bool:
    m[0] += 1
    return answer


def _pair(a: int, b: float) -> tuple[int, float]:
    """Two at once."""
    return a + 1, b * 2


def ways_through(m: Whole, x: Real, a: int, b: int) -> int:
    if (_touch(m, a > 0) and _touch(m, b > 0)) or (not _touch(m, a < b) and 0 <= a < 40):
        m[1] = 1
    elif a:
        m[1] = 2
    else:
        m[1] = 3
    n = 0
    while True:
        n += 1
        if n > 50:
            break
        if n % 3 == 0:
            continue
        m[2] += n
    for k in range(a % 7, -2, -1):
        n -= k
        if n < 0:
            return k
    for _ in range(b % 5):
        n += 1
    for k in range(2, 2 + b % 4):
        n += k
        k = 100
        n += k
    c, d = _pair(n, 0.25 * b)
    c, n = n, c
    x[0] = d
    both = a > 3 or b > 3
    return c * 1000 + n if both else c - n


SIZES = st.integers(-(10**6), 10**6)


@pytest.mark.parametrize("function", [whole_numbers, real_numbers, ways_through])
@given(a=SIZES, b=SIZES)
def test_machine_code_gives_what_python_gives(function: Any, a: int, b: int) -> None:
    plain, fast = both(function, [0, 0, 0, 5, 6, 0], [0.0, 0.3, 0.0, 0.0, 0.0, 0.0], a, b)
    assert plain == fast


def _changes_kind(m: Whole, x: Real, a: int, b: int) -> int:
    total = 0
    total += 0.5  # type: ignore[assignment]
    return total


def _asks_for_more(m: Whole, x: Real, a: int, b: int) -> int:
    return len([a, b])


def _puts_a_real_number_into_a_whole_cell(m: Whole, x: Real, a: int, b: int) -> int:
    m[0] = x[0]  # type: ignore[assignment]
    return 0


def _raises(m: Whole, x: Real, a: int, b: int) -> int:
    raise ValueError


def _without_types(m, x, a, b) -> int:  # type: ignore[no-untyped-def]
    return 0


@pytest.mark.parametrize(
    ("function", "why"),
    [
        (_changes_kind, "double where i64 belongs"),
        (_asks_for_more, "List is not translated"),
        (_puts_a_real_number_into_a_whole_cell, "double where i64 belongs"),
        (_raises, "Raise is not translated"),
        (_without_types, "without a type"),
    ],
)
def test_the_rest_is_refused_by_line(function: Any, why: str) -> None:
    with pytest.raises(UntranslatableError, match=why) as told:
        translate(function, "door")
    if "type" not in why:
        first = inspect.getsourcelines(function)[1]
        assert f"{Path(__file__).name}:{first + (2 if function is _changes_kind else 1)}:" in str(told.value)


def divide(m: Whole, x: Real, a: int, b: int) -> int:
    return a // b + a % b


def test_dividing_by_zero_stops_no_machine() -> None:
    """Nothing in the kernel divides by zero; the plain run would raise, and machine code must not end the process."""

    with pytest.raises(ZeroDivisionError):
        divide(Checked([0]), Checked([0.0]), 5, 0)
    assert isinstance(door(divide)(None, None, 5, 0), int)


def test_a_process_of_its_own_makes_the_same_code(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    text = translate(divide, "door")
    assert machine.build_apart(text) == machine.build(text)
    assert machine.build_apart("this is no text of LLVM") is None
    monkeypatch.setattr(sys, "executable", str(tmp_path / "no such program"))
    assert machine.build_apart(text) is None
    monkeypatch.setattr(sys, "executable", "")
    assert machine.build_apart(text) is None


ASK = """
import sys
from linewright.simulate.kernel import compiled, machine
if len(sys.argv) > 1:
    sys.executable = ""
built = []
for way in ("build_apart", "build"):
    def counted(text, way=way, build=getattr(machine, way)):
        code = build(text)
        built.extend([way] if code else [])
        return code
    setattr(machine, way, counted)
compiled.machine_code()
print(*built, "numba" in sys.modules)
"""


@pytest.mark.slow
def test_machine_code_is_kept_and_a_broken_file_is_made_anew(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("LINEWRIGHT_CACHE_DIR", str(tmp_path))
    monkeypatch.delenv("LINEWRIGHT_NO_JIT", raising=False)

    def ask(*more: str) -> str:
        command = [sys.executable, "-c", ASK, *more]
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip()

    assert ask() == "build_apart False"
    assert ask() == "False"
    (kept,) = tmp_path.iterdir()
    whole = kept.read_bytes()
    kept.write_bytes(whole[:-1000])
    assert ask("without another process") == "build False"
    assert kept.read_bytes() == whole
    assert ask() == "False"
    monkeypatch.setenv("LINEWRIGHT_CACHE_DIR", str(kept / "no folder"))
    assert ask() == "build_apart False"
