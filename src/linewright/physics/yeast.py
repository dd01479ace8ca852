"""How fast does yeast eat sugar? Growth on nitrogen, sugar eaten by living cells, cells lost to alcohol.

Published constants of one white must and one wine yeast in stirred flasks. The constants' table was read in quotation,
not in print: for two of them (k_d slope, nitrogen slope of the yield) the printed mean lies outside its own printed
credible region by a lost power of ten; the values here lie in its middle and give the thirteenfold rise of k_d that the
paper states.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from linewright.physics.inputs import Floats, Inputs
from linewright.physics.ranges import Range

SOURCE = "Coleman, Fish and Block 2007"
RANGES = {
    "temperature": Range(11.0, 35.0, "degC", SOURCE),
    "sugar": Range(0.0, 300.0, "g/L", f"{SOURCE} (runs from 265 to 300 g/L down to dry)"),
    "nitrogen": Range(70.0, 350.0, "mg/L", SOURCE),
}
"""The fermentations behind the constants."""
TOO_SWEET = 350.0
"""g/L above which yeast does not start (common practice, no source)."""
TOO_COLD, TOO_HOT = 4.0, 40.0
"""degC outside which wine yeast does not work (common practice, no source)."""
STATED_YIELD = float(np.exp(-0.598))
"""g of alcohol a g of sugar in the kinetics, 0.550: above what chemistry allows, so it drives the loss of cells as it
was fitted, and is never used for the alcohol in the tank."""


@dataclass(frozen=True)
class Rates:
    """Constants at one temperature and nitrogen: growth 1/h, half_nitrogen g/L, eating g alcohol/(g h), half_sugar g/L,
    loss L/(g h), cells g a g nitrogen."""  # fmt: skip

    growth: Floats
    half_nitrogen: float
    eating: Floats
    half_sugar: float
    loss: Floats
    cells: Floats


def rates(temperature: ArrayLike, nitrogen: ArrayLike) -> Rates:
    """The constants of the kinetics.

    Equation: growth exp(-3.92 + 0.0782 T); eating exp(-2.30 + 0.0771 T); loss exp(-9.81 - 0.108 T + 0.00478 T^2);
        cells exp(3.50 - 0.00361 N); half_nitrogen exp(-4.73); half_sugar exp(2.33).
    Takes:
        temperature [degC]: T of the must.
        nitrogen [mg/L]: N that yeast can use, at the start.
    Gives: Rates. Raises ProblemsError.
    Range: 11 to 35 degC, 70 to 350 mg/L (the callers warn).
    Source: Coleman, Fish and Block, Applied and Environmental Microbiology 73 (2007) 5875, table A2, as quoted.

    >>> found = rates(20.0, 80.0)
    >>> round(float(found.growth), 4), round(float(found.eating), 4), round(float(found.cells), 1)
    (0.0948, 0.4686, 24.8)
    """
    inputs = Inputs()
    t, n = inputs.temperature("temperature", temperature), inputs.amount("nitrogen", nitrogen, "mg/L")
    inputs.done()
    return Rates(
        np.exp(-3.92 + 0.0782 * t),
        float(np.exp(-4.73)),
        np.exp(-2.30 + 0.0771 * t),
        float(np.exp(2.33)),
        np.exp(-9.81 - 0.108 * t + 0.00478 * t**2),
        np.exp(3.50 - 0.00361 * n),
    )


def slopes(
    log_nitrogen: Floats, living: Floats, log_sugar: Floats, start_sugar: Floats, at: Rates
) -> tuple[Floats, Floats, Floats]:
    """Slopes of ln nitrogen, living cells and ln sugar, an hour.

    Equation: dX_A/dt = (mu - k_d E) X_A; dN/dt = -mu X_A / Y; dS/dt = -beta X_A / 0.550; E = 0.550 (S_0 - S), with
        mu = mu_max N / (K_N + N) and beta = beta_max S / (K_S + S). Logarithms keep N and S above zero and take the
        stiffness out.
    Takes:
        log_nitrogen [ln of g/L]: what is left.
        living [g/L]: cells that eat.
        log_sugar [ln of g/L]: what is left.
        start_sugar [g/L]: S_0.
        at [see Rates]: the constants.
    Gives: the three slopes [1/h, g/(L h), 1/h].
    Range: as rates.
    Source: Coleman, Fish and Block 2007, eq. 1 to 8; Cramer, Vlassides and Block 2002 for the model.

    >>> at = rates(20.0, 80.0)
    >>> found = slopes(np.log(0.08), np.asarray(0.25), np.log(264.0), np.asarray(264.0), at)
    >>> [round(float(v), 4) for v in found]
    [-0.0108, 0.0213, -0.0008]
    """
    nitrogen, sugar = np.exp(log_nitrogen), np.exp(log_sugar)
    growth = at.growth / (at.half_nitrogen + nitrogen)
    eating = at.eating / (at.half_sugar + sugar) / STATED_YIELD
    alcohol = STATED_YIELD * (start_sugar - sugar)
    return (
        -growth * living / at.cells,
        (growth * nitrogen - at.loss * alcohol) * living,
        -eating * living,
    )
