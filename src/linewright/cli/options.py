"""Options that several commands share: shares written as people write them, and those of a simulation."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import click


def share(_context: click.Context, _parameter: click.Parameter, value: str) -> float:
    """A share of one, written ``1 %``, ``0.5%`` or ``0.01``: above 0 and below 1."""
    text = value.strip()
    try:
        found = float(text.removesuffix("%")) / (100.0 if text.endswith("%") else 1.0)
    except ValueError:
        raise click.BadParameter(f'"{value}" is no share; write 1 % or 0.01') from None
    if not 0.0 < found < 1.0:
        raise click.BadParameter(f'"{value}" is not between 0 and 100 %')
    return found


half_width_option = click.option(
    "--half-width", callback=share, metavar="SHARE", default="1 %", show_default=True,
    help="How sharp the rate should be: half of its 95 % interval, as a share of the rate.",
)  # fmt: skip
seed_option = click.option(
    "--seed",
    type=click.IntRange(0, 2**32 - 1),
    default=0,
    show_default=True,
    help="Which luck; same seed, same result.",
)
threads_option = click.option("--threads", type=click.IntRange(1, 256), help="Threads to use (default: all).")


def budget_option(seconds: float) -> Callable[[Any], Any]:
    """``--budget``, with its own default."""
    return click.option(
        "--budget", type=click.FloatRange(min=0.0, min_open=True), default=seconds, show_default=True,
        help="Seconds after which no new replication begins; the answer says if that was too few.",
    )  # fmt: skip
