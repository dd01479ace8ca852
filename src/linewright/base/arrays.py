"""Arrays of measurements, checked before any formula sees them.

A formula gets finite numbers of the right count, range and shape, or its caller gets a problem that names the reading.
Every problem of an argument is collected; nothing is dropped or repaired in silence.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import ArrayLike, NDArray

from linewright.base.problems import Problems

if TYPE_CHECKING:
    from linewright.base.problems import Problem

_LARGEST, _SMALLEST = 1e100, 1e-100  # beyond these no measurement lies, and squares would leave the doubles
_LEAST_SHARE = 1e-12
_SHOWN = 5  # problems of one kind shown by place; the rest are counted


def numbers(
    values: ArrayLike | Iterable[object],
    path: str,
    problems: Problems,
    *,
    at_least: int = 1,
    low: float | None = None,
    high: float | None = None,
    above: float | None = None,
    whole: bool = False,
    vary: bool = False,
) -> NDArray[np.float64]:
    """One row of numbers, or problems. An unusable argument comes back as it could be read, possibly empty.

    ``at_least`` readings are needed; each is finite, at least ``low`` and at most ``high``, above ``above``, whole
    where ``whole``; with ``vary`` they may not all be the same (a spread is needed).

    >>> found = Problems()
    >>> numbers([1, "two", float("nan")], "time", found).size, [p.path for p in found]
    (3, ['time[1]', 'time[2]'])
    """
    array, unread = _as_floats(values, path, problems)
    if array.ndim != 1:
        problems.error(path, "one row of numbers is needed", value=f"an array of shape {array.shape}")
        return np.empty(0)
    if array.size < at_least:
        what = "no readings" if array.size == 0 else f"only {array.size} reading{'s' * (array.size != 1)}"
        problems.error(path, what, expected=f"at least {at_least}")
    _check_each(array, unread, path, problems, low, high, above, whole)
    if vary and array.size >= 2 and np.all(array == array[0]):
        problems.error(
            path,
            "all readings are the same, so there is no spread to work with",
            value=float(array[0]),
            hint="is the scale too coarse, or was one value copied down?",
        )
    return array


def subgroups(values: ArrayLike | Sequence[Sequence[object]], path: str, problems: Problems) -> NDArray[np.float64]:
    """Readings in equal subgroups, one row a subgroup of at least two; at least two subgroups; or problems.

    >>> found = Problems()
    >>> subgroups([[1, 2], [3]], "readings", found).size, found.found[0].what
    (0, 'the subgroups are not of one size')
    """
    if not isinstance(values, np.ndarray):
        rows = [list(row) if isinstance(row, Iterable) and not isinstance(row, str) else [row] for row in _rows(values)]
        sizes = {len(row) for row in rows}
        if len(sizes) > 1:
            odd = next(i for i, row in enumerate(rows) if len(row) != len(rows[0]))
            problems.error(
                path,
                "the subgroups are not of one size",
                value=f"{len(rows[0])} in the first, {len(rows[odd])} in number {odd + 1}",
                expected="equal subgroups",
                hint="use the mean and deviation chart, which takes unequal subgroups, or complete the readings",
            )
            return np.empty((0, 0))
        values = rows
    flat, unread = _as_floats(values, path, problems)
    if flat.ndim != 2:
        problems.error(path, "a table of subgroups is needed", value=f"an array of shape {flat.shape}")
        return np.empty((0, 0))
    if flat.shape[0] < 2 or flat.shape[1] < 2:
        problems.error(
            path,
            "too few readings",
            value=f"{flat.shape[0]} subgroups of {flat.shape[1]}",
            expected="at least 2 subgroups of at least 2 readings",
        )
    _check_each(flat, unread, path, problems, None, None, None, whole=False)
    return flat


def share(value: float, path: str, problems: Problems, *, ends: bool = False) -> float:
    """A number between 0 and 1, the ends excluded unless ``ends``; or a problem.

    >>> share(0.5, "level", Problems())
    0.5
    """
    good = math.isfinite(value) and (0 <= value <= 1 if ends else _LEAST_SHARE <= value <= 1 - _LEAST_SHARE)
    if not good:
        words = "from 0 to 1" if ends else "between 0 and 1"
        problems.error(path, "not a share", value=value, expected=f"a number {words}", hint="95 % is written 0.95")
    return float(value)


def number(
    value: float,
    path: str,
    problems: Problems,
    *,
    low: float | None = None,
    above: float | None = None,
    high: float | None = None,
    whole: bool = False,
) -> float:
    """One finite number in a range, or a problem.

    >>> number(2, "pieces", Problems(), low=1, whole=True)
    2.0
    """
    checked = numbers([value], path, problems, low=low, above=above, high=high, whole=whole)
    return float(checked[0]) if checked.size and math.isfinite(checked[0]) else math.nan


def limits(lower: float | None, upper: float | None, path: str, problems: Problems) -> None:
    """Check two limits: at least one is given, finite, and the lower lies below the upper."""
    for name, value in (("lower", lower), ("upper", upper)):
        if value is not None and not math.isfinite(value):
            problems.error(f"{path}.{name}", "the limit is not a finite number", value=value)
    if lower is None and upper is None:
        problems.error(path, "no limit is given", expected="a lower limit, an upper limit, or both")
    elif lower is not None and upper is not None and lower >= upper:
        problems.error(
            path,
            "the limits are reversed" if lower > upper else "the limits are the same",
            value=f"lower {lower:g}, upper {upper:g}",
            expected="the lower limit below the upper",
        )


def _rows(values: object) -> list[object]:
    return list(values) if isinstance(values, Iterable) and not isinstance(values, str) else []


def _as_floats(values: object, path: str, problems: Problems) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """As floats, and where a text or gap stood among the numbers: a problem at its place, so not to be told again."""
    if isinstance(values, (list, tuple)):
        with contextlib.suppress(ValueError, OverflowError):  # what is not plain numbers is looked at one by one below
            plain = np.asarray(values)
            values = plain if plain.dtype.kind in "fiu" else values
    if isinstance(values, np.ndarray) and values.dtype.kind in "fiu":
        return values.astype(np.float64, copy=False), np.zeros(values.shape, bool)
    try:
        raw = np.asarray(values if isinstance(values, (list, tuple, np.ndarray)) else _rows(values), dtype=object)
    except ValueError:
        problems.error(path, "the rows are not of one length")
        return np.empty(0), np.empty(0, bool)
    out = np.full(raw.shape, np.nan)
    unread = np.zeros(raw.shape, bool)
    found = Problems()
    for index in np.ndindex(raw.shape):
        cell = raw[index]
        try:
            if cell is None or isinstance(cell, (bool, str, bytes)):
                raise TypeError
            out[index] = float(cell)
        except (TypeError, ValueError, OverflowError):
            found.error(_place(path, index), "this is not a number", value="empty" if cell is None else cell)
            unread[index] = True
    _extend(problems, found.found, path)
    return out, unread


def _place(path: str, index: tuple[int, ...]) -> str:
    return path + "".join(f"[{i}]" for i in index)


def _extend(problems: Problems, found: list[Problem], path: str) -> None:
    problems.extend(found[:_SHOWN])
    if len(found) > _SHOWN:
        problems.error(path, f"and {len(found) - _SHOWN} more like these")


def _check_each(
    array: NDArray[np.float64],
    unread: NDArray[np.bool_],
    path: str,
    problems: Problems,
    low: float | None,
    high: float | None,
    above: float | None,
    whole: bool,
) -> None:
    finite = np.isfinite(array)
    tests: list[tuple[NDArray[np.bool_], str, str]] = [
        (~finite & ~unread, "this is not a finite number", "a number"),
        (finite & (np.abs(array) > _LARGEST), "no measurement is so large", f"at most {_LARGEST:g}"),
        (finite & (array != 0) & (np.abs(array) < _SMALLEST), "no measurement is so small", f"0, or {_SMALLEST:g}"),
    ]
    if low is not None:
        tests.append((finite & (array < low), "this is too small", f"at least {low:g}"))
    if above is not None:
        tests.append((finite & (array <= above), "this is too small", f"more than {above:g}"))
    if high is not None:
        tests.append((finite & (array > high), "this is too large", f"at most {high:g}"))
    if whole:
        tests.append((finite & (array != np.round(array)), "this is not a whole number", "a count"))
    for bad, what, expected in tests:
        if not bad.any():
            continue
        found = Problems()
        for index in np.argwhere(bad):
            place = _place(path, tuple(int(i) for i in index))
            found.error(place, what, value=float(array[tuple(index)]), expected=expected)
        _extend(problems, found.found, path)
