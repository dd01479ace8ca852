"""``linewright chart``: is the process steady? A control chart of readings or counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linewright.cli.measured import file_argument, finish, report_options
from linewright.cli.outcome import json_option

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

    from linewright.quality.charts import Rule
    from linewright.quality.readings import Counts, Measurements
    from linewright.report.single import Single

KINDS = (
    "mean-and-range", "mean-and-deviation", "single", "weighted-mean", "cumulative-sum", "share-faulty",
    "number-faulty", "faults", "faults-per-unit",
)  # fmt: skip


@click.command(short_help="Control chart of readings or counts (CSV, XLSX).")
@file_argument
@click.option("--kind", type=click.Choice(KINDS), help="Which chart (default: the one that fits the table).")
@click.option(
    "--column", "columns", multiple=True, default=["value"], show_default=True,
    help="The column of readings; several times: all of them on one chart (Hotelling's T-squared).",
)  # fmt: skip
@click.option("--subgroup", type=click.IntRange(2, 1000), help="Take so many readings as one subgroup.")
@click.option(
    "--rules", type=click.Choice(["limits", "usual", "all"]), default="usual", show_default=True,
    help="Which run rules to look for.",
)  # fmt: skip
@click.option("--first", type=click.IntRange(3), help="Limits from the first so many points; then all are judged.")
@click.option("--centre", type=float, help="The centre known beforehand (with --spread).")
@click.option("--spread", type=float, help="The standard deviation known beforehand (with --centre).")
@click.option("--corrected", is_flag=True, help="Counts: widen the limits by the spread between points.")
@click.option("--lower", type=float, help="Lower limit of good readings: adds the capability.")
@click.option("--upper", type=float, help="Upper limit of good readings: adds the capability.")
@report_options
@json_option
def command(
    file: str,
    kind: str | None,
    columns: tuple[str, ...],
    subgroup: int | None,
    rules: str,
    first: int | None,
    centre: float | None,
    spread: float | None,
    corrected: bool,
    lower: float | None,
    upper: float | None,
    report: str | None,
    live: bool,
    as_json: bool,
) -> int:
    """Chart FILE and tell whether the process is steady; exit status 3 means that it is not.

    FILE has a column of readings (value) and, if there are some, of subgroups (subgroup); or the columns faulty and
    inspected; or faults and, if they vary, units.
    """
    from linewright.quality.capability import capability
    from linewright.quality.charts import ALL_RULES, USUAL_RULES, Known
    from linewright.quality.charts.choose import draw_chart, is_steady

    if (centre is None) != (spread is None):
        raise click.UsageError("--centre and --spread belong together")
    known = Known(centre, spread) if centre is not None and spread is not None else None
    if len(columns) > 1:
        others = (kind, subgroup, first, known, lower, upper)
        if any(one is not None for one in others) or corrected:
            raise click.UsageError("several columns have one kind of chart, with limits from these readings")
        return _together(file, columns, report, live=live, as_json=as_json)
    chosen = {"limits": USUAL_RULES[:1], "usual": USUAL_RULES, "all": ALL_RULES}[rules]
    data, unit = _read(file, columns[0], subgroup)
    chart = draw_chart(data, kind or "", known=known, first=first, corrected=corrected, rules=chosen)
    capable = None
    if lower is not None or upper is not None:
        capable = capability(_grouped(data), lower=lower, upper=upper)
    remembers = chart.kind in ("weighted mean", "cumulative sum")
    silence = None if remembers else _silence(chosen)
    steady = is_steady(chart, chosen)

    def show() -> Single:
        from linewright.report.measured.control import shown

        return shown(chart, () if remembers else chosen, steady, silence, unit, capable)

    told = {"verdict": steady, **chart.to_dict(most=3000), "capability": None if capable is None else capable.to_dict()}
    return finish("chart", told, show, report, live=live, as_json=as_json, answer=steady)


def _together(file: str, columns: tuple[str, ...], report: str | None, *, live: bool, as_json: bool) -> int:
    """Several measurements on one chart."""
    from linewright.quality.charts import USUAL_RULES, together
    from linewright.quality.charts.choose import is_steady
    from linewright.quality.readings import read_columns

    chart = together(read_columns(file, columns))
    rules = USUAL_RULES[:1]
    steady = is_steady(chart, rules)

    def show() -> Single:
        from linewright.report.measured.control import shown

        return shown(chart, (), steady, None, "", None)

    told = {"verdict": steady, **chart.to_dict(most=3000), "capability": None}
    return finish("chart", told, show, report, live=live, as_json=as_json, answer=steady)


def _read(file: str, column: str, subgroup: int | None) -> tuple[Measurements | Counts, str]:
    """The table as measurements where it has the column, else as counts; and the unit."""
    from linewright.quality.charts.choose import in_subgroups
    from linewright.quality.readings import has_counts, read_counts, read_measurements

    if has_counts(file):
        if subgroup is not None:
            raise click.UsageError("--subgroup is for measurements")
        return read_counts(file), ""
    data = read_measurements(file, column)
    return (data if subgroup is None else in_subgroups(data, subgroup)), data.unit


def _grouped(data: Measurements | Counts) -> ArrayLike:
    from linewright.quality.readings import Counts

    if isinstance(data, Counts):
        raise click.UsageError("--lower and --upper are for measurements")
    return data.values if data.subgroups is None or isinstance(data.subgroups, list) else data.subgroups


def _silence(rules: Sequence[Rule]) -> float | None:
    """How many points of a steady process pass between signals; None where only a long play would tell."""
    from linewright.quality.runlength import run_length

    if any(rule.kind in ("trend", "zigzag") for rule in rules):
        return None
    return run_length(rules)
