"""Quantities: every accepted unit is read, nothing else is, and a wrong one says what was expected."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from linewright.base.units import BASE, COUNT_NOUNS, UNITS, Quantity, UnitError, read_quantity, read_unit


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


@pytest.mark.parametrize("unit", UNITS)
def test_every_unit_agrees_with_pint(unit: str, registry: pint.UnitRegistry) -> None:
    spelling, dimension = UNITS[unit]
    quantity = read_quantity(f"1 {unit}")
    assert quantity.dimension == dimension
    if dimension in ("sugar", "alcohol"):
        assert quantity.value == 1
        return
    base = UNITS[BASE[dimension]][0] if BASE[dimension] else ""
    one = registry.Quantity(1.0, spelling) if dimension == "temperature" else 1.0 * registry.parse_expression(spelling)
    assert quantity.value == pytest.approx(float(one.to(base).magnitude), rel=1e-12)


@pytest.mark.parametrize("noun", sorted(COUNT_NOUNS))
def test_count_nouns_stand_for_themselves(noun: str) -> None:
    quantity = read_quantity(f"3 {noun}")
    assert (quantity.value, quantity.dimension, quantity.noun) == (3, "count", noun)


@pytest.mark.parametrize(
    "word", ["pin", "acre", "furlong", "mole", "Kg", "mins", "litres", "°C", "eur", "dozen", "m^2", "kg*m"]
)
def test_words_outside_the_list_are_refused(word: str) -> None:
    with pytest.raises(UnitError, match="is not a unit known here"):
        read_quantity(f"1 {word}")


def test_noun_of_the_plan_comes_before_the_unit() -> None:
    assert read_quantity("3 bar").dimension == "pressure"
    assert read_quantity("3 bar", nouns=frozenset({"bar"})).dimension == "count"


def test_money_of_the_plan() -> None:
    price = read_quantity("1.2 EUR/kg", money="EUR")
    assert (price.value, price.dimension, price.noun) == (1.2, "money/mass", "EUR")
    with pytest.raises(UnitError):
        read_quantity("1.2 EUR/kg")


def test_spaced_units() -> None:
    assert read_quantity("2.4 t dry").value == 2400
    assert read_quantity("2.4 t dry").dimension == "dry mass"
    assert read_quantity("2.4 t dry/h").dimension == "dry mass/time"
    assert read_quantity("12.5 % vol") == read_quantity("12.5 %vol")
    assert read_quantity("12.5 % vol").dimension == "alcohol"


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("4 min", 240.0),
        ("4min", 240.0),
        ("  4   min ", 240.0),
        ("1_000 kg", 1000.0),
        ("1e3 kg", 1000.0),
        ("1.5E-3 t", 1.5),
        (".5 h", 1800.0),
        ("5. s", 5.0),
        ("+5 s", 5.0),
        ("-5 s", -5.0),
        ("70 %", 0.7),
        ("420 g", 0.42),
    ],
)
def test_numbers(text: str, value: float) -> None:
    assert read_quantity(text).value == value


@pytest.mark.parametrize(
    ("text", "what", "hint"),
    [
        ("", "not a number with a unit", None),
        ("min", "not a number with a unit", None),
        ("4 4 min", "not a unit known here", None),
        ("nan min", "not a finite number", None),
        ("inf h", "not a finite number", None),
        ("1e400 kg", "not a finite number", None),
        ("9e307 week", "too large", None),
        ("5,5 min", "has a comma", "decimal point"),
        ("1 degC/h", "divides a temperature", "17 degC"),
        ("1 kg/h/day", "divides more than once", "t/h"),
        ("1" * 200 + " min", "not a number with a unit", None),
        ("4 min\n5", "not a number with a unit", None),
    ],
)
def test_texts_that_are_no_quantity(text: str, what: str, hint: str | None) -> None:
    with pytest.raises(UnitError, match=what) as caught:
        read_quantity(text)
    if hint is not None:
        assert hint in str(caught.value.hint)


@pytest.mark.parametrize("value", [None, True, [], {}, b"4 min"])
def test_values_that_are_no_text(value: object) -> None:
    with pytest.raises(UnitError, match="not a quantity"):
        read_quantity(value)


def test_wrong_dimension_names_both() -> None:
    with pytest.raises(UnitError) as caught:
        read_quantity("3 m2", ["time", "mass"])
    assert caught.value.what == '"3 m2" is an area, where a mass or time is wanted'
    assert caught.value.expected == 'a mass such as "0.42 kg" or a time such as "4 min"'


def test_missing_unit() -> None:
    with pytest.raises(UnitError, match="the unit is missing"):
        read_quantity(4, ["time"])


def test_equality_ignores_the_text() -> None:
    assert read_quantity("60 s") == read_quantity("1 min")
    assert hash(read_quantity("60 s")) == hash(read_quantity("1 min"))
    assert read_quantity("60 s") != read_quantity("60 kg")
    assert read_quantity("60 s") != 60


@given(
    st.floats(1e-6, 1e6),
    st.sampled_from([u for u in UNITS if UNITS[u][1] not in ("temperature", "share", "sugar", "alcohol")]),
)
def test_there_and_back(number: float, unit: str) -> None:
    quantity = read_quantity(f"{number!r} {unit}")
    assert quantity.value / read_unit(unit).factor == pytest.approx(number, rel=1e-12)


@given(st.text(max_size=90))
def test_any_text_is_a_quantity_or_refused(text: str) -> None:
    try:
        quantity = read_quantity(text)
    except UnitError:
        return
    assert isinstance(quantity, Quantity)
    assert math.isfinite(quantity.value)
