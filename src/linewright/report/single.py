"""One result on its own, without a plan: a few sentences, tables and charts, for the terminal or as a page."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape
from pathlib import Path

from linewright import __version__
from linewright.base.results import Table
from linewright.report import drawing, parts
from linewright.report.chart import Chart
from linewright.report.html import POLICY
from linewright.report.style import style_sheet


@dataclass(frozen=True, slots=True)
class Single:
    """What is shown: the question, whether the answer is yes (None: it is no such question), the answer in sentences
    with the shortest first, then tables, charts and lines to paste into a plan.
    """

    question: str
    good: bool | None
    says: tuple[str, ...]
    tables: tuple[Table, ...] = ()
    charts: tuple[Chart, ...] = ()
    paste: tuple[str, ...] = ()


def print_single(single: Single, page: str | None = None) -> None:
    """Print a result; ``page`` is the path of the HTML page, said last."""
    from rich.console import Console
    from rich.panel import Panel
    from rich.text import Text

    from linewright.report import grid

    out = Console()
    colour = {True: "bold green", False: "bold red", None: "bold"}[single.good]
    said = Text("\n").join(
        [Text(single.says[0], colour), *(Text(sentence) for sentence in single.says[1:])] if single.says else []
    )
    out.print()
    out.print(Panel(said, title=Text(single.question, "bold"), title_align="left", border_style="dim"))
    for table in single.tables:
        if table.rows:
            out.print()
            out.print(grid.drawn(grid.top(table)))
    if single.paste:
        out.print()
        out.print(Text("For the plan", "bold"))
        for line in single.paste:
            out.print(Text(line), soft_wrap=True)
    if page:
        out.print()
        out.print(Text.assemble("With its picture: ", (page, "bold")))


def write_single(single: Single, path: str | Path, *, live: bool = True) -> None:
    """Write a result as one HTML page that needs nothing else."""
    Path(path).write_text(single_html(single, live=live), encoding="utf-8")


def single_html(single: Single, *, live: bool = True) -> str:
    """The page of a result as text."""
    charts = {chart.name: chart for chart in single.charts} if drawing.can_draw() else {}
    svgs = drawing.drawn_for_page(charts, live=live)
    figures = [parts.figure(name, chart.caption, svgs[name]) for name, chart in charts.items()]
    head, rest = (single.says[0], single.says[1:]) if single.says else ("", ())
    kind = "answer no" if single.good is False else "answer"
    verdict = f"<strong>{escape(head)}</strong>" if single.good is not None else escape(head)
    lines = f'<div class="scroll"><pre>{escape(chr(10).join(single.paste))}</pre></div>'
    paste = f'<div class="part"><h3>For the plan</h3>{lines}</div>'
    body = "".join(
        [
            f'<p class="{kind}">{verdict}</p>',
            *(f'<p class="lead">{escape(sentence)}</p>' for sentence in rest),
            *figures,
            *(parts.table(table) for table in single.tables),
            paste if single.paste else "",
        ]
    )
    hint = "" if drawing.can_draw() else f" {drawing.HINT}"
    scripts = drawing.live_script(charts) if live and charts else ""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<title>{escape(single.question)}</title><style>{style_sheet()}</style></head>"
        f'<body><main class="sheet"><h1>{escape(single.question)}</h1>{body}'
        f"<footer>Made by Linewright {__version__}.{escape(hint)}</footer></main>{scripts}</body></html>\n"
    )
