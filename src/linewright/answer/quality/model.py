"""What is known of the quality of a plan: its checks, the way of every fault, failure modes, kits, fits, learning."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from linewright.base.results import Honesty, Shown, Table

if TYPE_CHECKING:  # these import scipy.stats, a second on a busy machine, which most plans do without
    from linewright.quality.counting import Apart, KitCheck
    from linewright.quality.failure_modes import FailureTable
    from linewright.quality.release import FirstPiece, HoldBack
    from linewright.quality.stack import Stack

Event = Literal["made", "brought", "looked for"]


@dataclass(frozen=True, slots=True)
class CheckLoad:
    """What a check does in a working day: pieces that come, pieces it looks at, rejects by what becomes of them.

    ``good_rejected`` are false alarms among all rejects. ``first_pieces`` is there where the plan asks for them after
    a setup, ``hold_back`` where a failed sample holds pieces back.
    """

    operation: str
    comes: float
    looked_at: float
    sent_back: float
    scrapped: float
    seconds: float
    good_rejected: float
    first_pieces: FirstPiece | None = None
    hold_back: HoldBack | None = None

    @property
    def rejected(self) -> float:
        """Rejects a day."""
        return self.sent_back + self.scrapped + self.seconds


@dataclass(frozen=True, slots=True)
class FaultStep:
    """One step on the way of a fault: ``share`` made, brought or found there; ``after`` pieces of a million with it."""

    operation: str
    event: Event
    share: float
    after: float


@dataclass(frozen=True, slots=True)
class FaultWay:
    """The way of a fault to the customer. Of a million delivered units: ``made`` in them or in what goes into them,
    repeats counted, and ``escapes`` that carry it. ``steps`` in the order of the work, up to the last at which
    anything happens to it. ``each`` is how many of the fault there are in a unit that carries it: several of its parts
    may, above all where they come out of one spoilt load.
    """

    fault: str
    made: float
    escapes: float
    steps: tuple[FaultStep, ...]
    each: float = 1.0

    @property
    def passes(self) -> float:
        """The share of what is made that nobody finds before the customer."""
        return min(1.0, self.escapes * self.each / self.made) if self.made > 0 else 0.0

    @property
    def found(self) -> float:
        """The share of what is made that is found and dealt with before the customer."""
        found = 1.0 - self.passes
        return found if self.made > 0 and found > 1e-12 else 0.0


@dataclass(frozen=True, slots=True)
class KindQuality:
    """The quality of some variants of an item together: those with the ``values`` of options, all where there are none.

    Of a million of them ``any_fault`` carry one or more faults when they leave, most often ``worst``
    (``worst_escapes``). ``right_first_time`` is the chance that one is made, all its parts made here included, with no
    loss, no fault and no false alarm. ``a_day`` units.
    """

    item: str
    values: tuple[tuple[str, str], ...]
    a_day: float
    any_fault: float
    any_is_bound: bool
    worst: str
    worst_escapes: float
    right_first_time: float


@dataclass(frozen=True, slots=True)
class OneMoreLook:
    """What one more look for a fault is worth, directly after the step ``after`` that makes it.

    ``lost`` money that its escapes cost for each unit delivered; ``worth`` money of one look at one piece there that
    finds ``finds`` of them; ``seconds`` of the crew there that cost as much (None: no wage is written).
    """

    fault: str
    after: str
    lost: float
    worth: float
    finds: float
    crew: str
    seconds: float | None


@dataclass(frozen=True, slots=True)
class Claim:
    """What a plan says that a scale finds of one missing part, and what its masses allow."""

    fault: str
    part: str
    written: float
    computed: float


@dataclass(frozen=True, slots=True)
class KitCount:
    """A kit counted by weight at a check, masses in g. ``missing_spread``: parts whose spread is not written.

    ``variant`` has the values of the variant, such as ``"[drawer]"``, where kits of several are put together otherwise.
    """

    operation: str
    kit: KitCheck
    apart: Apart | None
    claims: tuple[Claim, ...]
    names: tuple[tuple[str, int, float, float], ...]
    missing_spread: tuple[str, ...]
    variant: str = ""


@dataclass(frozen=True, slots=True)
class FitResult:
    """A fit of the plan: its stack and limits in mm."""

    id: str
    name: str
    operation: str
    least: float | None
    most: float | None
    stack: Stack


@dataclass(frozen=True, slots=True)
class Learner:
    """An operation being learned: its time at the very beginning over the written one, and the working week in which
    everyone takes the written time (None: later than shown).
    """

    operation: str
    rate: float
    standard_at: int
    first: float
    week: int | None


@dataclass(frozen=True, slots=True)
class RampUp:
    """The rate while the work is learned: units of all demanded items a working day, by working week from 1; ``daily``
    the same by working day.

    An upper bound like the bounds it comes from. ``standard`` is the same with everything learned; ``weeks_to_demand``
    the first week that makes the demand (None: none shown does); ``short`` units not made by then.
    """

    rates: tuple[float, ...]
    daily: tuple[float, ...]
    standard: float
    demand: float
    weeks_to_demand: int | None
    short: float
    learners: tuple[Learner, ...]


@dataclass(frozen=True, slots=True)
class Quality(Shown):
    """Everything about quality that follows from a plan. Faults in parts of a million of the units delivered.

    ``any_fault``: units of a million that carry a fault, or one of several; where there are too many faults to follow
    them together it is their sum, and ``any_is_bound`` is true. ``kinds``: of a plan with options the same for each
    value of each option and for each variant. ``notes`` say how it was counted.
    """

    checks: tuple[CheckLoad, ...]
    ways: tuple[FaultWay, ...]
    any_fault: float
    any_is_bound: bool
    looks: tuple[OneMoreLook, ...]
    failures: FailureTable | None
    derived: tuple[tuple[str, str, str], ...]
    kits: tuple[KitCount, ...]
    fits: tuple[FitResult, ...]
    ramp: RampUp | None
    honesty: Honesty
    notes: tuple[str, ...] = ()
    kinds: tuple[KindQuality, ...] = ()

    def way(self, fault: str) -> FaultWay:
        """The way of one fault; KeyError where no unit ever carries it."""
        for way in self.ways:
            if way.fault == fault:
                return way
        raise KeyError(fault)

    def to_table(self) -> Table:
        """One row a fault: made, found, and what reaches the customer."""
        rows = tuple((w.fault, w.made, w.found, w.escapes) for w in self.ways)
        columns = ("fault", "made, of a million", "share found", "reaches the customer, of a million")
        return Table("How do we know it is good?", columns, rows)
