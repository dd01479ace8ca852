"""A control chart shown: is it steady, which rule signals where, how often by chance alone, does it fit its limits."""

from __future__ import annotations

from collections.abc import Sequence

from linewright.base.results import Table, show
from linewright.quality.capability import Capability
from linewright.quality.charts.chart import Chart as Control
from linewright.quality.charts.chart import Track
from linewright.quality.charts.choose import chance_signals
from linewright.quality.charts.rules import Rule, false_alarm
from linewright.report import words
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT
from linewright.report.single import Single

DRAWN = 3000
"""Points of a track that are drawn at most; those outside the limits always are."""


def shown(
    chart: Control, rules: Sequence[Rule], steady: bool | None, silence: float | None, unit: str,
    capable: Capability | None,
) -> Single:  # fmt: skip
    """The chart and its verdict; ``silence``: points between false alarms; ``capable``: how it fits its limits."""
    tables = [limits(chart, unit), signals(chart), seen(rules)]
    if capable is not None:
        tables.append(capable.to_table())
    charts = tuple(_track(k, track, unit) for k, track in enumerate(chart.tracks))
    says = (_verdict(chart, steady), *_says(chart, rules, silence, capable))
    return Single("Is the process steady?", steady, says, tuple(tables), charts)


def _verdict(chart: Control, steady: bool | None) -> str:
    points = chart.tracks[0].values.size
    if steady:
        return f"Yes, nothing speaks against it in {points:,} points."
    first = min(int(where[0]) for t in chart.tracks for where in t.signals.values() if len(where))
    which = words.listed(dict.fromkeys(r for t in chart.tracks for r, where in t.signals.items() if len(where)))
    many = f"{chart.signals:,} signal{'s' if chart.signals != 1 else ''} in {points:,} points"
    begins = "No" if steady is False else "As steady as chance allows"
    return f"{begins}, {many}, the first at point {first + 1:,} ({which})."


def _says(chart: Control, rules: Sequence[Rule], silence: float | None, capable: Capability | None) -> tuple[str, ...]:
    judged = "by limits from these readings" if chart.phase == 1 else "by limits given beforehand"
    said = [f"Chart: {chart.kind}, {judged}. Centre {show(chart.known.mean)}, {_spread(chart)}."]
    if silence is not None:
        points = chart.tracks[0].values.size
        expected = chance_signals(rules, points)
        said.append(
            f"By chance alone a steady process first signals after {silence:,.0f} points on average, and in "
            f"{points:,} points at most {expected:,.{0 if expected >= 10 else 1}f} times."
        )
    if capable is not None:
        said.append(_fits(capable))
    return (*said, *(f"{note[:1].upper()}{note[1:]}." for note in chart.notes))


def _spread(chart: Control) -> str:
    if chart.kind.startswith(("share", "number", "fault")):
        return f"spread between points {show(chart.known.sd)} times that of chance"
    return f"standard deviation {show(chart.known.sd)}"


def _fits(capable: Capability) -> str:
    index = capable.index("Ppk")
    outside = capable.outside
    share = f"{words.share(outside.total)} outside ({words.share(outside.low)} to {words.share(outside.high)})"
    if index is None:
        return f"Against its limits: {share}."
    return f"Against its limits: Ppk {index.value:.2f} ({index.low:.2f} to {index.high:.2f}), {share}."


def limits(chart: Control, unit: str) -> Table:
    """Centre and limits of each track, at the first point and, where they vary, at the last."""
    of = f" [{unit}]" if unit else ""
    rows = []
    for t in chart.tracks:
        rows.append((t.name, float(t.lower[0]), float(t.centre[0]), float(t.upper[0]), t.values.size, int(t.out.size)))
    columns = ("track", f"lower limit{of}", f"centre{of}", f"upper limit{of}", "points", "outside")
    vary = any(t.upper[0] != t.upper[-1] or t.lower[0] != t.lower[-1] for t in chart.tracks)
    return Table("Limits", columns, tuple(rows), "Limits vary from point to point; those of the first." if vary else "")


def signals(chart: Control, most: int = 12) -> Table:
    """Where each rule signals."""
    rows = []
    for t in chart.tracks:
        for rule, where in t.signals.items():
            if len(where):
                told = ", ".join(f"{int(i) + 1:,}" for i in where[:most])
                rows.append((t.name, rule, len(where), told + (", ..." if len(where) > most else "")))
    return Table("Signals", ("track", "rule", "times", "at points"), tuple(rows))


def seen(rules: Sequence[Rule]) -> Table:
    """The rules looked for."""
    rows = tuple((r.name, r.sees, f"{100 * false_alarm(r):.2g} %") for r in rules)
    note = "False alarms: of the points of a steady, normal process, each rule alone." if rows else ""
    return Table("What was looked for", ("rule", "what it sees", "false alarms"), rows, note)


def _track(k: int, track: Track, unit: str) -> Chart:
    flagged = {int(i) for where in track.signals.values() for i in where.tolist()}
    kept = track.points(DRAWN)
    there = {int(point["index"]) for point in kept}
    values = [
        {
            "point": int(p["index"]) + 1,
            **{name: float(f"{p[name]:.6g}") for name in ("value", "centre", "lower", "upper")},
            "signal": int(p["index"]) in flagged,
        }
        for p in kept
    ]
    crowded = len(there) > 400
    x = {"field": "point", "type": "quantitative", "title": "point", "axis": {"grid": False, "tickMinStep": 1}}
    title = f"{track.name} [{unit}]" if unit and k == 0 else track.name
    scale = {"zero": False, "nice": True}
    y = {"field": "value", "type": "quantitative", "title": title, "scale": scale}
    step = {"type": "line", "interpolate": "step"}
    tip = [{"field": "point"}, {"field": "value", "format": ",.5~g"}, {"field": "signal"}]
    colour = {"condition": {"test": "datum.signal", "value": LIGHT["down"]}, "value": LIGHT["working"]}
    layer: list[Spec] = [
        {"mark": {**step, "color": LIGHT["limit"], "strokeWidth": 1.2},
         "encoding": {"x": x, "y": {**y, "field": name}}}
        for name in ("lower", "upper")
    ]  # fmt: skip
    layer.append({"mark": {**step, "color": LIGHT["wire"]}, "encoding": {"x": x, "y": {**y, "field": "centre"}}})
    layer.append({"mark": {"type": "line", "color": LIGHT["working"], "strokeWidth": 0.6 if crowded else 1.2},
                  "encoding": {"x": x, "y": y}})  # fmt: skip
    layer.append(
        {"mark": {"type": "point", "filled": True, "opacity": 1, "size": 14 if crowded else 42},
         **({"transform": [{"filter": "datum.signal"}]} if crowded else {}),
         "encoding": {"x": x, "y": y, "color": colour, "tooltip": tip}}
    )  # fmt: skip
    thinned = f" Of {track.values.size:,} points the highest and lowest of each stretch are drawn." if crowded else ""
    caption = f"{track.name[:1].upper()}{track.name[1:]} with its limits; signals are red.{thinned}"
    spec = specification(caption, 9, data={"values": values}, layer=layer)
    return Chart(f"track{k}", caption, spec)
