"""The lines of a plan balanced, and played as balanced: what the paper promises, and what variation leaves of it."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from linewright.answer.play import Wish, play
from linewright.answer.simulated import FLAT_OUT
from linewright.balance.line_balance import LineBalance, balance_line
from linewright.balance.line_times import takt_of
from linewright.base.problems import Level, Problem, ProblemsError
from linewright.base.results import Interval, Shown, Table, plain
from linewright.flow import solve_flow
from linewright.flow.model import Flow
from linewright.network import compile_network
from linewright.network.model import Network
from linewright.network.move import move_operations, only_routes

OPEN = 2
"""Pieces kept open at each station while a balanced line is played: one in work and one waiting."""


@dataclass(frozen=True, slots=True)
class Played:
    """A balanced line played by itself, flat out, with what it takes always at hand.

    ``rate`` is pieces a working day as simulated, ``on_paper`` what the greatest load allows without variation;
    ``open_pieces`` are on the line at once. Stoppages, variation, rework as it falls and waiting for each other make
    the difference.
    """

    rate: Interval
    on_paper: float
    wanted: float
    open_pieces: int

    @property
    def lost(self) -> Interval:
        """The share of the paper rate that is lost."""
        return Interval(1.0 - self.rate.mean / self.on_paper, self.rate.half_width / self.on_paper)


@dataclass(frozen=True, slots=True)
class Balanced(Shown):
    """Every line of a plan balanced; ``played`` by line where that was asked and could be done.

    ``problems`` are warnings: lines that could not be balanced or played, and why.
    """

    lines: tuple[LineBalance, ...]
    played: Mapping[str, Played] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def to_table(self) -> Table:
        """One row a line."""
        rows = tuple(
            (
                found.line.name,
                found.balance.takt,
                found.balance.count,
                found.people,
                None if found.balance.efficiency is None else 100 * found.balance.efficiency,
                found.balance.honesty.status,
            )
            for found in self.lines
        )
        return Table("Lines", ("line", "takt [s]", "stations", "people", "efficiency [%]", "status"), rows)

    def to_dict(self) -> dict[str, Any]:
        """Balances and plays by line."""
        return {
            "lines": {found.line.id: found.to_dict() for found in self.lines},
            "played": {id: {**plain(run), "lost": plain(run.lost)} for id, run in self.played.items()},
        }


def balance_lines(
    network: Network,
    flow: Flow,
    ids: Sequence[str] | None = None,
    *,
    seconds: float = 1.0,
    cancel: Callable[[], bool] | None = None,
) -> Balanced:
    """Balance the lines of a plan (all, or ``ids``) within ``seconds`` each; a line at fault becomes a warning."""
    lines, problems = [], []
    for id in network.plan.lines if ids is None else ids:
        try:
            lines.append(balance_line(network, id, runs=flow.runs.tolist(), seconds=seconds, cancel=cancel))
        except ProblemsError as wrong:
            problems += _warnings(wrong, f'line "{id}" is not balanced')
    return Balanced(tuple(lines), {}, tuple(problems))


def play_balanced(network: Network, found: LineBalance, wish: Wish | None = None) -> Played:
    """Play a balanced line by itself. Raises ProblemsError where it cannot be played as balanced."""
    line = found.line
    part, pieces_each = _alone(network, found)
    flow = solve_flow(part)
    standing = _standing(part, found)
    open_pieces = math.ceil(OPEN * found.balance.count + standing)
    wish = wish or Wish(half_width=0.01, budget_seconds=3.0)
    run = play(part, flow, _flat_out(wish, open_pieces))
    longest = found.balance.longest
    seconds = takt_of(network, line.tasks, 1.0)
    if not longest or seconds is None:
        raise ProblemsError([Problem(f"lines.{line.id}", "this line has no work, or its crews never meet")])
    rate = Interval(run.rate.mean / pieces_each, run.rate.half_width / pieces_each, run.rate.level)
    return Played(rate, seconds / longest, line.pieces, open_pieces)


def play_lines(network: Network, balanced: Balanced, wish: Wish | None = None) -> Balanced:
    """The same with every balanced line played; one that cannot be played becomes a warning."""
    played, problems = {}, list(balanced.problems)
    for found in balanced.lines:
        if not found.balance.stations:
            continue
        try:
            played[found.line.id] = play_balanced(network, found, wish)
        except ProblemsError as wrong:
            problems += _warnings(wrong, f'line "{found.line.id}" is not played as balanced')
    return Balanced(balanced.lines, played, tuple(problems))


def _flat_out(wish: Wish, open_pieces: int) -> Wish:
    from dataclasses import replace

    return replace(wish, release=FLAT_OUT, open_pieces=open_pieces)


def _alone(network: Network, found: LineBalance) -> tuple[Network, float]:
    """The line as balanced, alone; and how many units of its items one piece becomes."""
    written = network.plan.lines[found.line.id]
    routes = [r for r in range(len(network.routes.ids)) if network.routes.ids[r] in written.routes]
    operations = network.operations
    taken = {int(k) for r in routes for k in _taken(network, r)}
    wanted: dict[str, float] = {}
    units = 0.0
    for r in routes:
        item = int(network.routes.item[r])
        if item in taken:
            continue
        each = float(operations.pieces_out[int(network.routes.last[r])])
        made = found.line.pieces * each
        wanted[network.items.ids[item]] = made
        units += made
    plan = only_routes(move_operations(network.plan, found.moves()), written.routes, wanted)
    return compile_network(plan), units / found.line.pieces


def _taken(network: Network, route: int) -> list[int]:
    first, last = int(network.routes.first[route]), int(network.routes.last[route])
    rows = [network.operations.takes.row(i)[0].tolist() for i in range(first, last + 1)]
    return [k for row in rows for k in row]


def _standing(part: Network, found: LineBalance) -> float:
    """Pieces that stand, wait for a load to be full, or are in a machine that runs alone, while the line runs."""
    operations, longest = part.operations, (found.balance.longest or 1.0) * 1e9
    alone = ~operations.hands_all & ~operations.continuous
    time = operations.stand.mean.sum() + operations.time.mean[alone].sum()
    loads = 2.0 * operations.load_most[operations.load_most > 1].sum()
    return float(time / longest + loads)


def _warnings(wrong: ProblemsError, what: str) -> list[Problem]:
    from dataclasses import replace

    return [replace(p, level=Level.WARNING, what=f"{what}: {p.what}") for p in wrong.problems]
