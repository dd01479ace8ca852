"""Writes the parts of README.md that hold numbers, from the tool itself. A test checks that they are current.

Run: python scripts/readme.py
"""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

from linewright.answer import answer
from linewright.plan import read_plan
from linewright.report.words import in_sentence

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
EXAMPLES = ("trailer", "cider", "harvest", "reedboard", "hivekit", "boot")


def first_answer() -> str:
    """One sentence with the answer of the first example, within the README's first ten lines."""
    found = answer(read_plan(ROOT / "examples" / "trailer.toml"))
    product = found.cost.products[0]
    capacity = found.capacity
    limit = capacity.bottleneck
    assert limit is not None
    allowed = capacity.multiple * capacity.wanted[0].demand
    ruling = "are not ruled out" if found.yes else "cannot be made"
    return (
        f"Of the trailer in the examples it says: {found.question} {ruling}, the limits of the plan allow at most "
        f"{allowed:.1f}; the {in_sentence(found.bottleneck_name)} is the bottleneck, {100 * limit.use:.0f} % used; "
        f"one costs {product.total:,.2f} {found.cost.money}."
    )


def examples_table() -> str:
    """A row an example: what it is, how large, what the bounds say, what limits, what one costs."""
    rows = [
        "| plan | operations | the bounds say | bottleneck | what one costs |",
        "|---|---|---|---|---|",
    ]
    for name in EXAMPLES:
        found = answer(read_plan(ROOT / "examples" / f"{name}.toml"))
        product = found.cost.products[0]
        rows.append(
            f"| [{found.plan.name}](examples/{name}.toml) | {len(found.network.operations.ids)} | {found.question}: "
            f"{found.verdict} | {found.bottleneck_name} | {product.total:,.2f} {found.cost.money} |"
        )
    return "\n".join(rows)


BLOCKS: dict[str, Callable[[], str]] = {"first answer": first_answer, "examples": examples_table}


def written(text: str) -> str:
    """The README with every generated block made anew."""
    for name, make in BLOCKS.items():
        pattern = re.compile(rf"(<!-- {name} -->\n).*?(<!-- end -->)", re.DOTALL)
        assert pattern.search(text), f"README.md has no block {name!r}"
        made = make()
        text = pattern.sub(lambda match, made=made: match[1] + made + "\n" + match[2], text)
    return text


if __name__ == "__main__":
    README.write_text(written(README.read_text(encoding="utf-8")), encoding="utf-8")
