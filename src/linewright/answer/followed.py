"""Which times of a plan follow from physics, what else follows with them, and what they hang on.

The models remember their answers, so asking again costs nothing. Where a time is never reached the plan has an error
and no answer, so everything here has an end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from linewright.base.problems import Problems, ProblemsError
from linewright.base.results import Table
from linewright.physics.models import MODELS, evaluate_model, sensitivity_of
from linewright.physics.outcome import Timed
from linewright.physics.sensitivity import Sensitivity
from linewright.plan.model import Plan

if TYPE_CHECKING:
    from linewright.physics.forecast import Forecast


@dataclass(frozen=True, slots=True)
class Followed:
    """A time that follows from physics: the operation's id and name, ``time`` or ``stand``, and the model's answer."""

    operation: str
    name: str
    which: str
    timed: Timed
    hangs_on: Sensitivity

    def to_table(self) -> Table:
        """What came out beside the time."""
        hours = self.timed.seconds / 3600  # may be infinite: a one-off question may have no end
        time = ("time", hours / 24, "day") if hours > 48 else (("time", hours, "h") if hours > 2 else
                ("time", hours * 60, "min"))  # fmt: skip
        rows = (time, *((o.name, o.value, o.unit) for o in self.timed.outcomes))
        return Table(f"{self.name}, by the model {self.timed.model}", ("what", "value", "unit"), rows,
                     ". ".join(n[:1].upper() + n[1:] for n in self.timed.notes) + ".")  # fmt: skip

    def what_moves_it(self, most: int = 5) -> Table:
        """The conditions that move the time most."""
        found = self.hangs_on.to_table()
        moving = [row for row in found.rows if any(v is None or abs(v) >= 0.05 for v in row[4:])]
        return Table(f"What the time of {self.name[:1].lower() + self.name[1:]} hangs on", found.columns,
                     tuple(moving[:most]), found.note)  # fmt: skip


def followed(plan: Plan) -> tuple[Followed, ...]:
    """Every time of a plan that follows from physics, in the order of the plan."""
    return tuple(_found(plan))


def _found(plan: Plan) -> Iterator[Followed]:
    for route in plan.routes.values():
        for operation in route.operations:
            for which, written in (("time", operation.time), ("stand", operation.stand)):
                if written is None or written.physics is None or written.physics not in MODELS:
                    continue
                try:
                    timed = evaluate_model(written.physics, written.conditions).timed
                    hangs_on = sensitivity_of(written.physics, written.conditions)
                except ProblemsError:
                    continue  # the network has named them
                yield Followed(operation.id, operation.name or operation.id, which, timed, hangs_on)


def asked(model: str, conditions: dict[str, str | float]) -> tuple[Followed, tuple[str, ...]]:
    """A one-off question to a model, with the ranges that were left; its end may be never (infinite seconds).

    Raises ProblemsError with everything wrong in the conditions.
    """
    found = evaluate_model(model, conditions)
    name = MODELS[model].what
    answer = Followed(model, f"{name[:1].upper()}{name[1:]}", "time", found.timed, sensitivity_of(model, conditions))
    return answer, found.warnings


def forecast_from(log: str, end: str = "2 g/L", error: str = "2 g/L", level: float = 0.9) -> Forecast:
    """When a tank will be dry, from its readings in a table with columns time, sugar and temperature.

    Raises ProblemsError with file and line of what cannot be read.
    """
    from linewright.base.tables import read_sheet
    from linewright.base.units import UnitError, read_quantity
    from linewright.physics.forecast import forecast

    problems = Problems()
    given: dict[str, float] = {}
    for name, text in (("to", end), ("error", error)):
        try:
            given[name] = read_quantity(text, ["mass/volume"]).value * 1000
        except UnitError as wrong:
            problems.error(name, wrong.what, value=text, expected='a sugar such as "2 g/L"', hint=wrong.hint)
    sheet = read_sheet(log)
    time, sugar = sheet.numbers("time", "time"), sheet.numbers("sugar", "mass/volume")
    temperature = sheet.numbers("temperature", "temperature")
    problems.extend(sheet.problems)
    problems.raise_errors()
    return forecast(time / 3600, sugar * 1000, temperature, end=given["to"], error=given["error"], level=level)
