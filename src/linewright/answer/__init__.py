"""One call from a plan to everything that is known about it."""

from linewright.answer.ask import answer, check
from linewright.answer.model import Answer

__all__ = ["Answer", "answer", "check"]
