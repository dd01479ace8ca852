"""How long to search: a time limit, a word from outside to stop, and whom to tell how far it is."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass, field


@dataclass(slots=True)
class Clock:
    """When to stop: a time limit and a word from outside; and whom to tell how far it is."""

    seconds: float
    cancel: Callable[[], bool] | None = None
    progress: Callable[[int, int], None] | None = None
    started: float = field(default_factory=time.perf_counter)
    whole: Clock | None = None  # the one of which this is a part

    @property
    def spent(self) -> float:
        """Seconds since the start."""
        return time.perf_counter() - self.started

    @property
    def over(self) -> bool:
        """Whether to stop now."""
        return self.spent >= self.seconds or (self.cancel is not None and self.cancel())

    def stand_still(self, while_this: Callable[[], object]) -> None:
        """Do something that is not time to search."""
        begun = time.perf_counter()
        while_this()
        passed = time.perf_counter() - begun
        clock: Clock | None = self
        while clock is not None:
            clock.started += passed
            clock = clock.whole

    def part(self, seconds: float) -> Clock:
        """A clock for a part of the work that also stops when this one does."""
        return Clock(min(seconds, self.seconds - self.spent), self.cancel, whole=self)

    def tell(self, bound: int, stations: int) -> None:
        """Say the bound and the best so far."""
        if self.progress is not None:
            self.progress(bound, stations)
