"""Conditions of a model as a plan writes them: texts with units, each with a name, a unit, a default and its meaning.

Conditions are data, so that reading, the schema and the documents all walk the same rows. Everything wrong is collected
in one pass: an unknown name, a missing condition, a unit of the wrong kind.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from linewright.base.problems import Problems, did_you_mean
from linewright.base.units import UnitError, read_quantity


@dataclass(frozen=True, slots=True)
class Condition:
    """One condition: read as ``dimension`` (a word of base.units), multiplied by ``factor`` into the model's ``unit``.

    ``default`` is in the model's unit; None where the condition must be written. ``words`` lists the texts allowed
    where it is no number. ``optional`` conditions have no default and may be left out.
    """

    name: str
    dimension: str
    unit: str
    what: str
    example: str
    factor: float = 1.0
    default: float | str | None = None
    words: tuple[str, ...] = ()
    optional: bool = False


Values = dict[str, float | str]


def read_conditions(model: str, known: Sequence[Condition], written: Mapping[str, object]) -> Values:
    """The conditions of a model as numbers in its units.

    Equation: value in base units times the factor of its row.
    Takes:
        model [text]: the model, as problems name it.
        known [see Condition]: its conditions.
        written [text]: as the plan has them.
    Gives: values by name; an optional condition that is not written is left out. Raises ProblemsError with all that is
        wrong.
    Range: any.
    Source: none.

    >>> rows = [Condition("thickness", "length", "m", "of the board", '"18 mm"')]
    >>> read_conditions("cool", rows, {"thickness": "18 mm"})
    {'thickness': 0.018}
    """
    problems = Problems()
    rows = {row.name: row for row in known}
    found: Values = {}
    for name in written:
        if name not in rows:
            problems.error(f"{model}.{name}", f"`{model}` has no condition of this name", hint=did_you_mean(name, rows))
    for row in known:
        path = f"{model}.{row.name}"
        if row.name not in written:
            if row.default is not None:
                found[row.name] = row.default
            elif not row.optional:
                problems.error(path, f"this condition of `{model}` is missing", expected=f"{row.what}: {row.example}")
            continue
        value = written[row.name]
        if row.words:
            if value in row.words:
                found[row.name] = str(value)
            else:
                problems.error(path, "no such word", value=value, expected=" or ".join(row.words))
            continue
        try:
            found[row.name] = read_quantity(value, [row.dimension]).value * row.factor
        except UnitError as wrong:
            problems.error(path, wrong.what, value=value, expected=f"{row.what}: {row.example}", hint=wrong.hint)
    problems.raise_errors()
    return found
