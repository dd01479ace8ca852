"""``linewright gauge``: can the gauge tell the parts apart, does it read right, do the inspectors find the faults?"""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from linewright.cli.measured import file_argument, finish, report_options, share_option
from linewright.cli.outcome import json_option

if TYPE_CHECKING:
    from linewright.report.single import Single


@click.command(short_help="Gauge study: spread, bias, or inspectors' verdicts (CSV, XLSX).")
@file_argument
@click.option("--tolerance", type=float, help="Upper less lower limit, in the unit of the readings.")
@click.option(
    "--by", type=click.Choice(["anova", "ranges"]), default="anova", show_default=True, help="How the spread is split."
)
@share_option("--confidence", "95 %", "Of the intervals.")
@report_options
@json_option
def command(
    file: str, tolerance: float | None, by: str, confidence: float, report: str | None, live: bool, as_json: bool
) -> int:
    """Study the gauge behind FILE; exit status 3 means that it does not serve.

    FILE has the columns part, inspector and value (spread); or reference and value (bias and linearity); or part,
    inspector, verdict and truth, good or faulty (inspectors).
    """
    from linewright.quality.gauge.tables import kind_of_gauge_table

    kind = kind_of_gauge_table(file)
    if kind != "crossed" and tolerance is not None:
        raise click.UsageError("--tolerance is for a study of spread")
    if kind == "crossed":
        return _crossed(file, tolerance, by, confidence, report, live=live, as_json=as_json)
    return (_linearity if kind == "linearity" else _verdicts)(file, confidence, report, live=live, as_json=as_json)


def _crossed(
    file: str, tolerance: float | None, by: str, confidence: float, report: str | None, *, live: bool, as_json: bool
) -> int:
    from linewright.quality.gauge import gauge_by_ranges, gauge_study, read_gauge_table

    parts, people, readings = read_gauge_table(file)
    if by == "ranges":
        study = gauge_by_ranges(parts, people, readings, tolerance=tolerance)
    else:
        study = gauge_study(parts, people, readings, tolerance=tolerance, level=confidence)

    def show() -> Single:
        from linewright.report.measured.gauge import shown

        return shown(study, parts, people, readings.tolist())

    return finish("gauge", study.to_dict(), show, report, live=live, as_json=as_json, answer=study.serves)


def _linearity(file: str, confidence: float, report: str | None, *, live: bool, as_json: bool) -> int:
    from linewright.quality.gauge import linearity
    from linewright.quality.gauge.tables import read_references

    found = linearity(*read_references(file), confidence)

    def show() -> Single:
        from linewright.report.measured.gauge import shown_linearity

        return shown_linearity(found)

    return finish("linearity", found.to_dict(), show, report, live=live, as_json=as_json, answer=found.linear)


def _verdicts(file: str, confidence: float, report: str | None, *, live: bool, as_json: bool) -> int:
    from linewright.quality.gauge import inspectors_against_truth
    from linewright.quality.gauge.tables import read_verdicts

    study = inspectors_against_truth(*read_verdicts(file), level=confidence)

    def show() -> Single:
        from linewright.report.measured.gauge import shown_verdicts

        return shown_verdicts(study)

    return finish("inspectors", study.to_dict(), show, report, live=live, as_json=as_json)
