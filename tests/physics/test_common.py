"""Ranges that warn, inputs refused by name, sensitivity, and the fitting of constants with intervals that cover."""

from __future__ import annotations

import math
import warnings

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.physics.cooling import cool_board, slab_time
from linewright.physics.fitting import fit_constants
from linewright.physics.inputs import Inputs
from linewright.physics.moisture import equilibrium_moisture
from linewright.physics.ranges import Range, RangeWarning, warn_outside
from linewright.physics.sensitivity import sensitivity


def test_leaving_a_range_warns_at_the_call_and_names_the_worst() -> None:
    with pytest.warns(
        RangeWarning, match=r"temperature of 150 degC and 1 more is outside -1\.1 to 132\.2 degC"
    ) as seen:
        equilibrium_moisture([20.0, 140.0, 150.0], 0.3)
    assert seen[0].filename == __file__


def test_inside_a_range_there_is_no_warning() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        warn_outside("x", {"y": Range(0, 1, "", "a source")}, y=[0.0, 1.0])


@pytest.mark.parametrize(
    ("read", "words"),
    [
        (lambda i: i.temperature("t", -300.0), "below absolute zero"),
        (lambda i: i.humidity("h", 1.2), "above 100 %"),
        (lambda i: i.size("d", -0.1, "m"), "above zero"),
        (lambda i: i.amount("m", -1.0, "kg"), "cannot be negative"),
        (lambda i: i.share("s", 1.5), "not a share"),
        (lambda i: i.number("n", float("nan")), "not a finite number"),
        (lambda i: i.number("n", "warm"), "not a number"),
        (lambda i: i.number("n", []), "no values"),
    ],
)
def test_bad_input_is_named(read: object, words: str) -> None:
    inputs = Inputs()
    read(inputs)  # type: ignore[operator]
    with pytest.raises(ProblemsError, match=words):
        inputs.done()


def test_all_problems_of_a_call_come_at_once() -> None:
    with pytest.raises(ProblemsError) as wrong:
        slab_time(-0.018, -400.0, 40.0, 20.0, 0.0, 0.12, 680.0, 1.7)
    assert {p.path for p in wrong.value.problems} >= {"thickness", "start", "transfer"}


def test_sensitivity_is_the_derivative() -> None:
    def time_of(x: dict[str, float]) -> float:
        return float(slab_time(x["thickness"], x["start"], x["end"], x["around"], 10.0, 0.12, 680.0, 1.7))

    at = {"thickness": 0.018, "start": 105.0, "end": 40.0, "around": 20.0}
    units = {"thickness": "m", "start": "degC", "end": "degC", "around": "degC"}
    found = sensitivity(time_of, at, units)  # type: ignore[arg-type]
    h = 1e-5
    for name in at:
        slope = (time_of({**at, name: at[name] + h}) - time_of({**at, name: at[name] - h})) / (2 * h)
        assert found.slope(name).per_unit == pytest.approx(slope, rel=1e-3)
    assert found.slope("end").per_unit < 0 < found.slope("thickness").per_unit  # type: ignore[operator]


def test_an_input_that_cannot_move_shows_none() -> None:
    def time_of(x: dict[str, float]) -> float:
        return float(slab_time(0.018, 105.0, x["end"], 20.0, 10.0, 0.12, 680.0, 1.7))

    row = sensitivity(time_of, {"end": 20.5}, {"end": "degC"}).slope("end")  # type: ignore[arg-type]
    assert row.less is None
    assert row.more is not None


def test_intervals_of_fitted_constants_cover() -> None:
    """Of 95 % intervals about 95 of 100 hold the truth: coverage over 400 noisy logs, within four standard errors."""
    rng = np.random.default_rng(7)
    times = np.linspace(0, 3000, 15)
    truth = {"lag": 900.0, "jump": 80.0}

    def model(t: np.ndarray, c: object) -> np.ndarray:
        assert isinstance(c, dict)
        return c["jump"] * np.exp(-t / c["lag"])

    runs, inside = 400, 0
    for _ in range(runs):
        y = model(times, truth) + rng.normal(0, 1.5, times.size)
        found = fit_constants(model, times, y, {"lag": 700.0, "jump": 70.0}).constant("lag")
        inside += found.low <= truth["lag"] <= found.high
    assert abs(inside / runs - 0.95) < 4 * math.sqrt(0.95 * 0.05 / runs)


def test_constants_that_readings_cannot_tell_are_refused() -> None:
    x = np.arange(6.0)
    with pytest.raises(ProblemsError, match="cannot tell these constants apart"):
        fit_constants(lambda t, c: c["a"] * c["b"] * t, x, 2 * x, {"a": 1.0, "b": 1.0})
    with pytest.raises(ProblemsError, match="say nothing about this constant"):
        fit_constants(lambda t, c: c["a"] * t + 0 * c["b"], x, 2 * x, {"a": 1.0, "b": 1.0})
    with pytest.raises(ProblemsError, match="only 2 readings"):
        fit_constants(lambda t, c: c["a"] * t + c["b"], [0, 1], [0, 1], {"a": 1.0, "b": 1.0})


def test_a_timed_result_is_plain_data_and_a_table() -> None:
    found = cool_board(0.018, 105.0, 40.0, 22.0)
    data = found.to_dict()
    assert data["seconds"] == found.seconds
    assert len(data["curve"]["times"]) == len(data["curve"]["series"][0]["values"])
    assert found.to_table().rows[0][0] == "time"
    assert found.outcome("Biot number") > 0
    with pytest.raises(KeyError):
        found.outcome("colour")
