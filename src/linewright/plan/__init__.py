"""The plan: how a product is made, in one file, read and checked. See docs/plan.md."""

from linewright.plan.build import PlanBuilder
from linewright.plan.importing import import_table
from linewright.plan.load import check_plan, read_plan
from linewright.plan.model import Plan
from linewright.plan.save import save_value
from linewright.plan.scaffold import new_plan
from linewright.plan.schema import json_schema

__all__ = ["Plan", "PlanBuilder", "check_plan", "import_table", "json_schema", "new_plan", "read_plan", "save_value"]
