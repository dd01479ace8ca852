"""``linewright balance``: the work of a line shared over stations, from a plan or from a plain file of tasks."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from linewright.cli.outcome import DONE, NO, json_option, print_json, report_problems

if TYPE_CHECKING:
    from linewright.balance import Balance, Curve, Graph
    from linewright.cli.watching import Watch

PLANS = (".toml",)
GOALS = {"fewest": "fewest", "fastest": "fastest", "smoothest": "smoothest", "cheapest": "cheapest"}


@click.command(short_help="Balance a line: who does what, with the fewest stations.")
@click.argument("file", metavar="PLAN|GRAPH", type=click.Path(dir_okay=False))
@click.option("--line", "lines", multiple=True, help="Which line of the plan (default: all). May be given again.")
@click.option("--takt", help='The time for one piece: "12 min" with a plan, a plain number with a file of tasks.')
@click.option("--stations", type=click.IntRange(1, 10_000), help="How many stations; then the fastest takt is found.")
@click.option("--goal", type=click.Choice(list(GOALS)), help="What is made least (default: by what is given).")
@click.option("--smooth", is_flag=True, help="Even the loads out once the fewest stations are found.")
@click.option("--curve", is_flag=True, help="Also the fastest takt for fewer and for more stations.")
@click.option(
    "--seconds", type=click.FloatRange(min=0.0, min_open=True), default=10.0, show_default=True,
    help="Time to search each line; after it the best found is kept, with its bound.",
)  # fmt: skip
@click.option("--simulate/--no-simulate", default=True, help="Also play the lines of a plan as balanced (default).")
@json_option
def command(
    file: str,
    lines: tuple[str, ...],
    takt: str | None,
    stations: int | None,
    goal: str | None,
    smooth: bool,
    curve: bool,
    seconds: float,
    simulate: bool,
    as_json: bool,
) -> int:
    """Share the work of a line over stations: the lines of a PLAN, or the tasks of a GRAPH.

    A GRAPH is a text file ("t 1 12": task 1 takes 12; "p 1 2": 1 comes before 2) or a CSV of task, time, after. With a
    takt the fewest stations are found, with stations the fastest takt, with both the smoothest sharing. Ctrl-C keeps
    the best found so far. Exit status 3 means that no sharing keeps the takt.
    """
    from linewright.cli.watching import watching

    with watching() as watch:
        if Path(file).suffix.lower() in PLANS:
            wish = (lines, takt, stations, goal, smooth, curve, seconds)
            return _plan(file, wish, watch, simulate=simulate, as_json=as_json)
        if lines:
            raise click.UsageError("--line chooses among the lines of a plan; a file of tasks is one line")
        return _graph(file, (takt, stations, goal, smooth, curve, seconds), watch, as_json=as_json)


PlanWish = tuple[tuple[str, ...], str | None, int | None, str | None, bool, bool, float]
GraphWish = tuple[str | None, int | None, str | None, bool, bool, float]


def _plan(file: str, wish: PlanWish, watch: Watch, *, simulate: bool, as_json: bool) -> int:
    from linewright.answer.ask_balance import Asked, ask_lines
    from linewright.base.problems import ProblemsError
    from linewright.plan import read_plan

    lines, takt, stations, goal, smooth, curve, seconds = wish
    asked = Asked(lines or None, _seconds(takt), stations, goal, smooth, curve, seconds)
    plan = read_plan(file)
    try:
        found = ask_lines(plan, asked, play=simulate, progress=watch.say, stop=watch.stop)
    except ProblemsError as wrong:
        return _refused(wrong, as_json=as_json)
    code = DONE if all(line.yes for line in found.lines) else NO
    if as_json:
        print_json({"exit": code, **found.to_dict()})
    else:
        from linewright.report.balanced.terminal import print_balanced

        print_balanced(found, plan)
    return code


def _graph(file: str, wish: GraphWish, watch: Watch, *, as_json: bool) -> int:
    from linewright.answer.ask_balance import balance_graph
    from linewright.balance import read_graph
    from linewright.base.problems import ProblemsError

    takt, stations, goal, smooth, curve, seconds = wish
    graph = read_graph(file)
    watch.say("balancing")
    try:
        found, trade_off = balance_graph(
            graph, takt=_number(takt, graph, stations), stations=stations, goal=goal, smooth=smooth, curve=curve,
            seconds=seconds, stop=watch.stop,
        )  # fmt: skip
    except ProblemsError as wrong:
        return _refused(wrong, as_json=as_json)
    code = NO if found.honesty.status == "impossible" else DONE
    if as_json:
        print_json({"exit": code, "balance": found.to_dict(), "curve": trade_off.to_dict() if trade_off else None})
    else:
        _print_graph(found, graph, trade_off, file)
    return code


def _print_graph(found: Balance, graph: Graph, trade_off: Curve | None, file: str) -> None:
    from linewright.report.balanced.terminal import print_graph
    from linewright.report.balanced.view import view_of_graph

    print_graph(found, view_of_graph(found, graph.line, Path(file).stem), trade_off)


def _refused(wrong: Exception, *, as_json: bool) -> int:
    """Problems of the question; where they say that work does not fit into the takt, the answer is no."""
    from linewright.answer.ask_balance import says_no
    from linewright.base.problems import ProblemsError

    assert isinstance(wrong, ProblemsError)
    if not says_no(wrong):
        raise wrong
    if as_json:
        print_json({"exit": NO, "problems": [problem.to_dict() for problem in wrong.problems]})
    else:
        report_problems(wrong.problems, as_json=False)
    return NO


def _seconds(takt: str | None) -> float | None:
    """A takt with its unit, in s."""
    from linewright.base.units import UnitError, read_quantity

    if takt is None:
        return None
    try:
        value = read_quantity(takt, ("time",)).value
    except UnitError as wrong:
        raise click.BadParameter(f'{wrong.what}; write it as "12 min"', param_hint="--takt") from None
    if value <= 0:
        raise click.BadParameter(f'"{takt}" is not more than zero', param_hint="--takt")
    return value


def _number(takt: str | None, graph: Graph, stations: int | None) -> float | str | None:
    """The takt of a file of tasks: as given, else the one in the file where no stations are given."""
    if takt is not None:
        return takt
    if stations is None and graph.takt is None:
        raise click.UsageError("give --takt or --stations: the file names no takt of its own")
    return graph.takt if stations is None else None
