"""Write the table of published values beside computed ones into docs/quality.md, from the published tests themselves.

Each file of tests/published that lists CHECKS and SOURCES gives its rows. Run: python scripts/published_table.py
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "quality.md"
BEGIN, END = "<!-- published: written by scripts/published_table.py -->", "<!-- published: end -->"
FILES = (
    "test_control_charts",
    "test_nist_charts",
    "test_capability",
    "test_sampling_plans",
    "test_gauge_studies",
    "test_inspection_and_stack",
    "test_work_study",
)


def table() -> str:
    """The table in Markdown."""
    lines = ["| quantity | published | computed | source |", "|---|---|---|---|"]
    for name in FILES:
        spec = importlib.util.spec_from_file_location(f"published_{name}", ROOT / "tests" / "published" / f"{name}.py")
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        for what, published, _, computed in module.CHECKS:
            source = next(s for start, s in module.SOURCES.items() if what.startswith(start))
            lines.append(f"| {what} | {published:.6g} | {computed():.6g} | {source} |")
    return "\n".join(lines)


def page(text: str) -> str:
    """The page with its table made anew."""
    before, rest = text.split(BEGIN)
    _, after = rest.split(END)
    return f"{before}{BEGIN}\n{table()}\n{END}{after}"


if __name__ == "__main__":
    PAGE.write_text(page(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
