"""The plan: what was written about how a product is made, checked for form, frozen.

A Plan stores what its author wrote, quantities read and references named but not followed; ``network`` evaluates it.
The meaning of every field is docs/meaning.md, the format as its author sees it docs/plan.md. Every mapping keeps the
author's order. Build one from a file (``plan.load``), from Python (``plan.build``), or by ``Plan.change``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Literal

from linewright.base.problems import Problem
from linewright.base.results import Shown, Table
from linewright.base.units import Quantity
from linewright.plan.operation_model import (
    Amount,
    Check,
    Clean,
    Duration,
    During,
    HandsOn,
    Load,
    Move,
    Operation,
    Reaction,
    Setup,
    Start,
    Symbol,
    Wait,
)
from linewright.plan.option_model import Option, Varies
from linewright.plan.quality_model import CheckScale, FailureMode, FirstPieces, Fit, FitDimension, Learning
from linewright.plan.season_model import Campaign, Intake

__all__ = [
    "Amount", "Campaign", "Carrier", "Check", "CheckScale", "Clean", "Crew", "Demand", "Duration", "During",
    "FailureMode", "FirstPieces", "Fit", "FitDimension", "HandsOn", "Intake", "Item", "Learning", "Line", "Load",
    "Mass", "Move", "Operation", "Option", "Overhead", "Place", "Plan", "Power", "Reaction", "Route", "Setup", "Shift",
    "Skill", "Start", "Station", "Stoppage", "Store", "Symbol", "Tool", "Utility", "Varies", "Wait",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mass:
    """Mass of one unit of an item: mean and standard deviation, both in kg."""

    mean: Quantity
    sd: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """A thing that is bought, made, used, sold or left over.

    ``unit`` is a count noun or a unit of mass, dry mass, volume, length, area or energy. Prices are money for each
    ``unit`` or for a measure (``plan.amounts.price_of``): ``buy``, ``sell``, ``disposal`` (a charge, positive costs).
    ``moisture`` is on dry basis (0.06 is 6 %). ``components`` are shares of mass,
    ``contains`` what is in it, for blends. ``stock`` is what circulates.
    ``keeps`` in s: how long it stays good on hand. ``thickness`` in m serves loads limited by height.
    ``heating_value`` in kWh/kg is that of a fuel. ``options`` are those in which it differs; ``by_option`` has the
    fields that differ with them (buy, sell, mass).
    """

    id: str
    unit: str
    name: str = ""
    buy: Quantity | None = None
    sell: Quantity | None = None
    disposal: Quantity | None = None
    free: bool = False
    mass: Mass | None = None
    moisture: float | None = None
    contains: Mapping[str, Quantity] = field(default_factory=dict)
    components: Mapping[str, float] = field(default_factory=dict)
    heating_value: Quantity | None = None
    thickness: Quantity | None = None
    stock: Quantity | None = None
    keeps: Quantity | None = None
    store: str | None = None
    hazards: tuple[str, ...] = ()
    note: str = ""
    options: tuple[str, ...] = ()
    by_option: Mapping[str, Varies] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Route:
    """How one item is made: operations in order.

    Where several routes make the item, ``share`` fixes its part and ``prefer`` its place in the order of preference.
    A ``campaign`` makes it wait until enough is ready.
    ``only_if`` maps option to the values for which the item is made so.
    ``lot`` is how much of it is let in one after another, before anything else is let in for the same item.
    """

    id: str
    gives: str
    operations: tuple[Operation, ...]
    name: str = ""
    share: float | None = None
    prefer: int | None = None
    campaign: Campaign | None = None
    only_if: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    lot: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Stoppage:
    """A named kind of stoppage of each place: mean time between (exponential unless spread) and repair.

    ``clock``: between counts ``running`` time of the place, or ``calendar`` time. ``crew`` mends it if named.
    """

    name: str
    between: Duration
    repair: Duration
    clock: Literal["running", "calendar"] = "running"
    crew: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Utility:
    """What stations run on, bought by energy: ``price`` is money per kWh."""

    id: str
    name: str = ""
    price: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Power:
    """What one place draws, in kW: ``running`` while it works or is set up, ``holding`` while it stands with a piece,
    ``idle`` while its people are in and it does neither. ``of`` is the utility (None: the only one there is).
    """

    running: Quantity
    idle: Quantity | None = None
    holding: Quantity | None = None
    of: str | None = None


@dataclass(frozen=True, slots=True)
class Station:
    """Where operations happen: ``places`` of the same kind, ``hours`` of its own (shift names; empty: always there).

    ``machine_rate`` is money per hour of use, ``cooling`` the power (kW) that cools all its places together, ``power``
    what one place draws.
    ``sizes`` lists (size, how many) of vessels, the smallest first; they are the places then.
    """

    id: str
    name: str = ""
    places: int = 1
    sizes: tuple[tuple[Quantity, int], ...] = ()
    hours: tuple[str, ...] = ()
    stoppages: tuple[Stoppage, ...] = ()
    machine_rate: Quantity | None = None
    cooling: Quantity | None = None
    power: Power | None = None
    hazards: tuple[str, ...] = ()
    note: str = ""


@dataclass(frozen=True, slots=True)
class Store:
    """A place to wait, with finite ``room`` in pieces or an amount."""

    id: str
    room: Quantity
    name: str = ""


@dataclass(frozen=True, slots=True)
class Skill:
    """How many people of a crew can do another crew's work, and at what share of that crew's pace."""

    people: int
    pace: float = 1.0


@dataclass(frozen=True, slots=True)
class Crew:
    """People of one trade. ``people`` gives how many for each shift; ``wage`` is money per hour.

    ``allowance`` stretches normal time to standard time (0.09: 9 % of work time); ``present`` is the share of paid
    people who are there. ``can`` is what some of them can do besides: crew whose work it is -> Skill.
    """

    id: str
    people: Mapping[str, int]
    name: str = ""
    wage: Quantity | None = None
    allowance: float = 0.0
    present: float = 1.0
    can: Mapping[str, Skill] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Shift:
    """Hours of work: spans of minutes from midnight (an end before its start runs past midnight), days 0 (Mon) to 6."""

    id: str
    hours: tuple[tuple[int, int], ...]
    breaks: tuple[tuple[int, int], ...] = ()
    days: tuple[int, ...] = (0, 1, 2, 3, 4)
    paid_breaks: bool = False


@dataclass(frozen=True, slots=True)
class Tool:
    """Shared tooling: ``count`` of one kind, taken with the crew and free between runs."""

    id: str
    count: int
    name: str = ""


@dataclass(frozen=True, slots=True)
class Carrier:
    """A form, pallet, rack or jig that goes along with pieces and comes back: ``count`` of one kind.

    A piece gets on at the start of any operation of ``joins`` and off at the end of any of ``leaves``; ``holds`` go on
    one. ``way_back`` is the time until it can be used again. ``between_losses``: mean time in use until one is lost or
    broken, ``repair`` until it is back. ``price`` and the uses that one ``lasts_for`` are for its wear. With
    ``options`` there is one kind for each combination of their values; ``by_option`` has what differs (the count).
    """

    id: str
    count: int
    joins: tuple[str, ...]
    leaves: tuple[str, ...]
    name: str = ""
    way_back: Duration | None = None
    holds: int = 1
    between_losses: Duration | None = None
    repair: Duration | None = None
    price: Quantity | None = None
    lasts_for: int | None = None
    options: tuple[str, ...] = ()
    by_option: Mapping[str, Varies] = field(default_factory=dict)
    note: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """Operations whose work may be shared anew over stations: the question of balancing.

    ``routes`` names whole routes. ``together``, ``apart`` list groups of operation ids; ``fixed`` maps an operation,
    ``zones`` a zone of operations, to the stations where it may be, numbered from 1. ``machines`` are stations or tools
    that cannot be in more places than there are of them; ``skills`` what crews can do besides their own work.
    ``current`` is "as planned", or maps operation to the station where it is now; None asks nothing.
    """

    id: str
    routes: tuple[str, ...]
    name: str = ""
    takt: Quantity | None = None
    stations: int | None = None
    together: tuple[tuple[str, ...], ...] = ()
    apart: tuple[tuple[str, ...], ...] = ()
    fixed: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    zones: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    sides: Mapping[str, str] = field(default_factory=dict)
    machines: tuple[str, ...] = ()
    skills: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    people: int = 1
    parallel: int = 1
    worst_model: float | None = None
    within: float | None = None
    strain: Mapping[str, float] = field(default_factory=dict)
    strain_limit: float | None = None
    current: Mapping[str, int] | Literal["as planned"] | None = None
    station_cost: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Demand:
    """What is wanted: so much of ``item``, at ``rate`` as written (``36 each/day``, ``2 t/h``).

    Per day means per working day, per week per calendar week, per hour per open hour. ``options`` maps option to the
    mix that is wanted, value to share; the usual mix holds for options that are not named.
    """

    item: str
    rate: Quantity
    options: Mapping[str, Mapping[str, float]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Overhead:
    """Costs that no operation carries: shares of labour and of material, and money per working day.

    ``of_stock`` is what a year of lying in stock costs, as a share of the value; it serves the question of lots only.
    """

    of_labour: float = 0.0
    of_material: float = 0.0
    of_stock: float = 0.0
    per_day: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """Where a field was written: file and line from 1."""

    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Plan(Shown):
    """Everything written about one production. Frozen; ``change`` returns a new plan, checked again.

    ``places`` maps a path to where it was written; ``document`` is the file as plain data, its tables read in;
    ``makes`` is what a harvest is made into where no demand says how much of it.
    ``begins`` and ``ends`` are the first and the last day of a horizon (None: a steady state is asked for), ``closed``
    spans of days on which nobody works, ``intake`` what comes in season.
    ``warnings`` say what was assumed in reading it; ``folder`` is where study files lie; ``fingerprint`` changes with
    any content, study files included.
    """

    name: str
    money: str
    demand: tuple[Demand, ...]
    items: Mapping[str, Item]
    routes: Mapping[str, Route]
    stations: Mapping[str, Station] = field(default_factory=dict)
    stores: Mapping[str, Store] = field(default_factory=dict)
    crews: Mapping[str, Crew] = field(default_factory=dict)
    shifts: Mapping[str, Shift] = field(default_factory=dict)
    tools: Mapping[str, Tool] = field(default_factory=dict)
    carriers: Mapping[str, Carrier] = field(default_factory=dict)
    lines: Mapping[str, Line] = field(default_factory=dict)
    fits: Mapping[str, Fit] = field(default_factory=dict)
    utilities: Mapping[str, Utility] = field(default_factory=dict)
    options: Mapping[str, Option] = field(default_factory=dict)
    overhead: Overhead = field(default_factory=Overhead)
    release: Literal["takt", "pull", "flat out"] = "takt"
    open_pieces: int | None = None
    tolerance: float = 0.01
    makes: str | None = None
    begins: date | None = None
    ends: date | None = None
    closed: tuple[tuple[date, date], ...] = ()
    intake: tuple[Intake, ...] = ()
    note: str = ""
    places: Mapping[str, Place] = field(default_factory=dict, compare=False, repr=False)
    fingerprint: str = field(default="", compare=False)
    folder: str = field(default=".", compare=False)
    document: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)
    warnings: tuple[Problem, ...] = field(default=(), compare=False, repr=False)

    def change(self, path: str, value: object) -> Plan:
        """A new plan with the field at ``path`` set to ``value`` as it would be written in the file, checked again.

        ``value`` None takes the field out. Raises ProblemsError where the new plan is wrong, KeyError for no such path.
        """
        from linewright.plan.change import changed

        return changed(self, path, value)

    def to_table(self) -> Table:
        """One row an operation: where it is done, by whom, what it takes."""
        rows = tuple(
            (
                route.id,
                operation.id,
                operation.name or operation.id.replace("_", " "),
                " or ".join(operation.station),
                ", ".join(operation.crew),
                ", ".join(amount.item for amount in (*operation.takes, *operation.takes_per_load)),
            )
            for route in self.routes.values()
            for operation in route.operations
        )
        return Table(self.name, ("route", "operation", "name", "station", "crew", "takes"), rows)

    def placed(self, problem: Problem) -> Problem:
        """A problem found later, with the file and line of its path, and operations in it named by their id."""
        from linewright.plan.places import placed

        return placed(problem, self.places, self.document)
