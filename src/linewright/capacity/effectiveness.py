"""How well is a place used? The availability, effectiveness and quality rates of ISO 22400-2, and their product.

The names are those of the standard (ISO 22400-2:2014, key performance indicators for manufacturing operations
management); the definitions are given from memory of it and restated in each docstring.
"""

from __future__ import annotations

import math

from linewright.base.arrays import number
from linewright.base.problems import Problems


def availability(production_time: float, planned_busy_time: float) -> float:
    """Actual production time over planned busy time (both in the same unit of time; planned above 0).

    Source: ISO 22400-2 (definition from memory). Raises ProblemsError.

    >>> round(availability(373, 420), 4)
    0.8881
    """
    return _ratio(production_time, planned_busy_time, "production_time", "planned_busy_time")


def effectiveness(planned_time_each: float, produced: float, production_time: float) -> float:
    """Planned time for each piece x pieces produced / actual production time: the performance rate.

    ``planned_time_each`` and ``production_time`` in one unit of time, ``produced`` good and bad pieces. Source: ISO
    22400-2 (definition from memory). Raises ProblemsError.

    >>> round(effectiveness(1 / 60, 19271, 373), 4)
    0.8611
    """
    return _ratio(planned_time_each * produced, production_time, "produced", "production_time")


def quality_ratio(good: float, produced: float) -> float:
    """Good pieces over all pieces produced. Source: ISO 22400-2 (definition from memory). Raises ProblemsError.

    >>> round(quality_ratio(18848, 19271), 4)
    0.978
    """
    return _ratio(good, produced, "good", "produced")


def oee_index(available: float, effective: float, quality: float) -> float:
    """Overall equipment effectiveness index: availability x effectiveness x quality ratio, each a share of one.

    Source: ISO 22400-2; the measure goes back to S. Nakajima, Introduction to TPM, 1988. Raises ProblemsError.

    >>> round(oee_index(373 / 420, 19271 / 60 / 373, 18848 / 19271), 4)
    0.7479
    """
    problems = Problems()
    for name, value in (("available", available), ("effective", effective), ("quality", quality)):
        if type(value) is float and 0 <= value < math.inf:
            continue  # the ordinary case, without the cost of looking closer
        number(value, name, problems, low=0.0)
    problems.raise_errors()
    return available * effective * quality


def rolled_throughput_yield(*yields: float) -> float:
    """Share of pieces that pass every step right the first time: the product of the steps' first-pass yields.

    Source: common practice of quality work, definition. Raises ProblemsError.

    >>> round(rolled_throughput_yield(0.98, 0.95, 0.97, 0.99), 6)
    0.894039
    """
    problems = Problems()
    product = 1.0
    for i, value in enumerate(yields):
        product *= number(value, f"yields[{i}]", problems, low=0.0, high=1.0)
    problems.raise_errors()
    return product


def _ratio(top: float, bottom: float, top_name: str, bottom_name: str) -> float:
    problems = Problems()
    number(top, top_name, problems, low=0.0)
    number(bottom, bottom_name, problems, above=0.0)
    problems.raise_errors()
    return top / bottom
