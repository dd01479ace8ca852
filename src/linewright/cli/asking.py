"""Asks for the whole answer of a plan while a bar shows how far it is: what ``answer`` and ``report`` share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from linewright.cli.options import budget_option, half_width_option, seed_option, threads_option

if TYPE_CHECKING:
    from linewright.answer import Answer
    from linewright.plan.model import Plan

SECONDS = 2.5
"""Seconds of searching and simulating in an answer, unless asked otherwise."""
LINES = 1 / 3
"""The part of them for the lines of a plan, where it has any: half to balance and half to play them."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of the simulation in an answer, and of what would help most."""

    simulate: bool
    half_width: float
    seed: int
    budget: float
    threads: int | None
    improve: bool
    improve_budget: float


def asking_options(command: Callable[..., Any]) -> Callable[..., Any]:
    """The options that make an ``Asked``, in this order on the help page."""
    options = (
        click.option("--simulate/--no-simulate", default=True, help="Play the plan event by event (default), or not."),
        half_width_option, seed_option, budget_option(SECONDS), threads_option,
        click.option("--improve", is_flag=True, help="Also play single changes of the plan: what would help most."),
        click.option(
            "--improve-budget", type=click.FloatRange(min=0.0, min_open=True), default=60.0, show_default=True,
            help="Seconds for that.",
        ),
    )  # fmt: skip
    for option in reversed(options):
        command = option(command)
    return command


def ask(read: Plan, asked: Asked, known: Callable[[Answer], None] | None = None) -> Answer:
    """The answer of a plan; Ctrl-C keeps what is done and leaves out what is not begun.

    ``known`` is told the answer as it is before anything is simulated.
    """
    from linewright.answer import answer, improve_plan
    from linewright.cli.watching import watching

    lines = LINES * asked.budget if read.lines else 0.0
    with watching() as watch:
        found = answer(
            read, simulate=asked.simulate, half_width=asked.half_width, seed=asked.seed,
            budget_seconds=asked.budget - lines, line_seconds=lines / max(2 * len(read.lines), 1),
            threads=asked.threads, progress=watch.progress, stop=watch.stop,
            known=known,
        )  # fmt: skip
    if not asked.improve or watch.stopped or found.unplayed:
        return found
    with watching("trying changes") as watch:
        return improve_plan(
            read, seed=asked.seed, budget_seconds=asked.improve_budget, threads=asked.threads, progress=watch.step,
            stop=watch.stop, known=found,
        )  # fmt: skip
