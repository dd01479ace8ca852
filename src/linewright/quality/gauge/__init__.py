"""Is the gauge good enough? Crossed studies, agreement between inspectors, bias and linearity, combined uncertainty."""

from linewright.quality.gauge.agreement import (
    Agreement,
    InspectorStudy,
    agreement_of_many,
    agreement_of_two,
    inspectors_against_truth,
)
from linewright.quality.gauge.bias import Linearity, bias, linearity
from linewright.quality.gauge.crossed import GaugeStudy, gauge_by_ranges, gauge_study, read_gauge_table
from linewright.quality.gauge.uncertainty import Uncertainty, combined_uncertainty

__all__ = [
    "Agreement",
    "GaugeStudy",
    "InspectorStudy",
    "Linearity",
    "Uncertainty",
    "agreement_of_many",
    "agreement_of_two",
    "bias",
    "combined_uncertainty",
    "gauge_by_ranges",
    "gauge_study",
    "inspectors_against_truth",
    "linearity",
    "read_gauge_table",
]
