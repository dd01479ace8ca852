"""How hard does a press press, how long is its cycle, and what does its heat cost?

Force, area, pressure and ram are one relation read in any direction. The hot press's energy is what warms the mat,
evaporates part of its water, and is lost while it stands hot. A press crushes and burns: cautions come with the result.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.cautions import Caution, cautions
from linewright.base.results import Shown, Table
from linewright.physics.dry import latent_heat
from linewright.physics.dryer_heat import DRY_WOOD_HEAT
from linewright.physics.inputs import Floats, Inputs
from linewright.physics.lumped import WATER_HEAT


def pressure_on(force: ArrayLike, area: ArrayLike) -> Floats:
    """Pressure on the work.

    Equation: p = F / A.
    Takes:
        force [kN]: F, 0 or more.
        area [m2]: A under pressure, above 0.
    Gives: p [kPa]. Raises ProblemsError.
    Range: force spread evenly; at edges and high spots it is greater.
    Source: definition.

    >>> float(pressure_on(8930.0, 2.9768).round(0))
    3000.0
    """
    inputs = Inputs()
    f, a = inputs.amount("force", force, "kN"), inputs.size("area", area, "m2")
    inputs.done()
    return np.asarray(f / a)


def force_for(pressure: ArrayLike, area: ArrayLike) -> Floats:
    """Force for a pressure on the work: pressure_on read backwards.

    Equation: F = p A.
    Takes:
        pressure [kPa]: p wanted, 0 or more.
        area [m2]: A, above 0.
    Gives: F [kN]. Raises ProblemsError.
    Range: as pressure_on.
    Source: definition.

    >>> float(force_for(3000.0, 2.0))
    6000.0
    """
    inputs = Inputs()
    p, a = inputs.amount("pressure", pressure, "kPa"), inputs.size("area", area, "m2")
    inputs.done()
    return np.asarray(p * a)


def oil_pressure(force: ArrayLike, bore: ArrayLike, rams: ArrayLike = 1.0, efficiency: ArrayLike = 0.95) -> Floats:
    """Oil pressure that gives a force.

    Equation: p = F / (n pi D^2 / 4 eta).
    Takes:
        force [kN]: F on the work, 0 or more.
        bore [m]: D of a ram, above 0.
        rams [1]: n, above 0.
        efficiency [1]: eta, what friction and weight leave, above 0 to 1.
    Gives: p [kPa]; 100 kPa are a bar. Raises ProblemsError.
    Range: pushing side of the ram.
    Source: definition.

    >>> round(float(oil_pressure(6000.0, 0.30, 4.0)) / 100)
    223
    """
    inputs = Inputs()
    f, d = inputs.amount("force", force, "kN"), inputs.size("bore", bore, "m")
    n, e = inputs.size("rams", rams, ""), inputs.size("efficiency", efficiency, "")
    inputs.share("efficiency", efficiency)
    inputs.done()
    return np.asarray(f / (n * np.pi * d**2 / 4 * e))


def closing_time(gap: ArrayLike, fast: ArrayLike, slow: ArrayLike, slow_way: ArrayLike) -> Floats:
    """Seconds to close a press that runs fast and then slowly.

    Equation: t = (gap - slow_way) / fast + slow_way / slow.
    Takes:
        gap [m]: to close, 0 or more.
        fast [m/s]: speed at first, above 0.
        slow [m/s]: speed at last, above 0.
        slow_way [m]: last part of the gap, 0 to gap.
    Gives: t [s]. Raises ProblemsError.
    Range: speeds reached at once.
    Source: definition.

    >>> round(float(closing_time(0.25, 0.05, 0.008, 0.06)), 1)
    11.3
    """
    inputs = Inputs()
    g, s = inputs.amount("gap", gap, "m"), inputs.amount("slow_way", slow_way, "m")
    v1, v2 = inputs.size("fast", fast, "m/s"), inputs.size("slow", slow, "m/s")
    if np.any(s > g):
        inputs.refuse("slow_way", "the slow part is longer than the gap", value=float(np.max(s)))
    inputs.done()
    return np.asarray((g - s) / v1 + s / v2)


@dataclass(frozen=True)
class PressCycle(Shown):
    """A cycle of a hot press, in s, by part and in all; and the heat of a load in kWh, by part and in all."""

    loading: float
    closing: float
    pressing: float
    venting: float
    unloading: float
    seconds: float
    warming: float
    evaporating: float
    standing: float
    heat: float
    cautions: tuple[Caution, ...]

    def to_table(self) -> Table:
        """Time and heat by part."""
        rows = (
            *((n, getattr(self, n), "s") for n in ("loading", "closing", "pressing", "venting", "unloading")),
            ("cycle", self.seconds, "s"),
            *((n, getattr(self, n), "kWh") for n in ("warming", "evaporating", "standing")),
            ("heat of a load", self.heat, "kWh"),
        )
        return Table("A cycle of the press", ("part", "value", "unit"), rows)


def press_cycle(
    thickness: float,
    per_mm: float,
    mats: float,
    mat_mass: float,
    *,
    loading: float = 25.0,
    closing: float = 22.0,
    venting: float = 15.0,
    unloading: float = 28.0,
    moisture: float = 0.10,
    steam: float = 0.02,
    start: float = 25.0,
    mean: float = 115.0,
    idle: float = 30.0,
) -> PressCycle:
    """A cycle of a hot press that makes boards, and the heat of its load.

    Equation: time = loading + closing + per_mm thickness + venting + unloading; heat = m_dry (c + M c_w)(T - T_0) +
        m_dry steam h_fg + idle time.
    Takes:
        thickness [mm]: of the board, above 0.
        per_mm [s/mm]: press factor of resin and platen, above 0.
        mats [1]: pressed at once, above 0.
        mat_mass [kg]: of one mat with its moisture, above 0.
        loading [s]: a part of the cycle.
        closing [s]: a part of the cycle.
        venting [s]: a part of the cycle.
        unloading [s]: a part of the cycle.
        moisture [kg/kg dry]: of the mat.
        steam [kg/kg dry]: water driven off, not above moisture.
        start [degC]: of the mat.
        mean [degC]: of the board as it leaves.
        idle [kW]: lost by the hot press as it stands.
    Gives: a PressCycle. Raises ProblemsError.
    Range: boards of plant fibre; heat of the resin's reaction left out (a few per cent).
    Source: energy balance; press factors are the resin supplier's.

    >>> press_cycle(18.0, 12.0, 6.0, 40.3).seconds
    306.0
    """
    inputs = Inputs()
    for name, value, unit in (("thickness", thickness, "mm"), ("per_mm", per_mm, "s/mm"), ("mats", mats, ""),
                              ("mat_mass", mat_mass, "kg")):  # fmt: skip
        inputs.size(name, value, unit)
    for name, value, unit in (("loading", loading, "s"), ("closing", closing, "s"), ("venting", venting, "s"),
                              ("unloading", unloading, "s"), ("moisture", moisture, "kg/kg"),
                              ("steam", steam, "kg/kg"), ("idle", idle, "kW")):  # fmt: skip
        inputs.amount(name, value, unit)
    inputs.temperature("start", start)
    inputs.temperature("mean", mean)
    if steam > moisture:
        inputs.refuse("steam", "more water driven off than the mat holds", value=steam)
    if mean < start:
        inputs.refuse("mean", "the board leaves colder than it came", value=mean)
    inputs.done()
    pressing = per_mm * thickness
    seconds = loading + closing + pressing + venting + unloading
    dry = mats * mat_mass / (1 + moisture)
    warming = dry * (DRY_WOOD_HEAT + moisture * WATER_HEAT) * (mean - start) / 3600
    evaporating = dry * steam * float(latent_heat(100.0)) / 3600
    standing = idle * seconds / 3600
    told = cautions((("hot press", "press"), ("pinch points", "press"), ("formaldehyde resin", "press")))
    return PressCycle(loading, closing, pressing, venting, unloading, seconds, warming, evaporating, standing,
                      warming + evaporating + standing, told)  # fmt: skip
