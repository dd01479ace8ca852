"""Heat of dryers and cooling of tanks in words: wanted against what is there, and the gas that comes with it."""

from __future__ import annotations

from linewright.answer.energy.cooling import Tanks
from linewright.answer.energy.heat import Dryer
from linewright.answer.energy.power import Power
from linewright.answer.model import Answer
from linewright.base.results import Table, show
from linewright.report import words


def tables(answer: Answer) -> tuple[Table, ...]:
    """One table a dryer, one a group of tanks, one of what the stations draw."""
    found = answer.energy
    power = (_power_table(answer, found.power),) if found.power is not None else ()
    return (*power, *(dryer.to_table() for dryer in found.dryers), *(tanks.to_table() for tanks in found.tanks))


def in_short(answer: Answer) -> tuple[str, ...]:
    """One sentence a dryer, one a group of tanks, and what is drawn."""
    power = answer.energy.power
    return (
        *((_power(power),) if power is not None else ()),
        *map(_heat, answer.energy.dryers),
        *map(_cooling, answer.energy.tanks),
    )


def _power(power: Power) -> str:
    ones = words.listed(f"{kwh:,.3g} kWh for one {item.replace('_', ' ')}" for item, _, kwh in power.per_unit)
    idle = f"; {100 * power.idle / power.total:.0f} % of it while nothing is done" if power.idle > 0 else ""
    peak = ""
    if power.peak is not None:
        peak = f" The greatest quarter of an hour on the simulated day took {power.peak:,.3g} kW."
    return (
        f"The stations draw {power.total:,.0f} kWh a working day, {ones}{idle}. "
        f"{power.connected:,.3g} kW are connected.{peak}"
    )


def _power_table(answer: Answer, power: Power) -> Table:
    names = {s.id: s.name or s.id.replace("_", " ") for s in answer.plan.stations.values()}
    table = power.to_table()
    rows = tuple((names[str(row[0])], *(show(float(cell)) for cell in row[1:])) for row in table.rows)
    return Table(table.title, table.columns, rows)


def gas(answer: Answer) -> tuple[str, ...]:
    """How much carbon dioxide the tanks give off, one sentence a group."""
    return tuple(
        f"{_name(t.name)} gives off up to {t.gas_mean:,.0f} L of carbon dioxide an hour on average, and "
        f"{t.gas_most:,.0f} L were all tanks at their peak together: the most that "
        "chemistry allows, dissolved gas not taken off."
        for t in answer.energy.tanks
    )


def _heat(dryer: Dryer) -> str:
    wants = f"{_name(dryer.name)} wants {show(round(dryer.power))} kW of heat while it runs"
    if not dryer.fuels:
        return f"{wants}; the plan does not say what is burnt."
    own = words.listed(f.name for f in dryer.fuels if f.own)
    gives = f"{own} at hand gives {100 * dryer.cover:.0f} % of it" if own else "no fuel of its own is at hand"
    buys = f"; {dryer.bought:,.0f} kg of other fuel a day give the rest" if dryer.bought > 0.5 else ""
    return f"{wants}; {gives}{buys}."


def _cooling(tanks: Tanks) -> str:
    there = f"{tanks.cooling:.3g} kW are there. " if tanks.cooling is not None else ""
    return (
        f"{_name(tanks.name)}: {tanks.at_once:.1f} tanks at once want {tanks.mean:.2g} kW of cooling, "
        f"{tanks.peak:.2g} at the peak and {tanks.most:.2g} were all at their peak together. {there}{tanks.said}"
    )


def _name(name: str) -> str:
    return name[:1].upper() + name[1:]
