"""The field tables of docs/plan.md and the unit tables of docs/units.md, written from what the reader itself uses.

``python -m linewright.plan.reference docs`` writes them anew between their marks; a test asks that they are current.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path

from linewright.base.units import BASE, COUNT_NOUNS, UNITS, read_unit
from linewright.plan.check_fields import CHECK, REACTION
from linewright.plan.durations import SPREAD
from linewright.plan.header_fields import DEMAND, OVERHEAD, PLAN
from linewright.plan.item_fields import MASS
from linewright.plan.operation_fields import CLEAN, DURING, HANDS_ON, LOAD, MOVE, OPERATION, SETUP, START
from linewright.plan.quality_fields import DIMENSION, FAILURE_MODE, FIRST_PIECES, LEARNING, SCALE
from linewright.plan.record import Record
from linewright.plan.season_fields import CAMPAIGN, INTAKE
from linewright.plan.station_fields import POWER, STOPPAGE
from linewright.plan.table_fields import RECORDS
from linewright.plan.wait_fields import WAIT

TABLES: Mapping[str, Record] = {
    "plan": PLAN,
    "demand": DEMAND,
    "intake": INTAKE,
    "overhead": OVERHEAD,
    **RECORDS,
    "mass": MASS,
    "stoppages": STOPPAGE,
    "power": POWER,
    "operations": OPERATION,
    "time": SPREAD,
    "load": LOAD,
    "hands_on": HANDS_ON,
    "setup": SETUP,
    "clean": CLEAN,
    "start": START,
    "during": DURING,
    "campaign": CAMPAIGN,
    "move": MOVE,
    "wait": WAIT,
    "check": CHECK,
    "reaction": REACTION,
    "first_pieces": FIRST_PIECES,
    "scale": SCALE,
    "learning": LEARNING,
    "failure_modes": FAILURE_MODE,
    "dimension": DIMENSION,
}
"""Every table of fields, by the mark under which the documentation shows it."""

_MARK = re.compile(r"(<!-- (fields|units|reserved) ?(\w*) -->\n).*?(<!-- end -->)", re.DOTALL)


def fields_of(record: Record) -> str:
    """A table of the fields of a record, in Markdown; a field that must be written is in bold."""
    rows = ["| field | form | meaning | example |", "|---|---|---|---|"]
    for field in record.fields:
        key = f"**`{field.key}`**" if field.required else f"`{field.key}`"
        example = f"`{field.key} = {field.example}`"
        rows.append("| " + " | ".join(_cell(c) for c in (key, field.form.words, field.help, example)) + " |")
    return "\n".join(rows) + "\n"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def units_of_dimensions() -> str:
    """The accepted units by dimension, each with its size in the base unit."""
    rows = ["| dimension | held in | accepted |", "|---|---|---|"]
    for dimension, base in BASE.items():
        accepted = [unit for unit, (_, of) in UNITS.items() if of == dimension]
        if accepted:
            sizes = ", ".join(f"`{unit}`{_size(unit, base)}" for unit in accepted)
            rows.append(f"| {dimension} | {f'`{base}`' if base else 'a fraction of one'} | {sizes} |")
    nouns = ", ".join(f"`{noun}`" for noun in sorted(COUNT_NOUNS))
    rows.append(f"| count | itself | {nouns}, and every count noun that an item declares as its `unit` |")
    return "\n".join(rows) + "\n"


def _size(unit: str, base: str) -> str:
    meaning = read_unit(unit)
    if unit == base:
        return ""
    if meaning.offset:
        return f" ({meaning.factor:.6g} x {meaning.offset:+.6g})"
    return f" ({meaning.factor:.9g})"


def reserved_names() -> str:
    """The names kept for later, table by table."""
    rows = ["| where | names |", "|---|---|"]
    for mark, record in TABLES.items():
        if record.reserved:
            rows.append(f"| {mark} | {_names(record.reserved)} |")
    return "\n".join(rows) + "\n"


def _names(words: Iterable[str]) -> str:
    return ", ".join(f"`{word}`" for word in words)


_WRITERS: Mapping[str, Callable[[str], str]] = {
    "fields": lambda mark: fields_of(TABLES[mark]),
    "units": lambda _: units_of_dimensions(),
    "reserved": lambda _: reserved_names(),
}


def renewed(text: str) -> str:
    """A page with every marked table written anew."""
    return _MARK.sub(lambda found: f"{found[1]}{_WRITERS[found[2]](found[3])}{found[4]}", text)


def main(folder: Path) -> None:
    """Write the tables of the pages in a folder anew."""
    for name in ("plan.md", "units.md"):
        page = folder / name
        page.write_text(renewed(page.read_text("utf-8")), "utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "docs"))
