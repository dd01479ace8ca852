"""What improve answers: which single change of the plan would raise the rate most, and what it does to the cost of one.

Every candidate is an edit of the plan that its reader can make by hand. Gains are differences from the plan as it is,
under the same luck, with intervals that hold for all candidates together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from linewright.base.problems import Problem
from linewright.base.results import Honesty, Interval, Provenance, Shown, Table, show

Kind = Literal[
    "place", "person", "tool", "carriers", "room", "time", "variation", "stoppages", "setup", "load", "move lot", "lot",
    "breaks", "second job", "faults",
]  # fmt: skip
Verdict = Literal["helps", "hurts", "no change", "cannot be told from nothing"]


@dataclass(frozen=True, slots=True)
class Edit:
    """One field of the plan: ``before`` and ``after`` as they are written in the file (None: not written)."""

    path: str
    before: object
    after: object

    @property
    def text(self) -> str:
        """The edit on one line.

        >>> Edit("stations.saw.places", None, 2).text
        'stations.saw.places: not written -> 2'
        """
        return f"{self.path}: {written(self.before)} -> {written(self.after)}"


@dataclass(frozen=True, slots=True)
class Candidate:
    """One change: ``kind``, the ids of the things it touches, what it is in words, and its ``edits``, made together.

    ``assumes`` says what must be true outside the plan for the change to be what it says; empty where nothing must.
    """

    kind: Kind
    where: tuple[str, ...]
    what: str
    edits: tuple[Edit, ...]
    assumes: str = ""


@dataclass(frozen=True, slots=True)
class Effect:
    """What a candidate does.

    ``gain``: change of the rate, units of all demanded items for each working day, let in flat out; its interval holds
    for all candidates of its round together. ``gain_at_takt``: the same with work let in at demand (None: not played,
    because the demand is made). ``bound``: change of the greatest rate that the bounds allow, in units of the first
    demanded item for each working day (None: nothing limits it). ``cost_changes``: money for one of each demanded item
    at the demand, without the price of the change itself. ``problem``: why it could not be played; then ``gain`` is
    None.
    """

    candidate: Candidate
    gain: Interval | None
    gain_at_takt: Interval | None
    bound: float | None
    cost_changes: tuple[float, ...]
    problem: Problem | None = None

    @property
    def verdict(self) -> Verdict:
        """What the interval of the gain says."""
        if self.gain is None:
            return "cannot be told from nothing"
        if self.gain.mean == 0 and self.gain.half_width == 0:
            return "no change"
        if self.gain.low > 0:
            return "helps"
        return "hurts" if self.gain.high < 0 else "cannot be told from nothing"


@dataclass(frozen=True, slots=True)
class Improvement(Shown):
    """What would help most.

    ``rate`` is the plan as it is, flat out, in units of all demanded items for each working day; ``rate_at_takt`` as
    work is let in at demand (None: not played). ``makes_demand``: True or False where the interval tells, else None.
    ``confirmed``: the best of the first round, at most five, played again on fresh luck, the greatest gain first; its
    gains are the ones to quote, for those of the first round were picked for being great. ``simulated``: the whole
    first round. ``promised``: what the bounds allow with each of those whose bounds were worked out, the greatest rise
    first, played or not: no more than a hint, for a change can lift a bound and help little. ``considered`` candidates
    were looked at, ``screened_out`` of them not played. ``left_out`` says what was not tried and why. ``stopped``: the
    caller or the budget ended it early.
    """

    items: tuple[str, ...]
    units: tuple[str, ...]
    money: str
    demand: float
    rate: Interval
    rate_at_takt: Interval | None
    makes_demand: bool | None
    confirmed: tuple[Effect, ...]
    simulated: tuple[Effect, ...]
    considered: int
    screened_out: int
    left_out: tuple[str, ...]
    assumptions: tuple[str, ...]
    method: str
    weeks: int
    warm_up_weeks: int
    stopped: bool
    honesty: Honesty
    provenance: Provenance
    promised: tuple[Effect, ...] = ()

    @property
    def best(self) -> Effect | None:
        """The greatest confirmed gain that is surely one; None where none is."""
        helps = [effect for effect in self.confirmed if effect.verdict == "helps"]
        return max(helps, key=lambda e: e.gain.mean if e.gain else 0.0) if helps else None

    @property
    def untold(self) -> tuple[Effect, ...]:
        """Confirmed candidates that cannot be told from nothing."""
        return tuple(e for e in self.confirmed if e.verdict in ("cannot be told from nothing", "no change"))

    @property
    def unit(self) -> str:
        """What the rate counts: the unit of the demanded items, "units" where they differ."""
        return self.units[0] if len(set(self.units)) == 1 else "units"

    @property
    def headline(self) -> str:
        """The answer in one sentence."""
        best = self.best
        if not self.simulated:
            return self._by_the_bounds
        if not self.confirmed and self.stopped:
            return "it was stopped before any change was played twice; the first round is only a hint"
        if best is None or best.gain is None:
            return "no single change that was tried can be told from nothing"
        gain = best.gain
        return (
            f"{best.candidate.what}: {show(gain.mean)} {self.unit} a day more ({show(gain.low)} to {show(gain.high)}), "
            f"from {show(self.rate.mean)}"
        )

    @property
    def _by_the_bounds(self) -> str:
        """What is known where nothing could be played."""
        first = self.promised[0] if self.promised else None
        if first is None:
            return "no change was tried"
        if first.bound is None or first.bound <= 1e-9 * self.demand:
            return "no change could be played in the time allowed, and none that was looked at lifts the least bound"
        return (
            f"no change could be played in the time allowed; by the bounds alone {first.candidate.what}, which allows "
            f"{show(first.bound)} a day more at most"
        )

    def promised_table(self) -> Table:
        """What the bounds allow more with each change, whether it was played or not."""
        rows = tuple((e.candidate.what, e.bound) for e in self.promised)
        note = "Upper bounds of the rate, not what a change brings: that is less, or nothing."
        return Table("What the bounds promise", ("change", "allows more a day, at most"), rows, note)

    def to_table(self) -> Table:
        """The best candidates on fresh luck, the greatest gain first."""
        return self._effects_table("What would help most", self.confirmed)

    def first_round_table(self) -> Table:
        """Every candidate that was played, in the first round."""
        return self._effects_table("Every change that was played", self.simulated)

    def edits_table(self) -> Table:
        """How to write each confirmed change into the plan."""
        rows = tuple(
            (e.candidate.what, edit.path, written(edit.before), written(edit.after))
            for e in self.confirmed
            for edit in e.candidate.edits
        )
        return Table("The same as edits of the plan", ("change", "field", "from", "to"), rows)

    def _effects_table(self, title: str, effects: tuple[Effect, ...]) -> Table:
        takt = any(e.gain_at_takt is not None for e in effects)
        columns = ["change", f"rate [{self.unit}/day]", "from", "to"]
        columns += [f"at takt [{self.unit}/day]"] if takt else []
        columns += [f"one {item} [{self.money}]" for item in self.items]
        columns += ["verdict"]
        rows = []
        for e in effects:
            gain = (e.gain.mean, e.gain.low, e.gain.high) if e.gain is not None else (None, None, None)
            at_takt = [e.gain_at_takt.mean if e.gain_at_takt is not None else None] if takt else []
            verdict = e.problem.what if e.problem is not None else e.verdict
            rows.append((e.candidate.what, *gain, *at_takt, *e.cost_changes, verdict))
        return Table(title, tuple(columns), tuple(rows), self.method)


def written(value: object) -> str:
    """A value as it stands in a plan file.

    >>> written({"mean": "5 min", "cv": 0.1}), written(None), written(True), written(["a", 2])
    ('{ mean = "5 min", cv = 0.1 }', 'not written', 'true', '["a", 2]')
    """
    from linewright.plan.paths import join

    if value is None:
        return "not written"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return '"' + value.replace("\\", "\\\\").replace('"', '\\"') + '"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{join('', str(k))} = {written(v)}" for k, v in value.items()) + " }"
    if isinstance(value, (list, tuple)):
        return "[" + ", ".join(written(v) for v in value) + "]"
    return str(value)
