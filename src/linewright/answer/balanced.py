"""The lines of a plan balanced, and played as balanced: what the paper promises, and what variation leaves of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from linewright.balance.line_balance import LineBalance
from linewright.base.problems import Level, Problem, ProblemsError
from linewright.base.results import Interval, Shown, Table, plain


@dataclass(frozen=True, slots=True)
class Played:
    """A balanced line played by itself, flat out, with what it takes always at hand.

    ``rate`` is pieces a working day as simulated, ``on_paper`` what the greatest load allows without variation, and
    ``wanted`` what the plan asks. ``open_pieces`` are on the line at once: one in work and one waiting at each station,
    and those that stand; with ``tight`` the waiting ones are left out. Stoppages, variation, rework as it falls and
    waiting for each other make the difference.
    """

    rate: Interval
    tight: Interval
    on_paper: float
    wanted: float
    open_pieces: int
    tight_pieces: int

    @property
    def lost(self) -> Interval:
        """The share of the paper rate that is lost."""
        return self._lost(self.rate)

    @property
    def tight_lost(self) -> Interval:
        """The share of the paper rate that is lost where no piece waits between stations."""
        return self._lost(self.tight)

    def _lost(self, rate: Interval) -> Interval:
        return Interval(1.0 - rate.mean / self.on_paper, rate.half_width / self.on_paper, rate.level)


@dataclass(frozen=True, slots=True)
class Balanced(Shown):
    """Every line of a plan balanced; ``played`` by line where that was asked and could be done.

    ``problems`` are warnings: lines that could not be balanced or played, and why.
    """

    lines: tuple[LineBalance, ...]
    played: Mapping[str, Played] = field(default_factory=dict)
    problems: tuple[Problem, ...] = ()

    def to_table(self) -> Table:
        """One row a line."""
        rows = tuple(
            (
                found.line.name,
                found.balance.takt,
                found.balance.count,
                found.people,
                None if found.balance.efficiency is None else 100 * found.balance.efficiency,
                found.balance.honesty.status,
            )
            for found in self.lines
        )
        return Table("Lines", ("line", "takt [s]", "stations", "people", "efficiency [%]", "status"), rows)

    def to_dict(self) -> dict[str, Any]:
        """Balances and plays by line."""
        return {
            "lines": {found.line.id: found.to_dict() for found in self.lines},
            "played": {
                id: {**plain(run), "lost": plain(run.lost), "tight_lost": plain(run.tight_lost)}
                for id, run in self.played.items()
            },
            "problems": [problem.to_dict() for problem in self.problems],
        }


def warnings(wrong: ProblemsError, what: str) -> list[Problem]:
    """The problems of one line as warnings of the answer, with ``what`` said before each."""
    return [replace(p, level=Level.WARNING, what=f"{what}: {p.what}") for p in wrong.problems]
