"""How long do the papers of an answer take: the boot of 145 operations, as report, sheets and workbook?

The answer (by bounds, lines not shared out) is made beforehand; each paper is timed from it to bytes after a first one.
Beside them, on the same answer in the same run: a browser that prints the report's page to PDF (where chromium is), and
polars, the general-purpose library, writing frames of the same tables as CSV.
Run: python benchmarks/papers.py [--quick] [--json]
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
from common import Measured, median, peak_megabytes, run, seconds_of
from linewright.answer import answer
from linewright.answer.model import Answer
from linewright.plan import read_plan
from linewright.report.blocks import Grid
from linewright.report.html import to_html
from linewright.report.papers import report_pdf, sheets_html, sheets_pdf, workbook
from linewright.report.papers.paper import report_data
from linewright.report.papers.press import print_pdf
from linewright.report.sections import QUESTIONS

EXAMPLES = Path(__file__).parents[1] / "examples"
PRINT = ["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--no-pdf-header-footer"]


def printed(page: str) -> float | None:
    """Seconds in which a browser prints a page to PDF; None without one."""
    browser = shutil.which("chromium")
    if browser is None:
        return None
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "page.html"
        file.write_text(page, encoding="utf-8")
        order = [
            browser,
            *PRINT,
            f"--user-data-dir={folder}/profile",
            f"--print-to-pdf={folder}/out.pdf",
            file.as_uri(),
        ]
        return median(lambda: subprocess.run(order, check=True, capture_output=True), 3)


def as_csv(found: Answer) -> int:
    """The tables of the report as frames, written as CSV."""
    blocks = (block for make in QUESTIONS for block in make(found).body)
    return sum(len(b.table.to_polars().write_csv()) for b in blocks if isinstance(b, Grid) and b.table.rows)


def measure(quick: bool) -> Measured:
    """All timings."""
    name, times = ("trailer", 3) if quick else ("boot", 5)
    found = answer(read_plan(EXAMPLES / f"{name}.toml"))
    works = {
        "report_pdf": lambda: report_pdf(found), "sheets_pdf": lambda: sheets_pdf(found),
        "sheets_html": lambda: sheets_html(found).encode(), "workbook": lambda: workbook(found),
    }  # fmt: skip
    made: Measured = {"plan": name}
    for paper, work in works.items():
        made[f"{paper}_first_s"] = seconds_of(work)
        made[f"{paper}_s"] = median(work, times)
        made[f"{paper}_kB"] = len(work()) / 1000
    data = report_data(found)
    made["report_setting_alone_s"] = median(lambda: print_pdf("report.typ", data), times)
    made["peak_megabytes"] = peak_megabytes()
    browser = printed(to_html(found, live=False))
    if browser is not None:
        made["browser_print_s"] = browser
        made["browser_over_setting"] = browser / made["report_setting_alone_s"]
    made["polars_csv_s"] = median(lambda: as_csv(found), times)
    made["workbook_over_polars_csv"] = made["workbook_s"] / made["polars_csv_s"]
    return made


if __name__ == "__main__":
    run(measure, __doc__)
