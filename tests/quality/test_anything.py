"""Whatever numbers a public function gets, it answers with numbers or with a problem: no traceback, no NaN."""

from __future__ import annotations

import dataclasses
import importlib
import inspect
import math
import pkgutil
import typing
from collections.abc import Iterator
from enum import Enum
from types import FunctionType

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import linewright.quality
import linewright.worktime
from linewright.base.problems import ProblemsError

AWKWARD = [
    float("nan"),
    float("inf"),
    -float("inf"),
    0.0,
    -0.0,
    1.0,
    -1.0,
    0.5,
    2.0,
    3.0,
    1e-300,
    1e300,
    1e-12,
    1e9,
    20.0,
]
NUMBERS = st.sampled_from(AWKWARD) | st.floats(0, 1) | st.floats(0, 50) | st.integers(-2, 50).map(float)
ROWS = st.lists(NUMBERS, max_size=9) | st.lists(st.floats(-1e3, 1e3), min_size=8, max_size=30)


def functions() -> Iterator[FunctionType]:
    for package in (linewright.worktime, linewright.quality):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            module = importlib.import_module(found.name)
            for name, thing in vars(module).items():
                plain = inspect.unwrap(thing) if callable(thing) else thing
                if isinstance(plain, FunctionType) and plain.__module__ == module.__name__ and not name.startswith("_"):
                    yield plain


def strategy(name: str, hint: object) -> st.SearchStrategy[object] | None:
    """What to throw at an argument of this type; None where the type is not of plain numbers."""
    if name in ("samples", "draws", "runs", "seed", "longest"):
        return st.just({"samples": 1000, "draws": 1000, "runs": 100, "seed": 1, "longest": 1000}[name])
    text = str(hint)
    if hint in (float, int):
        return NUMBERS
    if hint is bool:
        return st.booleans()
    if typing.get_origin(hint) is typing.Literal:
        return st.sampled_from([*typing.get_args(hint), "other"])
    if text in ("float | None", "int | None"):
        return st.none() | NUMBERS
    if "_SupportsArray" in text or "ArrayLike" in text or "Sequence[float]" in text or "Sequence[object]" in text:
        return ROWS
    return None


def arguments(function: FunctionType) -> dict[str, st.SearchStrategy[object]] | None:
    hints = typing.get_type_hints(function)
    found = {}
    for name, parameter in inspect.signature(function).parameters.items():
        chosen = strategy(name, hints[name])
        if chosen is None:
            if parameter.default is inspect.Parameter.empty:
                return None
            continue
        found[name] = chosen
    return found


def no_nan(value: object) -> bool:
    if isinstance(value, (float, np.floating)):
        return not math.isnan(value)
    if isinstance(value, np.ndarray):
        return value.dtype.kind != "f" or not np.isnan(value).any()
    if dataclasses.is_dataclass(value):
        return all(no_nan(getattr(value, f.name)) for f in dataclasses.fields(value))
    if isinstance(value, Enum):
        return True
    if isinstance(value, dict):
        return all(no_nan(v) for v in value.values())
    if isinstance(value, (list, tuple)):
        return all(no_nan(v) for v in value)
    return True


SLOW = {"log_likelihood", "fit_shape", "find_signals", "make_track"}  # inner parts, called with checked numbers
THROWN = [(f, a) for f in functions() if f.__name__ not in SLOW and (a := arguments(f))]


def test_most_functions_are_thrown_at() -> None:
    assert len(THROWN) > 60


@pytest.mark.parametrize(
    ("function", "given_arguments"), THROWN, ids=[f"{f.__module__}.{f.__name__}" for f, _ in THROWN]
)
def test_numbers_or_a_problem(function: FunctionType, given_arguments: dict[str, st.SearchStrategy[object]]) -> None:
    @settings(max_examples=40, deadline=None)
    @given(st.fixed_dictionaries(given_arguments))
    def throw(arguments: dict[str, object]) -> None:
        try:
            answer = function(**arguments)
        except ProblemsError:
            return
        assert no_nan(answer)

    throw()
