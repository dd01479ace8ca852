"""Where the times of a plan come from: time study, work sampling, learning, and the record of stoppages.

Import the part you need, such as ``from linewright.worktime import timestudy``; each part works on arrays or on a
table file, with no plan.
"""
