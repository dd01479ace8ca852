"""A JSON Schema of the plan file, so that editors complete and check while one types.

It is made from the same field tables that read the file. References between tables are beyond a schema: ``check`` does
those.
"""

from __future__ import annotations

from typing import Any

from linewright.plan.header_fields import DEMAND, OVERHEAD, PLAN
from linewright.plan.record import Record
from linewright.plan.season_fields import INTAKE
from linewright.plan.table_fields import RECORDS

DIALECT = "https://json-schema.org/draft/2020-12/schema"


def json_schema() -> dict[str, Any]:
    """The schema as plain data, ready for JSON."""
    properties: dict[str, Any] = {
        "plan": PLAN.schema(),
        "demand": {"type": "array", "items": DEMAND.schema()},
        "intake": {"type": "array", "items": INTAKE.schema()},
        "overhead": OVERHEAD.schema(),
    }
    for kind, record in RECORDS.items():
        properties[kind] = _named(record)
    return {
        "$schema": DIALECT,
        "title": "A plan: how a product is made",
        "type": "object",
        "properties": properties,
        "required": ["plan"],
        "additionalProperties": False,
    }


def _named(record: Record) -> dict[str, Any]:
    """A table of named things."""
    return {"type": "object", "additionalProperties": record.schema(), "description": record.what}
