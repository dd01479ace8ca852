"""What all tests share: property tests that do not watch the clock and give the same verdict on every machine."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# A deadline for each case fails on a busy machine; timings live in benchmarks/. LINEWRIGHT_EXPLORE=1 tries new cases.
settings.register_profile(
    "house",
    deadline=None,
    derandomize=not os.environ.get("LINEWRIGHT_EXPLORE"),
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("house")
