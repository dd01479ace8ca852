"""``linewright sample``: how many to look at, and what such a look is worth."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linewright.cli.measured import finish, report_options, share_option
from linewright.cli.outcome import json_option

if TYPE_CHECKING:
    from linewright.quality.sampling import DoublePlan, SinglePlan
    from linewright.quality.sampling.iso2859 import Severity
    from linewright.report.measured.sampling import Asked
    from linewright.report.single import Single

LEVELS = ("I", "II", "III", "S-1", "S-2", "S-3", "S-4")
SHOWN = (0.001, 0.0025, 0.005, 0.01, 0.015, 0.02, 0.03, 0.04, 0.06, 0.08, 0.10, 0.15)


@click.command(short_help="Sampling plan by two points, by lot and AQL, or your own.")
@share_option("--good", None, "A share faulty that should be accepted.")
@share_option("--bad", None, "A share faulty that should be refused.")
@share_option("--producer-risk", "5 %", "How often a good lot may be refused.")
@share_option("--consumer-risk", "10 %", "How often a bad lot may be accepted.")
@click.option("--double", is_flag=True, help="With --good and --bad: two samples instead of one.")
@click.option("--measured", is_flag=True, help="With --good and --bad: by measurement instead of by counting.")
@click.option("--known-spread", is_flag=True, help="With --measured: the standard deviation is known.")
@click.option("--lot", type=click.IntRange(2), help="Units in a lot.")
@click.option("--aql", type=float, help="With --lot: acceptance quality limit in percent, for a plan of ISO 2859-1.")
@click.option("--level", type=click.Choice(LEVELS), default="II", show_default=True, help="Inspection level.")
@click.option(
    "--severity", type=click.Choice(["normal", "tightened", "reduced"]), default="normal", show_default=True,
    help="Which table of the standard.",
)  # fmt: skip
@click.option("--n", type=click.IntRange(1), help="Your own plan: units in the sample (with --c).")
@click.option("--c", type=click.IntRange(0), help="Your own plan: most faulty ones accepted.")
@report_options
@json_option
def command(
    good: float | None,
    bad: float | None,
    producer_risk: float,
    consumer_risk: float,
    double: bool,
    measured: bool,
    known_spread: bool,
    lot: int | None,
    aql: float | None,
    level: str,
    severity: Severity,
    n: int | None,
    c: int | None,
    report: str | None,
    live: bool,
    as_json: bool,
) -> int:
    """Find a sampling plan and tell what it lets through.

    Say --good and --bad; or --lot and --aql; or --n and --c of a plan of your own. With --lot the average that goes
    out and the average looked at are told as well.
    """
    from linewright.quality.sampling import SinglePlan, attribute_plan, code_letter
    from linewright.report.measured.sampling import Asked

    by_points = good is not None and bad is not None
    ways = [by_points, aql is not None, n is not None and c is not None]
    if sum(ways) != 1 or (good is None) != (bad is None) or (n is None) != (c is None):
        raise click.UsageError("say one of: --good with --bad; --lot with --aql; --n with --c")
    if aql is not None and lot is None:
        raise click.UsageError("--aql needs --lot")
    if ((double or measured) and not by_points) or (double and measured) or (known_spread and not measured):
        raise click.UsageError("--double or --measured goes with --good and --bad; --known-spread with --measured")
    if good is not None and bad is not None:
        asked = Asked((good, producer_risk), (bad, consumer_risk), lot)
        if measured:
            return _measured(asked, known_spread, report, live=live, as_json=as_json)
        plan = _by_points(asked, double=double)
    elif aql is not None and lot is not None:
        letter = code_letter(lot, level)
        plan = attribute_plan(letter, aql, severity)
        asked = Asked(lot=lot, letter=letter, aql=aql, severity=severity)
    else:
        assert n is not None
        assert c is not None
        plan, asked = SinglePlan(n, c), Asked(lot=lot)
    return _counted(plan, asked, report, live=live, as_json=as_json)


def _by_points(asked: Asked, *, double: bool) -> SinglePlan | DoublePlan:
    from linewright.quality.sampling import double_by_two_points, single_by_two_points

    assert asked.good is not None
    assert asked.bad is not None
    find = double_by_two_points if double else single_by_two_points
    return find(asked.good[0], asked.good[1], asked.bad[0], asked.bad[1])


def _counted(plan: SinglePlan | DoublePlan, asked: Asked, report: str | None, *, live: bool, as_json: bool) -> int:
    from linewright.base.results import plain
    from linewright.quality.sampling import SinglePlan, operating_curve, worst_outgoing

    points = operating_curve(plan, sorted({*SHOWN, *_asked_shares(asked)}), asked.lot)
    curve = operating_curve(plan, lot=asked.lot)
    worst = None
    if asked.lot is not None and isinstance(plan, SinglePlan) and asked.lot > plan.n:
        worst = worst_outgoing(plan, asked.lot)

    def show() -> Single:
        from linewright.report.measured.sampling import shown

        return shown(plan, asked, curve, points, worst)

    told = {"plan": plain(plan), "asked": plain(asked), "curve": points.to_dict(), "worst_outgoing": plain(worst)}
    return finish("sample", told, show, report, live=live, as_json=as_json)


def _measured(asked: Asked, known_spread: bool, report: str | None, *, live: bool, as_json: bool) -> int:
    from linewright.base.results import plain
    from linewright.quality.sampling import accept_measured, measured_plan

    assert asked.good is not None
    assert asked.bad is not None
    plan = measured_plan(asked.good[0], asked.good[1], asked.bad[0], asked.bad[1], known_sd=known_spread)
    shares = sorted({*SHOWN, *_asked_shares(asked)})
    accepted = accept_measured(plan, shares).tolist()

    def show() -> Single:
        from linewright.report.measured.sampling import shown_measured

        return shown_measured(plan, asked, shares, accepted)

    told = {"plan": plain(plan), "asked": plain(asked), "shares": shares, "accepted": accepted}
    return finish("sample", told, show, report, live=live, as_json=as_json)


def _asked_shares(asked: Asked) -> list[float]:
    return [point[0] for point in (asked.good, asked.bad) if point is not None]
