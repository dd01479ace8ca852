"""Circles in an order: is there one, and which tasks does it run through.

Each knot of tasks that wait for each other is reported once, by a shortest circle through it.
"""

from __future__ import annotations

from collections import deque


def find_circles(n: int, order: list[tuple[int, int]]) -> list[list[int]]:
    """One shortest circle for each knot of an order of (earlier, later) pairs; empty where there is none.

    >>> find_circles(4, [(0, 1), (1, 2), (2, 1), (2, 3)])
    [[1, 2]]
    """
    later: list[list[int]] = [[] for _ in range(n)]
    for a, b in order:
        later[a].append(b)
    knots = _knotted(n, order)
    circles = []
    while knots:
        start = min(knots)
        circle = _shortest_circle(start, later, knots)
        if circle:
            circles.append(circle)
            knots -= _reached(start, later, knots)  # the rest of this knot is the same trouble
        else:
            knots.discard(start)  # it only lies between two knots
    return circles


def _knotted(n: int, order: list[tuple[int, int]]) -> set[int]:
    """Tasks left when those without open predecessors, then those without open successors, are taken away."""
    left = set(range(n))
    for pairs in (order, [(b, a) for a, b in order]):
        waits = [0] * n
        follows: list[list[int]] = [[] for _ in range(n)]
        for a, b in pairs:
            if a in left and b in left:
                waits[b] += 1
                follows[a].append(b)
        free = deque(i for i in left if waits[i] == 0)
        while free:
            i = free.popleft()
            left.discard(i)
            for j in follows[i]:
                waits[j] -= 1
                if waits[j] == 0:
                    free.append(j)
    return left


def _reached(start: int, later: list[list[int]], within: set[int]) -> set[int]:
    """Tasks of the same knot as ``start``: reached from it and reaching it back."""
    ahead = _sweep(start, later, within)
    back: list[list[int]] = [[] for _ in later]
    for a in within:
        for b in later[a]:
            back[b].append(a)
    return (ahead & _sweep(start, back, within)) | {start}


def _sweep(start: int, later: list[list[int]], within: set[int]) -> set[int]:
    seen: set[int] = set()
    stack = [start]
    while stack:
        for j in later[stack.pop()]:
            if j in within and j not in seen:
                seen.add(j)
                stack.append(j)
    return seen


def _shortest_circle(start: int, later: list[list[int]], within: set[int]) -> list[int]:
    came: dict[int, int] = {}
    queue = deque([start])
    while queue:
        i = queue.popleft()
        for j in later[i]:
            if j == start:
                path = [i]
                while path[-1] != start:
                    path.append(came[path[-1]])
                return path[::-1]
            if j in within and j not in came:
                came[j] = i
                queue.append(j)
    return []
