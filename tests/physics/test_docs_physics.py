"""The page of physics: its examples run, and its table of conditions is the one that plans are read by.

``python tests/physics/test_docs_physics.py`` writes the table anew.
"""

from __future__ import annotations

import doctest
from pathlib import Path

from linewright.physics.models import MODELS

PAGE = Path(__file__).resolve().parents[2] / "docs" / "physics.md"
BEGIN, END = "<!-- conditions -->\n", "<!-- end of conditions -->"


def conditions() -> str:
    """The conditions of every model as tables."""
    out = []
    for model in MODELS.values():
        out += [
            f"### {model.name}: {model.what}\n",
            "| condition | meaning | example | where left out |",
            "|---|---|---|---|",
        ]
        for c in model.conditions:
            default = (
                c.default if isinstance(c.default, str) else "" if c.default is None else f"{c.default:g} {c.unit}"
            )
            left = default.strip() or ("" if c.optional else "must be written")
            unit = f" [{c.unit}]" if c.dimension == "number" and c.unit else ""
            out.append(f"| `{c.name}` | {c.what}{unit} | `{c.example}` | {left} |")
        out.append("")
    return "\n".join(out)


def test_the_table_of_conditions_is_true() -> None:
    text = PAGE.read_text(encoding="utf-8")
    written = text[text.index(BEGIN) + len(BEGIN) : text.index(END)]
    assert written == conditions(), "run python tests/physics/test_docs_physics.py"


def test_the_examples_run() -> None:
    found = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert found.attempted > 15
    assert found.failed == 0


if __name__ == "__main__":
    page = PAGE.read_text(encoding="utf-8")
    PAGE.write_text(page[: page.index(BEGIN) + len(BEGIN)] + conditions() + page[page.index(END) :], encoding="utf-8")
