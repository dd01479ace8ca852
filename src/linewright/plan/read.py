"""From a document (plain nested data) to a checked Plan: every table read by its record, then the whole checked.

All problems are collected in one pass. Files, spreadsheets and line numbers are the business of load.py.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from linewright.base.problems import Problems
from linewright.base.units import UNITS
from linewright.plan.amounts import unit_of
from linewright.plan.beside import beside
from linewright.plan.checks import check_whole
from linewright.plan.demand import check_rate
from linewright.plan.forms import kind_of
from linewright.plan.header_fields import DEMAND, OVERHEAD, PLAN
from linewright.plan.model import Demand, Plan
from linewright.plan.paths import join
from linewright.plan.reading import FAILED, Reading
from linewright.plan.record import Record
from linewright.plan.season_fields import INTAKE
from linewright.plan.table_fields import CLASSES, RECORDS
from linewright.plan.whole import operations_of, rows_of, tables_of, times_of

TOP = ("plan", "demand", "intake", "overhead", *RECORDS)
"""Every table a plan may have."""


def read_document(document: Mapping[str, Any], folder: Path, problems: Problems) -> Plan | None:
    """The plan that a document says, or None where there is any error; problems are added to ``problems``."""
    reading = _begin(document, folder, problems)
    for key, part in document.items():
        if key not in TOP:
            reading.error(key, f"a plan has no table `{key}`", part, hint=reading.near(key, TOP))
    draft = _draft(document, reading)
    check_whole(draft, reading, document)
    if problems.errors:
        return None
    fingerprint = fingerprint_of(document, draft, folder)
    warnings = tuple(problems.warnings)
    return replace(draft, folder=str(folder), document=document, fingerprint=fingerprint, warnings=warnings)


def _draft(document: Mapping[str, Any], reading: Reading) -> Plan:
    """Whatever can be read, so that the checks of the whole find their problems beside those of single fields."""
    reading.money = _money(document)
    reading.money_known = bool(reading.money) or "money" not in _keys(document.get("plan"))
    values: dict[str, Any] = {kind: _table(kind, document.get(kind, {}), reading) for kind in RECORDS}
    values.update(_header(document, reading))
    overhead = OVERHEAD.read(document.get("overhead", {}), "overhead", reading)
    if overhead is not FAILED:
        values["overhead"] = overhead
    return Plan(**values)


def _begin(document: Mapping[str, Any], folder: Path, problems: Problems) -> Reading:
    names: dict[str, Any] = {kind: _keys(document.get(kind)) for kind in RECORDS}
    names["operations"] = _operation_ids(document)
    names["values"] = _values(document)
    return Reading(problems, names, _nouns(document), folder=folder)


def _keys(table: object) -> dict[str, Any]:
    return dict(table) if isinstance(table, Mapping) else {}


def _operation_ids(document: Mapping[str, Any]) -> set[str]:
    return {row["id"] for row in rows_of(document) if isinstance(row.get("id"), str)}


def _values(document: Mapping[str, Any]) -> set[str]:
    """The values of all options."""
    lists = (table.get("values") for table in tables_of(document, "options"))
    return {value for values in lists if isinstance(values, list) for value in values if isinstance(value, str)}


def _nouns(document: Mapping[str, Any]) -> frozenset[str]:
    """The count nouns that the items declare by their unit."""
    units = (table.get("unit") for table in tables_of(document, "items"))
    words = {unit for unit in units if isinstance(unit, str) and unit}
    return frozenset(word for word in words if unit_of(word).dimension == "count" and word not in TIMES)


TIMES = frozenset({"s", "min", "h", "day", "week", "month", "year", "%"})
"""Words that stay units of time even where an item claims one as its noun (which is a problem of its own)."""


def _money(document: Mapping[str, Any]) -> str:
    """The currency, needed before any price can be read."""
    money = _keys(document.get("plan")).get("money")
    return money if isinstance(money, str) and money not in UNITS else ""


def _table(kind: str, table: object, reading: Reading) -> dict[str, Any]:
    if not isinstance(table, Mapping):
        reading.error(kind, f"this is {kind_of(table)}", table, f"tables such as [{kind}.name]")
        return {}
    record, make, made = RECORDS[kind], CLASSES[kind], {}
    for key, part in table.items():
        values = record.read(part, join(kind, key), reading)
        if values is not FAILED:
            made[key] = make(id=key, **values)
    if kind == "items":
        reading.items = made
    elif kind == "options":
        reading.options = made
    return made


def _header(document: Mapping[str, Any], reading: Reading) -> dict[str, Any]:
    """The fields of [plan] and what is wanted; read after the items, whose units a demand must fit."""
    values: dict[str, Any] = {"name": "", "money": ""}
    part = document.get("plan")
    if part is None:
        reading.error("plan", "there is no table [plan]", None, '[plan] with name = "..."')
        part = {}
    else:
        read = PLAN.read(part, "plan", reading)
        values.update({} if read is FAILED else read)
    makes = values.pop("makes", None)
    wanted = _short_demand(makes, values.pop("demand", None), part, reading)
    if makes is not None and not wanted and "demand" not in _keys(part):
        values["makes"] = makes
    wanted += _rows(document, "demand", DEMAND, "[[demand]] with item and rate", reading)
    intake = _rows(document, "intake", INTAKE, "[[intake]] with item, from, to and weekly", reading)
    return {**values, "demand": tuple(wanted), "intake": tuple(intake)}


def _rows(document: Mapping[str, Any], key: str, record: Record, expected: str, reading: Reading) -> list[Any]:
    """What could be read of an array of tables."""
    rows = document.get(key, [])
    if not isinstance(rows, list):
        reading.error(key, f"this is {kind_of(rows)}", rows, expected)
        return []
    read = [record.read(row, f"{key}[{number}]", reading) for number, row in enumerate(rows)]
    return [one for one in read if one is not FAILED]


def _short_demand(makes: Any, rate: Any, part: object, reading: Reading) -> list[Demand]:
    """The demand written as ``makes`` and ``demand`` of [plan]."""
    written = _keys(part)
    if "makes" in written and "demand" not in written and "from" in written:
        return []  # the harvest says how much
    if ("makes" in written) != ("demand" in written):
        missing = "demand" if "makes" in written else "makes"
        expected = '"36 each/day"' if missing == "demand" else "the item wanted"
        reading.error(f"plan.{missing}", "`makes` and `demand` belong together", None, expected)
        return []
    if makes is None or rate is None:
        return []
    sound = check_rate(makes, rate, "plan.demand", reading)
    return [Demand(makes, rate)] if sound else []


def fingerprint_of(document: Mapping[str, Any], plan: Plan, folder: Path) -> str:
    """A fingerprint of everything that the plan says, the contents of its study files included."""
    text = json.dumps(document, sort_keys=True, ensure_ascii=False, default=str, separators=(",", ":"))
    digest = hashlib.sha256(text.encode("utf-8", "surrogatepass"))
    times = times_of(plan, operations_of(plan, document))
    for study in sorted({time.study for _, time in times if time.study is not None}):
        digest.update(study.encode() + b"\0" + beside(folder, study).read_bytes())
    return digest.hexdigest()[:16]
