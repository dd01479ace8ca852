"""What a plan answers: the parts as the engines gave them, the cautions, and the answer in one sentence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from linewright.answer import seasonal
from linewright.answer.asked import question
from linewright.answer.balanced import Balanced
from linewright.answer.energy import Energy
from linewright.answer.quality.model import Quality
from linewright.answer.season_cost import SeasonCost, season_cost
from linewright.answer.simulated import Simulated
from linewright.answer.variants import Variants
from linewright.answer.verdict import verdict
from linewright.base.cautions import Caution
from linewright.base.problems import Problem
from linewright.base.results import Provenance, Shown, Table, plain
from linewright.capacity.model import Capacity
from linewright.cost.model import Cost
from linewright.flow.model import Flow
from linewright.improve.model import Improvement
from linewright.network.model import Network
from linewright.plan.called import Named, item_called, kind_called
from linewright.plan.model import Plan
from linewright.season import Season, Tanks
from linewright.simulate.season_model import SeasonRun


@dataclass(frozen=True, slots=True)
class Answer(Shown):
    """Everything that is known about a plan.

    ``problems`` holds warnings only: a plan with errors has no answer. ``simulation`` is there where it was asked for
    and the plan could be played; ``unplayed`` says why it could not (it gets ``stuck``, or needs what no engine plays).
    ``improvement`` is there where it was asked what would help most, ``balanced`` where the lines were shared out.
    ``season`` is there where the plan has a horizon: then rates, loads and costs are averages over its working days,
    and ``season_run`` is the season as it was played. ``tanks`` is there where it was asked how many vessels it needs.
    Of a plan with options ``network`` and what follows from it are told by what was written, variants put together;
    ``variants`` has them one by one.
    """

    plan: Plan
    network: Network
    flow: Flow
    capacity: Capacity
    cost: Cost
    quality: Quality
    cautions: tuple[Caution, ...]
    problems: tuple[Problem, ...]
    assumptions: tuple[str, ...]
    provenance: Provenance
    simulation: Simulated | None = None
    unplayed: str = ""
    stuck: bool = False
    improvement: Improvement | None = None
    balanced: Balanced | None = None
    energy: Energy = field(default_factory=Energy)
    season: Season | None = None
    season_run: SeasonRun | None = None
    tanks: Tanks | None = None
    variants: Variants | None = None

    @property
    def to_play(self) -> tuple[Network, Flow]:
        """The network and its balance as they are played: with every variant."""
        return (self.network, self.flow) if self.variants is None else (self.variants.network, self.variants.flow)

    @property
    def yes(self) -> bool:
        """False where a bound rules the demand out, or the simulation clearly misses it or comes to a standstill."""
        return self.makes is not False

    @property
    def makes(self) -> bool | None:
        """Whether the demand is made; None where neither the bounds nor the simulation settle it."""
        if self.season is not None:
            return seasonal.makes(self.season, self.season_run)
        if not self.capacity.makes or self.stuck:
            return False
        if self.simulation is not None:
            return self.simulation.makes_demand
        return True if self.capacity.honesty.status == "exact" and not self.unplayed else None

    @property
    def bottleneck(self) -> str:
        """The id of what carries the smallest multiple of the demand, empty where nothing is loaded."""
        if self.season is not None and self.season.tightest:
            return self.season.tightest
        found = self.capacity.bottleneck
        return found.id if found is not None else ""

    @property
    def bottleneck_name(self) -> str:
        """The bottleneck as the plan's author calls it; empty where nothing is loaded."""
        plan, id = self.plan, self.bottleneck
        tables: tuple[Mapping[str, Named], ...] = (plan.stations, plan.crews, plan.tools, plan.carriers)
        found = next((table for table in tables if id.partition(" [")[0] in table), {})
        return kind_called(found, id) if id else ""

    @property
    def question(self) -> str:
        """The demand in words: ``36 trailers a day``."""
        if self.season is not None:
            return seasonal.question(self.plan, self.season)
        return question(self.plan, self.capacity.wanted)

    @property
    def verdict(self) -> str:
        """Whether it makes the rate, as one phrase that claims no more than the bounds and the simulation do."""
        if self.season is not None:
            return seasonal.verdict(self.season, self.season_run, self.unplayed)
        return verdict(self.capacity, self.simulation, self.unplayed, stuck=self.stuck)

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        limit = f"; bottleneck: {self.bottleneck_name}" if self.bottleneck else ""
        return f"makes {self.question}: {self.verdict}{limit}"

    @property
    def season_why(self) -> str:
        """What keeps a season from finishing more, in a sentence; empty where the plan has no horizon."""
        return "" if self.season is None else seasonal.why(self.plan, self.season, self.season_run)

    @property
    def season_cost(self) -> SeasonCost | None:
        """What the whole season costs; None where the plan has no horizon."""
        if self.season is None:
            return None
        return season_cost(self.network, self.flow, self.cost, self.season)

    def to_dict(self) -> dict[str, Any]:
        """The answer as plain data; the plan and the network are told by name and fingerprint only."""
        return {
            "plan": {"name": self.plan.name, "fingerprint": self.network.fingerprint, "money": self.plan.money},
            "headline": self.headline,
            "yes": self.yes,
            "makes": self.makes,
            "spare": plain(self.capacity.spare),
            "bottleneck": self.bottleneck or None,
            "flow": self.flow.to_dict(),
            "capacity": self.capacity.to_dict(),
            "cost": self.cost.to_dict(),
            "quality": self.quality.to_dict(),
            "energy": self.energy.to_dict(),
            "cautions": plain(self.cautions),
            "problems": [problem.to_dict() for problem in self.problems],
            "assumptions": list(self.assumptions),
            "provenance": plain(self.provenance),
            "simulation": self.simulation.to_dict() if self.simulation is not None else None,
            "variants": self.variants.to_dict() if self.variants is not None else None,
            "balance": self.balanced.to_dict() if self.balanced is not None else None,
            "tanks": self.tanks.to_dict() if self.tanks is not None else None,
            "season_run": self.season_run.to_dict() if self.season_run is not None else None,
            "season": self.season.to_dict() if self.season is not None else None,
            "season_why": self.season_why or None,
            "season_cost": money.to_dict() if (money := self.season_cost) is not None else None,
            "improvement": self.improvement.to_dict() if self.improvement is not None else None,
        }

    def to_table(self) -> Table:
        """The answers first: one row a question."""
        rows: list[tuple[str, str]] = [("Will it make the rate?", self.headline)]
        rows += [
            ("What does one cost?", f"{item_called(self.plan, p.item)}: {p.total:,.2f} {self.cost.money}/{p.unit}")
            for p in self.cost.products
        ]
        if self.quality.ways:
            said = f"{self.quality.any_fault:,.0f} of a million reach the customer with a fault"
            rows.append(("How do we know it is good?", f"at most {said}" if self.quality.any_is_bound else said))
        rows.append(("What can hurt someone?", ", ".join(c.hazard for c in self.cautions) or "no hazard is named"))
        return Table(self.plan.name, ("question", "answer"), tuple(rows))
