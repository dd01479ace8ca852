"""From a plan, or a file of tasks, to its lines balanced as asked."""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from linewright.answer.balanced import Balanced, warnings
from linewright.answer.model import Answer
from linewright.answer.play import Stop, Wish
from linewright.answer.play_balanced import play_lines
from linewright.answer.variants import told
from linewright.balance import Balance, Curve, Graph, balance
from linewright.balance import curve as trade_off
from linewright.balance.contradictions import SAY_NO
from linewright.balance.line_balance import REACH, balance_line, curve_of, evened_out
from linewright.base.problems import Problem, ProblemsError
from linewright.flow import solve_flow
from linewright.flow.model import Flow
from linewright.network import compile_network
from linewright.network.model import Network
from linewright.plan.model import Plan


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the lines of a plan; None leaves it to the plan. ``takt`` in s; ``curve`` adds the trade-off."""

    lines: tuple[str, ...] | None = None
    takt: float | None = None
    stations: int | None = None
    goal: str | None = None
    smooth: bool = False
    curve: bool = False
    seconds: float = 10.0
    seed: int = 0


def balance_lines(
    network: Network,
    flow: Flow,
    ids: Sequence[str] | None = None,
    *,
    seconds: float = 1.0,
    cancel: Callable[[], bool] | None = None,
) -> Balanced:
    """Balance lines of a plan (all, or ``ids``), evened out, ``seconds`` each; a line at fault becomes a warning."""
    lines, problems = [], []
    for id in network.plan.lines if ids is None else ids:
        try:
            lines.append(
                balance_line(network, id, runs=flow.runs.tolist(), smooth=True, seconds=seconds, cancel=cancel)
            )
        except ProblemsError as wrong:
            problems += warnings(wrong, f'line "{id}" is not balanced')
    return Balanced(tuple(lines), {}, tuple(problems))


def balance_plan(
    network: Network,
    flow: Flow,
    asked: Asked,
    *,
    progress: Callable[[str], None] | None = None,
    cancel: Callable[[], bool] | None = None,
) -> Balanced:
    """Balance lines of a plan as asked. Raises ProblemsError for a line at fault, or where the plan has no lines."""
    plan = network.plan
    if not plan.lines:
        wanted = {demand.item for demand in plan.demand}
        first = next((id for id, route in plan.routes.items() if route.gives in wanted), "...")
        hint = f'write [lines.main] with routes = ["{first}"], and the routes of its parts that belong to the line'
        raise ProblemsError([Problem("lines", "the plan has no line to balance", hint=hint)])
    lines = []
    for id in asked.lines or tuple(plan.lines):
        if progress is not None:
            progress(f"balancing {id}")
        found = balance_line(
            network, id, runs=flow.runs.tolist(), takt=asked.takt, stations=asked.stations, goal=asked.goal,
            smooth=asked.smooth, seconds=asked.seconds, seed=asked.seed, cancel=cancel,
        )  # fmt: skip
        if asked.curve:
            found = curve_of(found, seconds=asked.seconds, cancel=cancel)
        lines.append(found)
    return Balanced(tuple(lines))


def ask_lines(
    plan: Plan,
    asked: Asked,
    *,
    play: bool = True,
    progress: Callable[[str], None] | None = None,
    stop: Stop | None = None,
) -> Balanced:
    """From a plan to its lines balanced as asked, and played as balanced. Raises ProblemsError, placed in its file."""
    try:
        network = compile_network(plan)
        network, flow = told(network, solve_flow(network))
        found = balance_plan(network, flow, asked, progress=progress, cancel=stop)
    except ProblemsError as wrong:
        raise ProblemsError(plan.placed(problem) for problem in wrong.problems) from None
    if not play or (stop is not None and stop()):
        return found
    if progress is not None:
        progress("playing the lines as balanced")
    return play_lines(network, found, stop=stop)


def balance_graph(
    graph: Graph,
    *,
    takt: float | str | None = None,
    stations: int | None = None,
    goal: str | None = None,
    smooth: bool = False,
    curve: bool = False,
    seconds: float = 10.0,
    stop: Stop | None = None,
) -> tuple[Balance, Curve | None]:
    """A file of tasks balanced; with ``curve`` also for a few stations fewer and more. Raises ProblemsError."""
    line = graph.line
    found = balance(line, takt=takt, stations=stations, goal=goal, seconds=seconds / (1 + smooth), cancel=stop)
    if smooth and found.stations and found.goal == "fewest":
        found = evened_out(line, found, seconds=seconds / 2, cancel=stop)
    if not curve or not found.stations:
        return found, None
    reach = range(max(1, found.count - REACH), min(line.n, found.count + REACH) + 1)
    return found, trade_off(line, reach, seconds=seconds, cancel=stop)


def share_out(found: Answer, *, seconds: float = 1.0, play: bool = True, stop: Stop | None = None) -> Answer:
    """The answer with the lines of its plan balanced, ``seconds`` each, and with ``play`` played so long as balanced.

    A line at fault, or one that cannot be played, is told as a warning.
    """
    if not found.plan.lines:
        return found
    return with_lines(found, lines_of(found, Wish(half_width=0.01, budget_seconds=seconds), play=play, stop=stop))


def lines_of(
    found: Answer, wish: Wish, *, play: bool = True, stop: Stop | None = None, one_thread: bool = False
) -> Balanced:
    """The lines of an answer's plan balanced and played, as ``share_out`` does; ``wish`` says how long and how.

    ``one_thread`` plays on one thread as much as would be played on all.
    """
    balanced = balance_lines(found.network, found.flow, seconds=wish.budget_seconds, cancel=stop)
    if play and not (stop is not None and stop()):
        if one_thread:
            workers = wish.threads or os.cpu_count() or 1
            wish = replace(wish, threads=1, budget_seconds=wish.budget_seconds * workers)
        balanced = play_lines(found.network, balanced, wish, stop)
    return balanced


def with_lines(found: Answer, balanced: Balanced) -> Answer:
    """The answer with its lines balanced, their problems placed in the plan's file."""
    told = [found.plan.placed(problem) for problem in balanced.problems]
    return replace(found, balanced=balanced, problems=tuple(dict.fromkeys([*found.problems, *told])))


def says_no(wrong: ProblemsError) -> bool:
    """Whether problems only say that the work does not fit into the takt: an answer, and no fault of the input."""
    return all(any(no in problem.what for no in SAY_NO) for problem in wrong.problems)
