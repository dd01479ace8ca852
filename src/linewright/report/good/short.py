"""How do we know it is good? The answer in a sentence or two."""

from __future__ import annotations

from linewright.answer.model import Answer
from linewright.report import words
from linewright.report.good.kinds import spread
from linewright.report.good.tables import of_million, product


def in_short(answer: Answer) -> str:
    """The answer to "How do we know it is good?" in a sentence or two."""
    quality = answer.quality
    what = product(answer)
    if not quality.ways:
        looks = len(quality.checks)
        return f"No fault is written in the plan{f', although {looks} inspections look for some' if looks else ''}."
    worst = quality.ways[0]
    most = "at most " if quality.any_is_bound else ""
    said = f"Of a million {what}, {most}{of_million(quality.any_fault)} reach the customer with a fault"
    if worst.escapes > 0:
        said += f", most often {worst.fault} ({of_million(worst.escapes)})"
    apart = spread(answer)
    said += f"; {apart}" if apart else ""
    blind = [w.fault for w in quality.ways if w.found == 0]
    return f"{said}. {f'Nobody looks for {words.listed(blind)}.' if blind else ''}".strip()
