"""What a plan answers: the parts as the engines gave them, the cautions, and the answer in one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from linewright.base.cautions import Caution
from linewright.base.problems import Problem
from linewright.base.results import Provenance, Shown, Table, plain, show
from linewright.capacity.model import Capacity
from linewright.cost.model import Cost
from linewright.flow.model import Flow
from linewright.network.model import Network
from linewright.plan.model import Plan


@dataclass(frozen=True, slots=True)
class Answer(Shown):
    """Everything that is known about a plan.

    ``problems`` holds warnings only: a plan with errors has no answer. ``more`` holds results of engines that were
    asked beside these (``simulation``, ``balance``, ``improvements``), by name.
    """

    plan: Plan
    network: Network
    flow: Flow
    capacity: Capacity
    cost: Cost
    cautions: tuple[Caution, ...]
    problems: tuple[Problem, ...]
    assumptions: tuple[str, ...]
    provenance: Provenance
    more: Mapping[str, Shown] = field(default_factory=dict)

    @property
    def yes(self) -> bool:
        """False where a bound rules the demand out."""
        return self.capacity.makes

    @property
    def bottleneck(self) -> str:
        """The id of what carries the smallest multiple of the demand, empty where nothing is loaded."""
        found = self.capacity.bottleneck
        return found.id if found is not None else ""

    @property
    def question(self) -> str:
        """The demand in words: ``36 trailer a day``."""
        return " and ".join(f"{show(w.demand)} {w.item.replace('_', ' ')} a day" for w in self.capacity.wanted)

    @property
    def verdict(self) -> str:
        """Whether it makes the rate, with what is to spare, as one phrase that claims no more than the bounds do."""
        spare = self.capacity.spare
        if not self.yes:
            return f"no, at most {_percent(self.capacity.multiple)} of it"
        if spare == float("inf"):
            return "yes, and nothing in the plan limits the rate"
        if self.capacity.honesty.status == "exact":
            return f"yes, with {_percent(spare)} to spare"
        return f"yes by every bound, with at most {_percent(spare)} to spare"

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        limit = f"; bottleneck: {self.bottleneck}" if self.bottleneck else ""
        return f"makes {self.question}: {self.verdict}{limit}"

    def to_dict(self) -> dict[str, Any]:
        """The answer as plain data; the plan and the network are told by name and fingerprint only."""
        return {
            "plan": {"name": self.plan.name, "fingerprint": self.network.fingerprint, "money": self.plan.money},
            "headline": self.headline,
            "yes": self.yes,
            "spare": plain(self.capacity.spare),
            "bottleneck": self.bottleneck or None,
            "flow": self.flow.to_dict(),
            "capacity": self.capacity.to_dict(),
            "cost": self.cost.to_dict(),
            "cautions": plain(self.cautions),
            "problems": [problem.to_dict() for problem in self.problems],
            "assumptions": list(self.assumptions),
            "provenance": plain(self.provenance),
            "more": {name: part.to_dict() for name, part in self.more.items()},
        }

    def to_table(self) -> Table:
        """The answers first: one row a question."""
        rows: list[tuple[str, str]] = [("Will it make the rate?", self.headline)]
        rows += [
            (f"What does one {p.item} cost?", f"{p.total:,.2f} {self.cost.money}/{p.unit}") for p in self.cost.products
        ]
        rows.append(("What can hurt someone?", ", ".join(c.hazard for c in self.cautions) or "no hazard is named"))
        return Table(self.plan.name, ("question", "answer"), tuple(rows))


def _percent(part: float) -> str:
    """A share as people say it: whole percents, one decimal below ten, never rounded up to a better answer."""
    percent = part * 100.0
    digits = 0 if abs(percent) >= 10 else 1
    scale = 10.0**digits
    down = int(percent * scale + 1e-9) / scale if percent >= 0 else percent
    return f"{down:.{digits}f} %"
