"""The sheets as one printable page of HTML: the same as on paper, without script and without style attributes."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Iterable
from html import escape

from linewright.answer.model import Answer
from linewright.report import words
from linewright.report.map.symbols import colour, shape
from linewright.report.palette import variables
from linewright.report.papers.paper import imprint
from linewright.report.papers.sheet import NO_HAZARD, SIGN_OFF, Sheet, SheetStep, check_rows, sheets

_STYLE = """
*{box-sizing:border-box}
body{margin:0;background:var(--lw-paper);color:var(--lw-ink);
 font:16px/1.45 system-ui,'Segoe UI',Helvetica,Arial,sans-serif;font-variant-numeric:tabular-nums}
.lw-sheet{max-width:1000px;margin:0 auto 28px;padding:28px 32px;background:var(--lw-card);
 border:1px solid var(--lw-line);break-after:page}
.lw-sheet:last-of-type{break-after:auto}
.lw-sheet h1{font-size:1.7rem;margin:.1em 0 .4em;line-height:1.2}
.lw-sheet h2{font-size:1.05rem;margin:1.4em 0 .4em}
.lw-top{display:flex;justify-content:space-between;color:var(--lw-soft);font-size:.9rem;margin:0}
.lw-facts{display:flex;flex-wrap:wrap;gap:.3em 2em;margin:0 0 1em;padding:.5em 0;border-block:1px solid var(--lw-line)}
.lw-facts dt{color:var(--lw-soft);font-size:.82rem}
.lw-facts dd{margin:0}
.lw-scroll{overflow-x:auto}
.lw-sheet table{border-collapse:collapse;width:100%}
.lw-sheet th{color:var(--lw-soft);font-weight:500;font-size:.85rem;text-align:left}
.lw-sheet th,.lw-sheet td{padding:.45em .7em .45em 0;border-bottom:1px solid var(--lw-line);vertical-align:top}
.lw-sheet tr{break-inside:avoid}
.lw-symbol svg{width:34px;height:34px;overflow:visible;display:block}
.lw-symbol text{font:600 11px system-ui,sans-serif;text-anchor:middle;fill:var(--lw-ink)}
.lw-sheet p{margin:.15em 0}
.lw-mind{border-left:3px solid var(--lw-setting-up);padding-left:.6em}
.lw-also,.lw-where{color:var(--lw-soft);font-size:.92rem}
.lw-hazards{color:var(--lw-bad);font-size:.92rem}
.lw-next{color:var(--lw-accent);font-size:.92rem}
.lw-check{display:grid;grid-template-columns:max-content 1fr;gap:.15em .9em;margin:.5em 0;padding:.5em .7em;
 background:var(--lw-inspection-fill);border-radius:3px;font-size:.95rem}
.lw-check dt{font-weight:600}
.lw-check dd{margin:0}
.lw-caution{border-left:3px solid var(--lw-limit);padding-left:.8em;margin:0 0 .8em;break-inside:avoid}
.lw-caution h3{font-size:1rem;margin:0;display:inline}
.lw-sign{break-inside:avoid}
.lw-sign td,.lw-sign th{border:1px solid var(--lw-soft);padding:.6em .7em;height:2.6em}
.lw-foot{color:var(--lw-soft);font-size:.82rem;margin-top:1.2em}
@media (max-width:700px){.lw-sheet{padding:16px 14px}.lw-sheet thead{display:none}
 .lw-steps tr{display:grid;grid-template-columns:48px 1fr}.lw-steps td{border:0}
 .lw-steps td:nth-child(n+3){grid-column:2}
 .lw-steps tr{border-bottom:1px solid var(--lw-line)}}
@media print{body{background:none;font-size:10pt}.lw-sheet{border:0;padding:0;margin:0;max-width:none}}
"""

_SYMBOLS = "".join(
    f".lw-symbol .{kind}{{fill:var(--lw-{kind}-fill);stroke:var(--lw-{kind});stroke-width:1.7}}"
    for kind in ("operation", "inspection", "transport", "delay", "storage")
)


def sheets_style() -> str:
    """The style sheet of the sheets, for a page that brings it as a file of its own."""
    return variables() + _STYLE.replace("\n", "") + _SYMBOLS


def sheets_html(
    answer: Answer, *, of: Iterable[str] = (), balanced: bool = True, stylesheet: str = "", head: str = ""
) -> str:
    """The sheets of an answer as one whole page, with a new printed page for each.

    It has no script and no style attribute. Its style stands inside it, allowed by its hash and nothing else; with
    ``stylesheet`` (an address) it is linked instead, as a server with a policy of its own wants it. ``head`` is more
    HTML of the caller for the page's head. ``of`` names the stations wanted, all where it is empty.
    """
    made = sheets(answer, of=of, balanced=balanced)
    if stylesheet:
        styled = f'<link rel="stylesheet" href="{escape(stylesheet, quote=True)}">'
    else:
        style = sheets_style()
        digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
        policy = f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
        styled = f'<meta http-equiv="Content-Security-Policy" content="{policy}"><style>{style}</style>'
    body = "".join(_sheet(answer, sheet, k, len(made)) for k, sheet in enumerate(made, start=1))
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1">{styled}{head}'
        f"<title>Sheets: {escape(answer.plan.name)}</title></head><body><main>{body}</main></body></html>\n"
    )


def _sheet(answer: Answer, sheet: Sheet, number: int, count: int) -> str:
    foot = imprint(answer)
    facts = "".join(f"<div><dt>{escape(name)}</dt><dd>{escape(value)}</dd></div>" for name, value in sheet.facts)
    heads = ("What to do", "Time", "Takes, for one", "Where, who, with")
    head = "<td></td>" + "".join(f'<th scope="col">{word}</th>' for word in heads)
    rows = "".join(_row(step) for step in sheet.steps)
    cautions = "".join(
        f'<div class="lw-caution"><h3>{escape(c.hazard[:1].upper() + c.hazard[1:])}</h3> '
        f'<span class="lw-where">{escape(words.listed(c.where))}</span><p>{escape(c.text)}</p></div>'
        for c in sheet.cautions
    )
    return (
        f'<article class="lw-sheet"><p class="lw-top"><span>{escape(answer.plan.name)}</span>'
        f"<span>sheet {number} of {count}</span></p><h1>{escape(sheet.title)}</h1>"
        f'<dl class="lw-facts">{facts}</dl><div class="lw-scroll"><table class="lw-steps">'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table></div><h2>What can hurt someone here</h2>"
        f"{cautions or f'<p>{NO_HAZARD}</p>'}{_sign_off()}"
        f'<p class="lw-foot">{escape(foot["plan"])} · plan {escape(foot["fingerprint"])} · '
        f"Linewright {escape(foot['version'])}</p></article>"
    )


def _row(shown: SheetStep) -> str:
    step = shown.step
    symbol = (
        f'<svg viewBox="-17 -17 34 34" role="img" aria-label="{escape(step.symbol)} {step.number}">'
        f'<g class="{colour(step.symbol)}">{shape(step.symbol, 0, 0)}</g><text y="4">{step.number}</text></svg>'
    )
    said = [f"<p><b>{escape(step.title)}</b></p>"]
    if step.mind:
        said.append(f'<p class="lw-mind">Mind: {escape(step.mind)}</p>')
    if step.also:
        said.append(f'<p class="lw-also">{escape(" ".join(step.also))}</p>')
    said.append(_check(shown))
    if shown.hazards:
        said.append(f'<p class="lw-hazards">Hazards: {escape(words.listed(shown.hazards))}</p>')
    if shown.goes_to:
        said.append(f'<p class="lw-next">→ {escape(shown.goes_to)}</p>')
    parts = "".join(
        f"<p><b>{escape(much)}</b> {escape(item)}{f' <span class=lw-also>({escape(more)})</span>' if more else ''}</p>"
        for much, item, more in shown.parts
    )
    by = "".join(f"<p>{escape(text)}</p>" for text in (shown.at, step.people, step.tools) if text)
    cells = ("".join(said), escape(step.time), parts, by)
    return f'<tr><td class="lw-symbol">{symbol}</td>{"".join(f"<td>{cell}</td>" for cell in cells)}</tr>'


def _check(shown: SheetStep) -> str:
    rows = "".join(
        f"<dt>{name}</dt><dd>{escape(value)}</dd>" for name, value in check_rows(shown) if value
    )  # fmt: skip
    return f'<dl class="lw-check">{rows}</dl>' if rows else ""


def _sign_off() -> str:
    head = "".join(f'<th scope="col">{word}</th>' for word in ("Before work starts", "Name", "Signature", "Date"))
    rows = "".join(f'<tr><th scope="row">{who}</th><td></td><td></td><td></td></tr>' for who in SIGN_OFF)
    return f'<table class="lw-sign"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'
