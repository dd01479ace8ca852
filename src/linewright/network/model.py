"""The plan compiled once into flat arrays: what every engine reads.

A Network is frozen: NumPy arrays (read-only) in tables of one kind of thing each, names for everything, lists of
varying length as compressed rows (Links). All times are whole nanoseconds where they are fixed, rounded once, here.
Allowance and presence are already inside the times of crewed work, so no engine applies them again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from enum import IntEnum
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from linewright.base.calendar import Calendar
from linewright.base.problems import Problem
from linewright.base.units import read_unit
from linewright.network.lending import Lends
from linewright.plan.model import Plan

if TYPE_CHECKING:
    from linewright.network.campaigns import Campaigns, Cares
    from linewright.network.move import Moves
    from linewright.network.season import Season

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

NOWHERE = -1
"""No station, no store, no route: an index that points at nothing."""
DIRECT = -2
"""``then_to = "next"``: the piece is handed over directly, with no store between."""


@dataclass(frozen=True, slots=True)
class Links:
    """Compressed rows: row ``i`` has the pairs (index, amount) from ``starts[i]`` up to ``starts[i + 1]``."""

    starts: Ints
    index: Ints
    amount: Floats

    def row(self, i: int) -> tuple[Ints, Floats]:
        """Indices and amounts of row ``i``."""
        part = slice(int(self.starts[i]), int(self.starts[i + 1]))
        return self.index[part], self.amount[part]


@dataclass(frozen=True, slots=True)
class Durations:
    """One random time a row: ``shape`` (base.distributions.Shape), ``parameters`` [n, 3] and moments, all in ns.

    A FIXED row's first parameter is a whole number. A row that takes no time is FIXED 0.
    """

    shape: Ints
    parameters: Floats
    mean: Floats
    variance: Floats


@dataclass(frozen=True, slots=True)
class Items:
    """[n_items] each. Money per unit (nan: none written), mass in kg per unit (nan: unknown), moisture dry basis (nan).

    ``units`` are base units (kg, L, m, m2) or the item's count noun: an item written in t is held in kg. A mass not
    written is found along the item's route where everything taken has one. ``demand`` is units wanted per working
    day; ``stock`` units that circulate; ``counted`` tells count nouns;
    ``thickness`` in m (nan: none); ``keeps`` ns that it stays good on hand (0: for ever).
    """

    ids: tuple[str, ...]
    units: tuple[str, ...]
    counted: Bools
    buy: Floats
    sell: Floats
    disposal: Floats
    free: Bools
    mass: Floats
    mass_sd: Floats
    moisture: Floats
    stock: Floats
    thickness: Floats
    keeps: Ints
    demand: Floats


class Setups(IntEnum):
    """When a setup is due."""

    NONE = 0
    EVERY = 1
    ITEM_CHANGES = 2


class Cleans(IntEnum):
    """When cleaning is due."""

    NONE = 0
    LOAD = 1
    SHIFT = 2
    DAY = 3
    EVERY = 4


class Starts(IntEnum):
    """When start-up losses happen."""

    NONE = 0
    STOP = 1
    SHIFT = 2


class Stops(IntEnum):
    """How an operation meets the end of its crew's shift."""

    ANYWHERE = 0
    FINISH = 1
    FITS = 2


@dataclass(frozen=True, slots=True)
class Operations:
    """[n_operations] each, routes in plan order and operations in route order.

    - ``time``: the cycle, standard time where it is crewed; ``each`` ns more for each piece of a load (a continuous
      operation at a rate has time FIXED 0, ``each`` = ns a piece and ``continuous`` true).
    - ``hands_all``: the crew stays for the whole time; else it stays ``hands_start`` ns at the beginning and
      ``hands_end`` ns at the end, and the machine runs alone between. No crew: all three are 0/false.
    - ``dwell``: ns that what runs at a rate stays in the machine.
    - ``stand``: after the time, with no crew, the place kept.
    - ``load_least``, ``load_most``: pieces in a load (1 and 1 where there is no load); ``waits`` ns. In vessels of
      several sizes they are those of the mean vessel; ``per_size`` pieces go in one base unit of size (0: no sizes),
      and ``size_least``, ``size_most`` are the limits as written (inf: the vessel's own).
    - ``survives``: the plain yield, the ullage of the mean stand in it; ``ullage``: share lost for each ns of standing.
    - ``pieces_out``: pieces leaving for each surviving piece that enters (12 where a sheet becomes 12 sides); for the
      last operation of a route: units of the route's item. A check looks at the piece before it becomes several.
    - ``piece_mass``: kg of one piece in work, what it takes here included; nan where unknown.
    - ``visit``: which visit the operation belongs to.
    - ``stations``: alternatives; ``crews``: people; ``tends``: places a person minds; ``tools``: pieces of tooling.
    - ``takes``/``gives``: item and units a piece (gives: by-products only); ``takes_per_load``: units a load.
    - ``loses``: loss name (index into Network.losses) and kg a piece; ``faults``: fault and probability.
    - ``setup_every`` and ``clean_every``: pieces between (inf: never by count; a load where it is cleaned after each).
    - ``start_scrap``: pieces scrapped at a start-up.
    - ``then_to``: a store, NOWHERE (unlimited) or DIRECT.
    """

    ids: tuple[str, ...]
    paths: tuple[str, ...]
    route: Ints
    position: Ints
    visit: Ints
    continuous: Bools
    time: Durations
    each: Ints
    dwell: Ints
    stand: Durations
    hands_all: Bools
    hands_start: Ints
    hands_end: Ints
    tends: Ints
    load_least: Floats
    load_most: Floats
    per_size: Floats
    size_least: Floats
    size_most: Floats
    waits: Ints
    pieces_out: Floats
    survives: Floats
    ullage: Floats
    piece_mass: Floats
    faults_per_load: Bools
    stop: Ints
    then_to: Ints
    stations: Links
    crews: Links
    tools: Links
    takes: Links
    takes_per_load: Links
    gives: Links
    loses: Links
    faults: Links
    setup_when: Ints
    setup: Durations
    setup_every: Floats
    setup_crews: Links
    setup_takes: Links
    clean_when: Ints
    clean: Durations
    clean_every: Floats
    clean_crews: Links
    clean_takes: Links
    start_when: Ints
    start: Durations
    start_scrap: Floats


@dataclass(frozen=True, slots=True)
class BlendLimit:
    """What a mix may hold of one content: sum of units x ``weight`` x (``value`` - limit) keeps its sign (linear).

    ``weight`` [n_options] turns units into what the content is counted by (litres, or kg); ``least`` and ``most`` are
    -inf and inf where none is written. ``unit`` is the unit that its author wrote.
    """

    name: str
    value: tuple[float, ...]
    weight: tuple[float, ...]
    least: float
    most: float
    unit: str = ""

    def said(self, value: float) -> str:
        """A content in the unit that its author wrote: ``"5.6 g/L"``."""
        return f"{value / read_unit(self.unit).factor:.4g} {self.unit}" if self.unit else f"{value:.4g}"


@dataclass(frozen=True, slots=True)
class Choice:
    """A feed that several items can fill: ``units`` of each a piece, in order of preference.

    ``shares`` is the declared mix (all nan where none is declared). A choice is not among ``Operations.takes``.
    ``limits`` are those of a blend.
    """

    operation: int
    label: str
    items: tuple[int, ...]
    units: tuple[float, ...]
    shares: tuple[float, ...]
    limits: tuple[BlendLimit, ...] = ()


class Fate(IntEnum):
    """What a rejected piece becomes."""

    SCRAP = 0
    REWORK = 1
    SECONDS = 2


@dataclass(frozen=True, slots=True)
class Reject:
    """What a check does with a piece it rejects, with indices: rework from ``to`` (operation), seconds of ``item``."""

    fate: Fate
    to: int = NOWHERE
    at_most: int = 0
    item: int = NOWHERE
    takes_again: bool = False
    otherwise: Reject | None = None


@dataclass(frozen=True, slots=True)
class Inspection:
    """The check at ``operation``: probability ``finds[k]`` of finding fault ``faults[k]``, and ``rejects[k]``.

    ``other`` is the reaction to a false alarm. Where several faults are found at once the gravest reaction holds:
    scrap, then seconds, then the rework that goes furthest back, then the one that takes parts again.
    """

    operation: int
    faults: tuple[int, ...]
    finds: tuple[float, ...]
    rejects: tuple[Reject, ...]
    other: Reject
    false_alarms: float
    one_in: int
    hold_back: bool


@dataclass(frozen=True, slots=True)
class Routes:
    """[n_routes] each. ``item`` made, ``first`` and ``last`` operation, declared ``share`` (nan) and ``prefer`` (0).

    ``lot`` is how many units of the item are let in one after another (0: one by one).
    """

    ids: tuple[str, ...]
    item: Ints
    first: Ints
    last: Ints
    share: Floats
    prefer: Ints
    lot: Floats


@dataclass(frozen=True, slots=True)
class Stations:
    """[n_stations] each. ``calendar`` indexes Network.calendars (NOWHERE: always there).

    ``machine_rate`` is money per hour of use. ``running``, ``idle`` and ``holding`` are kW of one place, and
    ``utility`` indexes Network.utilities (NOWHERE: none). ``sizes`` lists (size in its base unit, how many) of vessels,
    the smallest first; they are the places (none: all alike). ``size_names`` are the sizes as written.
    """

    ids: tuple[str, ...]
    places: Ints
    calendar: Ints
    machine_rate: Floats
    running: Floats
    idle: Floats
    holding: Floats
    utility: Ints
    sizes: tuple[tuple[tuple[float, int], ...], ...] = ()
    size_names: tuple[tuple[str, ...], ...] = ()


@dataclass(frozen=True, slots=True)
class Utilities:
    """[n_utilities] each: ``price`` is money for a kWh (nan: none written)."""

    ids: tuple[str, ...]
    price: Floats


@dataclass(frozen=True, slots=True)
class Stoppages:
    """[n_stoppages] each, of every place of a station. ``calendar_clock``: between counts calendar time."""

    names: tuple[str, ...]
    station: Ints
    between: Durations
    repair: Durations
    calendar_clock: Bools
    crews: Links


@dataclass(frozen=True, slots=True)
class Crews:
    """[n_crews] each. ``calendar`` gives the number of people at any time; ``wage`` money per paid hour (nan: none).

    ``stretch`` is (1 + allowance) / present, already inside the times. ``paid_hours_week`` is people times paid hours,
    all shifts together. ``lends`` is whose work some of their people can do besides.
    """

    ids: tuple[str, ...]
    calendar: Ints
    wage: Floats
    allowance: Floats
    present: Floats
    stretch: Floats
    paid_hours_week: Floats
    lends: Lends


@dataclass(frozen=True, slots=True)
class Stores:
    """[n_stores] each: ``room`` in pieces (or in units of what is kept)."""

    ids: tuple[str, ...]
    room: Floats


@dataclass(frozen=True, slots=True)
class Tools:
    """[n_tools] each: ``count``."""

    ids: tuple[str, ...]
    count: Ints


@dataclass(frozen=True, slots=True)
class Carriers:
    """[n_carriers] each: ``count``, ``holds`` pieces on one, ``way_back`` until one can be used again.

    Links carrier -> operations: a piece gets on at the start of any of ``joins`` (amount 0: only when it was sent back
    there from behind the stretch), off at the end of any of ``leaves``;
    ``stretch`` is every operation done on it. Links carrier -> ``items`` that lie on it between two routes.
    ``between``: time in use of one until it is lost (mean 0: never), ``repair`` until it is back. ``wear``: money for
    each use.
    """

    ids: tuple[str, ...]
    count: Ints
    holds: Ints
    way_back: Durations
    between: Durations
    repair: Durations
    joins: Links
    leaves: Links
    stretch: Links
    items: Links
    wear: Floats


@dataclass(frozen=True, slots=True)
class Windows:
    """[n_windows] each: ``operation`` must begin from ``least`` to ``most`` ns (0: no limit) after ``after`` has ended.

    ``rejects`` is what happens to a piece when its window closes.
    """

    after: Ints
    operation: Ints
    least: Ints
    most: Ints
    rejects: tuple[Reject, ...]


@dataclass(frozen=True, slots=True)
class Visits:
    """[n_visits] each: ``first`` and ``last`` operation; ``station`` is the first alternative or NOWHERE (a bench)."""

    first: Ints
    last: Ints
    station: Ints


@dataclass(frozen=True, slots=True)
class Changeovers:
    """[n_changeovers] each: ``time`` ns to set operation ``after`` up when operation ``before`` ran last at its place.

    Pairs that are not listed take ``Operations.setup``.
    """

    before: Ints
    after: Ints
    time: Ints


@dataclass(frozen=True, slots=True)
class Origin:
    """Where the rows of a network with variants come from: the plan as written, and the row of it for each row here.

    ``items``, ``routes`` and ``operations`` are the ids as written; ``item`` [n_items], ``route`` [n_routes] and
    ``operation`` [n_operations] index them. ``values[i]`` has the (option, value) pairs of item i.
    """

    plan: Plan
    items: tuple[str, ...]
    item: Ints
    values: tuple[tuple[tuple[str, str], ...], ...]
    routes: tuple[str, ...]
    route: Ints
    operations: tuple[str, ...]
    operation: Ints


@dataclass(frozen=True, slots=True)
class Models:
    """The variants that are wanted, where they are put together: what share each is of all (``mix`` [n_models]), and
    people's time at each operation for one of it, over the mean of the mix (``relative`` [n_models, n_operations]).
    ``made`` [n_routes] units a working day: the last operation of a route may be done to some variants only.
    """

    names: tuple[str, ...]
    mix: Floats
    relative: Floats
    made: Floats


@dataclass(frozen=True, slots=True)
class Network:
    """A plan compiled. A plan with options becomes a row for each variant: ``plan`` is then the plan spread out, and
    ``origin`` says what each row was written as (None: as it stands). ``change`` gives a network with one field of the
    plan changed.

    ``item_store`` [n_items] is the finite store where units of an item wait (NOWHERE: unlimited). ``open_calendar`` is
    when anybody works; ``days_week`` the working days in a week. ``season`` is the
    horizon of a plan that has one, ``campaigns`` the routes that wait for enough, ``cares`` the work during stands.
    ``problems`` holds warnings found while compiling.
    """

    plan: Plan
    items: Items
    routes: Routes
    operations: Operations
    visits: Visits
    stations: Stations
    stoppages: Stoppages
    utilities: Utilities
    crews: Crews
    stores: Stores
    tools: Tools
    carriers: Carriers
    windows: Windows
    choices: tuple[Choice, ...]
    inspections: tuple[Inspection, ...]
    faults: tuple[str, ...]
    losses: tuple[str, ...]
    changeovers: Changeovers
    item_store: Ints
    calendars: tuple[Calendar, ...]
    open_calendar: Calendar
    days_week: int
    campaigns: Campaigns
    cares: Cares
    fingerprint: str
    season: Season | None = None
    problems: tuple[Problem, ...] = ()
    assumptions: tuple[str, ...] = ()
    notes: dict[str, Any] = field(default_factory=dict, compare=False)
    origin: Origin | None = None
    models: Models | None = None

    @property
    def written(self) -> Plan:
        """The plan as its author wrote it, options and all."""
        return self.plan if self.origin is None else self.origin.plan

    def change(self, path: str, value: object) -> Network:
        """The network of the plan with the field at ``path`` changed: ``change("stations.saw.places", 2)``.

        Raises ProblemsError where the changed plan has problems.
        """
        from linewright.network.compile import compile_network

        return compile_network(self.written.change(path, value))

    def with_stations(self, moves: Mapping[str, str] | Moves) -> Network:
        """The network with operations moved to other stations: operation id to station id, or ``Moves`` with people.

        New stations have one place where no more are said. This is how a balance reaches the simulation. Raises
        KeyError for what does not exist, ProblemsError where the plan cannot be so.
        """
        from linewright.network.compile import compile_network
        from linewright.network.move import Moves, move_operations

        return compile_network(move_operations(self.written, moves if isinstance(moves, Moves) else Moves(moves)))

    def only(self, routes: Iterable[str], wanted: Mapping[str, float]) -> Network:
        """The network of some routes alone, with what others make always at hand; ``wanted``: units of item a day."""
        from linewright.network.compile import compile_network
        from linewright.network.move import only_routes

        return compile_network(only_routes(self.written, routes, wanted))
