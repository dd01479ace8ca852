"""Models by name: conditions as written, the same answer as the function, problems where they were written."""

from __future__ import annotations

import json
import subprocess
import sys

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.physics.conditions import read_conditions
from linewright.physics.cooling import cool_board
from linewright.physics.ferment import ferment
from linewright.physics.models import MODELS, evaluate_model, sensitivity_of, time_of

WRITTEN = {name: {c.name: json.loads(c.example) for c in model.conditions if c.default is None and not c.optional}
           for name, model in MODELS.items()}  # fmt: skip
WRITTEN["ferment"]["sugar"] = "195 g/L"
WRITTEN["heat"] |= {"from": "20 degC", "to": "60 degC", "around": "105 degC"}


@pytest.mark.parametrize("name", sorted(MODELS))
def test_every_model_answers_its_own_examples(name: str) -> None:
    found = time_of(name, WRITTEN[name]).timed
    assert 0 < found.seconds < np.inf
    first = np.array(found.curve.series[0].values)
    assert len(found.curve.times) == first.size > 5
    assert np.all(np.isfinite(first))
    json.dumps(found.to_dict(), allow_nan=False)
    assert found.cautions or name in ("cool", "heat")


@pytest.mark.parametrize("name", sorted(MODELS))
def test_the_curve_meets_its_target_at_the_time(name: str) -> None:
    found = time_of(name, WRITTEN[name]).timed
    if found.curve.target is None:
        return
    times, line = np.array(found.curve.times), np.array(found.curve.series[0].values)
    way = np.sign(line[0] - found.curve.target)
    passed = times[np.argmax(way * (line - found.curve.target) <= 1e-6)]
    step = np.max(np.diff(times))
    assert found.seconds * (1 - 1e-9) <= passed <= found.seconds + step * (1 + 1e-9)


@pytest.mark.parametrize("name", sorted(MODELS))
def test_every_condition_is_read_by_its_example(name: str) -> None:
    for condition in MODELS[name].conditions:
        values = read_conditions(name, [condition], {condition.name: json.loads(condition.example)})
        assert condition.name in values


@pytest.mark.parametrize("name", sorted(MODELS))
def test_sensitivity_of_every_model(name: str) -> None:
    found = sensitivity_of(name, WRITTEN[name])
    assert any(s.per_unit for s in found.slopes)


def test_the_same_as_the_function() -> None:
    by_name = time_of("cool", {"thickness": "18 mm", "from": "105 degC", "to": "40 degC", "around": "22 degC"})
    assert by_name.timed.seconds == cool_board(0.018, 105.0, 40.0, 22.0).seconds
    must = time_of("ferment", {"sugar": "195 g/L", "temperature": "17 degC", "nitrogen": "100 mg/L"})
    assert must.timed.seconds == ferment(195.0, 100.0, 0.2, 17.0).seconds


def test_gravity_and_brix_stand_for_sugar() -> None:
    days = [time_of("ferment", {"temperature": "15 degC", **must}).timed.seconds
            for must in ({"gravity": 1.0525}, {"brix": "12.97 brix"}, {"sugar": "126.4 g/L"})]  # fmt: skip
    assert days == pytest.approx([days[0]] * 3, rel=5e-3)
    with pytest.raises(ProblemsError, match="two of them are written"):
        time_of("ferment", {"temperature": "15 degC", "gravity": 1.05, "sugar": "120 g/L"})
    with pytest.raises(ProblemsError, match="none is written"):
        time_of("ferment", {"temperature": "15 degC"})


def test_all_problems_at_once_with_hints() -> None:
    with pytest.raises(ProblemsError) as wrong:
        evaluate_model("cool", {"thicknes": "18 mm", "from": "105", "to": "40 kg", "place": "edge"})
    found = {p.path: p for p in wrong.value.problems}
    assert set(found) == {"cool.thicknes", "cool.thickness", "cool.from", "cool.to", "cool.place"}
    assert found["cool.thicknes"].hint == 'did you mean "thickness"?'


def test_a_range_that_was_left_comes_back_in_words() -> None:
    found = time_of("ferment", {"sugar": "195 g/L", "temperature": "8 degC"})
    assert any("outside 11 to 35 degC" in text for text in found.warnings)


def test_the_dryer_says_its_heat_and_the_dust_that_gives_it() -> None:
    written = {**WRITTEN["dry"], "from": "40 %", "to": "2 %"}
    found = time_of("dry", written).timed
    heat = found.outcome("heat wanted")  # MJ for a kg of dry matter
    assert found.outcome("fuel or dust for it") == pytest.approx(heat / (17 * 0.79), rel=1e-9)
    # The board mill burns 0.10 kg of dust for each 0.98 kg of dry matter.
    assert found.outcome("fuel or dust for it") * 0.98 == pytest.approx(0.10, abs=0.005)
    richer = time_of("dry", {**written, "fuel": "34 MJ/kg"}).timed
    assert richer.outcome("fuel or dust for it") == pytest.approx(heat / (34 * 0.79), rel=1e-9)


def test_a_tank_that_wants_more_cooling_than_it_has_is_warned_of() -> None:
    must = {"sugar": "195 g/L", "temperature": "17 degC", "nitrogen": "100 mg/L"}
    wanted = time_of("ferment", must).timed.outcome("cooling at most")
    assert not time_of("ferment", {**must, "cooling": f"{1.1 * wanted} kW"}).warnings
    said = time_of("ferment", {**must, "cooling": f"{0.5 * wanted} kW"}).warnings
    assert any("gets warmer than written" in text for text in said)


def test_importing_models_loads_nothing_heavy() -> None:
    code = "import sys, linewright.physics.models; print('scipy' in sys.modules, 'psychrolib' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["False", "False"]
