"""Tables of a gauge's faults other than spread: readings of known pieces, and inspectors' verdicts on known pieces."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from linewright.base.tables import Sheet, read_sheet

Floats = NDArray[np.float64]
Kind = Literal["crossed", "linearity", "verdicts"]
_YES = {"faulty", "bad", "yes", "1", "true", "fail", "reject", "rejected"}
_NO = {"good", "ok", "no", "0", "false", "pass", "accept", "accepted"}


def kind_of_gauge_table(path: str | Path) -> Kind:
    """Which gauge study a table is for, by its headings.

    Equation: none. ``verdict`` and ``truth``: verdicts; ``reference``: linearity; else a crossed study.
    Takes:
        path [file name]: a CSV or XLSX table.
    Gives: "crossed", "linearity" or "verdicts".
    Range: any table with headings.
    Source: none.

    Raises ProblemsError where there is no table.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "dial.csv"
    >>> _ = file.write_text("reference,value\\n2.0,2.1\\n")
    >>> kind_of_gauge_table(file)
    'linearity'
    """
    names = set(read_sheet(path).headings)
    if "verdict" in names:
        return "verdicts"
    return "linearity" if "reference" in names else "crossed"


def read_references(path: str | Path) -> tuple[Floats, Floats]:
    """Readings of pieces whose true value is known.

    Equation: none; a reader.
    Takes:
        path [file name]: a table with the columns ``reference`` and ``value``, in one unit.
    Gives: references and readings, one of each a row.
    Range: finite numbers.
    Source: none.

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "dial.csv"
    >>> _ = file.write_text("reference,value\\n2.0,2.1\\n4.0,4.1\\n")
    >>> read_references(file)[1].tolist()
    [2.1, 4.1]
    """
    sheet = read_sheet(path)
    reference, value = sheet.numbers("reference"), sheet.numbers("value")
    sheet.problems.raise_errors()
    return reference, value


def read_verdicts(path: str | Path) -> tuple[list[bool], dict[str, list[list[bool]]]]:
    """Inspectors' verdicts on pieces known to be good or faulty.

    Equation: none; a reader.
    Takes:
        path [file name]: a table with the columns ``part``, ``inspector``, ``verdict`` and ``truth``, each of the last
            two ``good`` or ``faulty`` (or pass and fail, ok and bad, yes and no). One row a look; every inspector looks
            at every part as often.
    Gives: whether each part is faulty, and for each inspector a table of calls, one row a part.
    Range: any number of parts and looks.
    Source: none.

    Raises ProblemsError with every problem by line.

    >>> import tempfile, pathlib
    >>> file = pathlib.Path(tempfile.mkdtemp()) / "looks.csv"
    >>> _ = file.write_text("part,inspector,verdict,truth\\n1,Ann,faulty,faulty\\n2,Ann,good,good\\n")
    >>> read_verdicts(file)
    ([True, False], {'Ann': [[True], [False]]})
    """
    sheet = read_sheet(path)
    parts, people = sheet.texts("part"), sheet.texts("inspector")
    calls, truths = _yes_or_no(sheet, "verdict"), _yes_or_no(sheet, "truth")
    sheet.problems.raise_errors()
    truth: dict[str, bool] = {}
    looks: dict[str, dict[str, list[bool]]] = {}
    for i, part in enumerate(parts):
        if truth.setdefault(part, truths[i]) != truths[i]:
            sheet.problems.error("truth", f'line {sheet.lines[i]}: part "{part}" was the other kind before')
        looks.setdefault(people[i], {}).setdefault(part, []).append(calls[i])
    _balanced(sheet, truth, looks)
    return list(truth.values()), {who: [of[part] for part in truth] for who, of in looks.items()}


def _yes_or_no(sheet: Sheet, column: str) -> list[bool]:
    found = []
    for i, cell in enumerate(sheet.texts(column)):
        word = cell.strip().lower()
        if word not in _YES | _NO:
            where = f"line {sheet.lines[i]}: neither good nor faulty"
            sheet.problems.error(column, where, value=cell, expected="good or faulty")
        found.append(word in _YES)
    return found


def _balanced(sheet: Sheet, truth: dict[str, bool], looks: dict[str, dict[str, list[bool]]]) -> None:
    for who, of in looks.items():
        counts = {len(of.get(part, ())) for part in truth}
        if len(counts) != 1:
            what = f"{who} did not look at every part as often"
            sheet.problems.error("inspector", what, value=", ".join(str(n) for n in sorted(counts)))
    sheet.problems.raise_errors()
