"""The shape that every result shares: where it came from, how far it can be trusted, and how it is shown.

A result is a frozen dataclass with named fields in stated units. It carries its Provenance and its Honesty; it turns
into plain data with ``to_dict`` and shows itself as a table in a notebook. Nothing here knows any engine.
"""

from __future__ import annotations

import html
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from typing import Any

import numpy as np

from linewright.base.frames import frame_of
from linewright.base.showing import picture_of


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where a result came from: the engine, its version, the plan's fingerprint, the seed and the seconds it took."""

    engine: str
    version: str
    fingerprint: str = ""
    seed: int | None = None
    seconds: float = 0.0


@dataclass(frozen=True, slots=True)
class Honesty:
    """How far a result can be trusted.

    ``status`` is a word of its engine ("exact", "proved", "bound", "estimate", "sampled", "stopped"). ``bound`` and
    ``gap`` belong to solved results, ``replications`` to sampled ones; None where there is none, never an invented one.
    """

    status: str
    bound: float | None = None
    gap: float | None = None
    replications: int | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Interval:
    """A mean with the half-width of its two-sided interval at ``level`` (0.95)."""

    mean: float
    half_width: float
    level: float = 0.95

    @property
    def low(self) -> float:
        """Lower end."""
        return self.mean - self.half_width

    @property
    def high(self) -> float:
        """Upper end."""
        return self.mean + self.half_width


class Told(float):
    """A number that a table shows in words of its own, such as ``84 %``; in a frame or a workbook it is the number.

    >>> Told(0.8421, "84 %") > 0.8, show(Told(0.8421, "84 %"))
    (True, '84 %')
    """

    __slots__ = ("text",)
    text: str

    def __new__(cls, value: float, text: str) -> Told:
        """The number with its words."""
        made = super().__new__(cls, value)
        made.text = text
        return made

    def __reduce__(self) -> tuple[type[Told], tuple[float, str]]:
        return Told, (float(self), self.text)


@dataclass(frozen=True, slots=True)
class Table:
    """A titled table for people and for frames: one row a thing, every column named with its unit."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[Any, ...], ...]
    note: str = ""

    def to_dict(self) -> dict[str, Any]:
        """Title, columns, rows and note, ready for JSON."""
        return {
            "title": self.title,
            "columns": list(self.columns),
            "rows": plain(self.rows),
            "note": self.note,
        }

    def to_polars(self) -> Any:
        """The table as a polars frame. Raises ProblemsError where the extra ``frames`` is missing."""
        return frame_of("polars", self.columns, self.rows)

    def to_pandas(self) -> Any:
        """The table as a pandas frame. Raises ProblemsError where the extra ``pandas`` is missing."""
        return frame_of("pandas", self.columns, self.rows)

    def to_text(self, most: int = 40) -> str:
        """The table as plain text: its title, and at most ``most`` rows.

        >>> print(Table("Rates", ("what", "a day"), (("trailer", 36.0),)).to_text())
        Rates
        what     a day
        trailer  36
        """
        shown = [tuple(self.columns), *(tuple(show(cell) for cell in row) for row in self.rows[:most])]
        wide = [max(len(row[k]) for row in shown) for k in range(len(self.columns))]
        lines = ["  ".join(cell.ljust(w) for cell, w in zip(row, wide, strict=True)).rstrip() for row in shown]
        left = len(self.rows) - most
        more = [f"and {left} more rows"] if left > 0 else []
        return "\n".join([self.title, *lines, *more, *([self.note] if self.note else [])])

    def _repr_html_(self) -> str:
        head = "".join(f"<th>{html.escape(c)}</th>" for c in self.columns)
        body = "".join(
            "<tr>" + "".join(f"<td>{html.escape(show(cell))}</td>" for cell in row) + "</tr>" for row in self.rows
        )
        caption = f"<caption>{html.escape(self.title)}</caption>"
        return f"<table>{caption}<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def show(cell: object) -> str:
    """A cell as a person reads it: four significant digits, no exponent in the ordinary range, blank for None.

    >>> show(1234.5678), show(0.012345), show(None), show(12)
    ('1,235', '0.01235', '', '12')
    """
    if cell is None:
        return ""
    if isinstance(cell, Told):
        return cell.text
    if isinstance(cell, (bool, np.bool_)):
        return "yes" if cell else "no"
    if isinstance(cell, (float, np.floating)):
        return _show_number(float(cell))
    if isinstance(cell, (int, np.integer)):
        return f"{int(cell):,}"
    return str(cell)


def _show_number(x: float) -> str:
    if not math.isfinite(x):
        return "unlimited" if x > 0 else str(x)
    if x == 0:
        return "0"
    size = abs(x)
    if size >= 1e9 or size < 1e-4:
        return f"{x:.3g}"
    digits = max(0, 3 - math.floor(math.log10(size)))
    text = f"{x:,.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_interval(interval: Interval) -> str:
    """A mean with its half-width, to the digits that the half-width gives sense to.

    >>> show_interval(Interval(36.0142, 0.0174)), show_interval(Interval(911.77, 2.17)), show_interval(Interval(130, 0))
    ('36.01 ± 0.02', '912 ± 3', '130 ± 0')
    >>> show_interval(Interval(7.99881, 0.00004)), show_interval(Interval(0, 0)), show_interval(Interval(8, math.inf))
    ('7.999 ± 0.001', '0', '8 (of one run, so without interval)')
    >>> show_interval(Interval(-0.001, 0.2))
    '0.0 ± 0.2'
    """
    mean, half = interval.mean, interval.half_width
    if not math.isfinite(half):
        return f"{show(mean)} (of one run, so without interval)"
    if half <= 1e-9 * abs(mean):
        return f"{show(mean)} ± 0" if mean else "0"
    size = max(abs(mean), half)
    digits = max(-math.floor(math.log10(half)), 0)
    digits = min(digits, max(0, 3 - math.floor(math.log10(size))))
    step = 10.0**-digits
    wide = math.ceil(half / step - 1e-9) * step  # rounded up: never sharper than it is
    return f"{mean:z,.{digits}f} ± {wide:,.{digits}f}"  # z: no nought below nothing


def plain(value: Any) -> Any:
    """Any result as plain data: dictionaries, lists, texts, numbers and None (an infinite number becomes None)."""
    if value is None or isinstance(value, (bool, int, str)):
        return value.value if isinstance(value, Enum) else value
    if isinstance(value, (float, np.floating)):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, np.integer):
        return int(value)
    if isinstance(value, np.bool_):
        return bool(value)
    if isinstance(value, np.ndarray):
        return [plain(v) for v in value.tolist()]
    if isinstance(value, Enum):
        return plain(value.value)
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value) if not f.name.startswith("_")}
    if isinstance(value, Mapping):
        return {str(k): plain(v) for k, v in value.items()}
    if isinstance(value, (Sequence, set, frozenset)):
        return [plain(v) for v in value]
    return str(value)


class Shown:
    """What every result can do: ``to_dict`` for JSON, and its table in a notebook. A result adds ``to_table``."""

    __slots__ = ()

    def to_table(self) -> Table:
        """The result as a table for people."""
        raise NotImplementedError

    def to_dict(self) -> dict[str, Any]:
        """All fields by name as plain data, ready for JSON."""
        data: dict[str, Any] = plain(self)
        return data

    def to_polars(self) -> Any:
        """Its table as a polars frame. Raises ProblemsError where the extra ``frames`` is missing."""
        return self.to_table().to_polars()

    def to_pandas(self) -> Any:
        """Its table as a pandas frame. Raises ProblemsError where the extra ``pandas`` is missing."""
        return self.to_table().to_pandas()

    def _repr_html_(self) -> str:
        return self.to_table()._repr_html_()

    def _repr_mimebundle_(self, include: Any = None, exclude: Any = None) -> dict[str, str]:  # noqa: ARG002
        """What a notebook shows: the picture where somebody draws one, else the table; as text the table."""
        table = self.to_table()
        return {"text/plain": table.to_text(), "text/html": picture_of(self) or table._repr_html_()}
