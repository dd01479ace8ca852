"""How we know it is good: control charts, capability, sampling plans, gauge studies, counting by weight, tolerances.

Import the part you need, such as ``from linewright.quality import capability`` or ``from linewright.quality.charts
import mean_and_range``; each part works on arrays or on a table file, with no plan.
"""
