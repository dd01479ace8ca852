"""Heat through a slab step by step: the numerical twin of the series, for surroundings that change on the way.

Finite volumes, Crank-Nicolson with four backward Euler half-steps at first (they damp the jump at the face). What the
slab gains is what came through its faces, to rounding, whatever the step.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.linalg import solve_banded

from linewright.physics.inputs import Floats, Inputs


@dataclass(frozen=True)
class Profile:
    """Temperatures in degC: ``cells`` by time and cell from the middle to the face, ``face`` and ``mean`` by time.

    ``gained`` is the heat in kJ/m2 of the half slab since the start by its temperature, ``let_in`` the same by what
    came through the face; the two agree to rounding.
    """

    times: Floats
    cells: Floats
    face: Floats
    mean: Floats
    gained: Floats
    let_in: Floats


def slab_profile(
    thickness: float,
    start: ArrayLike,
    around: ArrayLike,
    transfer: float,
    conductivity: float,
    density: float,
    heat_capacity: float,
    duration: float,
    *,
    cells: int = 60,
    steps: int = 400,
) -> Profile:
    """The temperatures of a slab over time, both faces alike, surroundings free to change.

    Equation: rho c dT/dt = k d2T/dx2, no flux in the middle, k dT/dx = h (T_a(t) - T_face) at the face.
    Takes:
        thickness [m]: whole, above 0.
        start [degC]: one value, or one for each cell from the middle to the face.
        around [degC]: one value, or one for each end of a step (steps + 1 of them).
        transfer [W/(m2 K)]: h, above 0.
        conductivity [W/(m K)]: above 0.
        density [kg/m3]: above 0.
        heat_capacity [kJ/(kg K)]: above 0.
        duration [s]: above 0.
        cells [1]: of the half thickness, at least 2.
        steps [1]: of time, at least 5.
    Gives: a Profile. Raises ProblemsError.
    Range: constant properties. The error falls with the square of cell and step.
    Source: Crank and Nicolson, 1947; the damping half-steps after Rannacher, 1984.

    >>> found = slab_profile(0.02, 100.0, 20.0, 10.0, 0.12, 680.0, 1.7, 1800.0)
    >>> bool(abs(found.gained[-1] - found.let_in[-1]) < 1e-9 * abs(found.gained[-1]))
    True
    """
    inputs = Inputs()
    half = float(inputs.size("thickness", thickness, "m")) / 2
    first, outside = inputs.temperature("start", start), inputs.temperature("around", around)
    for name, value, unit in (("transfer", transfer, "W/(m2 K)"), ("conductivity", conductivity, "W/(m K)"),
                              ("density", density, "kg/m3"), ("heat_capacity", heat_capacity, "kJ/(kg K)"),
                              ("duration", duration, "s")):  # fmt: skip
        inputs.size(name, value, unit)
    inputs.number("cells", cells, low=2)
    inputs.number("steps", steps, low=5)
    if first.shape not in ((), (cells,)):
        inputs.refuse("start", "one temperature, or one for each cell", value=f"{first.shape}")
    if outside.shape not in ((), (steps + 1,)):
        inputs.refuse("around", "one temperature, or one for each end of a step", value=f"{outside.shape}")
    inputs.done()
    return _march(half, np.broadcast_to(first, (cells,)).copy(), np.broadcast_to(outside, (steps + 1,)), transfer,
                  conductivity, density * heat_capacity * 1000, duration, steps)  # fmt: skip


def _march(
    half: float, t: Floats, outside: Floats, h: float, k: float, store: float, duration: float, steps: int
) -> Profile:
    cells, dx, dt = t.size, half / t.size, duration / steps
    inner, outer = k / dx, 1 / (1 / h + dx / (2 * k))  # conductances: between cells, from air to the last cell
    diagonal = np.full(cells, -2 * inner)
    diagonal[0], diagonal[-1] = -inner, -inner - outer
    rows, mean = [t.copy()], [t.mean()]
    let_in = [0.0]
    came = 0.0
    substeps = [(0.5 * dt, 1.0)] * 4 + [(dt, 0.5)] * (steps - 2)
    at = 0.0
    for length, implicit in substeps:
        before, after = (float(np.interp(a / dt, np.arange(steps + 1), outside)) for a in (at, at + length))
        if implicit == 1.0:
            before = after
        air = implicit * after + (1 - implicit) * before
        flow = diagonal * t
        flow[1:] += inner * t[:-1]
        flow[:-1] += inner * t[1:]
        right = store * dx / length * t + (1 - implicit) * flow
        right[-1] += outer * air
        bands = np.zeros((3, cells))
        bands[0, 1:] = bands[2, :-1] = -implicit * inner
        bands[1] = store * dx / length - implicit * diagonal
        new = solve_banded((1, 1), bands, right)
        came += length * outer * (air - implicit * new[-1] - (1 - implicit) * t[-1])
        t, at = new, at + length
        if implicit == 1.0 and round(at / dt * 2) % 2:
            continue  # only whole steps are kept
        rows.append(t.copy())
        mean.append(t.mean())
        let_in.append(came)
    kept = np.array(rows)
    face = kept[:, -1] + (outside - kept[:, -1]) * outer * dx / (2 * k)
    gained = store * half * (np.array(mean) - mean[0]) / 1000
    return Profile(np.linspace(0, duration, steps + 1), kept, face, np.array(mean), gained, np.array(let_in) / 1000)
