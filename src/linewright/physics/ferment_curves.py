"""Sugar over time for one must by a stiff solver, and for thousands of musts at once.

Both paths use the same slopes. The second takes one common step for all curves by Dormand and Prince's pair, so that
ten thousand months of fermentation take seconds: for sweeps, sensitivities and forecasts.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.integrate import solve_ivp

from linewright.physics.inputs import Floats, Inputs
from linewright.physics.ranges import warn_outside
from linewright.physics.yeast import RANGES, TOO_COLD, TOO_HOT, TOO_SWEET, Rates, rates, slopes

LEAST = 1e-9
"""g/L of nitrogen that stands for none."""
LONGEST = 24.0 * 120
"""Hours after which a must that is not dry counts as stuck, at pace 1."""


@dataclass(frozen=True)
class Course:
    """A fermentation: ``hours``; ``sugar``, ``living`` and all ``cells`` in g/L; ``dry_after`` in hours, infinite where
    the sugar wanted is never reached. With many musts a row each."""  # fmt: skip

    hours: Floats
    sugar: Floats
    living: Floats
    cells: Floats
    dry_after: Floats


@dataclass(frozen=True)
class Schedule:
    """Temperatures in degC at hours, straight lines between, held before and after."""

    hours: tuple[float, ...]
    degrees: tuple[float, ...]

    def at(self, hour: float) -> float:
        """The temperature at an hour."""
        return float(np.interp(hour, self.hours, self.degrees))


def check_must(inputs: Inputs, sugar: ArrayLike, nitrogen: ArrayLike, yeast: ArrayLike, temperature: ArrayLike,
               pace: ArrayLike, end: ArrayLike) -> tuple[Floats, ...]:  # fmt: skip
    """The numbers of a must, checked; problems go into inputs.

    Equation: none.
    Takes:
        inputs [see Inputs]: collects the problems.
        sugar [g/L]: above 350 yeast does not start.
        nitrogen [mg/L]: that yeast can use.
        yeast [g/L]: pitched, above 0.
        temperature [degC]: 4 to 40.
        pace [1]: against the published flasks, above 0.
        end [g/L]: sugar at which it counts as dry, above 0.
    Gives: the six as arrays.
    Range: as yeast.rates.
    Source: limits are common practice.

    >>> len(check_must(Inputs(), 200.0, 100.0, 0.2, 17.0, 1.0, 2.0))
    6
    """
    s = inputs.size("sugar", sugar, "g/L")
    if np.any(s > TOO_SWEET):
        inputs.refuse("sugar", "yeast will not start at this sugar", value=f"{float(np.max(s)):g} g/L",
                      expected=f"at most {TOO_SWEET:g} g/L", hint="thin the must, or start it in steps")  # fmt: skip
    n, x = inputs.amount("nitrogen", nitrogen, "mg/L"), inputs.size("yeast", yeast, "g/L")
    t = inputs.temperature("temperature", temperature)
    if np.any((t < TOO_COLD) | (t > TOO_HOT)):
        inputs.refuse("temperature", "yeast does not work at this temperature",
                      value=f"{float(t[(t < TOO_COLD) | (t > TOO_HOT)].flat[0]):g} degC",
                      expected=f"{TOO_COLD:g} to {TOO_HOT:g} degC")  # fmt: skip
    return s, n, x, t, inputs.size("pace", pace, ""), inputs.size("end", end, "g/L")


def ferment_one(
    sugar: float,
    nitrogen: float,
    yeast: float,
    temperature: float | Schedule,
    *,
    pace: float = 1.0,
    end: float = 2.0,
    hours: ArrayLike | None = None,
) -> Course:
    """One must, by a stiff solver.

    Equation: yeast.slopes, all multiplied by pace.
    Takes:
        sugar [g/L]: at the start.
        nitrogen [mg/L]: that yeast can use, at the start.
        yeast [g/L]: dry cells pitched.
        temperature [degC, or Schedule]: of the must.
        pace [1]: speed against the published flasks.
        end [g/L]: sugar at which it counts as dry.
        hours [h]: where the course is wanted; until it is dry where not given.
    Gives: a Course. Raises ProblemsError.
    Range: as yeast.RANGES; warns RangeWarning outside.
    Source: as yeast.slopes; LSODA of SciPy (Petzold 1983).

    >>> round(float(ferment_one(264.0, 80.0, 0.25, 20.0).dry_after), 0)
    229.0
    """
    inputs = Inputs()
    held = temperature.degrees if isinstance(temperature, Schedule) else temperature
    check_must(inputs, sugar, nitrogen, yeast, held, pace, end)
    inputs.done()
    warn_outside("fermentation", RANGES, temperature=np.asarray(held), sugar=sugar, nitrogen=nitrogen)
    start = max(nitrogen / 1000, LEAST)
    steady = None if isinstance(temperature, Schedule) else rates(temperature, nitrogen)

    def slope(hour: float, y: Floats) -> list[float]:
        at = steady
        if at is None:
            assert isinstance(temperature, Schedule)
            at = rates(temperature.at(hour), nitrogen)
        return [pace * float(v) for v in slopes(y[0], y[1], y[2], np.asarray(sugar), at)]

    def dry(_: float, y: Floats) -> float:
        return float(y[2] - np.log(end))

    dry.terminal = hours is None  # type: ignore[attr-defined]
    first = np.array([np.log(start), yeast, np.log(sugar)])
    last = LONGEST / pace if hours is None else float(np.max(np.asarray(hours)))
    longest_step = 6.0 if steady is None else np.inf
    solved = solve_ivp(slope, (0.0, last), first, method="LSODA", events=dry, rtol=1e-8, atol=1e-9,
                       dense_output=True, max_step=longest_step)  # fmt: skip
    crossed = (solved.t_events or [np.empty(0)])[0]
    after = 0.0 if sugar <= end else (float(crossed[0]) if crossed.size else np.inf)
    if hours is None:
        grid = np.linspace(0.0, float(solved.t[-1]), 241)
    else:
        grid = np.asarray(hours, dtype=np.float64)
    assert solved.sol is not None  # dense output was asked for
    found = solved.sol(grid)
    cells = yeast + float(rates(20.0, nitrogen).cells) * (start - np.exp(found[0]))
    return Course(grid, np.exp(found[2]), found[1], cells, np.asarray(after))


# Dormand and Prince 1980: nodes are not needed with temperatures read at the step's middle.
_A = ((1 / 5,), (3 / 40, 9 / 40), (44 / 45, -56 / 15, 32 / 9), (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
      (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
      (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84))  # fmt: skip
_C = (1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0)
_E = (71 / 57600, 0.0, -71 / 16695, 71 / 1920, -17253 / 339200, 22 / 525, -1 / 40)


def ferment_many(
    sugar: ArrayLike,
    nitrogen: ArrayLike,
    yeast: ArrayLike,
    temperature: ArrayLike | Schedule,
    hours: ArrayLike,
    *,
    pace: ArrayLike = 1.0,
    end: ArrayLike = 2.0,
    tolerance: float = 1e-6,
) -> Course:
    """Many musts at once.

    Equation: as ferment_one; one step for all by Dormand and Prince 5(4), landing on each of the hours.
    Takes:
        sugar [g/L]: at the start, one or many.
        nitrogen [mg/L]: that yeast can use.
        yeast [g/L]: dry cells pitched.
        temperature [degC, or Schedule]: one, many, or one schedule for all.
        hours [h]: where the courses are wanted, rising from 0.
        pace [1]: speed against the published flasks.
        end [g/L]: sugar at which a must counts as dry.
        tolerance [1]: error of a step.
    Gives: a Course with a row for each must; dry_after is infinite where it lies beyond the last hour. Raises
        ProblemsError.
    Range: as yeast.RANGES; warns RangeWarning outside.
    Source: as ferment_one; Dormand and Prince, Journal of Computational and Applied Mathematics 6 (1980) 19.

    >>> found = ferment_many(264.0, [80.0, 330.0], 0.25, 20.0, np.linspace(0, 720, 61))
    >>> found.dry_after.round(0).tolist()
    [229.0, 137.0]
    """
    inputs = Inputs()
    held = np.asarray(temperature.degrees) if isinstance(temperature, Schedule) else temperature
    s, n, x, t, p, e = check_must(inputs, sugar, nitrogen, yeast, held, pace, end)
    grid = inputs.amount("hours", hours, "h")
    if grid.ndim != 1 or grid.size < 2 or grid[0] != 0 or np.any(np.diff(grid) <= 0):
        inputs.refuse("hours", "hours rise from 0, at least two of them")
    inputs.done()
    warn_outside("fermentation", RANGES, temperature=t, sugar=s, nitrogen=n)
    members = (s, n, x, p, e) if isinstance(temperature, Schedule) else (s, n, x, p, e, t)
    shape = np.broadcast_shapes(*(m.shape for m in members))
    s, n, x, p, e = (np.broadcast_to(m, shape).ravel() for m in (s, n, x, p, e))
    course = temperature if isinstance(temperature, Schedule) else np.broadcast_to(t, shape).ravel()
    return _together(s, n, x, course, grid, p, e, tolerance)


def _together(s: Floats, n: Floats, x: Floats, temperature: Floats | Schedule, grid: Floats, p: Floats, e: Floats,
              tolerance: float) -> Course:  # fmt: skip
    start = np.maximum(n / 1000, LEAST)
    steady = None if isinstance(temperature, Schedule) else rates(temperature, n)

    def at(hour: float) -> Rates:
        if steady is not None:
            return steady
        assert isinstance(temperature, Schedule)
        return rates(temperature.at(hour), n)

    def slope(hour: float, y: Floats) -> Floats:
        return p * np.array(slopes(y[0], y[1], y[2], s, at(hour)))

    y = np.array([np.log(start), x, np.log(s)])
    out = np.empty((grid.size, 3, s.size))
    out[0] = y
    after = np.where(s <= e, 0.0, np.inf)
    goal = np.log(e)
    hour, step, k0 = 0.0, 0.5, slope(0.0, y)
    for place, stop in enumerate(grid[1:], start=1):
        while hour < stop - 1e-12:
            length = min(step, stop - hour)
            new, k1, error = _step(slope, hour, y, k0, length)
            # Errors count as far as they matter: nitrogen against its half value, sugar against the dry mark.
            size = (
                np.exp(new[0]) / (np.exp(new[0]) + 0.009) * np.abs(error[0]),
                np.abs(error[1]) / (new[1] + 1e-3),
                np.abs(error[2]) * np.exp(new[2]) / (np.exp(new[2]) + 0.1 * e),
            )
            worst = max(float(np.max(v)) for v in size) / tolerance  # fmt: skip
            if worst > 1 and length > 1e-6:
                step = length * max(0.2, 0.9 * worst**-0.2)
                continue
            crossing = np.isinf(after) & (new[2] <= goal)
            if crossing.any():
                after[crossing] = hour + length * _crossing(y[2], new[2], k0[2], k1[2], length, goal, crossing)
            hour, y, k0 = hour + length, new, k1
            grown = length * min(5.0, 0.9 * max(worst, 1e-10) ** -0.2)
            step = max(step, grown) if length < step else grown
        out[place] = y
    cells = x + rates(20.0, n).cells * (start - np.exp(out[:, 0]))
    return Course(grid, np.exp(out[:, 2]).T, out[:, 1].T, cells.T, after)


def _step(slope, hour: float, y: Floats, k0: Floats, h: float) -> tuple[Floats, Floats, Floats]:  # type: ignore[no-untyped-def]
    ks = [k0]
    new = y
    for c, row in zip(_C, _A, strict=True):
        new = y + h * sum(a * k for a, k in zip(row, ks, strict=True) if a)
        ks.append(slope(hour + c * h, new))
    error = h * sum(e * k for e, k in zip(_E, ks, strict=True) if e)
    return new, ks[-1], np.asarray(error)


def _crossing(w0: Floats, w1: Floats, d0: Floats, d1: Floats, h: float, goal: Floats, which: Floats) -> Floats:
    """Where in a step ln sugar passes the goal, as a share of it: the cubic through both ends, halved forty times."""
    w0, w1, d0, d1, g = (v[which] for v in (w0, w1, d0 * h, d1 * h, goal))
    low, high = np.zeros(w0.shape), np.ones(w0.shape)
    for _ in range(40):
        u = 0.5 * (low + high)
        v = ((1 + 2 * u) * w0 + u * d0) * (1 - u) ** 2 + u**2 * ((3 - 2 * u) * w1 - (1 - u) * d1)
        low, high = np.where(v > g, u, low), np.where(v > g, high, u)
    return np.asarray(0.5 * (low + high))
