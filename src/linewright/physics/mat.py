"""When is the core of a mat in the hot press warm enough? Conduction, and steam that carries heat inwards.

A stated simplification: water that boils near the platens moves to the next colder layer and condenses there, all of it
or a share; nothing moves sideways. Resin cures once the core has stood above a temperature, so this time bounds the
press time from below.
"""

from __future__ import annotations

import numpy as np

from linewright.base.cautions import cautions
from linewright.base.results import Honesty
from linewright.physics.dry import latent_heat
from linewright.physics.dryer_heat import DRY_WOOD_HEAT
from linewright.physics.inputs import Floats, Inputs
from linewright.physics.lumped import WATER_HEAT
from linewright.physics.outcome import Outcome, Timed, curve
from linewright.physics.ranges import Range, warn_outside

BOILING = 100.0
"""degC; steam pressure inside the mat lifts it, which is left out."""
RANGES = {
    "thickness": Range(0.003, 0.05, "m", "practice with flat pressed boards"),
    "platen": Range(100.0, 240.0, "degC", "practice with flat pressed boards"),
}
"""Where hot presses work; no published limits."""


def heat_mat(
    thickness: float,
    platen: float,
    core: float = 98.0,
    *,
    start: float = 25.0,
    density: float = 650.0,
    moisture: float = 0.10,
    conductivity: float = 0.15,
    inward: float = 1.0,
    longest: float = 3600.0,
    cells: int = 24,
) -> Timed:
    """A mat between hot platens until its core reaches a temperature.

    Equation: rho (c + M c_w) dT/dt = k d2T/dx2 with the faces at the platens' temperature; heat that would lift a wet
        layer above 100 degC boils water, of which a share goes to the next colder layer inwards and condenses.
    Takes:
        thickness [m]: pressed.
        platen [degC]: of the platens, above the core wanted.
        core [degC]: wanted in the middle, above start.
        start [degC]: of the mat.
        density [kg dry/m3]: of the pressed mat.
        moisture [kg/kg dry]: of the mat.
        conductivity [W/(m K)]: of the hot mat.
        inward [1]: share of the steam that goes inwards; fit it to a thermocouple in the core.
        longest [s]: where the search ends.
        cells [1]: of the half thickness, at least 4.
    Gives: a Timed, infinite where longest is passed; outcomes are heat taken in, heat stored, steam lost. Raises
        ProblemsError.
    Range: 3 to 50 mm, 100 to 240 degC; warns RangeWarning outside. One-dimensional.
    Source: enthalpy method for conduction with change of state; the steam step is our simplification.

    >>> 60 < heat_mat(0.018, 200.0).seconds < 220
    True
    """
    inputs = Inputs()
    for name, value, unit in (("thickness", thickness, "m"), ("density", density, "kg/m3"),
                              ("conductivity", conductivity, "W/(m K)"), ("longest", longest, "s")):  # fmt: skip
        inputs.size(name, value, unit)
    t0, hot = float(inputs.temperature("start", start)), float(inputs.temperature("platen", platen))
    wanted = float(inputs.temperature("core", core))
    inputs.amount("moisture", moisture, "kg/kg")
    inputs.share("inward", inward)
    inputs.number("cells", cells, low=4, high=200)
    if not t0 <= wanted < hot:
        inputs.refuse("core", f"{wanted:g} degC cannot be reached between platens of {hot:g} degC",
                      expected="a core between start and platens")  # fmt: skip
    inputs.done()
    warn_outside("mat in a hot press", RANGES, thickness=thickness, platen=platen)
    return _march(thickness, hot, wanted, t0, density, moisture, conductivity, inward, longest, cells)


def _march(
    thickness: float, hot: float, wanted: float, start: float, density: float, moisture: float, conductivity: float,
    inward: float, longest: float, cells: int,
) -> Timed:  # fmt: skip
    dx = thickness / 2 / cells
    t, water = np.full(cells, start), np.full(cells, moisture)  # from the middle to the platen
    boil = float(latent_heat(BOILING)) * 1000  # J/kg
    store = density * 1000 * (DRY_WOOD_HEAT + moisture * WATER_HEAT)  # J/(m3 K), water moved later left out
    dt = 0.4 * dx**2 * store / conductivity
    times, middle, face, mean_water = [0.0], [start], [start], [moisture]
    taken, lost, now = 0.0, 0.0, 0.0
    first = float(store * dx * t.sum())
    # One step keeps: heat in = heat stored + heat that leaves with lost steam.
    while t[0] < wanted and now < longest:
        flux = np.empty(cells + 1)
        flux[0] = 0.0
        flux[1:-1] = conductivity * (t[1:] - t[:-1]) / dx
        flux[-1] = conductivity * (hot - t[-1]) / (dx / 2)
        t = t + dt * (flux[1:] - flux[:-1]) / (store * dx)
        taken += dt * flux[-1]
        lost += _boil(t, water, store, density, boil, inward) * dx
        now += dt
        times.append(now)
        middle.append(float(t[0]))
        face.append(float(t[-1]))
        mean_water.append(float(water.mean()))
    stored = float(store * dx * t.sum()) - first
    reached = t[0] >= wanted
    keep = np.unique(np.linspace(0, len(times) - 1, min(len(times), 200)).astype(int))
    at, core, outer, damp = (np.array(row)[keep] for row in (times, middle, face, mean_water))
    drawn = curve("Core of the mat", at, wanted, core=("degC", core), at_the_platen=("degC", outer),
                  moisture=("kg/kg dry", damp))  # fmt: skip
    notes = (
        "steam that boils near the platens condenses in the next colder layer: a simplification",
        "steam pressure, sideways flow and the resin's own heat are left out",
    )
    return Timed(
        "hot press",
        now if reached else float("inf"),
        drawn,
        (
            Outcome("heat taken in", 2 * taken / 1000, "kJ/m2"),
            Outcome("heat stored", 2 * stored / 1000, "kJ/m2"),
            Outcome("heat of lost steam", 2 * lost * density * boil / 1000, "kJ/m2"),
            Outcome("steam lost", 2 * lost * density, "kg/m2"),
        ),
        {"thickness": thickness, "platen": hot, "core": wanted, "start": start, "moisture": moisture},
        {"thickness": "m", "platen": "degC", "core": "degC", "start": "degC", "moisture": "kg/kg dry"},
        notes,
        cautions((("hot press", "press"), ("formaldehyde resin", "press"))),
        Honesty("estimate", notes=notes),
    )  # fmt: skip


def _boil(t: Floats, water: Floats, store: float, density: float, boil: float, inward: float) -> float:
    """Boil what lies above 100 degC while there is water, from the platen inwards; give back the water lost, kg/kg."""
    gone = 0.0
    per_degree = store / (density * boil)  # moisture boiled by one degree of a layer
    for i in range(t.size - 1, -1, -1):
        over = t[i] - BOILING
        if over <= 0:
            continue
        steam = min(over * per_degree, water[i])
        t[i] -= steam / per_degree
        water[i] -= steam
        moving = inward * steam if i > 0 else 0.0
        for j in range(i - 1, -1, -1):
            if moving <= 0:
                break
            taken = min(moving, max(BOILING - t[j], 0.0) * per_degree)
            t[j] += taken / per_degree
            water[j] += taken
            moving -= taken
            steam -= taken
        gone += steam
    return gone
