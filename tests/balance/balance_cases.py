"""Random lines and the plain truth about them, shared by the tests of the balance."""

from __future__ import annotations

from hypothesis import strategies as st

from linewright.balance import Line, Rules, make_line

LONG = 3600.0
"""Seconds that no test here comes near: what is asserted then does not depend on how fast the machine is."""


def line_of(times: list[int], pairs: list[tuple[int, int]], rules: Rules | None = None) -> Line:
    after: dict[str, list[str]] = {}
    for a, b in pairs:
        after.setdefault(f"t{b}", []).append(f"t{a}")
    return make_line({f"t{i}": t for i, t in enumerate(times)}, after, rules=rules)


@st.composite
def graphs(draw: st.DrawFn, most: int = 9, least_time: int = 0) -> tuple[list[int], list[tuple[int, int]], int]:
    """Times, order and takt of a random line; the takt is at least the longest time."""
    n = draw(st.integers(1, most))
    takt = draw(st.sampled_from([5, 9, 20, 100]))
    times = draw(st.lists(st.integers(least_time, takt), min_size=n, max_size=n))
    every = [(a, b) for b in range(n) for a in range(b)]
    pairs = draw(st.lists(st.sampled_from(every), unique=True, max_size=2 * n)) if every else []
    return times, sorted(pairs), takt


def brute_force(times: list[int], pairs: list[tuple[int, int]], takt: int) -> int:
    """The fewest stations by dynamic programming over every set of tasks done (Held and Karp 1962 for this problem)."""
    n = len(times)
    before = [0] * n
    for a, b in pairs:
        before[b] |= 1 << a
    worst = (n + 1, 0)
    best = [worst] * (1 << n)  # (stations, load of the last): fewer is better, then the emptier last one
    best[0] = (1, 0)
    for done in range(1 << n):
        stations, load = best[done]
        if (stations, load) == worst:
            continue
        for j in range(n):
            if done >> j & 1 or before[j] & ~done:
                continue
            fits = load + times[j] <= takt
            new = (stations, load + times[j]) if fits else (stations + 1, times[j])
            best[done | 1 << j] = min(best[done | 1 << j], new)
    return best[-1][0]
