"""The forecast of a tank: it tightens as readings arrive, it covers, and it says when a tank may stick."""

from __future__ import annotations

import numpy as np
import pytest

from linewright.base.problems import ProblemsError
from linewright.physics.ferment_curves import ferment_one
from linewright.physics.forecast import GUESSES, forecast

DAYS = np.arange(0.0, 24 * 22, 24.0)


def log_of(pace: float, nitrogen: float, yeast: float, seed: int, error: float = 2.0) -> tuple[np.ndarray, float]:
    """Readings of an invented tank at 16 degC, and when it is truly dry, in hours."""
    truth = ferment_one(195.0, nitrogen, yeast, 16.0, pace=pace, hours=DAYS)
    after = float(ferment_one(195.0, nitrogen, yeast, 16.0, pace=pace).dry_after)
    noise = np.random.default_rng(seed).normal(0, error, DAYS.size)
    return np.maximum(truth.sugar + noise, 0.0), after


def test_the_interval_tightens_as_readings_arrive() -> None:
    read, truth = log_of(0.42, 110.0, 0.15, 3)
    widths = []
    for k in (2, 5, 9, 14, 18):  # the spread as a ratio: two readings alone may still guess far too early
        found = forecast(DAYS[:k], read[:k], np.full(k, 16.0), start=195.0)
        widths.append(found.high / found.low - 1)
        assert found.readings == k
    assert widths == sorted(widths, reverse=True)
    assert widths[-1] < 0.2 * widths[0]
    assert abs(found.hours - truth) < 24


@pytest.mark.slow
def test_intervals_cover_tanks_drawn_from_the_guess() -> None:
    """Of 90 % intervals over tanks drawn from the guesses nine of ten hold the truth, within four standard errors."""
    rng = np.random.default_rng(11)
    inside, runs = 0, 50
    for i in range(runs):
        c = {n: float(np.exp(np.log(m) + s * rng.standard_normal())) for n, (m, s) in GUESSES.items()}
        c["nitrogen"] = float(np.clip(c["nitrogen"], 70, 350))
        read, truth = log_of(c["pace"], c["nitrogen"], c["yeast"], i)
        found = forecast(DAYS[:8], read[:8], np.full(8, 16.0), start=195.0)
        inside += found.low <= truth <= found.high
    assert abs(inside / runs - 0.9) < 4 * np.sqrt(0.9 * 0.1 / runs)


def test_a_hot_lean_must_is_seen_to_stick() -> None:
    hours = np.arange(0.0, 24 * 8, 24.0)
    truth = ferment_one(264.0, 80.0, 0.25, 35.0, pace=0.5, hours=hours)
    found = forecast(hours, truth.sugar, np.full(hours.size, 35.0), start=264.0)
    assert found.stuck > 0.5
    assert found.hours == np.inf
    assert any("stick" in note for note in found.honesty.notes)


def test_readings_that_are_no_fermentation_are_noted() -> None:
    found = forecast([0.0, 24.0, 48.0, 72.0], [200.0, 60.0, 190.0, 185.0], [17.0] * 4)
    assert any("miss the curve" in note for note in found.honesty.notes)


def test_bad_logs_are_refused_by_name() -> None:
    with pytest.raises(ProblemsError, match="do not rise"):
        forecast([0.0, 48.0, 24.0], [200.0, 190.0, 195.0], [17.0] * 3)
    with pytest.raises(ProblemsError, match="not of one number"):
        forecast([0.0, 24.0], [200.0, 190.0, 180.0], [17.0, 17.0])
    with pytest.raises(ProblemsError, match=r"sugar\[0\].*too large"):
        forecast([0.0, 24.0], [400.0, 390.0], [17.0, 17.0])


def test_the_same_seed_gives_the_same_forecast() -> None:
    one, two = (forecast([0.0, 24.0, 48.0], [200.0, 198.0, 192.0], [17.0] * 3) for _ in range(2))
    assert one.to_dict() == two.to_dict()
