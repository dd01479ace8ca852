"""Times that follow from physics: asked by the network, warned of where a range is left, refused by name."""

from __future__ import annotations

import pytest

from linewright.base.problems import Problems
from linewright.network.evaluate import evaluate
from linewright.physics.models import MODELS
from linewright.plan.durations import PHYSICS
from linewright.plan.model import Duration


def asked(model: str, **conditions: object) -> tuple[float, Problems]:
    problems = Problems()
    found = evaluate(Duration(physics=model, conditions=conditions), "stand", problems)
    return found.mean, problems


def test_the_plan_knows_every_model_and_no_other() -> None:
    assert set(PHYSICS) == set(MODELS)


def test_a_time_follows_from_its_conditions() -> None:
    seconds, problems = asked("cure", known="60 min", at="20 degC", temperature="40 degC")
    assert seconds == pytest.approx(900.0)
    assert not problems.found


def test_leaving_a_range_is_a_warning_at_the_field() -> None:
    seconds, problems = asked("ferment", sugar="125 g/L", temperature="8 degC", nitrogen="80 mg/L")
    assert seconds > 0
    assert [p.path for p in problems.warnings] == ["stand.ferment"]
    assert "outside 11 to 35 degC" in problems.warnings[0].what


def test_wrong_conditions_are_named_where_they_are_written() -> None:
    _, problems = asked("cool", thickness="-18 mm", to="40 degC", form="105 degC")
    assert {p.path for p in problems.errors} == {"stand.cool.form", "stand.cool.from"}
    assert any("did you mean" in (p.hint or "") for p in problems.errors)
    _, problems = asked("cool", thickness="-18 mm", to="40 degC", **{"from": "105 degC"})
    assert [p.path for p in problems.errors] == ["stand.cool.thickness"]


def test_an_end_that_is_never_reached_is_an_error_with_its_reason() -> None:
    _, problems = asked("ferment", sugar="264 g/L", temperature="35 degC", nitrogen="80 mg/L")
    assert problems.errors[0].path == "stand.ferment"
    assert "never reached" in problems.errors[0].what
    assert "too warm" in (problems.errors[0].hint or "")
