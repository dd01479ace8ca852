"""What can only be seen in the whole of a plan: things nobody makes or uses, circles, people who never meet.

Each check takes the plan as far as it could be read and notes its problems; references were checked while reading.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.plan.check_carriers import check_carriers
from linewright.plan.check_faults import check_faults
from linewright.plan.check_items import check_items
from linewright.plan.check_lines import check_lines
from linewright.plan.check_operations import check_operations
from linewright.plan.check_options import check_options
from linewright.plan.check_people import check_people
from linewright.plan.check_season import check_season
from linewright.plan.check_silent import check_silent
from linewright.plan.check_skills import check_skills
from linewright.plan.check_waits import check_waits
from linewright.plan.model import Plan
from linewright.plan.reading import Reading
from linewright.plan.whole import operations_of


def check_whole(plan: Plan, reading: Reading, document: Mapping[str, Any]) -> None:
    """Note every problem of the whole plan."""
    placed = operations_of(plan, document)
    check_operations(plan, placed, reading, document)
    check_items(plan, placed, reading, document)
    check_options(plan, placed, reading, document)
    check_faults(placed, reading, document)
    check_people(plan, placed, reading)
    check_skills(plan, reading)
    check_lines(plan, reading)
    check_season(plan, reading)
    check_carriers(plan, reading)
    check_waits(plan, placed, reading)
    check_silent(plan, placed, reading)
