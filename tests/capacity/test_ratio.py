"""The slowest ring against listing every ring of small graphs."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from linewright.capacity.ratio import slowest_ring

Edge = tuple[int, int, int, int]


def by_listing(n: int, edges: list[Edge]) -> float | None:
    """The greatest ratio over all simple rings, by search; None where there is no ring."""
    best: float | None = None

    def walk(first: int, at: int, seen: frozenset[int], weight: int, tokens: int) -> None:
        nonlocal best
        for tail, head, w, t in edges:
            if tail != at:
                continue
            if head == first:
                total, held = weight + w, tokens + t
                ratio = total / held if held else (math.inf if total else 0.0)
                best = ratio if best is None else max(best, ratio)
            elif head > first and head not in seen:
                walk(first, head, seen | {head}, weight + w, tokens + t)

    for node in range(n):
        walk(node, node, frozenset({node}), 0, 0)
    return best


graphs = st.integers(1, 6).flatmap(
    lambda n: st.tuples(
        st.just(n),
        st.lists(
            st.tuples(st.integers(0, n - 1), st.integers(0, n - 1), st.integers(0, 9), st.integers(0, 3)),
            min_size=1,
            max_size=12,
        ),
    )
)


@settings(max_examples=300, deadline=None)
@given(graphs)
def test_slowest_ring_is_the_worst_of_all_rings(graph: tuple[int, list[Edge]]) -> None:
    n, edges = graph
    found = slowest_ring(n, *(list(column) for column in zip(*edges, strict=True)))
    expected = by_listing(n, edges)
    assert (found is None) == (expected is None)
    if found is not None and expected is not None:
        assert found.ratio == pytest.approx(expected, rel=1e-12)


def test_a_long_chain_is_quick_and_exact() -> None:
    n = 3000
    tails = [*range(n), *range(1, n), n - 1]
    heads = [*range(1, n), 0, *range(n - 1), 0]
    weights = [float(1 + i % 7) for i in range(n)] + [0.0] * n
    tokens = [0] * (n - 1) + [5] + [2] * (n - 1) + [900]
    found = slowest_ring(n, tails, heads, weights, tokens)
    assert found is not None
    assert found.ratio == pytest.approx(sum(weights) / 5, rel=1e-12)
