"""Times that follow from physics, drawn: the curve of each, with its target and the time at which it is reached."""

from __future__ import annotations

from typing import TYPE_CHECKING

from linewright.answer.followed import followed
from linewright.answer.model import Answer
from linewright.physics.outcome import Timed
from linewright.report import words
from linewright.report.blocks import Block, Grid, Picture
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT

if TYPE_CHECKING:
    from linewright.physics.forecast import Forecast

HEIGHT = 9  # rows of a chart


def curve_chart(timed: Timed, name: str, title: str) -> Chart:
    """The first series of a curve and those in its unit, over time; the target as a line, the time as a mark."""
    scale, unit = words.step_of(timed.curve.times[-1])
    first = timed.curve.series[0]
    high = max(abs(v) for v in first.values) or 1.0
    alike = (line for line in timed.curve.series if line.unit == first.unit)
    lines = [line for line in alike if max(abs(v) for v in line.values) > 0.05 * high]  # else it lies on the axis
    rows = [
        {"time": round(t / scale, 6), "value": round(v, 6), "what": line.name}
        for line in lines
        for t, v in zip(timed.curve.times, line.values, strict=True)
    ]
    colours = [LIGHT[c] for c in ("accent", "transport", "inspection")][: len(lines)]
    y_title = f"{first.name} [{first.unit}]" if first.unit else first.name
    if len(lines) > 1:
        y_title = f"[{first.unit}]"
    line: Spec = {
        "data": {"values": rows},
        "mark": {"type": "line", "strokeWidth": 2},
        "encoding": {
            "x": {"field": "time", "type": "quantitative", "title": f"time [{unit}]"},
            "y": {"field": "value", "type": "quantitative", "title": y_title, "axis": {"grid": True},
                  "scale": {"zero": False}},
            "color": {"field": "what", "type": "nominal",
                      "scale": {"domain": [s.name for s in lines], "range": colours},
                      "legend": None if len(lines) == 1 else {"symbolType": "stroke", "symbolStrokeWidth": 3}},
            "tooltip": [{"field": "what", "title": "what"}, {"field": "time", "title": unit, "format": ".3~f"},
                        {"field": "value", "title": first.unit or "value", "format": ".4~g"}],
        },
    }  # fmt: skip
    layers = [line]
    if timed.curve.target is not None:
        layers.append({"data": {"values": [{"goal": timed.curve.target}]},
                       "mark": {"type": "rule", "strokeDash": [5, 4]},
                       "encoding": {"y": {"field": "goal", "type": "quantitative"}}})  # fmt: skip
    caption = f"{timed.curve.title}: {words.seconds(timed.seconds)} to its end" if timed.seconds < float("inf") else (
        f"{timed.curve.title}: the end is never reached")  # fmt: skip
    return Chart(name, f"{title}. {caption}.", specification(f"{title}. {caption}", HEIGHT, layer=layers))


def forecast_chart(found: Forecast, caption: str) -> Chart:
    """Readings of a tank, the middle of the forecast, and the band of its interval."""
    course = {name: list(values) for name, values in found.course.items()}
    band = [
        {"day": round(h / 24, 4), "low": round(lo, 4), "middle": round(mid, 4), "high": round(hi, 4)}
        for h, lo, mid, hi in zip(course["hours"], course["low"], course["middle"], course["high"], strict=True)
    ]
    read = [{"day": round(h / 24, 4), "read": s} for h, s in zip(course["read_at"], course["read"], strict=True)]
    day = {"field": "day", "type": "quantitative", "title": "days after pitching"}
    layers: list[Spec] = [
        {"data": {"values": band}, "mark": {"type": "area", "opacity": 0.5, "color": LIGHT["operation-fill"]},
         "encoding": {"x": day, "y": {"field": "low", "type": "quantitative", "title": "sugar [g/L]"},
                      "y2": {"field": "high"}}},
        {"data": {"values": band}, "mark": {"type": "line", "color": LIGHT["accent"], "strokeWidth": 2},
         "encoding": {"x": day, "y": {"field": "middle", "type": "quantitative"}}},
        {"data": {"values": read}, "mark": {"type": "point", "filled": True, "color": LIGHT["ink"], "size": 40},
         "encoding": {"x": day, "y": {"field": "read", "type": "quantitative"}}},
    ]  # fmt: skip
    return Chart("forecast", f"{caption}.", specification(caption, HEIGHT, layer=layers))


def curves(answer: Answer) -> dict[str, Chart]:
    """A chart for each time of the plan that follows from physics, by name."""
    return {
        f"curve_{f.operation}_{f.which}": curve_chart(f.timed, f"curve_{f.operation}_{f.which}", f.name)
        for f in followed(answer.plan)
    }


def bodies(answer: Answer) -> tuple[Block, ...]:
    """Curve, outcomes and sensitivities of each time that follows from physics, as pieces of the page."""
    return tuple(
        piece
        for f in followed(answer.plan)
        for piece in (
            Picture(f"curve_{f.operation}_{f.which}"),
            Grid(f.to_table()),
            Grid(f.what_moves_it()),
        )
    )
