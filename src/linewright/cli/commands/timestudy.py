"""``linewright timestudy``: from stopwatch readings to normal and standard times."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from linewright.cli.measured import file_argument, finish, report_options, share_option
from linewright.cli.outcome import json_option

if TYPE_CHECKING:
    from linewright.report.single import Single


@click.command(short_help="Times from a time study (CSV, XLSX).")
@file_argument
@share_option("--allowance", None, "For rest, need and small delays (default: none).")
@click.option(
    "--of", "allowance_of", type=click.Choice(["work", "shift"]), default="work", show_default=True,
    help="What the allowance is a share of.",
)  # fmt: skip
@share_option("--accuracy", "5 %", "How near the mean should be known, as a share of it.")
@share_option("--confidence", "95 %", "How sure that is.")
@report_options
@json_option
def command(
    file: str,
    allowance: float | None,
    allowance_of: str,
    accuracy: float,
    confidence: float,
    report: str | None,
    live: bool,
    as_json: bool,
) -> int:
    """Observed, normal and standard time of every element of FILE, with what stands apart and what is still to time.

    FILE has the columns element, time and, if rated, rating: `time [s]`, or a unit beside each number; a rating of 95
    or `95 %`.
    """
    from linewright.worktime.timestudy import read_readings, time_study

    readings = read_readings(file)
    study = time_study(
        readings, allowance=allowance or 0.0, allowance_of="shift" if allowance_of == "shift" else "work",
        accuracy=accuracy, confidence=confidence,
    )  # fmt: skip

    def show() -> Single:
        from linewright.report.measured.timestudy import shown

        return shown(study, readings, Path(file).name)

    return finish("timestudy", study.to_dict(), show, report, live=live, as_json=as_json)
