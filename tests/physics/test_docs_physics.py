"""The page of physics: its examples run, and its table of conditions is the one that plans are read by.

``python tests/physics/test_docs_physics.py`` writes the table anew.
"""

from __future__ import annotations

import doctest
from pathlib import Path

from linewright.physics.models import MODELS, evaluate_model

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


AMOUNTS = "<!-- amounts -->\n", "<!-- end of amounts -->"
ASKED: tuple[tuple[str, dict[str, str | float]], ...] = (
    ("dry", {"from": "40 %", "to": "2 %", "gas": "220 degC", "thickness": "2.5 mm"}),
    ("ferment", {"sugar": "124 g/L", "temperature": "15 degC"}),
    ("screen", {"area": "6 m2", "each_m2": "0.8 t/h", "middle": "1.4 mm", "aperture": "2 mm"}),
    ("screen", {"area": "6 m2", "each_m2": "0.8 t/h", "middle": "1.4 mm", "aperture": "2 mm",
                "core_aperture": "0.8 mm", "face_aperture": "0.2 mm"}),
    ("mill", {"takes": "4 t/h", "middle": "4 mm", "aperture": "2 mm"}),
    ("mill", {"takes": "4 t/h", "middle": "4 mm", "aperture": "2 mm", "core_aperture": "0.8 mm",
              "face_aperture": "0.2 mm"}),
)  # fmt: skip


def amounts() -> str:
    """Every outcome that can be an amount, as the models tell it."""
    out = ["| model | outcome | for each |", "|---|---|---|"]
    for name, asked in ASKED:
        found = evaluate_model(name, asked).timed.outcomes
        out += [f"| {name} | `{o.name}` [{o.unit}] | {o.amount_of} |" for o in found if o.amount_of]
    return "\n".join(out) + "\n"


def test_the_table_of_amounts_is_true() -> None:
    text = PAGE.read_text(encoding="utf-8")
    written = text[text.index(AMOUNTS[0]) + len(AMOUNTS[0]) : text.index(AMOUNTS[1])]
    assert written == amounts(), "run python tests/physics/test_docs_physics.py"


def test_the_table_of_conditions_is_true() -> None:
    text = PAGE.read_text(encoding="utf-8")
    written = text[text.index(BEGIN) + len(BEGIN) : text.index(END)]
    assert written == conditions(), "run python tests/physics/test_docs_physics.py"


def test_every_model_has_three_checks_in_files_that_are_there() -> None:
    text = PAGE.read_text(encoding="utf-8")
    table = text[text.index("<!-- checks -->") : text.index("<!-- end of checks -->")].splitlines()[3:]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in table if line]
    for name in MODELS:
        assert sum(name in row[0].split(", ") for row in rows) >= 3, name
    tests = Path(__file__).resolve().parents[1]
    for _, _, sure, file in rows:
        parts = file.strip("`").split("/")
        assert (tests / (parts[0] if len(parts) > 1 else "published") / parts[-1]).is_file(), file
        assert {s.strip() for s in sure.split(";")} <= {
            "read", "quoted elsewhere", "from memory", "library", "computed"
        }  # fmt: skip


def test_the_examples_run() -> None:
    found = doctest.testfile(str(PAGE), module_relative=False, encoding="utf-8")
    assert found.attempted > 15
    assert found.failed == 0


if __name__ == "__main__":
    page = PAGE.read_text(encoding="utf-8")
    for begin, end, table in ((BEGIN, END, conditions()), (*AMOUNTS, amounts())):
        page = page[: page.index(begin) + len(begin)] + table + page[page.index(end) :]
    PAGE.write_text(page, encoding="utf-8")
