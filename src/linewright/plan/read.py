"""From a document (plain nested data) to a checked Plan: every table read by its record, then the whole checked.

All problems are collected in one pass. Files, spreadsheets and line numbers are the business of load.py.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from linewright.base.problems import Problems
from linewright.plan.amounts import unit_of
from linewright.plan.checks import check_whole
from linewright.plan.forms import kind_of
from linewright.plan.model import Demand, Overhead, Plan
from linewright.plan.paths import join
from linewright.plan.reading import FAILED, Reading
from linewright.plan.table_fields import CLASSES, DEMAND, OVERHEAD, PLAN, RECORDS, RESERVED

TOP = ("plan", "demand", "overhead", *RECORDS)
"""Every table a plan may have."""


def read_document(document: Mapping[str, Any], folder: Path, problems: Problems) -> Plan | None:
    """The plan that a document says, or None where there is any error; problems are added to ``problems``."""
    reading = _begin(document, folder, problems)
    for key, part in document.items():
        if key in RESERVED:
            reading.error(key, f"`{key}` is not yet played", part, hint="leave it out; its name is kept for later")
        elif key not in TOP:
            reading.error(key, f"a plan has no table `{key}`", part, hint=reading.near(key, TOP))
    header = _header(document, reading)
    tables = {kind: _table(kind, document.get(kind, {}), reading) for kind in RECORDS}
    demand = _demand(document, header, reading)
    overhead = document.get("overhead", {})
    extra = OVERHEAD.read(overhead, "overhead", reading) if overhead else Overhead()
    if problems.errors:
        check_whole(_draft(header, demand, tables, extra), reading, document)
        return None
    plan = Plan(
        **header,
        demand=demand,
        **tables,
        overhead=extra,
        folder=str(folder),
        document=document,
        fingerprint=fingerprint_of(document, tables["routes"], folder),
    )
    check_whole(plan, reading, document)
    return None if problems.errors else plan


def _begin(document: Mapping[str, Any], folder: Path, problems: Problems) -> Reading:
    names: dict[str, Any] = {kind: _keys(document.get(kind)) for kind in RECORDS}
    names["operations"] = _operation_ids(document)
    return Reading(problems, names, _nouns(document), folder=folder)


def _keys(table: object) -> dict[str, Any]:
    return dict(table) if isinstance(table, Mapping) else {}


def _operation_ids(document: Mapping[str, Any]) -> set[str]:
    ids = set()
    for route in _keys(document.get("routes")).values():
        rows = route.get("operations") if isinstance(route, Mapping) else None
        for row in rows if isinstance(rows, list) else ():
            if isinstance(row, Mapping) and isinstance(row.get("id"), str):
                ids.add(row["id"])
    return ids


def _nouns(document: Mapping[str, Any]) -> frozenset[str]:
    """The count nouns that the items declare by their unit."""
    units = {i.get("unit") for i in _keys(document.get("items")).values() if isinstance(i, Mapping)}
    return frozenset(
        u for u in units if isinstance(u, str) and u and unit_of(u).dimension == "count" and u not in TIMES
    )


TIMES = frozenset({"s", "min", "h", "day", "week", "month", "year", "%"})
"""Words that stay units of time even where an item claims one as its noun (which is a problem of its own)."""


def _header(document: Mapping[str, Any], reading: Reading) -> dict[str, Any]:
    if "plan" not in document:
        reading.error("plan", "there is no table [plan]", None, '[plan] with name = "..."')
        return {"name": "", "money": ""}
    money = document["plan"].get("money") if isinstance(document["plan"], Mapping) else None
    reading.money = money if isinstance(money, str) else ""
    return {"name": "", "money": ""}


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
    return made


def _demand(document: Mapping[str, Any], header: dict[str, Any], reading: Reading) -> tuple[Demand, ...]:
    """Fills the header too: its demand can be read only when the items are known."""
    part = document.get("plan", {})
    values = PLAN.read(part, "plan", reading) if "plan" in document else FAILED
    if values is FAILED:
        values = {}
    makes, rate = values.pop("makes", None), values.pop("demand", None)
    header.update(values)
    wanted: list[Demand] = []
    if isinstance(part, Mapping) and ("makes" in part) != ("demand" in part):
        missing = "demand" if "makes" in part else "makes"
        reading.error(f"plan.{missing}", "`makes` and `demand` belong together", None, '"36 each/day"')
    elif makes is not None and rate is not None:
        one = DEMAND.finish({"item": makes, "rate": rate}, {}, "plan", reading)
        wanted += [one] if one is not FAILED else []
    rows = document.get("demand", [])
    if not isinstance(rows, list):
        reading.error("demand", f"this is {kind_of(rows)}", rows, "[[demand]] with item and rate")
        rows = []
    for number, row in enumerate(rows):
        one = DEMAND.read(row, f"demand[{number}]", reading)
        wanted += [one] if one is not FAILED else []
    return tuple(wanted)


def _draft(header: dict[str, Any], demand: tuple[Demand, ...], tables: dict[str, Any], extra: Any) -> Plan:
    """What could be read of a plan with errors, so that the checks of the whole still find theirs."""
    overhead = extra if isinstance(extra, Overhead) else Overhead()
    return Plan(**header, demand=demand, **tables, overhead=overhead)


def fingerprint_of(document: Mapping[str, Any], routes: Mapping[str, Any], folder: Path) -> str:
    """A fingerprint of everything that the plan says, the contents of its study files included."""
    text = json.dumps(document, sort_keys=True, ensure_ascii=False, default=str, separators=(",", ":"))
    digest = hashlib.sha256(text.encode("utf-8", "surrogatepass"))
    for study in sorted(_studies(routes)):
        file = folder / study
        digest.update(study.encode() + b"\0")
        digest.update(file.read_bytes() if file.is_file() else b"missing")
    return digest.hexdigest()[:16]


def _studies(routes: Mapping[str, Any]) -> set[str]:
    studies = set()
    for route in routes.values():
        for operation in route.operations:
            for time in (operation.time, operation.stand):
                if time is not None and time.study is not None:
                    studies.add(time.study)
    return studies
