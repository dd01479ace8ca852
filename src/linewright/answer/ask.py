"""From a plan to its answer, and from a file to every problem that reading, compiling and solving it shows.

Replications and their seconds apart, the same plan and seed give the same answer.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import TypeVar

from linewright import __version__
from linewright.answer.ask_balance import lines_of, with_lines
from linewright.answer.balanced import Balanced
from linewright.answer.energy import energy_of, with_peak
from linewright.answer.hazards import cautions_of
from linewright.answer.model import Answer
from linewright.answer.play import Progress, Stop, Wish, play, play_both, play_harvest
from linewright.answer.quality import quality_of
from linewright.answer.seasonal import too_much
from linewright.answer.simulated import Simulated, edges
from linewright.answer.variants import Variants, told
from linewright.base.problems import Level, Problem, ProblemsError
from linewright.base.results import Provenance
from linewright.capacity import measure_capacity
from linewright.capacity.fold import fold_capacity
from linewright.cost import cost_of_one
from linewright.cost.fold import fold_cost
from linewright.flow import solve_flow
from linewright.improve import HowMany, how_many_carriers, how_many_in_season, improve
from linewright.network import compile_network
from linewright.network.blends import blended, recipes
from linewright.plan import check_plan
from linewright.plan.model import Plan
from linewright.season import find_tanks, fold_season, harvest_of, out_of_reach, over_the_season, solve_season
from linewright.simulate import StuckError
from linewright.simulate.kernel.compiled import make_early

T = TypeVar("T")


def answer(
    plan: Plan,
    *,
    simulate: bool = False,
    half_width: float = 0.01,
    seed: int = 0,
    budget_seconds: float = 3.5,
    line_seconds: float = 0.0,
    threads: int | None = None,
    progress: Progress | None = None,
    stop: Stop | None = None,
    known: Callable[[Answer], None] | None = None,
) -> Answer:
    """Everything that is known about a plan; with ``simulate`` also what the simulation shows.

    The simulation adds replications until the half-width of the rate's interval is ``half_width`` (a share of the rate)
    or ``budget_seconds`` have passed. ``stop`` is asked often; once it says True, what is done is answered. A plan that
    cannot be played is answered without, and the answer says why. With ``line_seconds`` every line of the plan is
    balanced for so long, and played as balanced for as long again where the plan is simulated; on more than one thread
    that is done beside the simulation. ``known`` is told the answer as it is before anything is played, and on more
    than one thread (from another one) once it is played as planned.

    Raises ProblemsError with every problem of the stage that failed, placed in the plan's file.
    """
    began = time.perf_counter()
    if simulate:
        make_early()
    found = _placed(plan, lambda: _known(plan))
    if known is not None:
        known(found)
    wish = Wish(half_width=half_width, seed=seed, budget_seconds=budget_seconds, threads=threads)
    shared = line_seconds > 0 and bool(plan.lines)
    lines = Wish(half_width=0.01, budget_seconds=line_seconds, threads=threads)
    if simulate and threads != 1 and (shared or known is not None):
        found = _side_by_side(found, wish, lines if shared else None, progress, stop, known)
    else:
        found = _simulated(found, wish, progress, stop) if simulate else found
        if shared and not (stop is not None and stop()):
            found = with_lines(found, lines_of(found, lines, play=simulate, stop=stop))
    seconds = time.perf_counter() - began
    made_by = replace(found.provenance, seed=seed if simulate else None, seconds=seconds)
    return replace(found, provenance=made_by)


def simulate_plan(plan: Plan, wish: Wish, progress: Progress | None = None, stop: Stop | None = None) -> Answer:
    """The answer with one simulation as wished, with the shares that the material balance found.

    Raises ProblemsError, placed in the plan's file, also where the plan cannot be played or gets stuck.
    """
    found = _placed(plan, lambda: _known(plan))
    if found.season is not None:
        season_run = _placed(plan, lambda: play_harvest(*found.to_play, wish, progress, stop))
        return replace(found, season_run=season_run)
    run = _placed(plan, lambda: play(*found.to_play, wish, progress, stop))
    simulation = Simulated(run, None, edges(found.to_play[0]), found.network.days_week)
    return replace(found, simulation=simulation)


def improve_plan(
    plan: Plan,
    *,
    seed: int = 0,
    budget_seconds: float = 60.0,
    threads: int | None = None,
    progress: Callable[[str, int, int], None] | None = None,
    stop: Stop | None = None,
    known: Answer | None = None,
) -> Answer:
    """The answer with what would help most: single changes of the plan, played under the same luck.

    For a plan with a horizon these are its vessels: how many of each size the harvest needs, and what is lost if one
    fails.

    ``known`` is an answer of the same plan that the changes are added to. Raises ProblemsError, placed in the plan's
    file, also where the plan cannot be played.
    """
    began = time.perf_counter()
    found = known if known is not None else _placed(plan, lambda: _known(plan, early=False))
    if found.season is not None:
        network, flow = found.to_play
        harvest = harvest_of(network, flow)
        left = max(budget_seconds - (time.perf_counter() - began), 0.0)
        return replace(
            found,
            tanks=_placed(
                plan,
                lambda: find_tanks(network, flow, harvest, budget_seconds=left, seed=seed, stop=stop),
            ),
        )
    improvement = _placed(
        plan,
        lambda: improve(
            found.network, found.flow, found.capacity, found.cost,
            seed=seed, budget_seconds=budget_seconds, threads=threads, progress=progress, stop=stop,
            to_play=found.to_play,
        ),
    )  # fmt: skip
    return replace(found, improvement=improvement)


def carriers_of_plan(
    plan: Plan,
    *,
    seed: int = 0,
    budget_seconds: float = 20.0,
    threads: int | None = None,
    progress: Callable[[int, int], None] | None = None,
    stop: Stop | None = None,
) -> HowMany:
    """How many carriers of each kind the demand needs, by the bound and by simulation.

    Raises ProblemsError, placed in the plan's file: where nothing is carried, or the plan cannot be played.
    """
    return _placed(plan, lambda: _how_many(plan, seed, budget_seconds, threads, progress, stop))


def _how_many(
    plan: Plan, seed: int, budget: float, threads: int | None, progress: Callable[[int, int], None] | None,
    stop: Stop | None,
) -> HowMany:  # fmt: skip
    if not plan.carriers:
        what = "no carrier is written in this plan, so there is none to count"
        raise ProblemsError([Problem("carriers", what, hint="write [carriers.last] with count, from and to")])
    network = compile_network(plan)
    if network.season is not None:
        network, flow, _ = over_the_season(network)
        return how_many_in_season(
            network, flow, measure_capacity(network, flow),
            seed=seed, budget_seconds=budget, threads=threads, progress=progress, stop=stop,
        )  # fmt: skip
    flow = solve_flow(network)
    return how_many_carriers(
        network, flow, measure_capacity(network, flow),
        seed=seed, budget_seconds=budget, threads=threads, progress=progress, stop=stop,
    )  # fmt: skip


def _known(plan: Plan, *, early: bool = True) -> Answer:
    """What can be worked out without luck; ``early``: the weeks of a season are those of the earliest plan."""
    made = compile_network(plan)
    season = None
    blends: tuple[str, ...] = ()
    waiting: tuple[Problem, ...] = ()
    if made.season is not None:
        made, balance, harvest = over_the_season(made)
        blends = harvest.recipes
        waiting = out_of_reach(made, balance)
        season = fold_season(solve_season(made, balance, harvest, early=early), made)
    else:
        balance = solve_flow(made)
        if any(choice.limits for choice in made.choices):  # a blend to limits becomes a recipe, kept in every load
            blends = recipes(made, balance.choice_mix)
            made = blended(made, balance.choice_mix)
            balance = solve_flow(made)
    bounds = measure_capacity(made, balance)
    money = cost_of_one(made, balance, bounds)
    variants = Variants(made, balance, bounds, money) if made.origin is not None else None
    network, flow = told(made, balance)
    capacity = fold_capacity(made, balance, bounds)
    cost = fold_cost(made, money)
    quality, doubts = quality_of(network, flow, capacity, (made, balance))
    energy, short = energy_of(network, flow, capacity, cost)
    later = (plan.placed(problem) for problem in (*network.problems, *flow.problems, *doubts, *short, *waiting))
    found = _once([*plan.warnings, *later])
    taken = [*blends, *network.assumptions, *flow.notes, *capacity.assumptions, *quality.notes]
    assumptions = tuple(dict.fromkeys(taken))
    if season is not None:
        average = f"Rates, loads and costs are averages over the {season.working_days} working days of the horizon."
        assumptions = (average, *assumptions, *season.honesty.notes)
    made_by = Provenance("answer", __version__, network.fingerprint)
    said = cautions_of(plan)
    return Answer(
        plan, network, flow, capacity, cost, quality, said, found, assumptions, made_by,
        energy=energy, season=season, variants=variants,
    )  # fmt: skip


def _simulated(
    found: Answer, wish: Wish, progress: Progress | None, stop: Stop | None,
    planned: Callable[[Simulated], None] | None = None,
) -> Answer:  # fmt: skip
    """The answer with the simulation, or with the reasons why there is none."""
    try:
        if found.season is not None:
            return replace(found, season_run=play_harvest(*found.to_play, wish, progress, stop))
        simulation = play_both(*found.to_play, wish, progress, stop, found.capacity, planned)
    except ProblemsError as wrong:
        placed = [found.plan.placed(p) for p in wrong.problems if p.level is Level.ERROR]
        why = (replace(p, level=Level.WARNING, what=f"not simulated: {p.what}") for p in placed)
        stopped = stop is not None and stop()
        unplayed = "" if stopped else "; ".join(p.what for p in placed)
        stuck = isinstance(wrong, StuckError)
        return replace(found, problems=_once([*found.problems, *why]), unplayed=unplayed, stuck=stuck)
    energy = with_peak(found.energy, simulation.day, found.network)
    return replace(found, simulation=simulation, energy=energy)


def _side_by_side(
    found: Answer, wish: Wish, lines: Wish | None, progress: Progress | None, stop: Stop | None,
    known: Callable[[Answer], None] | None,
) -> Answer:  # fmt: skip
    """The simulation and the lines at the same time; lines that were not done when it was stopped are left out.

    The simulation's threads fill the machine but for the times at which it lays out and sums up; the lines take one.
    """

    def all_lines() -> Balanced | None:
        if lines is None:
            return None
        balanced = lines_of(found, lines, stop=stop, one_thread=True)
        return None if stop is not None and stop() else balanced

    with ThreadPoolExecutor(2) as beside:
        shared, told_of = beside.submit(all_lines), list[Future[None]]()

        def planned(simulation: Simulated) -> None:
            if known is not None:
                told_of.append(beside.submit(known, replace(found, simulation=simulation)))

        played = _simulated(found, wish, progress, stop, planned)
        balanced = shared.result()
        for one in told_of:
            one.result()
    return played if balanced is None else with_lines(played, balanced)


def _placed(plan: Plan, work: Callable[[], T]) -> T:
    """The work's result; its problems leave with the file and line where the plan wrote what is wrong."""
    try:
        return work()
    except ProblemsError as wrong:
        raise ProblemsError(plan.placed(problem) for problem in wrong.problems) from None


def check(path: str | Path) -> tuple[Problem, ...]:
    """Every problem of a plan file: of reading it, and where it can be read of compiling and solving it."""
    plan, problems = check_plan(path)
    found = list(problems)
    if plan is not None:
        try:
            known = _placed(plan, lambda: _known(plan, early=False))
            found += known.problems
            if known.season is not None and not known.season.fits:
                found.append(plan.placed(too_much(plan, known.season)))
        except ProblemsError as wrong:
            found += wrong.problems
    return _once(found)


def _once(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    return tuple(dict.fromkeys(problems))
