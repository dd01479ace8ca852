"""Textbook arithmetic of inspection, yield, tolerances and counting: definitions, so no page is named."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from linewright.quality.bulk import count_in_bulk
from linewright.quality.chain import Step, follow
from linewright.quality.failure_modes import FailureMode, rank_failures
from linewright.quality.inspection import Look, through_looks
from linewright.quality.stack import Dimension, stack

SOURCES = {"": "definition"}


def reach(kind: str) -> float:
    found = stack([Dimension(n, 0.0, t, t) for n, t in zip("abcd", [0.10, 0.05, 0.05, 0.02], strict=True)], draws=1000)
    return found.worst[1] if kind == "worst" else found.rss[1]


def rolled(shares: list[float]) -> float:
    return follow([Step(str(i), {"f": 1 - s}, {"f": 1.0}) for i, s in enumerate(shares)]).shipped


CHECKS: list[tuple[str, float, float, Callable[[], float]]] = [
    *[
        (f"escape of {k} looks that find 80 % each", v, 1e-12, lambda k=k: through_looks(0.1, [Look(0.8)] * k).escape)
        for k, v in [(1, 0.2), (2, 0.04), (3, 0.008)]
    ],
    ("rolled yield of .98 .95 .97 .99", 0.894039, 5e-7, lambda: rolled([0.98, 0.95, 0.97, 0.99])),
    ("stack of .10 .05 .05 .02, worst case", 0.22, 1e-9, lambda: reach("worst")),
    ("stack of .10 .05 .05 .02, root-sum-square", 0.124097, 1e-6, lambda: reach("rss")),
    ("count of 500 by a sample of 10, cv 2 %, sd", 3.194, 1e-3, lambda: count_in_bulk(500, 10, 0.02).sd),
    (
        "product of ranks 8, 5, 4",
        160,
        0,
        lambda: rank_failures([FailureMode("a", "b", severity=8, occurrence=5, detection=4)]).modes[0].product,
    ),
]


@pytest.mark.parametrize(("what", "published", "tolerance", "computed"), CHECKS, ids=[c[0] for c in CHECKS])
def test_value(what: str, published: float, tolerance: float, computed: Callable[[], float]) -> None:
    assert computed() == pytest.approx(published, abs=tolerance)
