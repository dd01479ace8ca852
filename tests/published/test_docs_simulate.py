"""The table of checks in docs/simulate.md is what the engine gives; run as a script this file writes it."""

from __future__ import annotations

import importlib.util
import sys
from collections.abc import Callable
from math import comb, factorial
from pathlib import Path
from typing import Any

import pytest

from linewright.base.results import Interval

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "simulate.md"
BEGIN, END = "<!-- generated -->\n", "<!-- end -->"


def queues() -> Any:
    return loaded("simulated_queues")


def loaded(name: str) -> Any:
    """A test module of this folder."""
    spec = importlib.util.spec_from_file_location(name, HERE / f"test_{name}.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    spec.loader.exec_module(module)
    return module


def cases(q: Any) -> list[tuple[str, float, Callable[[], Interval]]]:
    """(what, truth, measured)."""
    flow = loaded("two_machines_continuous")
    stops = (0.01, 0.1)
    p0 = 1 / sum(comb(4, n) * factorial(n) * 0.25**n for n in range(5))
    return [
        ("M/M/1 at 80 %: waiting", 3.2, lambda: q.queue(q.exponential(60), 75).store_level.interval(0)),
        ("M/M/5 at 80 %: waiting", 2.216450, lambda: q.queue(q.exponential(60), 15, 5).store_level.interval(0)),
        ("M/D/1 at 80 %: waiting", 1.6, lambda: q.queue("60 s", 75, weeks=4).store_level.interval(0)),
        ("3 exponential stations, no room: rate", 22 / 39, lambda: scaled(q.line(3, 0).rate)),
        ("3 exponential stations, room 1: rate", 0.670466, lambda: scaled(q.line(3, 1).rate)),
        ("4 exponential stations, room 2: rate", 0.700713, lambda: scaled(q.line(4, 2).rate)),
        ("4 machines, 1 repairer: repairer busy", 1 - p0, lambda: scaled(q.repairs(4, 0.25).rate)),
        ("2 stopping machines, flow, no store: rate", 1 / 1.2, lambda: scaled(flow.line(*stops, 0).rate)),
        ("2 stopping machines, flow, store of 10 min: rate", 0.858726, lambda: scaled(flow.line(*stops, 10).rate)),
    ]


def scaled(rate: Interval) -> Interval:
    """From a working day to the mean service time of a minute."""
    return Interval(rate.mean / 1440, rate.half_width / 1440)


def table() -> str:
    lines = ["| case | truth | simulated, 95 % |", "|---|---|---|"]
    for what, truth, measured in cases(queues()):
        found = measured()
        lines.append(f"| {what} | {truth:.4f} | {found.mean:.4f} ± {found.half_width:.4f} |")
    return "\n".join(lines) + "\n"


@pytest.mark.slow
def test_the_page_shows_what_the_engine_gives() -> None:
    text = PAGE.read_text(encoding="utf-8")
    assert text[text.index(BEGIN) + len(BEGIN) : text.index(END)] == table()


if __name__ == "__main__":
    old = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(old[: old.index(BEGIN) + len(BEGIN)] + table() + old[old.index(END) :], encoding="utf-8")
