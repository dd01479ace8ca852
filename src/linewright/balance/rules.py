"""What a real floor asks of a balance beyond order and takt: the rules that come with a line.

Every rule is plain data by task name. ``Rules.asked`` names the kinds that are in use, so that an engine can refuse by
name what it cannot model instead of leaving it out without a word.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Crew:
    """People of one kind: how many there are, which skills each has, and what one costs per hour."""

    people: int | None = None
    skills: tuple[str, ...] = ()
    wage: float = 0.0


@dataclass(frozen=True, slots=True)
class Rules:
    """The rules of a line. Every field left alone asks nothing. Stations are numbered from 1.

    fixed
        Task to the stations it may be at: one number where it is bound to a station, several where to a zone.
    together, apart
        Groups of tasks: all at one station, or no two at one station.
    side
        Task to the side of the work ("left"); a station works on one side only, tasks not named fit either.
    tools, uses
        Tool to how many exist; task to the tools it uses. A tool that exists once is at one station only.
    skill, crews
        Task to the skill it needs; crew to its people, skills and wage. Each station is manned by one crew.
    people
        The most people that work at one station at once, each on a task of their own, in order of precedence.
    parallel
        The most copies of one station. A station has the fewest copies that give its longest task the time, and
        with k copies it has k takts of time. Copies count as stations.
    models, model_times, mix, worst_model
        Model names; ticks, models x tasks; share of each model; the most load of any one model in takts. The times
        of the line are the times weighted with the mix.
    variance, within
        Variance of each task (ticks squared, tasks independent); the least probability that a station ends in takt.
        The sum is taken as normal.
    strain, strain_limit
        Load on the body (or noise dose) of each task, any unit that adds up, and the most at one station.
    current
        Task to the station where it is done now: of the balances with fewest stations, the one that moves the fewest.
    station_cost
        Cost of one station per hour, for the cost-least balance.
    """

    fixed: Mapping[str, tuple[int, ...]] = field(default_factory=dict)
    together: tuple[tuple[str, ...], ...] = ()
    apart: tuple[tuple[str, ...], ...] = ()
    side: Mapping[str, str] = field(default_factory=dict)
    tools: Mapping[str, int] = field(default_factory=dict)
    uses: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    skill: Mapping[str, str] = field(default_factory=dict)
    crews: Mapping[str, Crew] = field(default_factory=dict)
    people: int = 1
    parallel: int = 1
    models: tuple[str, ...] = ()
    model_times: NDArray[np.int64] | None = None
    mix: tuple[float, ...] = ()
    worst_model: float | None = None
    variance: NDArray[np.float64] | None = None
    within: float | None = None
    strain: NDArray[np.float64] | None = None
    strain_limit: float | None = None
    current: Mapping[str, int] = field(default_factory=dict)
    station_cost: float = 0.0

    @property
    def asked(self) -> tuple[str, ...]:
        """The kinds of rule in use, as named in ``KINDS``, in that order.

        >>> Rules(together=(("glue", "clamp"),), people=2).asked
        ('together', 'people')
        """
        used = {
            "fixed": bool(self.fixed),
            "together": any(len(g) > 1 for g in self.together),
            "apart": any(len(g) > 1 for g in self.apart),
            "side": len(set(self.side.values())) > 1,
            "tools": bool(self.tools) and bool(self.uses),
            "skill": bool(self.skill) or bool(self.crews),
            "people": self.people > 1,
            "parallel": self.parallel > 1,
            "models": self.worst_model is not None,
            "variance": self.within is not None,
            "strain": self.strain_limit is not None,
            "current": bool(self.current),
        }
        return tuple(kind for kind in KINDS if used[kind])

    def without(self, kind: str) -> Rules:
        """The same rules with one kind taken away: what a relaxed line looks like."""
        blank = Rules()
        cleared = {
            "tools": ("tools", "uses"),
            "skill": ("skill", "crews"),
            "models": ("worst_model",),
            "variance": ("within",),
            "strain": ("strain_limit",),
        }.get(kind, (kind,))
        values: dict[str, Any] = {f.name: getattr(self, f.name) for f in fields(self)}
        return Rules(**{**values, **{name: getattr(blank, name) for name in cleared}})


KINDS: dict[str, str] = {
    "fixed": "fixed to a station or zone",
    "together": "kept together",
    "apart": "kept apart",
    "side": "one side of the work per station",
    "tools": "tools that exist a few times",
    "skill": "skills of crews",
    "people": "several people at one station at once",
    "parallel": "parallel stations for long operations",
    "models": "worst-model limit of a mixed line",
    "variance": "probability to stay within takt",
    "strain": "strain or noise limit per station",
    "current": "as few moves from the present balance as possible",
}
