"""What does drying cost in heat, and does the plant's own dust cover it? Heat and mass of a dryer, closed.

Heat goes into warming dry matter and water, evaporating, warming the vapour, warming the air that carries it off, and
losses. Fuel follows from its heating value and the share of its heat that reaches the gas.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.cautions import Caution, cautions
from linewright.base.results import Shown, Table
from linewright.physics.dry import latent_heat
from linewright.physics.inputs import Floats, Inputs
from linewright.physics.lumped import WATER_HEAT

VAPOUR_HEAT = 1.86
"""kJ/(kg K), of water vapour."""
AIR_HEAT = 1.006
"""kJ/(kg K), of dry air."""
DRY_WOOD_HEAT = 1.35
"""kJ/(kg K), of dry wood near 60 degC (Wood Handbook, ch. 4: 0.1031 + 0.003867 T, T in K, gives 1.39)."""


@dataclass(frozen=True)
class DryerHeat(Shown):
    """Heat of drying a kg of dry matter, in kJ; the parts add up to ``total``. ``water`` is kg evaporated a kg dry,
    ``air`` kg dry air a kg dry matter."""  # fmt: skip

    water: Floats
    dry_matter: Floats
    liquid: Floats
    evaporating: Floats
    vapour: Floats
    air_warmed: Floats
    losses: Floats
    air: Floats
    total: Floats

    @property
    def per_water(self) -> Floats:
        """kJ for each kg of water evaporated; infinite where none is."""
        with np.errstate(divide="ignore"):
            return np.asarray(self.total / np.where(self.water > 0, self.water, 0.0))

    def to_table(self) -> Table:
        """Where the heat goes."""
        names = ("dry_matter", "liquid", "evaporating", "vapour", "air_warmed", "losses", "total")
        rows = tuple((n.replace("_", " "), float(np.mean(getattr(self, n)))) for n in names)
        return Table("Heat of drying", ("into", "kJ/kg dry"), rows)


def drying_heat(
    start: ArrayLike,
    end: ArrayLike,
    *,
    feed: ArrayLike = 15.0,
    product: ArrayLike = 95.0,
    exhaust: ArrayLike = 110.0,
    fresh_air: ArrayLike = 15.0,
    fresh_ratio: ArrayLike = 0.008,
    exhaust_ratio: ArrayLike = 0.25,
    losses: ArrayLike = 0.08,
    heat_capacity: float = DRY_WOOD_HEAT,
) -> DryerHeat:
    """The heat that a dryer needs for a kg of dry matter.

    Equation: Q = (c + X c_w)(T_p - T_f) + dX (c_w (T_p - T_f) + h_fg(T_p) + c_v (T_e - T_p)) + air, and
        Q / (1 - losses) in all; air dX / (W_e - W_0) kg, warmed from fresh to exhaust with the water it brought.
    Takes:
        start [kg/kg dry]: moisture going in.
        end [kg/kg dry]: X coming out, not above start.
        feed [degC]: T_f.
        product [degC]: T_p.
        exhaust [degC]: T_e of the gas leaving.
        fresh_air [degC]: air drawn in.
        fresh_ratio [kg/kg dry air]: W_0, water in it.
        exhaust_ratio [kg/kg dry air]: W_e, above W_0.
        losses [1]: share of all heat through walls and leaks, 0 to below 1.
        heat_capacity [kJ/(kg K)]: c of dry matter.
    Gives: a DryerHeat. Raises ProblemsError.
    Range: water free, heat of sorption left out (a few per cent below 10 %).
    Source: energy balance; Geankoplis, Transport Processes and Unit Operations, section 9.10 (from memory).

    >>> round(float(drying_heat(0.40, 0.02).per_water))
    3630
    """
    inputs = Inputs()
    x0, x = inputs.amount("start", start, "kg/kg"), inputs.amount("end", end, "kg/kg")
    tf, tp = inputs.temperature("feed", feed), inputs.temperature("product", product)
    te, ta = inputs.temperature("exhaust", exhaust), inputs.temperature("fresh_air", fresh_air)
    w0, we = inputs.amount("fresh_ratio", fresh_ratio, "kg/kg"), inputs.amount("exhaust_ratio", exhaust_ratio, "kg/kg")
    lost = inputs.number("losses", losses, low=0.0, below=1.0)
    if np.any(x > x0):
        inputs.refuse("end", "the product would be wetter than the feed", value=float(np.max(x)))
    if np.any(we <= w0):
        inputs.refuse("exhaust_ratio", "the exhaust holds more water than the fresh air", value=float(np.min(we)))
    inputs.done()
    water = x0 - x
    air = water / (we - w0)
    dry_matter = heat_capacity * (tp - tf)
    liquid = x0 * WATER_HEAT * (tp - tf)
    evaporating = water * latent_heat(tp)
    vapour = water * VAPOUR_HEAT * (te - tp)
    warmed = air * (AIR_HEAT + w0 * VAPOUR_HEAT) * (te - ta)
    useful = dry_matter + liquid + evaporating + vapour + warmed
    parts = np.broadcast_arrays(water, dry_matter, liquid, evaporating, vapour, warmed, useful * lost / (1 - lost),
                                air, useful / (1 - lost))  # fmt: skip
    return DryerHeat(*(np.asarray(p, dtype=np.float64) for p in parts))


@dataclass(frozen=True)
class FuelCover(Shown):
    """How far own dust covers the heat: kg/h of dust ``burnt`` and ``left``, ``cover`` share of the heat it gives, and
    ``bought`` kg/h of the other fuel."""  # fmt: skip

    burnt: float
    left: float
    cover: float
    bought: float
    heat: float
    cautions: tuple[Caution, ...]

    def to_table(self) -> Table:
        """The balance of fuel."""
        rows = (("dust burnt", self.burnt, "kg/h"), ("dust left over", self.left, "kg/h"),
                ("share of heat from dust", 100 * self.cover, "%"), ("fuel bought", self.bought, "kg/h"))  # fmt: skip
        return Table("Does the dust cover the dryer?", ("what", "value", "unit"), rows)


def dust_cover(
    heat: float, dust: float, *, dust_value: float = 17.0, fuel_value: float = 17.0, efficiency: float = 0.79
) -> FuelCover:
    """Does the dust at hand cover the heat wanted, and how much other fuel is burnt beside it?

    Equation: dust burnt = min(dust, Q / (H eta)); fuel = (Q - burnt H eta) / (H_fuel eta).
    Takes:
        heat [kW]: Q wanted by the dryer.
        dust [kg/h]: at hand.
        dust_value [MJ/kg]: lower heating value H of the dust as it is burnt.
        fuel_value [MJ/kg]: of the other fuel.
        efficiency [1]: eta, share of the fuel's heat that reaches the gas, above 0 to 1.
    Gives: a FuelCover. Raises ProblemsError.
    Range: steady working.
    Source: energy balance.

    >>> round(dust_cover(1000.0, 200.0).cover, 3)
    0.746
    """
    inputs = Inputs()
    inputs.amount("heat", heat, "kW")
    inputs.amount("dust", dust, "kg/h")
    inputs.size("dust_value", dust_value, "MJ/kg")
    inputs.size("fuel_value", fuel_value, "MJ/kg")
    inputs.size("efficiency", efficiency, "")
    inputs.share("efficiency", efficiency)
    inputs.done()
    hourly = heat * 3.6  # MJ/h
    burnt = min(dust, hourly / (dust_value * efficiency))
    given = burnt * dust_value * efficiency
    bought = max(hourly - given, 0.0) / (fuel_value * efficiency)
    told = cautions((("combustible dust", "dryer burner"), ("fire", "dryer burner")))
    return FuelCover(burnt, dust - burnt, given / hourly if hourly > 0 else 1.0, bought, heat, told)
