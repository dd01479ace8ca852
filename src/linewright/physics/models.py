"""Models by the name a plan calls them: conditions as written in, a time with its curve out.

``time = { cool = { ... } }`` and ``stand = { ferment = { ... } }`` of a plan come here. Each model is a row: its
conditions and one function. Warnings of a range that was left come back as texts; nothing is printed.
"""

from __future__ import annotations

import json
import math
import warnings
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

from linewright.base.cautions import Caution
from linewright.base.problems import Problems, ProblemsError
from linewright.physics.conditions import Condition, Values, read_conditions
from linewright.physics.outcome import Outcome, Timed
from linewright.physics.ranges import RangeWarning
from linewright.physics.sensitivity import Sensitivity, sensitivity
from linewright.physics.size_models import MILL, SCREEN, mill_answer, rate_of_tonne, screen_answer

N = "number"


@dataclass(frozen=True, slots=True)
class Model:
    """A model: what its time is, its conditions, and the function that answers for their values."""

    name: str
    what: str
    conditions: tuple[Condition, ...]
    answer: Callable[[Values], Timed]
    seconds: Callable[[Values], float] | None = None
    """The time alone, where that is quicker to have."""
    rate: Callable[[Values, float], float | None] | None = None
    """kg/s from conditions and seconds, where it can work without pause; None where these conditions do not say so."""


@dataclass(frozen=True, slots=True)
class Evaluated:
    """A model's answer for conditions as written, with the ranges that were left."""

    timed: Timed
    warnings: tuple[str, ...]


def _number(values: Values, name: str) -> float:
    return float(values[name])


def _numbers(values: Values, *names: str) -> dict[str, float]:
    """The named conditions that are there, as keyword arguments."""
    return {name: float(values[name]) for name in names if name in values}


def _temperature_change(values: Values) -> Timed:
    from linewright.physics.cooling import cool_board

    return cool_board(
        _number(values, "thickness"), _number(values, "from"), _number(values, "to"), _number(values, "around"),
        float(values["transfer"]) if "transfer" in values else None, place=str(values["place"]),
        **_numbers(values, "conductivity", "density", "heat_capacity", "height"),
    )  # fmt: skip


def _dry(values: Values) -> Timed:
    from linewright.physics.dry import dry_particles
    from linewright.physics.dryer_heat import drying_heat, dust_cover

    found = dry_particles(
        _number(values, "from"), _number(values, "to"), _number(values, "gas"), _number(values, "gas_water"),
        _number(values, "thickness"), **_numbers(values, "transfer", "density", "critical", "exposed"),
    )  # fmt: skip
    heat = drying_heat(values["from"], values["to"], exhaust_ratio=_number(values, "exhaust_water"),
                       losses=_number(values, "losses"))  # fmt: skip
    fuel = dust_cover(1.0, 1e9, dust_value=_number(values, "fuel"), efficiency=_number(values, "burnt"))
    total = float(heat.total)
    more = (
        Outcome("heat wanted", total / 1000, "MJ/kg dry"),
        Outcome("fuel or dust for it", total / 3600 * fuel.burnt, "kg/kg dry", "dry matter"),
    )
    return replace(found, outcomes=(*found.outcomes, *more), cautions=(*found.cautions, *_new(found, fuel.cautions)))


def _new(found: Timed, told: tuple[Caution, ...]) -> tuple[Caution, ...]:
    known = {caution.hazard for caution in found.cautions}
    return tuple(caution for caution in told if caution.hazard not in known)


def _ferment(values: Values) -> Timed:
    from linewright.physics.ferment import ferment

    found = ferment(
        _sugar(values), _number(values, "nitrogen"), _number(values, "yeast"), _number(values, "temperature"),
        end=_number(values, "to"), **_numbers(values, "pace", "litres", "around", "wall", "unfermented"),
    )  # fmt: skip
    wanted = found.outcome("cooling at most")
    if "cooling" in values and wanted > _number(values, "cooling"):
        said = f"the tank wants {wanted:.3g} kW of cooling at its peak and has {_number(values, 'cooling'):.3g}"
        warnings.warn(f"{said}: it gets warmer than written, and faster", RangeWarning, stacklevel=2)
    return found


def _ferment_seconds(values: Values) -> float:
    from linewright.physics.ferment_curves import ferment_one

    course = ferment_one(_sugar(values), _number(values, "nitrogen"), _number(values, "yeast"),
                         _number(values, "temperature"), pace=_number(values, "pace"),
                         end=_number(values, "to"))  # fmt: skip
    return 3600 * float(course.dry_after)


def _sugar(values: Values) -> float:
    """Sugar in g/L from whichever of sugar, gravity and brix is written."""
    from linewright.physics.sugar import extract, gravity_of

    problems = Problems()
    given = [name for name in ("sugar", "gravity", "brix") if name in values]
    if len(given) != 1:
        words = "two of them are written" if given else "none is written"
        problems.error("ferment.sugar", f"one of sugar, gravity and brix is needed; {words}", expected='"125 g/L"')
    problems.raise_errors()
    if "sugar" in values:
        return _number(values, "sugar")
    gravity = float(gravity_of(_number(values, "brix"))) if "brix" in values else _number(values, "gravity")
    return float(extract(gravity)) - _number(values, "unfermented")


def _cure(values: Values) -> Timed:
    from linewright.physics.cure import cure

    return cure(
        _number(values, "known"), _number(values, "at"), _number(values, "temperature"),
        wanted=float(values["to"]) if "to" in values else None,
        **_numbers(values, "degree", "per_10", "energy", "order", "holds_at"),
    )  # fmt: skip


def _hot_press(values: Values) -> Timed:
    from linewright.physics.mat import heat_mat

    core = heat_mat(
        _number(values, "thickness"), _number(values, "platen"), _number(values, "core"),
        start=_number(values, "start"), density=_number(values, "density"), moisture=_number(values, "moisture"),
        conductivity=_number(values, "conductivity"), inward=_number(values, "inward"),
    )  # fmt: skip

    beside = sum(_number(values, part) for part in _BESIDE)
    warm = Outcome("core warm after", core.seconds, "s")
    return replace(core, seconds=core.seconds + beside, outcomes=(warm, *core.outcomes))


_BESIDE = ("loading", "closing", "hold", "venting", "unloading")
"""Parts of a press cycle beside the warming of the core."""


def _dryer_rate(values: Values, seconds: float) -> float | None:
    if "holds" not in values:
        return None
    holds = _number(values, "holds")
    problems = Problems()
    if not (holds > 0 and seconds > 0):
        problems.error("dry.holds", "a rate needs an amount and a time above zero", value=holds)
    problems.raise_errors()
    return holds / seconds


_FROM = Condition("from", "temperature", "degC", "temperature at first", '"105 degC"')
_TO = Condition("to", "temperature", "degC", "temperature wanted", '"40 degC"')
_BOARD = (
    Condition("thickness", "length", "m", "whole thickness", '"18 mm"'),
    _FROM,
    _TO,
    Condition("around", "temperature", "degC", "air around, or the hot medium", '"22 degC"', default=20.0),
    Condition("transfer", N, "W/(m2 K)", "heat transfer at each face; of still air if left out", "10", optional=True),
    Condition("conductivity", N, "W/(m K)", "across the board", "0.12", default=0.12),
    Condition("density", "mass/volume", "kg/m3", "of the board", '"680 kg/m3"', 1000.0, 680.0),
    Condition("heat_capacity", N, "kJ/(kg K)", "of the board", "1.7", default=1.7),
    Condition("place", "", "", "where the temperature is wanted", '"mean"', default="mean",
              words=("mean", "core", "face")),
    Condition("height", "length", "m", "of the standing board, for still air", '"1.2 m"', default=1.22),
)  # fmt: skip

MODELS: Mapping[str, Model] = {
    model.name: model
    for model in (
        Model("cool", "a board in air until it is cool enough", _BOARD, _temperature_change),
        Model("heat", "a board until it is warm enough", _BOARD, _temperature_change),
        Model("dry", "particles in moving gas until they are dry enough", (
            Condition("from", "share", "kg/kg dry", "moisture at first, on dry matter", '"40 %"'),
            Condition("to", "share", "kg/kg dry", "moisture wanted, on dry matter", '"1.5 %"'),
            Condition("gas", "temperature", "degC", "mean temperature of the gas", '"220 degC"'),
            Condition("gas_water", N, "kg/kg dry air", "water in the gas", "0.15", default=0.15),
            Condition("thickness", "length", "m", "of a particle", '"2.5 mm"'),
            Condition("transfer", N, "W/(m2 K)", "heat transfer to the particle", "30", default=30.0),
            Condition("density", "mass/volume", "kg dry/m3", "of the particle, dry", '"450 kg/m3"', 1000.0, 450.0),
            Condition("critical", "share", "kg/kg dry", "moisture at which the surface is no longer wet", '"25 %"',
                      default=0.25),
            Condition("exposed", "share", "", "share of the time in the gas", '"20 %"', default=0.2),
            Condition("exhaust_water", N, "kg/kg dry air", "water in the gas that leaves", "0.25", default=0.25),
            Condition("losses", "share", "", "heat lost through walls and leaks", '"8 %"', default=0.08),
            Condition("fuel", "energy/mass", "MJ/kg", "lower heating value of dust or fuel", '"17 MJ/kg"', 3.6, 17.0),
            Condition("burnt", "share", "", "share of the fuel's heat that reaches the gas", '"79 %"', default=0.79),
            Condition("holds", "mass", "kg", "what the dryer holds: it then works at a rate, without pause", '"1 t"',
                      optional=True),
        ), _dry, rate=_dryer_rate),
        Model("ferment", "a tank of must until it is dry", (
            Condition("sugar", "mass/volume", "g/L", "sugar that yeast can eat", '"125 g/L"', 1000.0, optional=True),
            Condition("gravity", N, "", "gravity of the must, instead of sugar", "1.052", optional=True),
            Condition("brix", "sugar", "% by mass", "of the must, instead of sugar", '"13 brix"', optional=True),
            Condition("nitrogen", "mass/volume", "mg/L", "that yeast can use", '"80 mg/L"', 1e6, 120.0),
            Condition("yeast", "mass/volume", "g/L", "dry yeast pitched", '"0.25 g/L"', 1000.0, 0.2),
            Condition("temperature", "temperature", "degC", "held in the tank", '"12 degC"'),
            Condition("to", "mass/volume", "g/L", "sugar at which it is dry", '"2 g/L"', 1000.0, 2.0),
            Condition("pace", N, "", "speed against published flasks; fit it to your log", "0.5", default=0.5),
            Condition("litres", "volume", "L", "in the tank", '"5000 L"', default=5000.0),
            Condition("around", "temperature", "degC", "of the cellar", '"15 degC"', default=15.0),
            Condition("wall", N, "W/K", "heat transfer of the bare wall", "40", default=0.0),
            Condition("cooling", "power", "kW", "that the tank has; more wanted is a warning", '"2 kW"', optional=True),
            Condition("unfermented", "mass/volume", "g/L", "extract that is not eaten", '"10 g/L"', 1000.0, 10.0),
        ), _ferment, _ferment_seconds),
        Model("cure", "an adhesive until it can be handled", (
            Condition("known", "time", "s", "time on the supplier's sheet", '"60 min"'),
            Condition("at", "temperature", "degC", "its temperature", '"20 degC"'),
            Condition("temperature", "temperature", "degC", "of the joint", '"40 degC"'),
            Condition("degree", "share", "", "degree of cure that the known time means", '"50 %"', default=0.5),
            Condition("to", "share", "", "degree wanted; the same where not written", '"95 %"', optional=True),
            Condition("per_10", N, "", "factor for each 10 degC", "2", default=2.0),
            Condition("energy", N, "kJ/mol", "activation energy, instead of the factor", "60", optional=True),
            Condition("order", N, "", "of the rate law", "1", default=1.0),
            Condition("holds_at", "share", "", "degree at which the joint first holds", '"20 %"', default=0.2),
        ), _cure),
        Model("press", "a mat between hot platens until its core is warm enough", (
            Condition("thickness", "length", "m", "of the pressed board", '"18 mm"'),
            Condition("platen", "temperature", "degC", "of the platens", '"200 degC"'),
            Condition("core", "temperature", "degC", "wanted in the core", '"98 degC"', default=98.0),
            Condition("start", "temperature", "degC", "of the mat", '"25 degC"', default=25.0),
            Condition("density", "mass/volume", "kg dry/m3", "of the pressed mat, dry", '"650 kg/m3"', 1000.0, 650.0),
            Condition("moisture", "share", "kg/kg dry", "of the mat", '"10 %"', default=0.10),
            Condition("conductivity", N, "W/(m K)", "of the hot mat", "0.15", default=0.15),
            Condition("inward", "share", "", "share of the steam that goes inwards", '"60 %"', default=1.0),
            *(Condition(part, "time", "s", f"{part}, beside the warming of the core", '"25 s"', default=0.0)
              for part in _BESIDE),
        ), _hot_press),
        Model("screen", "an amount over a screen, and how it is shared", SCREEN, screen_answer, rate=rate_of_tonne),
        Model("mill", "an amount through a mill whose screen sends the coarse part back", MILL, mill_answer,
              rate=rate_of_tonne),
    )
}  # fmt: skip
"""Every model by name; one more row here is one more form of a time."""


def evaluate_model(name: str, written: Mapping[str, object]) -> Evaluated:
    """A model's answer for conditions as a plan writes them.

    Equation: that of the model.
    Takes:
        name [text]: a key of MODELS.
        written [text]: conditions with their units.
    Gives: an Evaluated; the same object for the same conditions. Raises ProblemsError whose paths begin with the name.
    Range: that of the model; what was left is in ``warnings``.
    Source: that of the model.

    >>> round(evaluate_model("cure", {"known": "60 min", "at": "20 degC", "temperature": "40 degC"}).timed.seconds)
    900
    """
    return _remembered(name, json.dumps(written, sort_keys=True, default=str))


@lru_cache(maxsize=256)
def _remembered(name: str, written: str) -> Evaluated:
    model = MODELS[name]
    values = read_conditions(name, model.conditions, json.loads(written))
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", RangeWarning)
        timed = _answered(model, values)
    said = dict.fromkeys(str(w.message) for w in caught if issubclass(w.category, RangeWarning))
    return Evaluated(timed, tuple(said))


def _answered(model: Model, values: Values) -> Timed:
    try:
        return model.answer(values)
    except ProblemsError as wrong:
        problems = Problems()
        for p in wrong.problems:
            path = p.path if p.path.startswith(f"{model.name}.") else f"{model.name}.{p.path}"
            problems.error(path, p.what, value=p.value, expected=p.expected, hint=p.hint)
        raise ProblemsError(problems) from None


def time_of(name: str, written: Mapping[str, object]) -> Evaluated:
    """As evaluate_model, refusing a time that never ends.

    Equation: that of the model.
    Takes:
        name [text]: a key of MODELS.
        written [text]: conditions with their units.
    Gives: an Evaluated of finite seconds. Raises ProblemsError, with the model's notes where the end is never reached.
    Range: that of the model.
    Source: that of the model.

    >>> time_of("cool", {"thickness": "18 mm", "from": "105 degC", "to": "40 degC"}).timed.seconds > 0
    True
    """
    found = evaluate_model(name, written)
    if not math.isfinite(found.timed.seconds):
        problems = Problems()
        why = "; ".join(found.timed.notes)
        problems.error(name, "its end is never reached at these conditions", expected="another end or other conditions",
                       hint=why or None)  # fmt: skip
        problems.raise_errors()
    return found


def rate_of(name: str, written: Mapping[str, object]) -> float | None:
    """The rate of a model that works without pause: a dryer that holds an amount, a screen or mill without one.

    Equation: rate = holds / time of a dryer; 1 t / its time of a screen or mill.
    Takes:
        name [text]: a key of MODELS.
        written [text]: conditions with their units.
    Gives: rate [kg/s], or None where the model gives a time for each cycle. Raises ProblemsError.
    Range: that of the model.
    Source: mean time in a vessel is what it holds over what passes.

    >>> rate_of("cool", {}) is None
    True
    """
    model = MODELS.get(name)
    if model is None or model.rate is None:
        return None
    values = read_conditions(name, model.conditions, written)
    return model.rate(values, time_of(name, written).timed.seconds)


def sensitivity_of(name: str, written: Mapping[str, object]) -> Sensitivity:
    """What the time of a model hangs on, condition by condition.

    Equation: as sensitivity.
    Takes:
        name [text]: a key of MODELS.
        written [text]: conditions with their units.
    Gives: a Sensitivity over the numbers written and the defaults. Raises ProblemsError.
    Range: that of the model.
    Source: as sensitivity.

    >>> found = sensitivity_of("cure", {"known": "60 min", "at": "20 degC", "temperature": "40 degC"})
    >>> round(found.slope("known").per_unit, 3)
    0.25
    """
    return _moved(name, json.dumps(written, sort_keys=True, default=str))


@lru_cache(maxsize=256)
def _moved(name: str, written: str) -> Sensitivity:
    model = MODELS[name]
    values = read_conditions(name, model.conditions, json.loads(written))
    numbers = {key: float(v) for key, v in values.items() if not isinstance(v, str) and v != 0}
    units = {row.name: row.unit for row in model.conditions}

    def seconds(at: Mapping[str, float]) -> float:
        now = {**values, **at}
        return model.seconds(now) if model.seconds is not None else _answered(model, now).seconds

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RangeWarning)
        return sensitivity(seconds, numbers, units, fine=1e-3)
