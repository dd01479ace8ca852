"""The order of the work as a drawing: stations as bands from left to right, operations as boxes, wires for the order.

Wires that follow from others are left out. The picture is SVG text in the colours of the palette.
"""

from __future__ import annotations

from dataclasses import replace
from html import escape

from linewright.report.balanced.view import Station, Task, View
from linewright.report.palette import paint

BAND = 188
BOX = 148
HIGH = 40
STEP = 54
HEAD = 74
EDGE = 12
SIGNS = 22
"""Signs of a name that fit into one row of a box."""


STRIP = 4
"""Stations of a strip, so that a page of paper holds its width and its letters can be read."""


def strips(view: View) -> tuple[str, ...]:
    """The drawing in strips of a few stations each; wires from one strip to the next are left out."""
    parts = (view.stations[k : k + STRIP] for k in range(0, len(view.stations), STRIP))
    return tuple(precedence(replace(view, stations=part), wide=STRIP) for part in parts)


def precedence(view: View, wide: int = 0) -> str:
    """The drawing of a line shared out, as wide as ``wide`` stations at least."""
    at = _places(view)
    most = max((len(s.tasks) for s in view.stations), default=1)
    width, height = EDGE * 2 + BAND * max(wide, len(view.stations)), HEAD + STEP * most + EDGE
    bands = "".join(_band(k, s, view, height) for k, s in enumerate(view.stations))
    tip = f"lw-tip-{escape(view.id, quote=True)}"
    wires = "".join(_wire(at[a], at[b], tip) for a, b in reduced(view.order) if a in at and b in at)
    boxes = "".join(_box(task, *at[task.id], view) for s in view.stations for task in s.tasks)
    title = f"{view.title}: operations in order, by station"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" width="{width}" height="{height}" '
        f'role="img" aria-label="{escape(title, quote=True)}" font-family="Arial, Helvetica, sans-serif">'
        f'<defs><marker id="{tip}" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" orient="auto">'
        f'<path d="M0 0L8 4L0 8z" fill="{paint("wire")}"/></marker></defs>{bands}'
        f'<g fill="none" stroke="{paint("wire")}" stroke-width="1.3">{wires}</g>{boxes}</svg>'
    )


def _places(view: View) -> dict[str, tuple[int, int]]:
    """Where the box of each task begins."""
    return {
        task.id: (EDGE + BAND * k + (BAND - BOX) // 2, HEAD + STEP * row)
        for k, station in enumerate(view.stations)
        for row, task in enumerate(station.tasks)
    }


def _band(number: int, station: Station, view: View, height: int) -> str:
    """The ground of a station, with how full it is."""
    x = EDGE + BAND * number
    part = min(1.0, station.use)
    ground = paint("faint" if number % 2 == 0 else "paper")
    copies = f", {station.copies} copies" if station.copies > 1 else ""
    middle = x + BAND / 2
    return (
        f'<rect x="{x}" y="0" width="{BAND}" height="{height}" fill="{ground}"/>'
        f'<text x="{middle}" y="22" text-anchor="middle" font-size="14" font-weight="bold" fill="{paint("ink")}">'
        f"Station {station.number}{copies}</text>"
        f'<text x="{middle}" y="39" text-anchor="middle" font-size="12" fill="{paint("soft")}">'
        f"{escape(_cut(station.who, 26))}</text>"
        f'<rect x="{x + 20}" y="48" width="{BAND - 40}" height="7" rx="3" fill="{paint("line")}"/>'
        f'<rect x="{x + 20}" y="48" width="{part * (BAND - 40):.1f}" height="7" rx="3" '
        f'fill="{paint("working")}"><title>{view.time(station.load)} of {view.time(view.takt)}</title></rect>'
    )


def _box(task: Task, x: int, y: int, view: View) -> str:
    first, second = _rows(task.name)
    rows = [(first, 15)] if not second else [(first, 13), (second, 26)]
    text = "".join(
        f'<text x="{x + 8}" y="{y + dy}" font-size="11.5" fill="{paint("ink")}">{escape(row)}</text>'
        for row, dy in rows
    )
    return (
        f"<g><title>{escape(task.name)}, {view.time(task.time)}</title>"
        f'<rect x="{x}" y="{y}" width="{BOX}" height="{HIGH}" rx="5" '
        f'fill="{paint("card")}" stroke="{paint("operation")}"/>{text}'
        f'<text x="{x + BOX - 7}" y="{y + HIGH - 5}" text-anchor="end" font-size="10.5" fill="{paint("soft")}">'
        f"{view.time(task.time)}</text></g>"
    )


def _wire(a: tuple[int, int], b: tuple[int, int], tip: str) -> str:
    """An arrow from one box to another; ``tip`` is the id of its head."""
    return f'<path marker-end="url(#{tip})" d="{_way(a, b)}"/>'


def _way(a: tuple[int, int], b: tuple[int, int]) -> str:
    (ax, ay), (bx, by) = a, b
    if ax == bx and by - ay == STEP:
        return f"M{ax + BOX / 2} {ay + HIGH}V{by}"
    if ax == bx:  # round the boxes between
        side = ax - 14
        return f"M{ax} {ay + HIGH / 2}C{side} {ay + HIGH / 2} {side} {by + HIGH / 2} {bx} {by + HIGH / 2}"
    start, end = ax + BOX, bx
    bend = max(18.0, (end - start) / 2.5)
    y, to = ay + HIGH / 2, by + HIGH / 2
    return f"M{start} {y}C{start + bend:.0f} {y} {end - bend:.0f} {to} {end} {to}"


def _rows(name: str) -> tuple[str, str]:
    """A name over two rows, cut where it is longer still."""
    if len(name) <= SIGNS:
        return name, ""
    at = name.rfind(" ", 0, SIGNS + 1)
    first = name[:at] if at > 0 else name[:SIGNS]
    return first, _cut(name[len(first) :].strip(), SIGNS - 4)


def _cut(text: str, signs: int) -> str:
    return text if len(text) <= signs else f"{text[: signs - 1]}…"


def reduced(order: tuple[tuple[str, str], ...]) -> list[tuple[str, str]]:
    """The pairs of an order that do not follow from the others.

    >>> reduced((("a", "b"), ("b", "c"), ("a", "c")))
    [('a', 'b'), ('b', 'c')]
    """
    after: dict[str, set[str]] = {}
    for a, b in order:
        after.setdefault(a, set()).add(b)
    reach: dict[str, set[str]] = {}

    def reached(start: str) -> set[str]:
        if start in reach:
            return reach[start]
        stack, seen = list(after.get(start, ())), set(after.get(start, ()))
        while stack:
            found = reach.get(here := stack.pop(), after.get(here, set()))
            stack += found - seen
            seen |= found
        reach[start] = seen
        return seen

    return [(a, b) for a, b in order if not any(b in reached(other) for other in after[a] if other != b)]
