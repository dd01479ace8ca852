"""Faults: those a check looks for but nothing makes, and those made but sought by nobody."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from linewright.plan.paths import join
from linewright.plan.reading import Reading
from linewright.plan.whole import Placed, rows_of


def check_faults(placed: list[Placed], reading: Reading, document: Mapping[str, Any]) -> None:
    """Warn of a fault that is sought and never made."""
    made = {fault for row in rows_of(document) if isinstance(row.get("faults"), Mapping) for fault in row["faults"]}
    for one in placed:
        check = one.operation.check
        for fault in check.finds if check is not None else ():
            if fault not in made:
                what = f'{one.title} looks for "{fault}", a fault that no operation makes'
                reading.problems.warn(join(f"{one.path}.check.finds", fault), what, hint=reading.near(fault, made))
