"""When is a board, a stack or a block warm or cool enough? The slab series in degrees, seconds and metres.

A block (a tight stack of boards, a bale) is the product of three slabs. The answer of ``cool_board`` carries the curve
of core, mean and face, so the wait before sanding can be seen and not only counted.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize.elementwise import find_root

from linewright.base.results import Honesty
from linewright.physics.air_film import still_air_transfer
from linewright.physics.inputs import Floats, Inputs
from linewright.physics.outcome import Outcome, Timed, curve
from linewright.physics.slab import slab_fourier, slab_mean_ratio, slab_ratio

POINTS = 121
"""Points of a curve."""


def slab_time(
    thickness: ArrayLike,
    start: ArrayLike,
    end: ArrayLike,
    around: ArrayLike,
    transfer: ArrayLike,
    conductivity: ArrayLike,
    density: ArrayLike,
    heat_capacity: ArrayLike,
    place: float | str = "mean",
) -> Floats:
    """Seconds until a slab, heated or cooled on both faces, reaches a temperature.

    Equation: t = Fo L^2 / a with L half the thickness and a = k / (rho c); Fo by slab_fourier.
    Takes:
        thickness [m]: whole, above 0.
        start [degC]: at time 0, all through.
        end [degC]: wanted; equal to start gives 0, equal to around is never reached (infinite).
        around [degC]: of the surroundings.
        transfer [W/(m2 K)]: h at each face, above 0.
        conductivity [W/(m K)]: k across the slab, above 0.
        density [kg/m3]: above 0.
        heat_capacity [kJ/(kg K)]: above 0.
        place [1, or "mean"]: 0 core, 1 face, or the mean.
    Gives: t [s]. Raises ProblemsError.
    Range: constant properties; a slab wide against its thickness.
    Source: Incropera and DeWitt, section 5.5.

    >>> round(float(slab_time(0.018, 105.0, 40.0, 20.0, 10.0, 0.12, 680.0, 1.7)) / 60, 1)
    31.4
    """
    inputs = Inputs()
    size = inputs.size("thickness", thickness, "m") / 2
    t0, t1 = inputs.temperature("start", start), inputs.temperature("end", end)
    ta = inputs.temperature("around", around)
    h = inputs.size("transfer", transfer, "W/(m2 K)")
    k = inputs.size("conductivity", conductivity, "W/(m K)")
    rho = inputs.size("density", density, "kg/m3")
    c = inputs.size("heat_capacity", heat_capacity, "kJ/(kg K)")
    share = inputs.share_left(t0, t1, ta)
    inputs.done()
    never = share <= 0.0
    fourier = slab_fourier(np.where(never, 0.5, share), h * size / k, place)
    return np.asarray(np.where(never, np.inf, fourier * size**2 * rho * c * 1000 / k))


def block_ratio(time: ArrayLike, sizes: tuple[float, float, float], transfer: float, conductivity: float,
                density: float, heat_capacity: float, place: str = "mean") -> Floats:  # fmt: skip
    """The temperature ratio of a rectangular block cooled on all six faces.

    Equation: theta = theta_x theta_y theta_z, each of a slab.
    Takes:
        time [s]: 0 or more.
        sizes [m]: thickness, width, length, each above 0.
        transfer [W/(m2 K)]: h at the faces, above 0.
        conductivity [W/(m K)]: above 0, alike in all directions.
        density [kg/m3]: above 0.
        heat_capacity [kJ/(kg K)]: above 0.
        place ["mean" or "core"]: where.
    Gives: theta [1]. Raises ProblemsError.
    Range: constant properties; boards of a stack touch, so that the stack is one body.
    Source: Newman's product rule; Incropera and DeWitt, section 5S (from memory).

    >>> round(float(block_ratio(0.0, (0.8, 1.2, 2.4), 8.0, 0.12, 680.0, 1.7)), 9)
    1.0
    """
    inputs = Inputs()
    t = inputs.amount("time", time, "s")
    halves = inputs.size("sizes", sizes, "m") / 2
    h, k = inputs.size("transfer", transfer, "W/(m2 K)"), inputs.size("conductivity", conductivity, "W/(m K)")
    rho, c = inputs.size("density", density, "kg/m3"), inputs.size("heat_capacity", heat_capacity, "kJ/(kg K)")
    if halves.shape != (3,):
        inputs.refuse("sizes", "three sizes are needed", value=halves.shape, expected="thickness, width, length")
    inputs.done()
    spread = k / (rho * c * 1000)
    out = np.ones(t.shape)
    for half in halves:
        fo, bi = spread * t / half**2, h * half / k
        out = out * (slab_mean_ratio(fo, bi) if place == "mean" else slab_ratio(0.0, fo, bi))
    return out


def block_time(start: float, end: float, around: float, sizes: tuple[float, float, float], transfer: float,
               conductivity: float, density: float, heat_capacity: float, place: str = "mean") -> float:  # fmt: skip
    """Seconds until a block, such as a tight stack of boards, reaches a temperature.

    Equation: block_ratio(t) = (end - around) / (start - around).
    Takes:
        start [degC]: at time 0.
        end [degC]: wanted; equal to start gives 0, equal to around is never reached (infinite).
        around [degC]: of the surroundings.
        sizes [m]: thickness, width, length.
        transfer [W/(m2 K)]: h at the faces.
        conductivity [W/(m K)]: of the block.
        density [kg/m3]: of the block.
        heat_capacity [kJ/(kg K)]: of the block.
        place ["mean" or "core"]: where.
    Gives: t [s]. Raises ProblemsError.
    Range: as block_ratio.
    Source: as block_ratio.

    >>> round(block_time(60.0, 30.0, 20.0, (0.72, 1.22, 2.44), 8.0, 0.12, 680.0, 1.7) / 86400, 1)
    4.0
    """
    inputs = Inputs()
    t0, t1 = inputs.temperature("start", start), inputs.temperature("end", end)
    ta = inputs.temperature("around", around)
    share = float(inputs.share_left(t0, t1, ta))
    inputs.done()
    if share == 1.0 or share == 0.0:
        return 0.0 if share == 1.0 else float("inf")

    def of(t: Floats) -> Floats:
        return block_ratio(t, sizes, transfer, conductivity, density, heat_capacity, place)

    # One slab alone is slower than the block, and its time is known.
    thin = min(sizes)
    where: float | str = "mean" if place == "mean" else 0.0
    most = slab_time(thin, start, end, around, transfer, conductivity, density, heat_capacity, where)
    return float(find_root(lambda t: np.log(of(t)) - np.log(share), (0.0, float(most))).x)


def cool_board(
    thickness: float,
    start: float,
    end: float,
    around: float,
    transfer: float | None = None,
    *,
    conductivity: float = 0.12,
    density: float = 680.0,
    heat_capacity: float = 1.7,
    place: str = "mean",
    height: float = 1.22,
) -> Timed:
    """A board heated or cooled on both faces: how long, with the curve of core, mean and face.

    Equation: as slab_time; where no transfer is given still_air_transfer at the mean of the face on the way.
    Takes:
        thickness [m]: whole.
        start [degC]: at time 0.
        end [degC]: wanted at the place.
        around [degC]: of the surroundings.
        transfer [W/(m2 K)]: at each face; None for still air.
        conductivity [W/(m K)]: default as a pressed board.
        density [kg/m3]: default as a pressed board.
        heat_capacity [kJ/(kg K)]: default as a pressed board.
        place ["core", "mean" or "face"]: where the end is wanted.
        height [m]: of the standing board, for still air.
    Gives: a Timed; outcomes are Biot number, transfer, heat given off in kJ/m2. Raises ProblemsError.
    Range: as slab_time. One transfer for the whole time is a simplification.
    Source: as slab_time; defaults are typical of particleboard (Wood Handbook, chapter 4, order of size, from memory).

    >>> 25 < cool_board(0.018, 105.0, 40.0, 22.0).seconds / 60 < 40
    True
    """
    inputs = Inputs()
    if place not in _PLACES:
        inputs.refuse("place", "no such place", value=place, expected="core, mean or face")
    inputs.size("thickness", thickness, "m")
    t0, t1 = inputs.temperature("start", start), inputs.temperature("end", end)
    inputs.share_left(t0, t1, inputs.temperature("around", around))
    inputs.done()
    still = transfer is None
    h = float(still_air_transfer((start + end) / 2, around, height)) if transfer is None else transfer
    seconds = float(slab_time(thickness, start, end, around, h, conductivity, density, heat_capacity, _PLACES[place]))
    half = thickness / 2
    spread, bi = conductivity / (density * heat_capacity * 1000), h * half / conductivity
    last = seconds if 0 < seconds < np.inf else 10 * half**2 / spread
    times = np.linspace(0.0, 1.25 * last, POINTS)
    fo = spread * times / half**2
    lines = {
        "core": slab_ratio(0.0, fo, bi),
        "mean": slab_mean_ratio(fo, bi),
        "face": slab_ratio(1.0, fo, bi),
    }
    order = [place, *(p for p in lines if p != place)]
    drawn = curve(
        "Temperature of the board", times, end, **{p: ("degC", around + (start - around) * lines[p]) for p in order}
    )
    end_mean = float(slab_mean_ratio(spread * seconds / half**2, bi)) if seconds < np.inf else 0.0
    heat = density * heat_capacity * thickness * (start - around) * (1 - end_mean)
    notes: tuple[str, ...] = ("one heat transfer coefficient for the whole time",)
    if still:
        notes += (f"still air and radiation: {h:.3g} W/(m2 K), taken half-way",)
    return Timed(
        "cool" if end < start else "heat",
        seconds,
        drawn,
        (Outcome("Biot number", bi, ""), Outcome("transfer", h, "W/(m2 K)"), Outcome("heat given off", heat, "kJ/m2")),
        {"thickness": thickness, "start": start, "end": end, "around": around, "transfer": h,
         "conductivity": conductivity, "density": density, "heat capacity": heat_capacity},
        {"thickness": "m", "start": "degC", "end": "degC", "around": "degC", "transfer": "W/(m2 K)",
         "conductivity": "W/(m K)", "density": "kg/m3", "heat capacity": "kJ/(kg K)"},
        notes,
        honesty=Honesty("estimate", notes=notes),
    )  # fmt: skip


_PLACES: dict[str, float | str] = {"core": 0.0, "mean": "mean", "face": 1.0}
