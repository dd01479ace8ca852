"""Every public function of worktime, physics and quality says equation, units, range and source, and shows a call."""

from __future__ import annotations

import dataclasses
import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from types import FunctionType, ModuleType

import pytest

import linewright.physics
import linewright.quality
import linewright.worktime

SECTIONS = ("Equation:", "Takes:", "Gives:", "Range:", "Source:")


def modules() -> Iterator[ModuleType]:
    for package in (linewright.worktime, linewright.physics, linewright.quality):
        for found in pkgutil.walk_packages(package.__path__, f"{package.__name__}."):
            yield importlib.import_module(found.name)


def functions() -> list[FunctionType]:
    """Public functions where they are written; a cached one is unwrapped."""
    found = []
    for module in modules():
        for name, thing in vars(module).items():
            plain = inspect.unwrap(thing) if callable(thing) else thing
            if isinstance(plain, FunctionType) and plain.__module__ == module.__name__ and not name.startswith("_"):
                found.append(plain)
    return found


ALL = functions()
IDS = [f"{f.__module__.removeprefix('linewright.')}.{f.__name__}" for f in ALL]


def section(text: str, title: str) -> str:
    """What stands under a title, up to the next."""
    after = text.split(title, 1)[1]
    ends = [after.index(t) for t in (*SECTIONS, "\nRaises", ">>>") if t in after]
    return after[: min(ends)] if ends else after


def test_there_is_something_to_check() -> None:
    assert len(ALL) > 60


@pytest.mark.parametrize("function", ALL, ids=IDS)
def test_sections(function: FunctionType) -> None:
    text = inspect.getdoc(function) or ""
    places = [text.find(f"\n{s}") for s in SECTIONS]
    assert min(places) > 0, f"lacks {SECTIONS[places.index(min(places))]}"
    assert places == sorted(places), "the sections are not in order"
    for title in SECTIONS:
        assert section(text, title).strip(), f"{title} is empty"


@pytest.mark.parametrize("function", ALL, ids=IDS)
def test_arguments_match_the_signature_and_have_units(function: FunctionType) -> None:
    taken = re.findall(r"^    (\w+) \[([^\]]+)\]: \S", section(inspect.getdoc(function) or "", "Takes:"), re.MULTILINE)
    assert [name for name, _ in taken] == list(inspect.signature(function).parameters)


@pytest.mark.parametrize("function", ALL, ids=IDS)
def test_a_call_is_shown_and_true(function: FunctionType) -> None:
    finder = doctest.DocTestFinder(recurse=False)
    module = importlib.import_module(function.__module__)
    tests = finder.find(function, function.__name__, module=module, globs=dict(vars(module)))
    examples = [e for t in tests for e in t.examples]
    assert any(function.__name__ in e.source for e in examples), "no call is shown"
    runner = doctest.DocTestRunner()
    for test in tests:
        assert runner.run(test).failed == 0


def test_results_are_frozen_and_turn_into_tables() -> None:
    from linewright.base.results import Shown

    for module in modules():
        for thing in vars(module).values():
            if inspect.isclass(thing) and issubclass(thing, Shown) and thing.__module__ == module.__name__:
                assert dataclasses.is_dataclass(thing)
                assert thing.__dataclass_params__.frozen, thing  # type: ignore[attr-defined]
                assert "to_table" in vars(thing), thing


def test_importing_the_packages_loads_no_heavy_library() -> None:
    import subprocess
    import sys

    code = "import sys, linewright.quality, linewright.worktime; print('scipy' in sys.modules, 'pint' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
