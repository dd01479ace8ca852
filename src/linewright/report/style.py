"""The look of the page: a document read from top to bottom, the questions in the margin, on screen and on paper."""

from __future__ import annotations

from linewright.report.palette import variables

_SHEET = """
*{box-sizing:border-box}
html{scroll-behavior:smooth}
body{margin:0;background:var(--lw-paper);color:var(--lw-ink);
 font:16px/1.55 system-ui,'Segoe UI',Helvetica,Arial,sans-serif;font-variant-numeric:tabular-nums}
.sheet{max-width:1320px;margin:0 auto;padding:44px 32px 80px}
h1,h2,.answer{font-family:'Iowan Old Style','Palatino Linotype',Palatino,Georgia,serif;font-weight:600;line-height:1.22}
h1{font-size:1.25rem;margin:0;color:var(--lw-soft);font-weight:500}
.answer{font-size:clamp(1.7rem,3.4vw,2.6rem);margin:.3em 0 .5em;max-width:28em;text-wrap:balance}
.said{font-size:1.2rem;margin:-.2em 0 .9em;max-width:44em}
.answer.unsure strong{color:var(--lw-inspection)}
.answer strong{font-weight:600;color:var(--lw-good)}
.answer.no strong{color:var(--lw-bad)}
.lead{max-width:46em;margin:0 0 1.4em;color:var(--lw-soft)}
nav{display:flex;flex-wrap:wrap;gap:.2em 1.5em;padding:.8em 0;border-block:1px solid var(--lw-line);font-size:.94rem}
a{color:var(--lw-accent);text-underline-offset:.18em;text-decoration-thickness:1px}
a:focus-visible,summary:focus-visible,[tabindex]:focus-visible{outline:2px solid var(--lw-accent);outline-offset:3px}
section{display:grid;grid-template-columns:210px minmax(0,1fr);gap:10px 44px;padding:46px 0 6px;
 border-bottom:1px solid var(--lw-line)}
section>header{position:sticky;top:20px;align-self:start;padding-bottom:24px}
section.wide{grid-template-columns:minmax(0,1fr)}
section.wide>header{position:static;padding:0}
h2{font-size:1.45rem;margin:0 0 .35em;text-wrap:balance}
header p{margin:0;color:var(--lw-soft);font-size:.95rem;max-width:44em}
h3{font-size:1rem;margin:0 0 .5em;font-weight:650}
.part{margin:0 0 34px;break-inside:avoid-page}
.scroll{overflow-x:auto}
.map{overflow-x:auto;margin:6px 0 30px}
.map svg{display:block;max-width:none;height:auto}
figure{margin:0 0 34px;break-inside:avoid}
figcaption{color:var(--lw-soft);font-size:.93rem;margin-bottom:.5em}
.chart{overflow-x:auto;min-height:40px}
.chart svg{max-width:100%;height:auto}
table{border-collapse:collapse;font-size:.94rem;line-height:1.4}
caption{text-align:left;font-weight:650;padding-bottom:.5em}
caption span{display:inline-block;max-width:calc(100vw - 36px);position:sticky;left:0}
th{font-weight:500;color:var(--lw-soft);text-align:left;vertical-align:bottom;font-size:.88rem}
th,td{padding:.34em 1.5em .34em 0;border-bottom:1px solid var(--lw-line)}
td{vertical-align:top;max-width:30em}
.num{text-align:right}
td.num,td.whole{white-space:nowrap}
td.long{min-width:11em}
td:first-child{min-width:8em}
tbody tr:hover td{background:var(--lw-faint)}
.total td{border-top:2px solid var(--lw-ink);font-weight:650}
.note{color:var(--lw-soft);font-size:.9rem;margin:.5em 0 0;max-width:46em}
.facts{display:grid;grid-template-columns:max-content 1fr;gap:.3em 1.4em;margin:0 0 30px}
.facts dt{color:var(--lw-soft)}
.facts dd{margin:0}
.chapters{columns:2 420px;column-gap:52px}
.chapter h3{font-size:1.08rem;margin:1.4em 0 .1em;color:var(--lw-accent);break-after:avoid}
.chapter:first-child h3{margin-top:0}
.chapter>p{margin:0 0 .7em;color:var(--lw-soft);font-size:.94rem;break-after:avoid}
.steps{list-style:none;margin:0;padding:0}
.step{display:grid;grid-template-columns:34px 1fr;gap:0 10px;margin:0 0 .85em;break-inside:avoid;scroll-margin:20px}
.step svg{width:34px;height:34px;overflow:visible}
.step b{font-weight:650}
.step text{font:600 11px system-ui,sans-serif;text-anchor:middle;fill:var(--lw-ink)}
.step p{margin:0;font-size:.95rem;line-height:1.45}
.step:target{background:var(--lw-faint);outline:6px solid var(--lw-faint);border-radius:2px}
.mind{color:var(--lw-ink);border-left:3px solid var(--lw-setting-up);padding-left:.6em;margin-top:.25em!important}
.hazards{color:var(--lw-bad);font-size:.9rem!important}
.caution{border-left:3px solid var(--lw-limit);padding:0 0 0 1em;margin:0 0 1.3em;max-width:48em;break-inside:avoid}
.caution h3{margin:0}
.caution p{margin:.2em 0 0}
.where{color:var(--lw-soft);font-size:.92rem}
.plainlist{margin:0;padding-left:1.2em;max-width:50em}
footer{padding-top:26px;color:var(--lw-soft);font-size:.88rem}
#vg-tooltip-element.vg-tooltip.custom-theme{background:var(--lw-card);color:var(--lw-ink);
 border:1px solid var(--lw-line);font:13px/1.4 system-ui,sans-serif}
#vg-tooltip-element.vg-tooltip.custom-theme td{border:0;padding:.1em .5em;max-width:24em;min-width:0;background:none}
#vg-tooltip-element.vg-tooltip.custom-theme td.key{color:var(--lw-soft);white-space:nowrap}
@media (max-width:560px){.facts{display:block}.facts dd{margin:0 0 .6em}}
@media screen and (max-width:640px){.chart svg{max-width:none;width:640px}}
@media (max-width:860px){.sheet{padding:24px 18px 60px}section{grid-template-columns:minmax(0,1fr)}
 section>header{position:static;padding-bottom:8px}}
@media print{html{font-size:9.5pt}body{font-size:9.5pt;background:none}table{font-size:8.5pt}
 tr{break-inside:avoid}caption,h2,h3,thead,header{break-after:avoid}tbody tr:first-child{break-before:avoid}
 .part{break-inside:auto;margin-bottom:16pt}th,td{padding:2pt 10pt 2pt 0}.step p{font-size:8.8pt}.answer{font-size:20pt}
 .sheet{max-width:none;padding:0}nav{display:none}
 section{display:block;padding:18pt 0 0}section>header{position:static;padding-bottom:8pt}
 .map svg{max-width:100%;height:auto}.map,.scroll,.chart{overflow:visible}a{color:inherit;text-decoration:none}
 .chapters{columns:2}}
"""

_SYMBOLS = "".join(
    f".step .{kind}{{fill:var(--lw-{kind}-fill);stroke:var(--lw-{kind});stroke-width:1.7}}"
    for kind in ("operation", "inspection", "transport", "delay", "storage")
)


def style_sheet() -> str:
    """The whole style sheet of a page."""
    return variables() + _SHEET.replace("\n", "") + _SYMBOLS
