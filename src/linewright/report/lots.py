"""How many to make at once, in words, as a table and as a curve."""

from __future__ import annotations

from linewright.answer.model import Answer
from linewright.base.results import Table, show
from linewright.cost.lot import Lot
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT
from linewright.report.words import name_of

MOST = 6
"""Routes that the curve shows, those that would save most."""


def in_short(answer: Answer) -> tuple[str, ...]:
    """One sentence a route whose lot matters, the one that saves most first."""
    money = answer.cost.money
    return tuple(
        f"{_name(answer, lot)}: a changeover costs {lot.setup:,.2f} {money}. In lots of {show(_round(lot.best.lot))} "
        f"changeovers and stock cost least, {lot.best.total:,.0f} {money} a year; {_now(lot)} they cost "
        f"{lot.now.total:,.0f}. Twice or half the lot costs a quarter more."
        for lot in _told(answer)
    )


def table(answer: Answer) -> Table:
    """One row a route: the lot now and the one that costs least."""
    money = answer.cost.money
    rows = tuple(
        (
            _name(answer, lot), f"{lot.setup:,.2f}", f"{lot.value:,.2f}", _now(lot), f"{lot.now.total:,.0f}",
            show(_round(lot.best.lot)), f"{lot.best.total:,.0f}",
        )
        for lot in _told(answer)
    )  # fmt: skip
    columns = ("made", f"a changeover [{money}]", f"value of one [{money}]", "now", f"a year [{money}]",
               "least-cost lot", f"a year then [{money}]")  # fmt: skip
    note = "Of even demand, by Harris (1913) with the pace of making. Whether the hours suffice is for the rate to say."
    return Table("How many to make at once", columns, rows, note)


def curve(answer: Answer) -> Chart | None:
    """What changeovers and stock cost a year, by the lot; the present lot marked."""
    lots = _told(answer)[:MOST]
    if not lots:
        return None
    values: list[Spec] = []
    for lot in lots:
        points = sorted([*lot.curve, lot.now, lot.best], key=lambda p: p.lot)
        low, high = lot.curve[0].lot, lot.curve[-1].lot
        values += [
            {"made": _name(answer, lot), "lot": p.lot, "cost": p.total, "mark": _mark(lot, p.lot)}
            for p in points
            if low <= p.lot <= high
        ]
    colours = [LIGHT[name] for name in ("working", "setting-up", "moving", "start-up", "cleaning", "short")]
    base: Spec = {
        "x": {"field": "lot", "type": "quantitative", "title": "lot", "scale": {"type": "log"}},
        "y": {"field": "cost", "type": "quantitative", "title": f"changeovers and stock a year [{answer.cost.money}]"},
        "color": {"field": "made", "type": "nominal", "scale": {"range": colours}},
    }
    line: Spec = {"mark": "line", "encoding": base}
    marks: Spec = {
        "mark": {"type": "point", "filled": True, "size": 70},
        "transform": [{"filter": "datum.mark != ''"}],
        "encoding": {**base, "shape": {"field": "mark", "type": "nominal", "scale": {"domain": ["now", "least"]}}},
    }
    caption = (
        "What changeovers and stock cost in a year, by how many are made at once; the present lot and the cheapest."
    )
    spec = specification(caption, 0, data={"values": values}, layer=[line, marks])
    return Chart("lots", caption, {**spec, "height": 220})


def _told(answer: Answer) -> list[Lot]:
    return sorted(answer.cost.lots, key=lambda lot: -lot.saves)


def _mark(lot: Lot, size: float) -> str:
    return "now" if size == lot.now.lot else ("least" if size == lot.best.lot else "")


def _name(answer: Answer, lot: Lot) -> str:
    """The item's name; of a variant with its values."""
    id, bracket, values = lot.item.partition(" [")
    return name_of(id, answer.plan.items[id].name) + bracket + values


def _now(lot: Lot) -> str:
    return f"in lots of {show(_round(lot.now.lot))}" if lot.written else "as they follow each other now"


def _round(lot: float) -> float:
    return float(f"{lot:.2g}") if lot < 100 else float(f"{lot:.3g}")
