"""How long must it dry? Constant rate while the surface is wet, then falling towards the equilibrium of the air.

The rate of the wet surface follows from the heat that the gas brings. Moisture is on dry basis throughout; a target
below the equilibrium is refused, because no time reaches it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from linewright.base.cautions import cautions
from linewright.base.results import Honesty
from linewright.physics.air import ATMOSPHERE, humidity_of, wet_bulb_of
from linewright.physics.inputs import Floats, Inputs
from linewright.physics.moisture import equilibrium_moisture
from linewright.physics.outcome import Outcome, Timed, curve
from linewright.physics.ranges import Range, warn_outside
from linewright.physics.slab import slab_fourier, slab_mean_ratio

RANGES = {
    "thickness": Range(0.0001, 0.02, "m", "practice with particles dried in moving gas"),
    "gas": Range(20.0, 600.0, "degC", "practice with fired dryers"),
}
"""Where the particle model is used in practice; no published limits."""
POINTS = 121


def latent_heat(temperature: ArrayLike) -> Floats:
    """Heat to evaporate water.

    Equation: h = 2501 - 2.381 T.
    Takes:
        temperature [degC]: of the water.
    Gives: h [kJ/kg]. Raises ProblemsError.
    Range: 0 to 130 degC within 0.6 % of steam tables (2501 at 0, 2257 at 100).
    Source: linear fit, common practice; checked against steam tables.

    >>> round(float(latent_heat(100.0)))
    2263
    """
    inputs = Inputs()
    t = inputs.temperature("temperature", temperature)
    inputs.done()
    return np.asarray(2501.0 - 2.381 * t)


def wet_rate(gas: ArrayLike, wet_bulb: ArrayLike, transfer: ArrayLike, surface: ArrayLike) -> Floats:
    """Moisture lost a second while the surface is wet.

    Equation: R = h a (T - T_w) / h_fg(T_w).
    Takes:
        gas [degC]: T of the gas.
        wet_bulb [degC]: T_w, the temperature of the wet surface.
        transfer [W/(m2 K)]: h, above 0.
        surface [m2/kg dry]: a, exposed surface of a kg of dry matter, above 0.
    Gives: R [kg/(kg dry s)]; 0 where gas and wet bulb are alike. Raises ProblemsError.
    Range: heat by convection only.
    Source: Geankoplis, Transport Processes and Unit Operations, section 9.6 (from memory).

    >>> round(float(wet_rate(120.0, 50.0, 30.0, 1.5)) * 60, 4)
    0.0793
    """
    inputs = Inputs()
    t, tw = inputs.temperature("gas", gas), inputs.temperature("wet_bulb", wet_bulb)
    h, a = inputs.size("transfer", transfer, "W/(m2 K)"), inputs.size("surface", surface, "m2/kg")
    if np.any(t < tw):
        inputs.refuse("gas", "the gas is colder than its wet bulb", value=float(np.min(t)))
    inputs.done()
    return np.asarray(h * a * (t - tw) / (latent_heat(tw) * 1000))


def drying_time(
    start: ArrayLike, end: ArrayLike, critical: ArrayLike, equilibrium: ArrayLike, rate: ArrayLike
) -> Floats:
    """Seconds from one moisture to another, at constant and then falling rate.

    Equation: t = (X_0 - X_c) / R + (X_c - X_e) / R ln((X_c - X_e) / (X - X_e)), each part where it applies.
    Takes:
        start [kg/kg dry]: X_0.
        end [kg/kg dry]: X; at or below the equilibrium it cannot be reached and is refused.
        critical [kg/kg dry]: X_c, where the surface is no longer wet; above the equilibrium.
        equilibrium [kg/kg dry]: X_e.
        rate [kg/(kg dry s)]: R while the surface is wet, above 0.
    Gives: t [s]; 0 where it is dry already. Raises ProblemsError.
    Range: falling rate straight towards the equilibrium.
    Source: Geankoplis, Transport Processes and Unit Operations, eq. 9.6-7 and 9.7-8 (from memory).

    >>> round(float(drying_time(0.40, 0.015, 0.25, 0.0, 0.0010)))
    853
    """
    inputs = Inputs()
    x0, x = inputs.amount("start", start, "kg/kg"), inputs.amount("end", end, "kg/kg")
    xc, xe = inputs.amount("critical", critical, "kg/kg"), inputs.amount("equilibrium", equilibrium, "kg/kg")
    r = inputs.size("rate", rate, "kg/(kg s)")
    _reachable(inputs, x0, x, xc, xe)
    inputs.done()
    at_constant = np.maximum(x0 - np.maximum(xc, x), 0.0) / r
    from_, to = np.minimum(x0, xc), np.minimum(x, xc)
    falling = (xc - xe) / r * np.log(np.maximum(from_ - xe, 1e-300) / np.maximum(to - xe, 1e-300))
    return np.asarray(at_constant + np.where(from_ > to, falling, 0.0))


def _reachable(inputs: Inputs, start: Floats, end: Floats, critical: Floats, equilibrium: Floats) -> None:
    wrong = (end <= equilibrium) & (end < start)
    if np.any(wrong):
        end_, equilibrium_ = np.broadcast_arrays(end, equilibrium)
        wet, dry = (100 * float(np.broadcast_to(v, wrong.shape)[wrong].flat[0]) for v in (equilibrium_, end_))
        inputs.refuse(
            "end",
            f"{dry:g} % cannot be reached at this air: its equilibrium is {wet:.3g} %",
            expected="a moisture above the equilibrium",
            hint="warmer or drier air has a lower equilibrium",
        )
    if np.any(critical <= equilibrium):
        inputs.refuse("critical", "the critical moisture lies above the equilibrium", value=float(np.min(critical)))


def moisture_after(
    time: ArrayLike, start: ArrayLike, critical: ArrayLike, equilibrium: ArrayLike, rate: ArrayLike
) -> Floats:
    """Moisture after a time of drying: drying_time read the other way.

    Equation: X = X_0 - R t down to X_c, then X_e + (X_c - X_e) exp(-R (t - t_c) / (X_c - X_e)).
    Takes:
        time [s]: 0 or more.
        start [kg/kg dry]: X_0.
        critical [kg/kg dry]: X_c, above the equilibrium.
        equilibrium [kg/kg dry]: X_e.
        rate [kg/(kg dry s)]: R while the surface is wet, 0 or more.
    Gives: X [kg/kg dry]; a start at or below the equilibrium stays as it is. Raises ProblemsError.
    Range: as drying_time.
    Source: as drying_time.

    >>> round(float(moisture_after(853.4, 0.40, 0.25, 0.0, 0.0010)), 4)
    0.015
    """
    inputs = Inputs()
    t = inputs.amount("time", time, "s")
    x0, xc = inputs.amount("start", start, "kg/kg"), inputs.amount("critical", critical, "kg/kg")
    xe, r = inputs.amount("equilibrium", equilibrium, "kg/kg"), inputs.amount("rate", rate, "kg/(kg s)")
    if np.any(xc <= xe):
        inputs.refuse("critical", "the critical moisture lies above the equilibrium", value=float(np.min(xc)))
    inputs.done()
    with np.errstate(divide="ignore", invalid="ignore"):
        turn = np.where(r > 0, np.maximum(x0 - xc, 0.0) / r, np.inf)
    top = np.minimum(x0, xc)
    late = np.maximum(t - turn, 0.0)
    falling = xe + (top - xe) * np.exp(-r * late / (xc - xe))
    return np.asarray(np.where(x0 <= xe, x0, np.where(t < turn, x0 - r * t, falling)))


def panel_drying_time(
    start: ArrayLike, end: ArrayLike, equilibrium: ArrayLike, thickness: ArrayLike, diffusivity: ArrayLike,
    face: ArrayLike = np.inf,
) -> Floats:  # fmt: skip
    """Seconds for a panel that dries by diffusion through its thickness, both faces alike.

    Equation: t = Fo L^2 / D, with the mean of the slab series at (X - X_e) / (X_0 - X_e).
    Takes:
        start [kg/kg dry]: X_0, the same all through.
        end [kg/kg dry]: X wanted as the mean; at or below the equilibrium it is refused.
        equilibrium [kg/kg dry]: X_e at the faces.
        thickness [m]: whole, above 0.
        diffusivity [m2/s]: D, above 0; about 1e-10 to 1e-9 in wood.
        face [m/s]: mass transfer at the face; infinite where the face is at once at equilibrium.
    Gives: t [s]. Raises ProblemsError.
    Range: below fibre saturation, constant D.
    Source: Crank, The Mathematics of Diffusion, section 4.3.

    >>> round(float(panel_drying_time(0.12, 0.09, 0.08, 0.018, 3e-10)) / 86400, 1)
    1.5
    """
    inputs = Inputs()
    x0, x = inputs.amount("start", start, "kg/kg"), inputs.amount("end", end, "kg/kg")
    xe = inputs.amount("equilibrium", equilibrium, "kg/kg")
    half = inputs.size("thickness", thickness, "m") / 2
    d = inputs.size("diffusivity", diffusivity, "m2/s")
    speed = np.asarray(face, dtype=np.float64)
    _reachable(inputs, x0, x, xe + 1.0, xe)
    inputs.done()
    left = np.where(x >= x0, 1.0, (x - xe) / np.maximum(x0 - xe, 1e-300))
    biot = np.minimum(speed * half / d, 1e8)
    return np.asarray(slab_fourier(left, biot) * half**2 / d)


def panel_moisture(
    time: ArrayLike, start: ArrayLike, equilibrium: ArrayLike, thickness: ArrayLike, diffusivity: ArrayLike
) -> Floats:
    """Mean moisture of a panel after a time of drying by diffusion.

    Equation: X = X_e + (X_0 - X_e) theta_mean(D t / L^2), faces at equilibrium.
    Takes:
        time [s]: 0 or more.
        start [kg/kg dry]: X_0.
        equilibrium [kg/kg dry]: X_e.
        thickness [m]: whole.
        diffusivity [m2/s]: D.
    Gives: X [kg/kg dry]. Raises ProblemsError.
    Range: as panel_drying_time; it takes up water where X_e is above X_0.
    Source: as panel_drying_time.

    >>> round(float(panel_moisture(0.0, 0.12, 0.08, 0.018, 3e-10)), 9)
    0.12
    """
    inputs = Inputs()
    t = inputs.amount("time", time, "s")
    x0, xe = inputs.amount("start", start, "kg/kg"), inputs.amount("equilibrium", equilibrium, "kg/kg")
    half, d = inputs.size("thickness", thickness, "m") / 2, inputs.size("diffusivity", diffusivity, "m2/s")
    inputs.done()
    return np.asarray(xe + (x0 - xe) * slab_mean_ratio(d * t / half**2, 1e8))


def dry_particles(
    start: float,
    end: float,
    gas: float,
    ratio: float,
    thickness: float,
    *,
    transfer: float = 30.0,
    density: float = 450.0,
    critical: float = 0.25,
    exposed: float = 0.2,
    pressure: float = ATMOSPHERE,
) -> Timed:
    """Flat particles dried in moving gas: how long, how much water, with the curve of moisture.

    Equation: drying_time with a = 2 exposed / (density thickness), T_w by wet_bulb_of, X_e by equilibrium_moisture.
    Takes:
        start [kg/kg dry]: moisture going in.
        end [kg/kg dry]: moisture wanted.
        gas [degC]: mean temperature of the gas along the dryer.
        ratio [kg/kg dry air]: water in the gas.
        thickness [m]: of a particle.
        transfer [W/(m2 K)]: to the particle.
        density [kg dry/m3]: of the particle.
        critical [kg/kg dry]: where the surface is no longer wet; near fibre saturation for thin wood.
        exposed [1]: share of the time a particle is in the gas and not in the heap; a drum shows about a fifth.
        pressure [kPa]: of the gas.
    Gives: a Timed; outcomes are water lost (kg/kg dry), wet bulb, equilibrium, rate. Raises ProblemsError.
    Range: 0.1 to 20 mm, 20 to 600 degC; warns RangeWarning outside. transfer and exposed are best fitted to readings.
    Source: as drying_time; exposed and transfer are common practice, no source.

    >>> 15 < dry_particles(0.40, 0.015, 220.0, 0.15, 0.0025).seconds / 60 < 25
    True
    """
    inputs = Inputs()
    x0, x = inputs.amount("start", start, "kg/kg"), inputs.amount("end", end, "kg/kg")
    inputs.number("gas", gas, low=0.0, unit="degC", what="a dryer gas below freezing is not covered")
    inputs.amount("ratio", ratio, "kg/kg")
    size, rho = inputs.size("thickness", thickness, "m"), inputs.size("density", density, "kg/m3")
    inputs.share("exposed", exposed)
    inputs.size("exposed", exposed, "")
    inputs.done()
    warn_outside("particles in moving gas", RANGES, thickness=thickness, gas=gas)
    wet = float(wet_bulb_of(gas, ratio, pressure))
    humidity = float(humidity_of(min(gas, 130.0), ratio, pressure))
    equilibrium = float(equilibrium_moisture(min(gas, 130.0), min(humidity, 1.0)))
    rate = float(wet_rate(gas, wet, transfer, 2 * exposed / (rho * size)))
    seconds = float(drying_time(x0, x, critical, equilibrium, rate))
    times = np.linspace(0, 1.25 * max(seconds, 1.0), POINTS)
    drawn = curve("Moisture of the particles", times, end,
                  moisture=("kg/kg dry", moisture_after(times, start, critical, equilibrium, rate)))  # fmt: skip
    notes: tuple[str, ...] = ("one mean gas temperature stands for the whole dryer",)
    if gas > 130.0:
        notes += ("equilibrium taken at 130 degC, where its source ends; it is near zero there",)
    return Timed(
        "dry",
        seconds,
        drawn,
        (
            Outcome("water lost", max(start - end, 0.0), "kg/kg dry", "dry matter"),
            Outcome("wet bulb", wet, "degC"),
            Outcome("equilibrium moisture", equilibrium, "kg/kg dry"),
            Outcome("rate while wet", rate * 60, "kg/(kg dry min)"),
        ),
        {"start": start, "end": end, "gas": gas, "ratio": ratio, "thickness": thickness, "transfer": transfer,
         "density": density, "critical": critical, "exposed": exposed},
        {"start": "kg/kg dry", "end": "kg/kg dry", "gas": "degC", "ratio": "kg/kg", "thickness": "m",
         "transfer": "W/(m2 K)", "density": "kg/m3", "critical": "kg/kg dry", "exposed": ""},
        notes,
        cautions((("combustible dust", "dryer"), ("fire", "dryer"))),
        Honesty("estimate", notes=notes),
    )  # fmt: skip
