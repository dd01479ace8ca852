"""The part of the plan's model that says what an operation is: its times, amounts, loads, checks and side work.

Frozen and as written: quantities are read, names are not followed. ``plan.model`` holds the rest and hands these on.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from linewright.base.units import Quantity
from linewright.plan.option_model import Varies
from linewright.plan.quality_model import CheckScale, FailureMode, FirstPieces, Learning

Symbol = Literal["operation", "inspection", "transport", "delay", "storage"]
"""The five symbols of the ASME process chart (ASME Standard 101, Operation and Flow Process Charts, 1947)."""


@dataclass(frozen=True, slots=True)
class Duration:
    """A time as written, in one of the accepted forms; all quantities are times in seconds unless said otherwise.

    Exactly one group is filled: ``fixed`` (with ``each`` per piece of a load); ``mean`` and ``cv`` (with ``shape``:
    lognormal, exponential, gamma, normal or uniform); ``least``, ``likely``, ``most``; ``rate`` (an amount over time,
    continuous; with ``rate_of``, and ``dwell`` in the machine); ``study`` (a file) and ``element``; ``physics`` (a
    model's name) with its ``conditions`` as written.
    ``each`` may stand beside ``mean`` too.
    """

    fixed: Quantity | None = None
    each: Quantity | None = None
    mean: Quantity | None = None
    cv: float | None = None
    shape: str = "lognormal"
    least: Quantity | None = None
    likely: Quantity | None = None
    most: Quantity | None = None
    rate: Quantity | None = None
    rate_of: str | None = None
    dwell: Quantity | None = None
    study: str | None = None
    element: str | None = None
    physics: str | None = None
    conditions: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of an item an operation takes or gives, per piece (or per load where the field says so).

    ``quantity`` is as written, in base units or a count; ``plan.amounts.units_of`` gives it in the item's own unit.
    ``share`` is a fraction of the mass going in (only in gives and loses), ``rest`` what is left of the mass.
    ``any_of`` names several items in order of preference (``item`` is then only a label), ``shares`` fixes their mix.
    ``model`` names an outcome of the operation's own model of physics, which then tells the amount. ``limits`` are the
    least and the most of what the mix may hold, by name of the content.

    Of an item with options, ``same`` names those that are as in the piece, ``chosen`` says what others are, and
    ``made_of`` maps option to how many of each of its values make one. ``varies`` has an Amount for each value of an
    option of the piece; the other fields then hold the first of them.
    """

    item: str
    quantity: Quantity | None = None
    share: float | None = None
    rest: bool = False
    any_of: tuple[str, ...] = ()
    shares: Mapping[str, float] = field(default_factory=dict)
    model: str = ""
    same: tuple[str, ...] = ()
    chosen: Mapping[str, str] = field(default_factory=dict)
    made_of: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    limits: Mapping[str, tuple[Quantity | None, Quantity | None]] = field(default_factory=dict)
    varies: Varies | None = None


@dataclass(frozen=True, slots=True)
class Load:
    """Pieces, or an amount, that go through an operation together: starts at ``most``, or at ``least`` after ``waits``.

    ``height`` (m) limits a load by the item's thickness instead; then least and most are None.
    """

    least: Quantity | None = None
    most: Quantity | None = None
    height: Quantity | None = None
    waits: Quantity | None = None


@dataclass(frozen=True, slots=True)
class HandsOn:
    """The labour part of a time: ``start`` at its beginning and ``end`` at its end, the machine alone between."""

    start: Quantity | None = None
    end: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Setup:
    """Work done before a run: once per ``every`` pieces or amount, or ``when`` the item on the station changes.

    ``table`` gives times by (from operation or item, to operation or item). Without crew the operation's crew does it.
    With ``option`` it is a change of that option too, and the table may name its values.
    """

    time: Duration | None = None
    when: Literal["every", "item changes"] = "every"
    every: Quantity | None = None
    crew: Mapping[str, float] = field(default_factory=dict)
    takes: tuple[Amount, ...] = ()
    table: Mapping[tuple[str, str], Quantity] = field(default_factory=dict)
    option: str = ""


@dataclass(frozen=True, slots=True)
class Clean:
    """Cleaning after every load, shift or day, or once per ``every`` pieces or amount."""

    time: Duration
    after: Literal["load", "shift", "day", "every"] = "load"
    every: Quantity | None = None
    crew: Mapping[str, float] = field(default_factory=dict)
    takes: tuple[Amount, ...] = ()


@dataclass(frozen=True, slots=True)
class Start:
    """Start-up after a stop or at the start of a shift: time lost and pieces (or amount) scrapped."""

    time: Duration | None = None
    scrap: Quantity | None = None
    after: Literal["stop", "shift"] = "shift"


@dataclass(frozen=True, slots=True)
class Reaction:
    """What happens to a piece that a check rejects.

    ``kind`` is scrap, rework or seconds. Rework goes back to operation ``rework`` of the same route, at most
    ``at_most`` times for each piece and check, then ``otherwise`` (scrap where none is written). ``seconds`` names the
    by-product item it becomes. ``takes_again``: the repeated operations take their parts again.
    """

    kind: Literal["scrap", "rework", "seconds"]
    rework: str | None = None
    at_most: int = 1
    otherwise: Reaction | None = None
    seconds: str | None = None
    takes_again: bool = False


@dataclass(frozen=True, slots=True)
class Check:
    """An inspection: the faults it finds and how well, false alarms, how often, and the reaction for each fault.

    ``finds`` maps fault to the probability of finding it. ``one_in`` checks one piece in n (1: every piece). ``then``
    maps fault to Reaction; the key ``"*"`` is any other fault and a false alarm. ``method``, ``limits``
    and ``sample`` are words for the quality plan and the sheets. ``first_pieces`` must pass after a setup; a ``scale``
    checks a kit by its weight.
    """

    finds: Mapping[str, float]
    then: Mapping[str, Reaction]
    false_alarms: float = 0.0
    one_in: int = 1
    hold_back: bool = False
    method: str = ""
    limits: str = ""
    sample: str = ""
    first_pieces: FirstPieces | None = None
    scale: CheckScale | None = None


@dataclass(frozen=True, slots=True)
class Move:
    """Transport: ``by`` names a tool or station, ``lot`` pieces go at a time."""

    by: str | None = None
    lot: Load | None = None
    time: Duration | None = None


@dataclass(frozen=True, slots=True)
class During:
    """Work that comes again and again while a load stands: ``every`` so often, for ``time``, by ``crew``."""

    name: str
    every: Quantity
    time: Duration
    crew: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Wait:
    """The window in which an operation must begin, from the end of operation ``after``: ``least`` and ``most`` in s.

    ``otherwise`` is what happens to a piece when it closes.
    """

    after: str
    otherwise: Reaction
    least: Quantity | None = None
    most: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Operation:
    """One step of a route. Takes, gives and faults are per piece; time and crew are per cycle.

    ``station`` lists alternatives (any one of them does). ``after`` names what must come before, for balancing (None:
    the operation above). ``stop`` says how it meets the end of a shift. ``symbol`` is None where it is to be derived.
    ``yields`` is the share that survives. ``loses`` names what leaves the mass balance. ``telling`` says in the
    author's words what to mind. ``during`` is done again and again while it stands, and ``ullage`` is the share lost
    for each second of it. ``learning`` says how its time falls to the one written while it is new. ``only_if``
    maps option to the values that a piece must have to be worked on here; ``by_option`` has what differs by an option:
    time, stand, yields, and ``faults.NAME``.
    """

    id: str
    name: str = ""
    symbol: Symbol | None = None
    station: tuple[str, ...] = ()
    crew: Mapping[str, float] = field(default_factory=dict)
    tends: int = 1
    time: Duration | None = None
    hands_on: HandsOn | None = None
    stand: Duration | None = None
    load: Load | None = None
    takes: tuple[Amount, ...] = ()
    takes_per_load: tuple[Amount, ...] = ()
    gives: tuple[Amount, ...] = ()
    loses: tuple[Amount, ...] = ()
    uses: Mapping[str, int] = field(default_factory=dict)
    yields: float = 1.0
    faults: Mapping[str, float] = field(default_factory=dict)
    faults_per: Literal["piece", "load"] = "piece"
    check: Check | None = None
    setup: Setup | None = None
    clean: Clean | None = None
    start: Start | None = None
    move: Move | None = None
    wait: Wait | None = None
    stop: Literal["anywhere", "finish", "fits"] = "anywhere"
    then_to: str | None = None
    after: tuple[str, ...] | None = None
    hazards: tuple[str, ...] = ()
    zone: str = ""
    skill: str = ""
    telling: str = ""
    learning: Learning | None = None
    failure_modes: tuple[FailureMode, ...] = ()
    during: tuple[During, ...] = ()
    ullage: Quantity | None = None
    only_if: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    by_option: Mapping[str, Varies] = field(default_factory=dict)
