"""Sampling plans: how many to look at, and what such a look is worth."""

from linewright.quality.sampling.iso2859 import attribute_plan, code_letter
from linewright.quality.sampling.measured import (
    MeasuredPlan,
    accept_measured,
    judge_measured,
    measured_plan,
)
from linewright.quality.sampling.operating import (
    Curve,
    DoublePlan,
    SinglePlan,
    accept,
    average_sample,
    operating_curve,
    worst_outgoing,
)
from linewright.quality.sampling.switching import Lot, State, after_lot, resume
from linewright.quality.sampling.two_points import double_by_two_points, single_by_two_points

__all__ = [
    "Curve",
    "DoublePlan",
    "Lot",
    "MeasuredPlan",
    "SinglePlan",
    "State",
    "accept",
    "accept_measured",
    "after_lot",
    "attribute_plan",
    "average_sample",
    "code_letter",
    "double_by_two_points",
    "judge_measured",
    "measured_plan",
    "operating_curve",
    "resume",
    "single_by_two_points",
    "worst_outgoing",
]
