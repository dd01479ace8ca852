"""NIST Statistical Reference Datasets: univariate summaries and one-way analysis of variance.

Michelson, Mavro and Lottery are read from the benchmark data (not in this project). NumAcc1-4 and Simon-Lesage 1, 4
and 7 are built here: their construction is public and their certified values bear it out (construction from memory;
the certified values of NumAcc from memory except where quoted, those of Simon-Lesage confirm the data by the sums of
squares they give).
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from linewright.quality.summary import one_way, summarise

DATA = Path(os.environ.get("LINEWRIGHT_DATA", Path(__file__).resolve().parents[2].parent / "shared" / "data"))

CERTIFIED = {
    "michelson": (299.852400000000, 0.0790105478190518, 0.535199668621283, 1e-13),
    "mavro": (2.00185600000000, 0.000429123454003053, 0.937989183438248, 1e-11),
    "lottery": (518.958715596330, 291.699727470969, -0.120948622967393, 1e-13),
}


@pytest.mark.parametrize("name", CERTIFIED)
def test_univariate(name: str) -> None:
    file = DATA / "nist" / f"strd_{name}.csv"
    if not file.is_file():
        pytest.skip(f"needs {file.name} of the benchmark data; set LINEWRIGHT_DATA")
    mean, sd, r, rel = CERTIFIED[name]
    found = summarise(np.loadtxt(file))
    assert found.mean == pytest.approx(mean, rel=1e-14)
    assert found.sd == pytest.approx(sd, rel=rel)
    assert found.autocorrelation == pytest.approx(r, rel=1e-11)


def num_acc(offset: float, step: float) -> np.ndarray:
    return np.array([offset] + [offset - step, offset + step] * 500)


@pytest.mark.parametrize(
    ("readings", "mean", "sd", "r", "rel"),
    [
        (np.array([10000001.0, 10000003.0, 10000002.0]), 10000002.0, 1.0, -0.5, 1e-15),
        (num_acc(1.2, 0.1), 1.2, 0.1, -0.999, 1e-13),
        (num_acc(1000000.2, 0.1), 1000000.2, 0.1, -0.999, 1e-9),  # 1000000.2 itself is known to 1e-10 in a double
        (num_acc(10000000.2, 0.1), 10000000.2, 0.1, -0.999, 1e-8),
    ],
    ids=["NumAcc1", "NumAcc2", "NumAcc3", "NumAcc4"],
)
def test_numerical_accuracy(readings: np.ndarray, mean: float, sd: float, r: float, rel: float) -> None:
    found = summarise(readings)
    assert found.mean == pytest.approx(mean, rel=1e-15)
    assert found.sd == pytest.approx(sd, rel=rel)
    assert found.autocorrelation == pytest.approx(r, rel=rel)


@pytest.mark.parametrize(
    ("offset", "repeats", "rel"),
    [
        (1.0, 21, 1e-13),
        (1e6, 21, 1e-8),
        (1e12, 21, 4e-3),
    ],  # a double holds 1e12 + 0.1 to 1.2e-4: no program can do better
    ids=["SmLs01", "SmLs04", "SmLs07"],
)
def test_analysis_of_variance(offset: float, repeats: int, rel: float) -> None:
    """Certified: between 1.68 on 8, within 1.8 on 180, F 21, residual deviation 0.1."""
    groups = []
    for g in range(9):
        middle = offset + (0.4 if g == 0 else 0.3 if g % 2 else 0.5)
        groups.append([middle] + [middle - 0.1, middle + 0.1] * (repeats // 2))
    readings = np.concatenate(groups)
    found = one_way(readings, np.repeat(np.arange(9), repeats))
    assert (found.between_df, found.within_df) == (8, 180)
    assert found.between == pytest.approx(1.68, rel=rel)
    assert found.within == pytest.approx(1.80, rel=rel)
    assert found.f == pytest.approx(21.0, rel=rel)
    assert found.within_sd == pytest.approx(0.1, rel=rel)


def test_analysis_of_variance_agrees_with_scipy() -> None:
    from scipy import stats

    random = np.random.default_rng(1)
    parts = [random.normal(i * 0.3, 1, 5 + i) for i in range(4)]
    found = one_way(np.concatenate(parts), np.repeat(np.arange(4), [5, 6, 7, 8]))
    other = stats.f_oneway(*parts)
    assert (found.f, found.p_value) == pytest.approx((other.statistic, other.pvalue), rel=1e-10)
