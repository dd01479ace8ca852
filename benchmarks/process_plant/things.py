"""What there is in the plant: pools of people, tools and parts, claims on them, pieces, places, stations."""

from __future__ import annotations

from bisect import insort
from collections import deque
from collections.abc import Callable, Generator
from dataclasses import dataclass, field
from typing import Any

from linewright.simulate.kernel import rows as r

Steps = Generator[Any, Any, None]
NOT_AGAIN = (1 << 30, -1)
"""From and to positions between which a piece takes its parts again: nowhere."""


@dataclass(eq=False, slots=True)
class Pool:
    """People, tools or units on hand, and the claims that wait for them in order of asking.

    ``steps`` are those of a crew: when how many are there; ``gathers`` is the claim of a team for whom those who are
    free wait. ``item`` is the index of an item, ``lots`` its units with the faults they carry. ``stations`` are where
    a route begins with it, or a visit with such a carrier.
    """

    free: float
    endless: bool = False
    item: int = -1
    steps: list[tuple[float, float]] = field(default_factory=list)
    used: float = 0.0
    area: float = 0.0
    since: float = 0.0
    waiting: list[Claim] = field(default_factory=list)
    holders: list[Claim] = field(default_factory=list)
    gathers: Claim | None = None
    stations: list[Station] = field(default_factory=list)
    lots: deque[list[float]] = field(default_factory=deque)

    def change(self, by: float, now: float) -> None:
        """Units more or fewer, with the account of use (crews) or of stock over time."""
        self.area += (self.used if self.steps else self.free) * (now - self.since)
        self.since = now
        self.free += by


Needs = list[tuple[Pool, float]]


@dataclass(eq=False, slots=True)
class Claim:
    """What a start takes together, or not at all; who waits has an ``event``.

    ``fits``: for so many s the people must be there; ``finishes``: it is done to its end, whoever goes.
    """

    order: int
    needs: Needs
    crews: Needs
    place: Place
    fits: float = 0.0
    finishes: bool = False
    event: Any = None


@dataclass(eq=False, slots=True)
class Piece:
    """A piece on its way."""

    route: int
    born: float
    op: int
    faults: int = 0
    begins: bool = True
    reach: int = -1
    again: tuple[int, int] = NOT_AGAIN
    counts: dict[int, int] = field(default_factory=dict)
    ahead: bool = False
    turn: int = 0
    leave: Callable[[], None] | None = None
    rides: set[int] = field(default_factory=set)
    got_on: dict[int, int] = field(default_factory=dict)


@dataclass(eq=False, slots=True)
class Place:
    """A place of a station: its pieces, its clocks of stoppages (left, between, repair), its account of states.

    ``opened``: since when it is being filled. By step: pieces ``left_to_setup`` and ``left_to_clean``, the shift or day
    in which it was ``cleaned`` and ``started``. ``dirty``: the operation after whose load it is to be cleaned;
    ``restart``: it has stopped since it was started up; ``due_scrap``: pieces that a start-up is still to spoil.
    """

    station: Station
    clocks: list[list[Any]]
    number: int = 0
    here: list[Piece] = field(default_factory=list)
    state: int = r.SHORT
    since: float = 0.0
    account: list[float] = field(default_factory=lambda: [0.0] * r.N_STATES)
    last: int = -1
    open: bool = False
    arrival: Any = None
    process: Any = None
    opened: float = 0.0
    left_to_setup: dict[int, float] = field(default_factory=dict)
    left_to_clean: dict[int, float] = field(default_factory=dict)
    cleaned: dict[int, int] = field(default_factory=dict)
    started: dict[int, int] = field(default_factory=dict)
    dirty: int = -1
    restart: bool = False
    due_scrap: float = 0.0


@dataclass(eq=False, slots=True)
class Station:
    """Free places, who waits for them by queue (the reworked ahead), and the places that are being filled.

    ``attended``: whether anybody who works here is there; ``hours`` are its own, as a crew of its places. ``looks``:
    who may go in is looked at again at this instant.
    """

    places: list[Place] = field(default_factory=list)
    attended: bool = True
    hours: Pool | None = None
    looks: bool = False
    free: list[Place] = field(default_factory=list)
    endless: bool = False
    queues: dict[int, tuple[deque[Piece], deque[Piece]]] = field(default_factory=dict)
    filling: dict[int, Place] = field(default_factory=dict)

    def is_open(self) -> bool:
        """Whether it is within its hours."""
        return self.hours is None or self.hours.free + self.hours.used > 0.0

    def give_back(self, place: Place) -> None:
        """A place is free; of several free ones the first is taken."""
        insort(self.free, place, key=_number)


def _number(place: Place) -> int:
    return place.number
