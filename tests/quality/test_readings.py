"""Tables of readings and counts: units, subgroups, and every fault named by line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.quality.charts import mean_and_deviation, mean_and_range
from linewright.quality.readings import read_counts, read_measurements


def written(folder: Path, text: str) -> Path:
    file = folder / "readings.csv"
    file.write_text(text, encoding="utf-8")
    return file


def test_subgroups_in_any_order(tmp_path: Path) -> None:
    found = read_measurements(written(tmp_path, "subgroup,value\nb,1\na,5\nb,2\na,6\n"))
    assert isinstance(found.subgroups, np.ndarray)
    assert found.subgroups.tolist() == [[1.0, 2.0], [5.0, 6.0]]
    uneven = read_measurements(written(tmp_path, "subgroup,value\nb,1\na,5\nb,2\na,6\na,7\n"))
    assert isinstance(uneven.subgroups, list)
    assert mean_and_deviation(uneven.subgroups).known.mean == pytest.approx(4.2)
    with pytest.raises(ProblemsError, match="not of one size"):
        mean_and_range(uneven.subgroups)  # type: ignore[arg-type]


def test_units(tmp_path: Path) -> None:
    found = read_measurements(written(tmp_path, "value\n5 mm\n0.6 cm\n"))
    assert found.values.tolist() == pytest.approx([0.005, 0.006])
    assert found.unit == "m"
    assert read_measurements(written(tmp_path, "value [mm]\n5\n6\n")).unit == "mm"
    assert read_measurements(written(tmp_path, "gap\n5\n6\n"), column="gap").unit == ""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("value\n5 mm\n6\n", ["some numbers have a unit and some have none"]),
        ("value\n5 mm\n6 kg\n", [":3:", "is a mass, where a length is wanted"]),
        ("value\n5\nsix\n\n", [":3:", "not a number"]),
        ("value\n5\nnan\ninf\n", [":3:", ":4:", "not a finite number"]),
        ("length\n5\n", ['no column "value"', "length"]),
        ("subgroup,value\n1,5\n,6\n", ["line 3", "no subgroup"]),
        ("value\n", ["empty"]),
    ],
)
def test_bad_readings_are_problems(text: str, words: list[str], tmp_path: Path) -> None:
    with pytest.raises(ProblemsError) as caught:
        read_measurements(written(tmp_path, text))
    for word in words:
        assert word in str(caught.value)


def test_counts(tmp_path: Path) -> None:
    found = read_counts(written(tmp_path, "faults,units\n3,1.5\n0,2\n"))
    assert found.faults
    assert found.sizes.tolist() == [1.5, 2.0]
    assert read_counts(written(tmp_path, "faults\n3\n0\n")).sizes.tolist() == [1.0, 1.0]
    with pytest.raises(ProblemsError, match='no column "inspected"'):
        read_counts(written(tmp_path, "faulty\n3\n"))
    with pytest.raises(ProblemsError) as caught:
        read_counts(written(tmp_path, "faulty,inspected\n-3,50\n1.5,0\n"))
    assert "line 2" in str(caught.value)
    assert "a size above 0" in str(caught.value)
