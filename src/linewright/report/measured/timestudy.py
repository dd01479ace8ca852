"""A time study shown: times, readings that stand apart, cycles still to time, the fitted shapes, lines for the plan."""

from __future__ import annotations

from linewright.base.results import Table
from linewright.report import words
from linewright.report.chart import Chart, Spec, specification
from linewright.report.palette import LIGHT
from linewright.report.single import Single
from linewright.report.tables import without_empty
from linewright.worktime.fitting import Fit
from linewright.worktime.timestudy import ElementStudy, Readings, TimeStudy

DRAWN = 12
"""Elements that get a picture."""


def shown(study: TimeStudy, readings: Readings, file: str) -> Single:
    """The whole study; ``file`` is how a plan would name it."""
    tables = [times(study), outliers(study), fits(study)]
    charts = [c for k, e in enumerate(study.elements[:DRAWN]) for c in _charts(k, e, readings)]
    return Single("How long does the work take?", None, _says(study), tuple(tables), tuple(charts), _paste(study, file))


def _says(study: TimeStudy) -> tuple[str, ...]:
    basis = "work" if study.allowance_of == "work" else "the shift"
    allowed = (
        f" with {words.share(study.allowance)} of {basis} allowed" if study.allowance else ", no allowance written"
    )
    first = (
        f"Standard time {words.seconds(study.standard_time)}{allowed}; normal time {words.seconds(study.normal_time)}."
    )
    still = [(e.element, e.cycles.still) for e in study.elements if e.cycles is not None and e.cycles.still > 0]
    more = words.listed(f"{name} {count:,}" for name, count in still)
    second = f"Cycles still to time: {more}." if still else "Enough cycles are timed for the accuracy asked."
    flagged = sum(len(e.outliers) for e in study.elements)
    third = f"{flagged} reading{'s stand' if flagged != 1 else ' stands'} apart; none is left out." if flagged else ""
    bad = [e.element for e in study.elements if e.fit is not None and not e.fit.fits]
    fourth = f"Even the best shape fits badly: {words.listed(bad)}." if bad else ""
    return tuple(s for s in (first, second, third, fourth) if s)


def times(study: TimeStudy) -> Table:
    """One row an element: observed, normal and standard time, accuracy, cycles."""
    rows = tuple(
        (
            e.element, e.readings, e.observed, words.share(e.rating), e.normal.mean,
            None if e.cycles is None else f"{100 * e.cycles.reached:.1f} %", e.standard,
            None if e.cycles is None else e.cycles.needed, None if e.cycles is None else e.cycles.still,
            "; ".join(e.notes),
        )
        for e in study.elements
    )  # fmt: skip
    columns = (
        "element", "timed", "observed [s]", "rating", "normal [s]", "within", "standard [s]", "needed", "still", "",
    )  # fmt: skip
    note = "Cycles timed, needed in all for the accuracy asked, and still to time."
    return without_empty(Table("Times of the elements", columns, rows, note))


def outliers(study: TimeStudy) -> Table:
    """Readings that stand apart, with the reason."""
    rows = tuple((e.element, o.index + 1, o.value, o.reason) for e in study.elements for o in e.outliers)
    note = "Normal time. A reading is left out only by the person who knows what happened."
    return Table("Readings that stand apart", ("element", "reading", "time [s]", "why"), rows, note)


def fits(study: TimeStudy) -> Table:
    """The shape that fits each element best, and whether it fits at all."""
    rows = tuple(_fit_row(e.element, e.fit) for e in study.elements if e.fit is not None)
    columns = ("element", "shape", "mean [s]", "cv", "weight among shapes", "p of the fit", "next best")
    note = "Chosen by AICc. p by the Anderson-Darling test with a bootstrap; below 0.05 the shape does not fit."
    return Table("What fits", columns, rows, note if rows else "")


def _fit_row(element: str, fit: Fit) -> tuple[object, ...]:
    best, *others = fit.candidates
    after = f"{others[0].distribution.shape.name.lower()}, {words.share(others[0].weight)}" if others else ""
    law = fit.distribution
    shape = law.shape.name.lower()
    return element, shape, law.mean, round(law.cv, 3), words.share(best.weight), round(fit.p_value, 3), after


def _paste(study: TimeStudy, file: str) -> tuple[str, ...]:
    lines = []
    for e in study.elements:
        lines.append(f'time = {{ study = "{file}", element = "{e.element}" }}')
        if e.fit is not None:
            pairs = ", ".join(f"{k} = {_toml(v)}" for k, v in e.fit.plan_time().items())
            lines.append(f"# or without the file: time = {{ {pairs} }}")
    return tuple(lines)


def _toml(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else f"{value}"


def _charts(k: int, element: ElementStudy, readings: Readings) -> list[Chart]:
    found = [_in_order(k, element, readings)]
    if element.fit is not None:
        found.append(_histogram(k, element, element.fit))
    return found


def _in_order(k: int, element: ElementStudy, readings: Readings) -> Chart:
    apart = {o.index: o.reason for o in element.outliers}
    normal = readings.normal_times(element.element).tolist()
    step = max(1, len(normal) // 2000)
    kept = [i for i in range(len(normal)) if i % step == 0 or i in apart]
    values = [
        {"reading": i + 1, "time": round(normal[i], 4), "apart": i in apart, "why": apart.get(i, "")} for i in kept
    ]
    x = {"field": "reading", "type": "quantitative", "title": "reading", "axis": {"grid": False, "tickMinStep": 1}}
    y = {"field": "time", "type": "quantitative", "title": "normal time [s]", "scale": {"zero": False}}
    tip = [{"field": "reading"}, {"field": "time", "title": "normal time [s]"}, {"field": "why"}]
    colour = {"condition": {"test": "datum.apart", "value": LIGHT["down"]}, "value": LIGHT["working"]}
    layer: list[Spec] = [
        {"mark": {"type": "line", "color": LIGHT["standing"], "strokeWidth": 1}, "encoding": {"x": x, "y": y}},
        {"mark": {"type": "point", "filled": True, "size": 45},
         "encoding": {"x": x, "y": y, "color": colour, "tooltip": tip}},
        {"mark": "rule", "encoding": {"y": {"datum": round(element.normal.mean, 4)}}},
    ]  # fmt: skip
    caption = f"{element.element}: readings in order, the line is the mean; those that stand apart are red."
    spec = specification(caption, 7, data={"values": values}, layer=layer)
    return Chart(f"order{k}", caption, spec)


def _histogram(k: int, element: ElementStudy, fit: Fit) -> Chart:
    picture = fit.picture(bins=min(30, max(6, round(len(fit.values) ** 0.5) * 2)))
    edges, height = picture["edges"], picture["height"]
    bars = [
        {"from": round(a, 5), "to": round(b, 5), "density": round(h, 8)}
        for a, b, h in zip(edges[:-1], edges[1:], height, strict=True)
    ]
    curve = [
        {"at": round(a, 5), "density": round(d, 8)} for a, d in zip(picture["at"], picture["density"], strict=True)
    ]
    x = {"type": "quantitative", "title": "normal time [s]", "axis": {"grid": False}, "scale": {"zero": False}}
    y = {"field": "density", "type": "quantitative", "title": "density", "axis": {"labels": False}}
    layer: list[Spec] = [
        {"data": {"values": bars}, "mark": {"type": "bar", "color": LIGHT["standing"], "binSpacing": 1},
         "encoding": {"x": {**x, "field": "from", "bin": {"binned": True}}, "x2": {"field": "to"}, "y": y}},
        {"data": {"values": curve}, "mark": {"type": "line", "color": LIGHT["down"], "strokeWidth": 2},
         "encoding": {"x": {**x, "field": "at"}, "y": y}},
    ]  # fmt: skip
    shape = fit.distribution.shape.name.lower()
    verdict = "fits" if fit.fits else "is the best of those tried and still fits badly"
    caption = f"{element.element}: the {shape} shape {verdict} (p = {fit.p_value:.2f})."
    return Chart(f"fit{k}", caption, specification(caption, 7, layer=layer))
