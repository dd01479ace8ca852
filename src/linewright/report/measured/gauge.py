"""A gauge study shown: can it tell the parts apart, does it read right, do the inspectors agree with the truth?"""

from __future__ import annotations

from collections.abc import Sequence

from linewright.base.results import Table, show
from linewright.quality.gauge import GaugeStudy, InspectorStudy, Linearity
from linewright.quality.gauge.crossed import ENOUGH
from linewright.report import words
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT
from linewright.report.single import Single


def shown(study: GaugeStudy, parts: Sequence[str], people: Sequence[str], readings: Sequence[float]) -> Single:
    """A crossed study."""
    says = _says(study)
    tables = (_parts(study), study.anova_table()) if study.anova else (_parts(study),)
    charts = (_spread(study), _readings(parts, people, readings))
    return Single("Can the gauge tell the parts apart?", study.serves, says, tables, charts)


def _says(study: GaugeStudy) -> tuple[str, ...]:
    gauge = study.part("gauge")
    begins = "Yes" if study.serves else "No"
    groups = f"{study.categories} group{'s' if study.categories != 1 else ''}"
    said = [f"{begins}, it tells {groups} of parts apart; {ENOUGH} are asked of a gauge that controls a process."]
    between = f" ({show(gauge.low)} to {show(gauge.high)})" if gauge.low is not None and gauge.high is not None else ""
    said.append(
        f"The gauge's standard deviation is {show(gauge.sd)}{between}, {words.share(gauge.share_of_total)} of "
        "the total spread."
    )
    if study.share_of_tolerance is not None:
        said.append(f"Six of them take {words.share(study.share_of_tolerance)} of the tolerance.")
    repeat, between_people = study.part("repeatability").sd, study.part("reproducibility").sd
    more = "the gauge itself (repeatability)" if repeat >= between_people else "the inspectors (reproducibility)"
    said.append(f"More of it comes from {more}.")
    return (*said, *(f"{note[:1].upper()}{note[1:]}." for note in study.notes))


def _parts(study: GaugeStudy) -> Table:
    rows = tuple(
        (
            p.name,
            p.sd,
            None if p.low is None else p.low,
            None if p.high is None else p.high,
            words.share(p.share_of_total),
        )
        for p in study.parts
    )
    columns = ("part of the spread", "standard deviation", "low", "high", "of the total")
    note = (
        f"By {study.method}. Low and high: {study.level:.0%} interval. Shares are of standard deviations: they do not "
    )
    return Table("Where the spread comes from", columns, rows, note + "add up.")


def _spread(study: GaugeStudy) -> Chart:
    kept = [p for p in study.parts if p.name != "total"]
    values = [{"part": p.name, "share": round(100 * p.share_of_total, 3), "sd": float(f"{p.sd:.5g}")} for p in kept]
    y = {"field": "part", "type": "nominal", "sort": [p.name for p in kept], "title": None}
    x = {"field": "share", "type": "quantitative", "title": "of the total standard deviation [%]"}
    layer: list[Spec] = [
        {"mark": {"type": "bar", "color": LIGHT["working"]},
         "encoding": {"y": y, "x": x, "tooltip": [{"field": "part"}, {"field": "sd", "title": "standard deviation"}]}},
    ]  # fmt: skip
    caption = "Where the spread of the readings comes from, as shares of the total standard deviation."
    return Chart("spread", caption, specification(caption, len(kept), data={"values": values}, layer=layer))


def _readings(parts: Sequence[str], people: Sequence[str], readings: Sequence[float]) -> Chart:
    values = [
        {"part": part, "inspector": who, "value": float(v)}
        for part, who, v in zip(parts, people, readings, strict=True)
    ][:2000]
    names = list(dict.fromkeys(people))
    colours = [LIGHT[c] for c in ("working", "moving", "setting-up", "start-up", "cleaning", "down")]
    x = {"field": "part", "type": "nominal", "title": "part", "sort": None, "axis": {"labelAngle": 0}}
    y = {"field": "value", "type": "quantitative", "title": "reading", "scale": {"zero": False}}
    colour = {"field": "inspector", "type": "nominal",
              "scale": {"domain": names, "range": [colours[k % len(colours)] for k in range(len(names))]}}  # fmt: skip
    mark = {"mark": {"type": "point", "filled": True, "size": 40, "opacity": 0.8},
            "encoding": {"x": x, "y": y, "color": colour, "xOffset": {"field": "inspector"}}}  # fmt: skip
    caption = "Every reading by part and inspector: near together within a part is a good gauge."
    return Chart("readings", caption, specification(caption, 10, data={"values": values}, layer=[mark]))


def shown_linearity(found: Linearity) -> Single:
    """Bias over the gauge's range."""
    slope, at_zero = found.slope, found.intercept
    begins = "Yes, nothing speaks against it" if found.linear else "No, its bias is more than chance"
    says = (
        f"{begins}.",
        f"Bias = {show(at_zero.mean)} + {show(slope.mean)} x reference; slope {show(slope.low)} to {show(slope.high)} "
        f"(p {found.slope_p:.3f}), intercept {show(at_zero.low)} to {show(at_zero.high)} (p {found.intercept_p:.3f}).",
    )
    values = [
        {"reference": r, "bias": float(f"{b:.6g}"), "low": float(f"{low:.6g}"), "high": float(f"{high:.6g}")}
        for r, b, (low, high) in zip(found.references, found.biases, found.bands, strict=True)
    ]
    x = {"field": "reference", "type": "quantitative", "scale": {"zero": False}, "axis": {"grid": False}}
    y = {"field": "bias", "type": "quantitative", "title": "bias"}
    layer: list[Spec] = [
        {"mark": {"type": "area", "color": LIGHT["operation-fill"]},
         "encoding": {"x": x, "y": {**y, "field": "low"}, "y2": {"field": "high"}}},
        {"mark": {"type": "point", "filled": True, "size": 60, "color": LIGHT["working"]},
         "encoding": {"x": x, "y": y}},
        {"mark": "rule", "encoding": {"y": {"datum": 0}}},
    ]  # fmt: skip
    caption = "Mean bias at each reference, and the band of the fitted line."
    chart = Chart("bias", caption, specification(caption, 9, data={"values": values}, layer=layer))
    return Single("Does the gauge read right?", found.linear, says, (found.to_table(),), (chart,))


def shown_verdicts(study: InspectorStudy) -> Single:
    """Inspectors against the truth."""
    worst = min(study.inspectors, key=lambda i: i.finds[0])
    loudest = max(study.inspectors, key=lambda i: i.false_alarms[0])
    says = (
        f"{worst.name} finds the fewest: {_interval(worst.finds)} of faulty looks. {loudest.name} cries wolf most: "
        f"{_interval(loudest.false_alarms)} of good looks.",
        f"All inspectors are right every time on {_interval(study.all_right)} of the pieces.",
    )
    rows = tuple(
        (i.name, i.pieces, _interval(i.finds), _interval(i.false_alarms), _interval(i.right), _interval(i.with_self))
        for i in study.inspectors
    )
    columns = ("inspector", "pieces", "finds", "false alarms", "right every time", "alike every time")
    table = Table(
        "Inspectors against the truth", columns, rows, f"In brackets the {study.level:.0%} interval (Wilson)."
    )
    paste = tuple(
        f'# {i.name}: finds = {{ "..." = "{_percent(i.finds[0])}" }}, false_alarms = "{_percent(i.false_alarms[0])}"'
        for i in study.inspectors
    )
    values = [
        {"inspector": i.name, "what": what, "share": round(100 * v[0], 3), "low": round(100 * v[1], 3),
         "high": round(100 * v[2], 3)}
        for i in study.inspectors for what, v in (("finds", i.finds), ("false alarms", i.false_alarms))
    ]  # fmt: skip
    y = {"field": "inspector", "type": "nominal", "title": None}
    x = {"field": "share", "type": "quantitative", "title": "of the looks [%]", "scale": {"domain": [0, 100]}}
    colour = {"field": "what", "type": "nominal",
              "scale": {"domain": ["finds", "false alarms"], "range": [LIGHT["working"], LIGHT["down"]]}}  # fmt: skip
    layer: list[Spec] = [
        {"mark": {"type": "rule", "strokeWidth": 2},
         "encoding": {"y": y, "yOffset": {"field": "what"}, "x": {**x, "field": "low"}, "x2": {"field": "high"},
                      "color": colour}},
        {"mark": {"type": "point", "filled": True, "size": 70, "opacity": 1},
         "encoding": {"y": y, "yOffset": {"field": "what"}, "x": x, "color": colour}},
    ]  # fmt: skip
    caption = "What each inspector finds and how often each cries wolf, with 95 % intervals."
    rows_drawn = 2 * len(study.inspectors)
    chart = Chart("verdicts", caption, specification(caption, rows_drawn, data={"values": values}, layer=layer))
    return Single("How well do inspectors find faults?", None, says, (table,), (chart,), paste)


def _interval(value: tuple[float, float, float]) -> str:
    return f"{words.share(value[0])} ({words.share(value[1])} to {words.share(value[2])})"


def _percent(share: float) -> str:
    return f"{100 * share:.3g} %"
