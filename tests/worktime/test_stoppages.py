"""Stoppages: censoring is counted, intervals cover, logs with faults are named by line."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from linewright.base.problems import ProblemsError
from linewright.worktime.stoppages import lifetimes, mean_between, read_stoppages


def test_interval_covers_when_watching_is_stopped_by_the_clock() -> None:
    random = np.random.default_rng(2)
    inside = 0
    for _ in range(2000):
        ends = int(random.poisson(6.0))
        _, low, high = mean_between(60.0, ends)
        inside += low <= 10.0 and (high is None or high >= 10.0)
    assert inside / 2000 >= 0.94  # the interval is conservative for counts


def test_weibull_with_censoring_finds_the_truth_and_ageing() -> None:
    random = np.random.default_rng(4)
    life = 20 * random.weibull(2.5, 600)
    watch = random.uniform(5, 40, 600)
    study = lifetimes(np.minimum(life, watch), life <= watch)
    assert study.unfinished > 100
    assert study.shape == pytest.approx(2.5, rel=0.15)
    assert study.scale == pytest.approx(20.0, rel=0.06)
    assert study.exponential_p is not None
    assert study.exponential_p < 0.001
    assert any("rises with age" in n for n in study.notes)
    assert study.weibull_mean == pytest.approx(float(stats.weibull_min.mean(2.5, scale=20)), rel=0.06)


def test_units_do_not_matter() -> None:
    times, ended = [3.0, 8.0, 12.0, 20.0, 31.0], [1, 1, 1, 1, 0]
    hours, seconds = lifetimes(times, ended), lifetimes(np.array(times) * 3600, ended)
    assert hours.shape == pytest.approx(seconds.shape, rel=1e-6)
    assert hours.mean is not None
    assert hours.mean * 3600 == pytest.approx(seconds.mean)


def test_no_end_gives_a_lower_limit_only() -> None:
    study = lifetimes([100.0, 50.0], [0, 0])
    assert study.mean is None
    assert study.high is None
    assert study.low == pytest.approx(150.0 / -np.log(0.05))
    assert "no end was seen" in study.notes[0]
    assert study.to_dict()["mean"] is None


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("run [h],repair [min],ended\n20,,mended\n", ["no repair time"]),
        ("run [h],repair [min],ended\n20,5,running\n3,2,mended\n", ["still running, yet a repair"]),
        ("run [h],repair [min],ended\n20,5,fixed\n", ["unknown ending", "known: mended"]),
        ("run [h],repair [min],ended\n20,,running\n", ["no stoppage in the log"]),
        ("run [h],repair [min],ended\n-20,5,mended\n2,x,mended\n", ["out of range", ":3:"]),
        ("run,repair,ended\n20,5,mended\n", ["no unit"]),
        ("run [h],ended\n20,mended\n", ['no column "repair"']),
    ],
)
def test_bad_logs_are_problems(text: str, words: list[str], tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ProblemsError) as caught:
        read_stoppages(path)
    for word in words:
        assert word in str(caught.value)


def test_a_repair_still_going_is_censored(tmp_path: Path) -> None:
    path = tmp_path / "log.csv"
    rows = "20,30,mended\n24,50,mended\n9,10,mended\n6,70,mending\n10,,running\n"
    path.write_text("run [h],repair [min],ended\n" + rows, encoding="utf-8")
    study = read_stoppages(path)
    assert (study.running.ends, study.running.unfinished) == (4, 1)
    assert (study.repair.ends, study.repair.unfinished) == (3, 1)
    assert study.repair.mean == pytest.approx(160 * 60 / 3)
    assert study.plan_fields() == {"between_stops": "17.25 h", "repair": "53.33 min"}
    assert len(study.to_table().rows) == 2
