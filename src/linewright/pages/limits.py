"""How much the pages take in and give out: sizes, times and memory, in one place."""

from __future__ import annotations

LARGEST_TEXT = 2_000_000
"""Bytes of a plan's text; a plan of 5,000 operations has about 1.5 million."""
LARGEST_BODY = 5_000_000
"""Bytes of a request."""
LONGEST_NAME = 200
MOST_PLANS = 500
DEEPEST_FOLDER = 4
MOST_VERSIONS = 200
CHECK_SECONDS = 15.0
ANSWER_SECONDS = 60.0
PAPER_SECONDS = 120.0
MEMORY = 4_000_000_000
"""Bytes that one working process may write to; a plan of the works takes less than 500 million."""
RUNS_AT_ONCE = 2
RUNS_WAITING = 6
RUNS_KEPT = 20
LONGEST_RUN = 600.0
"""Seconds after which a run is ended whatever it does."""
GRACE = 3.0
"""Seconds that a run has to hand over what is done once it is asked to stop."""


def hold_memory(most: int = MEMORY) -> None:
    """Hold this process to so many bytes of memory to write to, where the system can do so.

    Address space that is only set aside does not count: the engine that draws charts sets aside more than there is.
    """
    try:
        import resource
    except ImportError:  # Windows has no such limit
        return
    _, hard = resource.getrlimit(resource.RLIMIT_DATA)
    resource.setrlimit(resource.RLIMIT_DATA, (most if hard == resource.RLIM_INFINITY else min(most, hard), hard))
