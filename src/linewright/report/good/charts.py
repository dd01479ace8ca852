"""Charts of the quality of a plan: faults from made to the customer, what a scale sees, the rate while learning."""

from __future__ import annotations

from linewright.answer.model import Answer
from linewright.answer.quality.model import KitCount
from linewright.report import words
from linewright.report.chart import Chart, Spec, specification
from linewright.report.good import tables
from linewright.report.palette import LIGHT
from linewright.report.tables import item_names

FEWEST = 1.0
"""Of a million: fewer are drawn at the end of the scale."""


def faults(answer: Answer) -> Chart | None:
    """Every fault as a line from how often it is made to how often it reaches the customer, on a scale of tenfolds."""
    ways = [w for w in answer.quality.ways if w.made > 0][:20]
    if not ways:
        return None
    values = [
        {"fault": w.fault, "made": round(w.made, 4), "left": round(max(w.escapes, FEWEST), 4),
         "said": tables.of_million(w.escapes), "found": tables.found_in_time(w.found)}
        for w in ways
    ]  # fmt: skip
    low, high = min(float(str(v["left"])) for v in values), max(w.made for w in ways)
    ticks = [10.0**k for k in range(-1, 7) if low / 3 <= 10.0**k <= 3 * high]
    scale = {"type": "log", "nice": False, "domain": [low / 3, 1.5 * high]}
    y = {"field": "fault", "type": "nominal", "sort": [w.fault for w in ways], "title": None}
    axis = {"format": ",.7~g", "grid": True, "values": ticks}
    title = f"of a million {tables.product(answer)}, each step ten times more"
    x: Spec = {"field": "left", "type": "quantitative", "scale": scale, "title": title, "axis": axis}
    tip = [
        {"field": "fault"}, {"field": "made", "title": "made", "format": ",.0f"},
        {"field": "found", "title": "found in time"}, {"field": "said", "title": "reach the customer"},
    ]  # fmt: skip
    layer: list[Spec] = [
        {"mark": {"type": "rule", "color": LIGHT["standing"], "strokeWidth": 5},
         "encoding": {"y": y, "x": x, "x2": {"field": "made"}, "tooltip": tip}},
        {"mark": {"type": "point", "filled": False, "size": 70, "color": LIGHT["working"], "strokeWidth": 2},
         "encoding": {"y": y, "x": {**x, "field": "made"}, "tooltip": tip}},
        {"mark": {"type": "point", "filled": True, "size": 110, "color": LIGHT["down"], "opacity": 1},
         "encoding": {"y": y, "x": x, "tooltip": tip}},
        {"mark": {"type": "text", "align": "right", "dx": -10},
         "encoding": {"y": y, "x": x, "text": {"field": "said"}}},
    ]  # fmt: skip
    caption = (
        "How often each fault is made (ring) and how often it reaches the customer (dot). A long line is a good check; "
        "a ring on its dot is a fault that nobody finds."
    )
    return Chart("faults", caption, specification(caption, len(ways), data={"values": values}, layer=layer))


def kit(answer: Answer) -> Chart | None:
    """What the scale sees of each missing part of the first kit that is counted by weight."""
    if not answer.quality.kits:
        return None
    return kit_chart(answer.quality.kits[0], item_names(answer))


def kit_chart(count: KitCount, names: dict[str, str]) -> Chart:
    """Bars of the chance that one missing part is seen, the least visible first."""
    values = [
        {"part": words.name_of(f.part, names.get(f.part, "")), "seen": round(100 * (1 - f.passes), 3),
         "hidden": f.part in count.kit.hidden}
        for f in sorted(count.kit.faults, key=lambda f: -f.passes)
        if f.fault == "one missing"
    ]  # fmt: skip
    y = {"field": "part", "type": "nominal", "sort": [v["part"] for v in values], "title": None}
    x = {"field": "seen", "type": "quantitative", "title": "one missing is seen [%]", "scale": {"domain": [0, 100]}}
    colour = {"condition": {"test": "datum.hidden", "value": LIGHT["down"]}, "value": LIGHT["working"]}
    layer: list[Spec] = [
        {"mark": "bar", "encoding": {"y": y, "x": x, "color": colour}},
        {"mark": {"type": "text", "align": "left", "dx": 4},
         "encoding": {"y": y, "x": x, "text": {"field": "seen", "type": "quantitative", "format": ".0f"}}},
    ]  # fmt: skip
    caption = (
        f"How often the scale sees one part missing, accepting {count.kit.low:,.1f} to {count.kit.high:,.1f} g. Parts "
        f"in red are hidden: they are missed more often than {words.share(count.kit.allowed)} of the time."
    )
    return Chart("kit", caption, specification(caption, len(values), data={"values": values}, layer=layer))


def learning(answer: Answer) -> Chart | None:
    """The greatest rate of each day while the work is learned, against the demand."""
    ramp = answer.quality.ramp
    if ramp is None:
        return None
    days = len(ramp.daily) // len(ramp.rates)
    last = max((k for k, rate in enumerate(ramp.daily) if rate < 0.995 * ramp.standard), default=0)
    shown = ramp.daily[: max(4 * days, last + 1 + days)]
    values = [{"day": k + 1, "week": k // days + 1, "rate": round(rate, 4)} for k, rate in enumerate(shown)]
    ends = list(range(days, len(shown) + 1, days))
    x = {
        "field": "day",
        "type": "quantitative",
        "title": "working day; a line ends each week",
        "axis": {"values": ends, "grid": True},
    }
    y = {"field": "rate", "type": "quantitative", "title": "at most that day"}
    tip = [{"field": "day"}, {"field": "week"}, {"field": "rate", "title": "at most", "format": ",.4~g"}]
    layer: list[Spec] = [
        {"mark": {"type": "area", "color": LIGHT["operation-fill"]}, "encoding": {"x": x, "y": y}},
        {"mark": {"type": "line", "color": LIGHT["working"], "point": {"filled": True, "color": LIGHT["working"]}},
         "encoding": {"x": x, "y": y, "tooltip": tip}},
        {"mark": "rule", "encoding": {"y": {"datum": round(ramp.demand, 4)}}},
    ]  # fmt: skip
    spec = specification(learning_in_words(answer), 7, data={"values": values}, layer=layer)
    return Chart("learning", learning_in_words(answer), spec)


def learning_in_words(answer: Answer) -> str:
    """How long it takes to come up to the demand, and what is missed until then."""
    ramp = answer.quality.ramp
    assert ramp is not None
    head = "The greatest rate of each day while the work is learned, by the loads alone; the line is the demand. "
    if ramp.weeks_to_demand == 1:
        return f"{head}The demand is in reach from the first week on."
    what, missed = tables.product(answer), tables.of_million(ramp.short)
    if ramp.weeks_to_demand is None:
        return f"{head}The demand is not reached in these weeks; {missed} {what} are missed."
    return f"{head}It holds from week {ramp.weeks_to_demand} on; until then at least {missed} {what} are missed."
