"""Plays a line as it was balanced: by itself, flat out, its people at their stations, what it takes always at hand."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from linewright.answer.balanced import Balanced, Played, warnings
from linewright.answer.play import Stop, Wish, play
from linewright.answer.simulated import FLAT_OUT
from linewright.balance.line_balance import LineBalance
from linewright.balance.line_times import takt_of
from linewright.base.problems import Problem, ProblemsError
from linewright.base.results import Interval
from linewright.flow import Flow, solve_flow
from linewright.network import compile_network
from linewright.network.model import Network
from linewright.network.move import move_operations, only_routes
from linewright.simulate.layout import lay_out

OPEN = 2
"""Pieces kept open at each station while a balanced line is played: one in work and one waiting."""

LEAST_WEEKS = 4
"""Weeks played at least: a line by itself, begun with its few open pieces, is in its stride within one."""


def play_balanced(network: Network, found: LineBalance, wish: Wish | None = None, stop: Stop | None = None) -> Played:
    """Play a balanced line by itself. Raises ProblemsError where it cannot be played as balanced."""
    line = found.line
    if found.balance.schedule:
        what = "several people work on one piece at once, and a route says one operation after the other"
        raise ProblemsError([Problem(f"lines.{line.id}.people", what)])
    part, pieces_each = _alone(network, found)
    flow = solve_flow(part)
    longest, seconds = found.pace, takt_of(network, line.tasks, 1.0)
    if not longest or seconds is None:
        raise ProblemsError([Problem(f"lines.{line.id}", "this line has no work, or its crews never meet")])
    wish = wish or Wish(half_width=0.01, budget_seconds=3.0)
    rates, open_pieces, laid = [], [], lay_out(part)
    for each in (OPEN, 1):
        open_pieces.append(math.ceil(each * found.balance.count + _standing(part, flow, found, laid.loads_with)))
        asked = replace(wish, release=FLAT_OUT, open_pieces=open_pieces[-1], least_weeks=LEAST_WEEKS)
        run = play(part, flow, asked, stop=stop, laid=laid)
        rates.append(Interval(run.rate.mean / pieces_each, run.rate.half_width / pieces_each, run.rate.level))
    return Played(rates[0], rates[1], seconds / longest, line.pieces, open_pieces[0], open_pieces[1])


def play_lines(network: Network, balanced: Balanced, wish: Wish | None = None, stop: Stop | None = None) -> Balanced:
    """The same with every balanced line played; one that cannot be played becomes a warning."""
    played, problems = {}, list(balanced.problems)
    for found in balanced.lines:
        if not found.balance.stations:
            continue
        try:
            played[found.line.id] = play_balanced(network, found, wish, stop)
        except ProblemsError as wrong:
            problems += warnings(wrong, f'line "{found.line.id}" is not played as balanced')
    return Balanced(balanced.lines, played, tuple(problems))


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


def _standing(part: Network, flow: Flow, found: LineBalance, loads_with: Sequence[int]) -> float:
    """Pieces that stand, wait for a load to be full, or are in a machine that runs alone, while the line runs.

    ``loads_with`` [n_operations] says whose load a variant shares; -1 is a load of its own.
    """
    operations, longest = part.operations, (found.balance.longest or 1.0) * 1e9
    alone = ~operations.hands_all & ~operations.continuous
    often = flow.runs / found.line.pieces  # a piece is of one variant, and may skip a step or come again
    time = (often * operations.stand.mean).sum() + (often * operations.time.mean)[alone].sum()
    most = operations.load_most.tolist()
    filled = {with_ if with_ >= 0 else o: most[o] for o, with_ in enumerate(loads_with) if most[o] > 1}
    return float(time / longest + 2.0 * sum(filled.values()))
