"""Heat and cooling of a whole plan, with warnings where what is wanted and what is there do not meet."""

from __future__ import annotations

from dataclasses import dataclass, replace

from linewright.answer.energy.cooling import Tanks, tanks_of
from linewright.answer.energy.heat import Dryer, dryers_of
from linewright.answer.energy.power import Power, peak_of, power_of
from linewright.answer.simulated import Day
from linewright.base.problems import Problem, Problems
from linewright.base.results import Shown, Table
from linewright.capacity.model import Capacity
from linewright.cost.model import Cost
from linewright.flow.model import Flow
from linewright.network.model import Network

CLOSES = 0.05
"""How far fuel and heat may lie apart before it is said: a dryer's heat is hardly known better."""


@dataclass(frozen=True, slots=True)
class Energy(Shown):
    """Dryers with their fuel, tanks with their cooling and gas (empty where the plan has no such model), and what the
    stations draw (None where none says so).
    """

    dryers: tuple[Dryer, ...] = ()
    tanks: tuple[Tanks, ...] = ()
    power: Power | None = None

    def to_table(self) -> Table:
        """What is wanted and what is there, one row a dryer and one a group of tanks."""
        rows = [("heat", d.name, d.power, d.power * d.cover) for d in self.dryers]
        rows += [("cooling", t.name, t.peak, t.cooling) for t in self.tanks]  # type: ignore[misc]
        if self.power is not None:
            rows.append(("power", "all stations", self.power.peak or self.power.mean, self.power.connected))
        return Table("Heat, cooling and power", ("what", "where", "wanted [kW]", "there is [kW]"), tuple(rows))


def energy_of(network: Network, flow: Flow, capacity: Capacity, cost: Cost) -> tuple[Energy, tuple[Problem, ...]]:
    """Heat and cooling at the demand (tanks: at the part of it that the bounds allow), with warnings by name."""
    problems = Problems()
    power = power_of(cost, capacity.effective_hours)
    found = Energy(dryers_of(network, flow), tanks_of(network, flow, capacity), power)
    for dryer in found.dryers:
        _check_fuel(dryer, problems)
    for tanks in found.tanks:
        _check_cooling(tanks, problems)
    return found, tuple(problems)


def with_peak(energy: Energy, day: Day | None, network: Network) -> Energy:
    """The energy with the peak of a simulated day, where one was kept and anything draws power."""
    if energy.power is None or day is None:
        return energy
    return replace(energy, power=replace(energy.power, peak=peak_of(day, network)))


def _check_fuel(dryer: Dryer, problems: Problems) -> None:
    if not dryer.fuels:
        hint = 'write heating_value = "17 MJ/kg" on the item that it burns, and take it'
        problems.warn(dryer.path, f"the plan does not say what heats {dryer.name}", hint=hint)
    elif abs(dryer.plan_gives - 1) > CLOSES:
        what = f"the fuel that {dryer.name} takes gives {100 * dryer.plan_gives:.0f} % of the heat that its model wants"
        problems.warn(f"{dryer.path}.takes", what, hint="take more or less of it, or mend the conditions of the model")


def _check_cooling(tanks: Tanks, problems: Problems) -> None:
    if tanks.cooling is None or tanks.peak <= tanks.cooling:
        return
    what = (
        f"{tanks.name}: tanks that ferment want {tanks.peak:.3g} kW of cooling at the peak, {tanks.mean:.3g} on average"
    )
    hint = "they get warmer than written and ferment faster; spread the starts, hold them colder, or cool more"
    problems.warn(f"stations.{tanks.station}.cooling", what, value=f"{tanks.cooling:.3g} kW", hint=hint)
