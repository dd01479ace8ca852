"""An idea: a candidate with what it promises before anything is played, so that the most promising are played first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from linewright.improve.edits import edit
from linewright.improve.model import Candidate, Edit, Kind
from linewright.improve.pressure import Pressure
from linewright.network.model import Network
from linewright.plan.model import Plan


@dataclass(frozen=True, slots=True)
class Idea:
    """``promise``: the part of the hours of what it relieves that it saves, times the pressure there."""

    candidate: Candidate
    promise: float


@dataclass(slots=True)
class Ideas:
    """Ideas gathered for a network, and what could not be made into one."""

    network: Network
    pressure: Pressure
    found: list[Idea] = field(default_factory=list)
    left_out: list[str] = field(default_factory=list)

    @property
    def plan(self) -> Plan:
        """The plan of the network."""
        return self.network.plan

    def add(
        self,
        kind: Kind,
        where: tuple[str, ...],
        what: str,
        after: Mapping[str, object],
        promise: float,
        assumes: str = "",
    ) -> None:
        """Add the idea that writes ``after`` (path to value); what changes nothing is no idea."""
        edits = tuple(edit(self.plan, path, value) for path, value in after.items())
        real: tuple[Edit, ...] = tuple(e for e in edits if e.before != e.after)
        if real:
            self.found.append(Idea(Candidate(kind, where, what, real, assumes), promise))

    def leave_out(self, why: str) -> None:
        """Say once why something was not tried."""
        if why not in self.left_out:
            self.left_out.append(why)
