"""``linewright count``: a kit counted by weight. Which missing part does the scale not see?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linewright.cli.measured import finish, report_options, share_option
from linewright.cli.outcome import json_option, plan_argument

if TYPE_CHECKING:
    from linewright.plan.model import CheckScale
    from linewright.report.single import Single


@click.command(short_help="Which missing part of a kit the scale does not see.")
@plan_argument
@click.option("--operation", default="", help="At the end of this operation (default: where a check has a scale).")
@click.option("--step", help="Another scale: the step it shows, such as 0.1 g (with --repeatability).")
@click.option("--repeatability", help="Another scale: standard deviation of its readings, such as 0.3 g.")
@share_option("--false-rejects", None, "Good kits that may be refused (default: the check's false alarms, or 0.1 %).")
@click.option("--apart", multiple=True, help="Leave this item out of the weighing; may be given several times.")
@report_options
@json_option
def command(
    plan: str,
    operation: str,
    step: str | None,
    repeatability: str | None,
    false_rejects: float | None,
    apart: tuple[str, ...],
    report: str | None,
    live: bool,
    as_json: bool,
) -> int:
    """Weigh the kits of PLAN: every part missing or extra, how often it is seen, the window, what to weigh apart.

    The parts and their masses are the plan's. Exit status 3 means that a part is hidden.
    """
    from linewright.answer.quality.kits import CountWish, count_plan
    from linewright.base.results import plain
    from linewright.plan import read_plan

    if (step is None) != (repeatability is None):
        raise click.UsageError("--step and --repeatability belong together")
    scale = _scale(step, repeatability) if step is not None and repeatability is not None else None
    read = read_plan(plan)
    unknown = [item for item in apart if item not in read.items]
    if unknown:
        raise click.UsageError(f'the plan has no item "{unknown[0]}"')
    counts = count_plan(read, CountWish(operation, scale, false_rejects, apart))

    def show() -> Single:
        from linewright.report.measured.count import shown

        return shown(read, counts)

    hidden = any(count.kit.hidden for count in counts)
    return finish("count", {"kits": plain(counts)}, show, report, live=live, as_json=as_json, answer=not hidden)


def _scale(step: str, repeatability: str) -> CheckScale:
    from linewright.base.units import UnitError, read_quantity
    from linewright.plan.model import CheckScale

    try:
        return CheckScale(read_quantity(step, ["mass"]), read_quantity(repeatability, ["mass"]))
    except UnitError as wrong:
        raise click.UsageError(f"{wrong}; a mass is written 0.1 g") from None
