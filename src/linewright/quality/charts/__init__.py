"""Control charts: is the process steady, and if not, since when?"""

from linewright.quality.charts.chart import Chart, Known, Track
from linewright.quality.charts.counts import faults, faults_per_unit, number_faulty, share_faulty
from linewright.quality.charts.memory import cumulative_sum, weighted_mean
from linewright.quality.charts.phases import Settled, settle
from linewright.quality.charts.rules import ALL_RULES, USUAL_RULES, Rule, false_alarm
from linewright.quality.charts.several import KnownTogether, contributions, together, together_known
from linewright.quality.charts.variables import mean_and_deviation, mean_and_range, single_readings

__all__ = [
    "ALL_RULES",
    "USUAL_RULES",
    "Chart",
    "Known",
    "KnownTogether",
    "Rule",
    "Settled",
    "Track",
    "contributions",
    "cumulative_sum",
    "false_alarm",
    "faults",
    "faults_per_unit",
    "mean_and_deviation",
    "mean_and_range",
    "number_faulty",
    "settle",
    "share_faulty",
    "single_readings",
    "together",
    "together_known",
    "weighted_mean",
]
