"""The plan: how a product is made, in one file, read and checked. See docs/plan.md."""

from linewright.plan.build import PlanBuilder
from linewright.plan.load import check_plan, read_plan
from linewright.plan.model import Plan

__all__ = ["Plan", "PlanBuilder", "check_plan", "read_plan"]
