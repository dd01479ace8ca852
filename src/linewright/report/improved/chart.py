"""The chart of what would help most: the gain of every change with its interval."""

from __future__ import annotations

import math

from linewright.answer.model import Answer
from linewright.improve.model import Effect
from linewright.report import words
from linewright.report.chart import Chart, Spec, specification
from linewright.report.improved import tables
from linewright.report.palette import LIGHT

MOST = 24


def gains(answer: Answer) -> Chart | None:
    """Gains of the confirmed changes and, below them, of the others of the first round."""
    found = answer.improvement
    if found is None:
        return None
    sure = {e.candidate.what for e in found.confirmed}
    others = tuple(e for e in found.simulated if e.candidate.what not in sure)
    rows = [row for e in (*found.confirmed, *others)[:MOST] if (row := _row(e, again=e.candidate.what in sure))]
    if not rows:
        return None
    order = list(dict.fromkeys(row["change"] for row in rows))
    rounds = ["played again with fresh luck", "first round only"]
    y = {
        "field": "change", "type": "nominal", "sort": order, "title": None, "scale": {"domain": order},
        "axis": {"labelLimit": 340},
    }  # fmt: skip
    colour = {
        "field": "round", "type": "nominal",
        "scale": {"domain": rounds, "range": [LIGHT["working"], LIGHT["no-crew"]]},
    }  # fmt: skip
    x = {"type": "quantitative", "title": f"more {tables.unit(answer, found)} a day, flat out"}
    layer: list[Spec] = [
        {"mark": "rule", "encoding": {"x": {"datum": 0}}},
        {
            "mark": {"type": "bar", "height": 3},
            "encoding": {"y": y, "x": {"field": "low", **x}, "x2": {"field": "high"}, "color": colour},
        },
        {
            "mark": {"type": "point", "filled": True, "size": 70, "opacity": 1},
            "encoding": {
                "y": y, "x": {"field": "gain", **x}, "color": colour,
                "tooltip": [
                    {"field": "change"}, {"field": "said", "title": "more a day"},
                    {"field": "verdict", "title": "so it"}, {"field": "round"},
                ],
            },
        },
    ]  # fmt: skip
    caption = (
        "What each change brings, with intervals that hold for all of them together. One that touches the line at 0 "
        "cannot be told from nothing."
    )
    return Chart("gains", caption, specification(caption, len(order), data={"values": rows}, layer=layer))


def _row(effect: Effect, *, again: bool) -> Spec | None:
    gain = effect.gain
    if gain is None or not math.isfinite(gain.half_width):
        return None
    return {
        "change": words.in_sentence(effect.candidate.what), "gain": round(gain.mean, 4), "low": round(gain.low, 4),
        "high": round(gain.high, 4), "said": tables.gain(gain), "verdict": tables.SAID[effect.verdict],
        "round": "played again with fresh luck" if again else "first round only",
    }  # fmt: skip
