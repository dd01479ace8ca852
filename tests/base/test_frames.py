"""Tables as frames: one column a heading, numbers as numbers, and a missing library said with what to do."""

from __future__ import annotations

import sys
from typing import Any

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.base.results import Table, Told

TABLE = Table(
    "t",
    ("name", "rate", "use", "mixed", "", ""),
    (
        ("a", 1.5, Told(0.5, "50 %"), "unlimited", np.int64(3), None),
        ("b", 2, "", 4.0, np.float64(2.5), True),
    ),
)


def values(frame: Any, name: str) -> list[Any]:
    return list(frame[name].to_list())


def test_polars_has_a_kind_for_each_column() -> None:
    pl = pytest.importorskip("polars")
    frame = TABLE.to_polars()
    assert frame.columns == ["name", "rate", "use", "mixed", "what", "what 2"]
    assert frame.schema["rate"] == pl.Float64
    assert values(frame, "use") == [0.5, None]
    assert values(frame, "mixed") == ["unlimited", "4"]
    assert values(frame, "what") == [3.0, 2.5]


def test_pandas_says_the_same() -> None:
    pytest.importorskip("pandas")
    frame = TABLE.to_pandas()
    assert list(frame.columns) == ["name", "rate", "use", "mixed", "what", "what 2"]
    assert values(frame, "rate") == [1.5, 2.0]
    assert values(frame, "name") == ["a", "b"]


@pytest.mark.parametrize(("library", "extra"), [("polars", "frames"), ("pandas", "pandas")])
def test_a_missing_library_is_said(monkeypatch: pytest.MonkeyPatch, library: str, extra: str) -> None:
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(ProblemsError, match=rf"linewright\[{extra}\]"):
        getattr(TABLE, f"to_{library}")()


def test_a_table_as_text_says_how_much_it_leaves_out() -> None:
    long = Table("t", ("a",), tuple((k,) for k in range(50)), "a note")
    assert long.to_text(most=2) == "t\na\n0\n1\nand 48 more rows\na note"


def test_an_empty_table_is_an_empty_frame() -> None:
    pytest.importorskip("polars")
    assert Table("t", ("a", "b"), ()).to_polars().columns == ["a", "b"]
