"""A request that is refused: its status and what is told, which is never a traceback."""

from __future__ import annotations

from typing import Any


class RefusedError(Exception):
    """A request that cannot be done. ``more`` is told beside the error."""

    def __init__(self, status: int, error: str, **more: Any) -> None:
        super().__init__(status, error, more)
        self.status, self.error, self.more = status, error, more

    def __reduce__(self) -> tuple[Any, ...]:
        """So that it crosses from a working process."""
        return _again, (self.status, self.error, self.more)

    def body(self) -> dict[str, Any]:
        """What is sent."""
        return {"error": self.error, **self.more}


def _again(status: int, error: str, more: dict[str, Any]) -> RefusedError:
    return RefusedError(status, error, **more)
