"""A one-off question to a model of physics: printed in the terminal, and as one HTML page that needs no network."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from html import escape
from pathlib import Path

from rich.console import Console

from linewright import __version__
from linewright.answer.followed import Followed
from linewright.base.cautions import caution
from linewright.physics.forecast import Forecast
from linewright.report import drawing, grid, parts, words
from linewright.report.chart import Chart
from linewright.report.followed import curve_chart, forecast_chart
from linewright.report.html import POLICY
from linewright.report.style import style_sheet


def headline(found: Followed) -> str:
    """The time in one sentence."""
    seconds = found.timed.seconds
    time = f"it takes {words.seconds(seconds)}" if seconds < float("inf") else "its end is never reached"
    return f"{found.name}: {time}"


def print_timed(found: Followed, warnings: tuple[str, ...], page: str | None) -> None:
    """Print the time, what came with it, what it hangs on, and every caution."""
    out = Console()
    out.print(headline(found), style="bold", markup=False, highlight=False)
    for table in (found.to_table(), found.what_moves_it()):
        if table.rows:
            out.print()
            out.print(grid.drawn(table))
    for warning in warnings:
        out.print(f"Warning: {warning}.", markup=False, highlight=False)
    for told in found.timed.cautions:
        out.print()
        out.print(f"{told.hazard}: {told.text}", markup=False, highlight=False)
    if page:
        out.print()
        out.print(f"The picture: {page}", markup=False, highlight=False)


def write_page(found: Followed, warnings: tuple[str, ...], path: Path, *, live: bool = True) -> None:
    """Write the curve, the outcomes, what the time hangs on and the cautions as one page."""
    chart = curve_chart(found.timed, "curve", found.name)
    drawn: dict[str, Chart] = {"curve": chart} if drawing.can_draw() else {}
    picture = parts.figure("curve", chart.caption, drawing.to_svg(chart.spec)) if drawn else parts.note(drawing.HINT)
    body = (
        picture,
        parts.table(found.to_table()),
        parts.table(found.what_moves_it()),
        parts.listing("Warnings", warnings),
        *(parts.caution(c) for c in found.timed.cautions),
    )
    _write(headline(found), body, drawn, path, live=live)


def _write(title: str, body: Iterable[str], drawn: Mapping[str, Chart], path: Path, *, live: bool) -> None:
    said = escape(title)
    path.write_text(
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<title>{said}</title><style>{style_sheet()}</style></head>"
        f'<body><main class="sheet"><h1>{said}</h1>{"".join(body)}'
        f"<footer>Made by Linewright {__version__}.</footer></main>"
        f"{drawing.live_script(drawn) if live and drawn else ''}</body></html>\n",
        encoding="utf-8",
    )


def forecast_headline(found: Forecast) -> str:
    """When it is dry, in one sentence."""
    if found.hours == float("inf"):
        return f"More likely than not it sticks: {found.stuck:.0%} of what the readings allow never gets dry"
    high = f"{found.high / 24:.3g}" if found.high < float("inf") else "never"
    return (
        f"Dry {found.hours / 24:.3g} days after pitching ({found.low / 24:.3g} to {high}, {found.level:.0%} interval)"
    )


def print_forecast(found: Forecast, page: str | None) -> None:
    """Print when a tank is dry, the constants that its readings came to, and the caution for its gas."""
    out = Console()
    out.print(forecast_headline(found), style="bold", markup=False, highlight=False)
    out.print()
    out.print(grid.drawn(found.to_table()))
    said = ", ".join(f"{name} {value:.3g}" for name, value in found.constants.items())
    out.print(f"Best fit: {said} (mg/L of nitrogen, g/L of yeast).", markup=False, highlight=False)
    for note in found.honesty.notes:
        out.print(f"Note: {note}.", markup=False, highlight=False)
    out.print()
    out.print(caution("carbon dioxide").text, markup=False, highlight=False)
    if page:
        out.print(f"The picture: {page}", markup=False, highlight=False)


def write_forecast(found: Forecast, path: Path) -> None:
    """Write the readings, the band and the table of a forecast as one page."""
    chart = forecast_chart(found, forecast_headline(found))
    drawn = {"forecast": chart} if drawing.can_draw() else {}
    picture = parts.figure("forecast", chart.caption, drawing.to_svg(chart.spec)) if drawn else parts.note(drawing.HINT)
    told = parts.listing("Notes", found.honesty.notes)
    body = (picture, parts.table(found.to_table()), told, parts.caution(caution("carbon dioxide")))
    _write(forecast_headline(found), body, drawn, path, live=False)
