"""Learning, failure modes, first pieces, scales and fits: read, refused by name, built from Python."""

from __future__ import annotations

from typing import Any

import pytest

from linewright.base.problems import ProblemsError
from linewright.plan import Plan, PlanBuilder


def stool(operation: dict[str, Any] | None = None, fit: dict[str, Any] | None = None) -> Plan:
    build = PlanBuilder("Stool", makes="stool", demand="10 each/day", money="EUR")
    build.item("stool", unit="each").shift("day", hours="06:00-14:00").crew("fitter", people=1, shift="day")
    build.route("main", gives="stool").operation("fit", crew={"fitter": 1}, time="4 min", **(operation or {}))
    if fit is not None:
        build.fit("leg", **fit)
    return build.build()


def problem(operation: dict[str, Any] | None = None, fit: dict[str, Any] | None = None) -> str:
    with pytest.raises(ProblemsError) as wrong:
        stool(operation, fit)
    return str(wrong.value)


def test_short_and_long_forms() -> None:
    short = stool({"learning": "85 %"}).routes["main"].operations[0].learning
    long = stool({"learning": {"rate": "85 %", "standard_at": 400}}).routes["main"].operations[0].learning
    assert short is not None
    assert long is not None
    assert (short.rate, short.standard_at) == (0.85, None)
    assert (long.rate, long.standard_at) == (0.85, 400)
    first = stool({"check": {"finds": {}, "first_pieces": 3}}).routes["main"].operations[0].check
    assert first is not None
    assert first.first_pieces is not None
    assert first.first_pieces.pieces == 3


def test_dimension_written_in_one_text() -> None:
    fit = {"opens": {"hole": "8.15 mm +/- 0.08 mm"}, "closes": {"dowel": "8 mm ± 0.12 mm"}, "least": "0 mm"}
    dowel = stool(fit=fit).fits["leg"].closes["dowel"]
    assert (dowel.size.value, dowel.plus.value, dowel.minus.value) == pytest.approx((0.008, 0.00012, 0.00012))


@pytest.mark.parametrize(
    ("operation", "says"),
    [
        ({"learning": "120 %"}, "not more than 100 %|from 50 % to 100 %|share"),
        ({"learning": "30 %"}, "from 50 % to 100 %"),
        ({"failure_modes": [{"mode": "gap", "severity": 11}]}, "11 is no rank"),
        ({"failure_modes": [{"mode": "gap"}]}, "severity"),
        ({"failure_modes": [{"mode": "gap", "severity": 3, "ocurrence": 2}]}, "occurrence"),
        ({"check": {"finds": {}, "scale": {"step": "0.1 mm", "repeatability": "0.3 g"}}}, "length"),
        ({"check": {"finds": {}, "scale": {"step": "0 g", "repeatability": "0.3 g"}}}, "zero"),
    ],
)
def test_wrong_fields_are_named(operation: dict[str, Any], says: str) -> None:
    text = problem(operation)
    assert any(one in text for one in says.split("|")), text


@pytest.mark.parametrize(
    ("fit", "says"),
    [
        ({"opens": {"a": "8 mm +/- 1 mm"}}, "which gap is good"),
        ({"opens": {"a": "8 mm +/- 1 mm"}, "least": "3 mm", "most": "1 mm"}, "reversed"),
        ({"opens": {"a": "8 mm"}, "least": "1 mm"}, "plus"),
        ({"opens": {"a": "8 mm +/- 0 mm"}, "least": "1 mm"}, "no dimension has a tolerance"),
        ({"opens": {}, "least": "1 mm"}, "nothing opens the gap"),
        ({"opens": {"a": "8 mm +/- 1 mm"}, "closes": {"a": "8 mm +/- 1 mm"}, "least": "1 mm"}, "both opens and closes"),
        ({"opens": {"a": "8 kg +/- 1 kg"}, "least": "1 mm"}, "mass"),
        ({"opens": {"a": {"size": "8 mm", "within": "1 mm", "plus": "2 mm"}}, "least": "1 mm"}, "both limits already"),
        ({"opens": {"a": "8 mm +/- 1 mm"}, "least": "1 mm", "operation": "fitt"}, 'did you mean "fit"?'),
    ],
)
def test_wrong_fits_are_named(fit: dict[str, Any], says: str) -> None:
    assert says in problem(fit=fit)
