"""A sampling plan shown: what it takes, what it lets through, its curves."""

from __future__ import annotations

from dataclasses import dataclass

from linewright.base.results import Table
from linewright.quality.sampling import Curve, DoublePlan, MeasuredPlan, SinglePlan
from linewright.report import words
from linewright.report.chart import Chart, Spec, specification
from linewright.report.good.tables import found_in_time
from linewright.report.palette import LIGHT
from linewright.report.single import Single

AttributePlan = SinglePlan | DoublePlan


@dataclass(frozen=True, slots=True)
class Asked:
    """What was asked for: two points of the curve (share, risk), or a lot with its code letter and AQL in percent."""

    good: tuple[float, float] | None = None
    bad: tuple[float, float] | None = None
    lot: int | None = None
    letter: str = ""
    aql: float | None = None
    severity: str = ""


def shown(plan: AttributePlan, asked: Asked, curve: Curve, points: Curve, worst: tuple[float, float] | None) -> Single:
    """A plan by counting faulty units. ``curve`` is for the picture, ``points`` for the table."""
    charts = [_accepted(curve, asked)]
    if curve.outgoing:
        charts += [
            _line("outgoing", curve, curve.outgoing, "average outgoing share [%]", 100.0,
                  "What goes out on average, refused lots being sorted."),
            _line("inspected", curve, curve.inspected, "units looked at in a lot", 1.0,
                  "How many units of a lot are looked at on average, refused lots being sorted."),
        ]  # fmt: skip
    says = [_plan_in_words(plan), *_why(asked)]
    if worst is not None:
        said = f"{words.share(worst[0])} faulty, where {words.share(worst[1])} come in"
        says.append(f"Refused lots being sorted, no more goes out on average than {said}.")
    return Single("How many to look at?", None, tuple(says), (_table(points),), tuple(charts))


def shown_measured(plan: MeasuredPlan, asked: Asked, shares: list[float], accepted: list[float]) -> Single:
    """A plan by measurement; chances of acceptance at some shares faulty."""
    known = "known" if plan.known_sd else "of the sample"
    first = (
        f"Measure {plan.n} units; accept where the mean lies at least {plan.k:.3f} standard deviations ({known}) "
        "inside the limit."
    )
    rows = tuple((words.share(p), found_in_time(a)) for p, a in zip(shares, accepted, strict=True))
    table = Table("What it lets through", ("faulty in the lot", "lots accepted"), rows)
    note = "For one limit and readings near normal: draw them on a chart first."
    picture = [
        {"faulty": round(100 * p, 5), "accepted": round(100 * a, 4)} for p, a in zip(shares, accepted, strict=True)
    ]
    chart = _curve("accepted", picture, "accepted", "lots accepted [%]", _points(asked), "How often a lot is accepted.")
    return Single("How many to measure?", None, (first, *_why(asked), note), (table,), (chart,))


def _plan_in_words(plan: AttributePlan) -> str:
    if isinstance(plan, SinglePlan):
        allowed = "none is faulty" if plan.c == 0 else f"at most {plan.c} {'is' if plan.c == 1 else 'are'} faulty"
        return f"Look at {plan.n} units; accept the lot if {allowed}."
    first = f"Look at {plan.n1} units: accept with {plan.c1} faulty or fewer, refuse with {plan.r1} or more"
    return f"{first}; between, look at {plan.n2} more and accept with {plan.c2} or fewer in all."


def _why(asked: Asked) -> list[str]:
    said = []
    if asked.good is not None and asked.bad is not None:
        (good, producer), (bad, consumer) = asked.good, asked.bad
        said.append(
            f"Lots with {words.share(good)} faulty are refused at most {words.share(producer)} of the time, lots with "
            f"{words.share(bad)} accepted at most {words.share(consumer)}."
        )
    if asked.letter:
        said.append(
            f"By ISO 2859-1: code letter {asked.letter} for a lot of {asked.lot:,}, AQL {asked.aql:g} %, "
            f"{asked.severity} inspection. Use it with the standard's switching rules."
        )
    return said


def _table(points: Curve) -> Table:
    lots = bool(points.outgoing)
    rows = []
    for k, share in enumerate(points.faulty):
        row: list[object] = [words.share(share), found_in_time(points.accepted[k]), points.sampled[k]]
        if lots:
            row += [words.share(points.outgoing[k]), round(points.inspected[k])]
        rows.append(tuple(row))
    columns = ["faulty in the lot", "lots accepted", "units in the sample"]
    columns += ["goes out faulty", "units looked at"] if lots else []
    return Table("What it lets through", tuple(columns), tuple(rows))


def _points(asked: Asked) -> list[Spec]:
    points = []
    if asked.good is not None and asked.bad is not None:
        (good, producer), (bad, consumer) = asked.good, asked.bad
        points = [
            {"faulty": 100 * good, "accepted": 100 * (1 - producer)},
            {"faulty": 100 * bad, "accepted": 100 * consumer},
        ]
    return points


def _accepted(curve: Curve, asked: Asked) -> Chart:
    values = [
        {"faulty": round(100 * p, 5), "accepted": round(100 * a, 4)}
        for p, a in zip(curve.faulty, curve.accepted, strict=True)
    ]
    caption = "How often a lot is accepted, by the share faulty in it."
    points = _points(asked)
    said = f"{caption} Dots: the two points asked for." if points else caption
    return _curve("accepted", values, "accepted", "lots accepted [%]", points, said)


def _line(name: str, curve: Curve, values: tuple[float, ...], title: str, factor: float, caption: str) -> Chart:
    rows = [
        {"faulty": round(100 * p, 5), name: round(factor * v, 6)} for p, v in zip(curve.faulty, values, strict=True)
    ]
    return _curve(name, rows, name, title, [], caption)


def _curve(name: str, values: list[Spec], field: str, title: str, points: list[Spec], caption: str) -> Chart:
    x = {"field": "faulty", "type": "quantitative", "title": "faulty in the lot [%]", "axis": {"grid": False}}
    y = {"field": field, "type": "quantitative", "title": title}
    layer: list[Spec] = [
        {"mark": {"type": "line", "color": LIGHT["working"], "strokeWidth": 2},
         "encoding": {"x": x, "y": y, "tooltip": [{"field": "faulty"}, {"field": field}]}},
        {"data": {"values": points}, "mark": {"type": "point", "filled": True, "size": 80, "color": LIGHT["down"]},
         "encoding": {"x": x, "y": y}},
    ]  # fmt: skip
    return Chart(name, caption, specification(caption, 9, data={"values": values}, layer=layer))
